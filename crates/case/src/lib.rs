//! One house: places, sightings by pass, contexts, measurements, limits of access.
//!
//! A [`Case`] is read from a file ([`Case::read`]) or made in memory ([`Case::new`]). Three states of not seeing are
//! kept apart: looked and none there ([`Seen::NoneThere`]), could not look ([`Seen::NotReached`]), and nobody has
//! looked yet (no sighting at all).
//!
//! This crate must not know a pack's content, nor chances: names of clues, grades, marks, contexts and kinds of place
//! are text here.
//!
//! ```
//! use wythe_case::{Case, Seen};
//!
//! let case = Case::read("corner.yaml", r#"
//! format: 1
//! id: corner
//! places:
//!   - {id: south, kind: exterior_wall}
//!   - {id: kitchen-window, kind: opening, in: south}
//! passes:
//!   - pass: first
//!     sightings:
//!       - {clue: step_crack_veneer, at: south, measured: 1/16 in ± 1/64 in, marks: {path: joints}}
//!       - {clue: frieze_gap, at: south, not_reached: locked gate, ask_access: yes}
//! "#)?;
//! assert_eq!(case.places[0].id, "house");
//! assert!(case.contains(0, 2) && case.contains(1, 2));
//! let standing = case.standing();
//! assert!(matches!(standing[0].sighting.seen, Seen::Measured { .. }));
//! assert!(matches!(standing[1].sighting.seen, Seen::NotReached { .. }));
//! # Ok::<(), wythe_text::Problems>(())
//! ```
#![warn(clippy::indexing_slicing)]

mod add;
mod case;
mod date;
mod part;
mod place;
mod read;
mod readings;
mod sheets;
mod sighting;
mod standing;
mod write;

pub use add::More;
pub use case::{Case, ContextFact, FORMAT, Pass, Repair};
pub use date::{Date, DateError};
pub use place::{HOUSE, Place};
pub use read::{Beside, MAX_PASSES, MAX_PLACES, MAX_SIGHTINGS};
pub use readings::{Computed, Readings, Section};
pub use sheets::{Compass, CrackPoint, CrackReadings, Fall, Lintel, Opening, Site, Survey, Tree, Wall, WallCracks};
pub use sighting::{Looked, Seen, Sighting, Sure};
pub use standing::Standing;
pub use wythe_text::{Locus, Problem, Problems};

#[cfg(test)]
mod tests;
