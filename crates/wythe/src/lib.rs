//! Weighs the structural clues seen on a house inspection and explains its reasoning.
//!
//! ```
//! let pack = wythe::built_in_pack();
//! let case = wythe::Case::read("corner.yaml", r#"
//! format: 1
//! id: corner
//! places: [{id: south-west, kind: outside_corner}]
//! passes: [{pass: first, sightings: [{clue: corner_pop_wedge, at: south-west, seen: cracked}]}]
//! "#)?;
//! let outcome = wythe::weigh(pack, &case)?;
//! let text = wythe::report::text(pack, &case, &outcome)?;
//! assert!(text.contains("Corner pop at the south-west"));
//! # Ok::<(), wythe::Error>(())
//! ```
//!
//! A case that is kept can be asked more: how little would change a conclusion, what else could have left its signs, which
//! causes together fit best, and where to look next.
//!
//! ```
//! let case = wythe::Case::read("corner.yaml", r#"
//! format: 1
//! id: corner
//! places: [{id: south-west, kind: outside_corner}]
//! passes: [{pass: first, sightings: [{clue: corner_pop_wedge, at: south-west, seen: cracked}]}]
//! "#)?;
//! let weighed = wythe::Weighed::new(wythe::built_in_pack(), &case)?;
//! let likelier = |a: &&wythe::Conclusion, b: &&wythe::Conclusion| a.chance.total_cmp(&b.chance);
//! let most = weighed.outcome().conclusions.iter().max_by(likelier).map(|one| one.about);
//! if let Some(about) = most {
//!     // Each margin: a number of the pack, how far it would have to move, and the grade just beyond.
//!     let margins = wythe::margins(&weighed, about)?;
//!     assert!(margins.numbers.iter().all(|one| one.decibans.abs() <= 10.0 && !one.becomes.same(&margins.now)));
//!     let rivals = wythe::rivals(&weighed, about)?;
//!     assert!(rivals.rivals.iter().all(|one| (0.0..=1.0).contains(&one.without)));
//! }
//! // Looks are in the order of what they are worth for the time they take.
//! let looks = wythe::looks(&weighed)?;
//! assert!(looks.looks.windows(2).all(|pair| pair[0].worth / pair[0].minutes >= pair[1].worth / pair[1].minutes));
//! let story = wythe::story(&weighed)?;
//! assert!(story.combinations.iter().map(|one| one.chance).sum::<f64>() < 1.0 + 1e-9);
//! # Ok::<(), wythe::Error>(())
//! ```
#![warn(clippy::indexing_slicing)]

mod compare;
mod everything;
pub mod field;
mod files;
mod lesson;
mod passes;
mod population;
mod record;
mod region;
mod save;
mod start;
mod study;
mod trials;

pub use compare::compare;
pub use everything::{Everything, everything};
pub use files::{Error, check_pack, read_case, read_pack, read_population, read_trials};
pub use lesson::lesson_of;
pub use passes::{page_of, since_last_pass};
pub use population::{HouseShares, built_in_population, house_shares};
pub use record::{Added, PassHead, add};
pub use region::pack_of;
pub use save::{change_file, new_file};
pub use start::{Start, start};
pub use study::{Sheet, catalogue, study};
pub use trials::{TrialResult, built_in_trials, run_trials};
pub use wythe_case::{
    Case, ContextFact, Date, Lintel, Looked, More, Pass, Place, Repair, Seen, Sighting, Standing, Sure,
};
pub use wythe_engine::{
    About, Chain, Conclusion, Notice, Outcome, Reading, Reasons, Step, Walk, WalkStep, WeighError, reasons, walk,
    weigh, with_computed, without,
};
/// What may be asked of a weighed case that is kept: rivals, margins, looks, the story.
pub use wythe_engine::{
    Asked, Combination, Contender, Graded, Instead, Look, Looks, Margin, Margins, Missing, Number, PlaceLooks,
    Regraded, Rivals, Separates, Story, Tells, Unsupported, Weighed, ask, looks, margins, rivals, rivals_of, story,
    unsupported, unsupported_of,
};
pub use wythe_measure::{Measured, parse_measured};
pub use wythe_notes::{Noted, find_place, read as read_notes, read_place};
pub use wythe_pack::guard::refused;
pub use wythe_pack::{Action, ClueIx, Pack, Support};
pub use wythe_text::{Problem, Problems, misleading, nearest};

/// An outcome as plain text, as JSON, as a [`Page`](wythe_report::Page); the reasons for a conclusion as text.
pub use wythe_report as report;

use std::sync::OnceLock;

/// The pack that comes with the library: structural clues on houses with brick veneer on a slab in clay country.
///
/// Read once, on the first call.
///
/// ```
/// assert_eq!(wythe::built_in_pack().id, "structural");
/// ```
#[expect(clippy::panic, reason = "the pack is part of the program, and a test reads it")]
pub fn built_in_pack() -> &'static Pack {
    static PACK: OnceLock<Pack> = OnceLock::new();
    PACK.get_or_init(|| {
        let files = wythe_rules::structural();
        let files: Vec<_> = files
            .iter()
            .map(|(path, text)| wythe_pack::PackFile { path, text })
            .collect();
        Pack::read(&files).unwrap_or_else(|problems| panic!("the pack of this program cannot be read\n{problems}"))
    })
}

/// The examples of the README, run as tests.
#[cfg(doctest)]
#[doc = include_str!("../../../README.md")]
struct Readme;
