//! A lesson: one house to step through, as values and as one page of HTML that needs no network.

mod aside;
mod build;
mod chosen;
mod end;
mod ending;
mod html;
mod list;
mod reckoned;
mod said;
mod summary;
mod within;

pub use crate::plan::KeyLine;
pub use chosen::{reckoned_of, told};
pub use ending::{End, EndChange, EndMatter};
pub use reckoned::Reckoned;

use serde::Serialize;

use wythe_case::Case;
use wythe_engine::{Asked, Counted, Outcome, Walk};
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
    /// Where something stands, in words, that states name by their index: supports from the least, then what is said of a
    /// conclusion that the signs lowered.
    pub supports: Vec<&'static str>,
    /// The chances from which support is called some and fair, and over which it is called strong.
    pub bounds: [f64; 3],
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
    /// What each mark of the drawing says, by letter and number; not part of the data in the page.
    #[serde(skip)]
    pub key: Vec<KeyLine>,
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
    /// Of a group, its causes among those shown: indices into [`Lesson::beliefs`].
    pub causes: Vec<usize>,
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
    /// What asks for it, where it is more than to be kept on record.
    pub who: Vec<String>,
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
    /// What there is to say of it beside what it moved: that it is the look that was waited for, and of a sign that moved
    /// nothing shown, what it would have said by itself.
    pub asides: Vec<String>,
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
    /// Readings that are weighed by themselves once this one is taken away.
    pub frees: Vec<String>,
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

/// What a lesson is made of, all weighed exactly.
#[derive(Clone, Copy, Debug)]
pub struct Weighings<'a> {
    /// The walk over the case.
    pub walk: &'a Walk,
    /// Outcomes with one thing changed.
    pub changed: &'a [Changed],
    /// Two of them at once: indices into `changed`, lower first, with the outcome where both are.
    pub pairs: &'a [(usize, usize, Outcome)],
    /// Sightings as if nothing else had been looked at: indices of steps of the walk, with the outcome.
    pub alone: &'a [(usize, Outcome)],
    /// What was asked of the conclusions that the end tells of ([`told`]); one that was too much to ask is left out.
    pub asked: &'a [Asked],
    /// What counted within the steps of the conclusions that the end reckons ([`reckoned_of`]); none where that was too much.
    pub counted: &'a [Counted],
}

/// A lesson from what was weighed.
///
/// # Errors
/// A sentence that makes a determination.
pub fn lesson(pack: &Pack, case: &Case, weighings: Weighings<'_>) -> Result<Lesson, ReportError> {
    let walk = weighings.walk;
    let mut lesson = build::lesson(pack, case, weighings);
    lesson.end = end::end(pack, case, weighings);
    let mut text = summary::summary(&lesson);
    for step in &lesson.steps {
        text.push_str(&step.says);
        text.extend(step.moved.iter().flat_map(|told| &told.by).map(String::as_str));
    }
    lesson.end.words = crate::client::explained(pack, |word| crate::wrap::uses(&text, word));
    lesson.plan = crate::plan::walked_svg(pack, case, walk)?;
    lesson.key = crate::plan::walked_key(pack, case, walk);
    Ok(lesson)
}

/// Whether a sheet of readings of the case gave what a look at the clue would find there, so that it was looked at.
pub fn was_measured(pack: &Pack, case: &Case, clue: ClueIx, at: usize) -> bool {
    crate::build::bearing::was_computed(case, &pack[clue], at)
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
