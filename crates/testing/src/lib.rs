//! The obvious model and generators for tests; unpublished.
//!
//! [`obvious`] says in under 150 lines what a weighed case means: it tries every combination of mechanisms and responses
//! and adds up. [`seen`] says what a sighting means. Neither shares code with the engine.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "test code: a broken fixture should stop the test"
)]

mod dice;
mod obvious;
mod random;
mod seen;

pub use dice::Dice;
pub use obvious::{Obvious, There, obvious, obvious_events};
pub use random::{random_case, random_pack};
pub use seen::{News, seen};
