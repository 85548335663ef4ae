//! The rule packs as data.
