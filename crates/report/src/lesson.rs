//! A lesson: one house to step through, as values and as one page of HTML that needs no network.

mod build;
mod end;
mod html;
mod list;
mod said;
mod summary;

pub use end::{End, EndMatter, EndStep};

use serde::Serialize;

use wythe_case::Case;
use wythe_engine::{Outcome, Walk};
use wythe_pack::{ClueIx, Pack};

use crate::{ReportError, checked};

/// A house to step through, one sighting at a time.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Lesson {
    /// Id of the case.
    pub case: String,
    /// Its title.
    pub title: String,
    /// The pack that answered, with its version.
    pub pack: String,
    /// What this is, and what it is not; cautions.
    pub notes: Vec<String>,
    /// The conclusions that are shown: those that the walk moved most, in the order of the pack, so that it gives nothing
    /// away.
    pub beliefs: Vec<Belief>,
    /// Chances in words, that states name by their index.
    pub words: Vec<String>,
    /// Supports, from the least, that states name by their index.
    pub supports: Vec<&'static str>,
    /// Actions, from the least, in words, that states name by their index.
    pub actions: Vec<&'static str>,
    /// Why an action is asked for, that states name by their index.
    pub whys: Vec<String>,
    /// Before any sighting.
    pub start: State,
    /// One for each sighting, in the order that they were made.
    pub steps: Vec<LessonStep>,
    /// What can be taken away or added at the end.
    pub suppose: Vec<Suppose>,
    /// Two of them at once: the indices, lower first, and the state.
    pub pairs: Vec<(usize, usize, State)>,
    /// What it came to. Not part of the data in the page: it stands there as text.
    #[serde(skip)]
    pub end: End,
    /// The house in plan and elevation, as SVG; not part of the data in the page.
    #[serde(skip)]
    pub plan: String,
}

/// A conclusion that is shown.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Belief {
    /// `rule@place`, or the id of a family.
    pub id: String,
    /// Its title with its place.
    pub title: String,
    /// Whether it is a group of causes: that at least one of them is there.
    pub group: bool,
}

/// What is believed at one moment, in the order of [`Lesson::beliefs`].
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct State {
    /// Chances, 0–1, rounded to six digits.
    pub chances: Vec<f64>,
    /// Chances in words: indices into [`Lesson::words`].
    pub words: Vec<usize>,
    /// Indices into [`Lesson::supports`].
    pub supports: Vec<usize>,
    /// Indices into [`Lesson::actions`].
    pub actions: Vec<usize>,
    /// Indices into [`Lesson::whys`].
    pub whys: Vec<usize>,
    /// The highest action asked for by anything, these beliefs or others: an index into [`Lesson::actions`].
    pub most: usize,
    /// Hazards, limits passed and misfit, one sentence each.
    pub notices: Vec<String>,
}

/// One step of the walk.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LessonStep {
    /// Id of the sighting.
    pub sighting: String,
    /// The pass, in words.
    pub pass: String,
    /// Id of the place.
    pub place: String,
    /// `seen`, `none`, `not reached` or `hidden`.
    pub kind: &'static str,
    /// Its mark in the drawing; none where a later sighting stands in its place.
    pub mark: Option<String>,
    /// What was found, in a sentence.
    pub says: String,
    /// What it moved by a deciban or more: shown beliefs, those that moved most first.
    pub moved: Vec<Told>,
    /// Conclusions that it moved but that are not among the shown: title with place, and decibans.
    pub others: Vec<(String, f64)>,
    /// What is believed after it.
    pub state: State,
}

/// A belief that a step moved.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Told {
    /// Index into [`Lesson::beliefs`].
    pub belief: usize,
    /// Decibans.
    pub decibans: f64,
    /// How: the chain of rules, one line a hop, or what accounts for it.
    pub by: Vec<String>,
}

/// A reading taken away, or a look that was not made, and what would be believed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Suppose {
    /// The reading or look, in words.
    pub says: String,
    /// Whether the house was read so: true for a reading that can be taken away.
    pub taken_in: bool,
    /// Index of the step that it belongs to, for a reading.
    pub step: Option<usize>,
    /// What would be believed with this one changed.
    pub state: State,
}

/// An outcome with one thing changed.
#[derive(Clone, Debug, PartialEq)]
pub struct Changed {
    /// What.
    pub what: Change,
    /// The outcome with it changed.
    pub outcome: Outcome,
}

/// What is supposed.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// A sighting taken away, by its id.
    Without(String),
    /// A look that was not made.
    Found {
        /// The clue.
        clue: ClueIx,
        /// Index of the place in the case.
        at: usize,
        /// The grade that it found.
        grade: usize,
    },
}

/// A lesson from a walk over a case and from outcomes with readings taken away.
///
/// `pairs` are indices into `changed`, lower first, with the outcome where both are.
///
/// # Errors
/// A sentence that makes a determination.
pub fn lesson(
    pack: &Pack,
    case: &Case,
    walk: &Walk,
    changed: &[Changed],
    pairs: &[(usize, usize, Outcome)],
) -> Result<Lesson, ReportError> {
    let mut lesson = build::lesson(pack, case, walk, changed, pairs);
    let last = walk.steps.last().map_or(&walk.start, |step| &step.outcome);
    lesson.end = end::end(pack, case, walk);
    lesson.plan = crate::plan_svg(pack, case, last, crate::Key::LeftOut)?;
    Ok(lesson)
}

/// Lessons as one page of HTML, whole in itself: no file, no network.
///
/// # Errors
/// A sentence that makes a determination.
pub fn lesson_page(lessons: &[Lesson]) -> Result<String, ReportError> {
    for lesson in lessons {
        let tree = serde_json::to_value(lesson).map_err(|error| ReportError::Json(error.to_string()))?;
        crate::strings(&tree)?;
    }
    checked(html::page(lessons)?)
}
