//! Files as text: spots, problems with a caret and the nearest name, guarded YAML and JSON reading.
//!
//! A [`Doc`] is one parsed file. An [`Item`] is a place in it: it reads a value or pushes a [`Problem`] that points at
//! the line. All problems of a file are gathered in [`Problems`] and come out together.
//!
//! This crate must not know rules or houses.
//!
//! ```
//! use wythe_text::{Doc, Problems};
//!
//! let doc = Doc::parse("wall.yaml", "wall: south\nlenght: 12\n")?;
//! let mut problems = Problems::new();
//! let fields = doc.root().fields(&mut problems, &["wall", "length"]);
//! let length = fields.required(&mut problems, "length").and_then(|item| item.number(&mut problems));
//! assert_eq!(length, None);
//! assert_eq!(
//!     problems.sorted().to_string(),
//!     "wall.yaml:1:1: `length` is missing here\n  \
//!        |\n\
//!      1 | wall: south\n  \
//!        | ^^^^\n\
//!      help: add `length:`\n\n\
//!      wall.yaml:2:1: `lenght` is not a name known here\n  \
//!        |\n\
//!      2 | lenght: 12\n  \
//!        | ^^^^^^\n\
//!      help: did you mean `length`? names known here: `wall`, `length`\n"
//! );
//! # Ok::<(), Problems>(())
//! ```
#![warn(clippy::indexing_slicing)]

mod append;
mod chars;
mod doc;
mod grade_level;
mod guard;
mod inline;
mod item;
mod json;
mod nearest;
mod problem;
mod reading;
mod spots;
mod tree;
mod yaml;

pub use chars::misleading;
pub use doc::{Doc, Locus, MAX_BYTES};
pub use grade_level::{Counts, grade_level, syllables};
pub use item::{Fields, Item};
pub use json::to_json;
pub use nearest::{nearest, shown};
pub use problem::{Problem, Problems, Spot};
pub use reading::{MAX_DEPTH, MAX_NODES};
pub use tree::Tree;
pub use yaml::to_yaml;

/// A value could not be written as text.
#[derive(Debug, thiserror::Error)]
#[error("could not be written: {0}")]
pub struct WriteError(String);

#[cfg(test)]
mod tests;
