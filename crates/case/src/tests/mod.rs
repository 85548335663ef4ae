//! Tests of the whole crate.
