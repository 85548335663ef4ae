//! Example programs and houses.
