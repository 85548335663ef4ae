//! Benches, one a stage.
