//! What was asked of one conclusion, as values.

use serde::Serialize;

/// What was asked of one conclusion: rivals, what kept it down, what would change it, the story.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AskedPage {
    /// The format of this page.
    pub format: u32,
    /// Id of the case.
    pub case: String,
    /// Id of the conclusion.
    pub conclusion: String,
    /// Its title, with its place.
    pub title: String,
    /// Its grade.
    pub now: GradeSays,
    /// What else could be behind its signs.
    pub rivals: Vec<RivalSays>,
    /// What kept it down; none where it is supported.
    pub kept_down: Option<KeptDown>,
    /// The numbers of the pack whose smallest move changes it, nearest first.
    pub margins: Vec<MarginSays>,
    /// The readings that change it if they are taken away, or moved by a class.
    pub readings: Vec<ReadingSays>,
    /// Its grade with every prevalence at the low and at the high end of its range.
    pub ends: [GradeSays; 2],
    /// The most probable combinations of mechanisms.
    pub story: Vec<StorySays>,
    /// Ids of the mechanisms, each at its place, that the story is over.
    pub story_over: Vec<String>,
}

/// A grade.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct GradeSays {
    /// Support.
    pub support: &'static str,
    /// Action.
    pub action: &'static str,
    /// Chance.
    pub chance: Option<f64>,
    /// The support with its number.
    pub words: String,
}

/// A rival.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RivalSays {
    /// Id of the rival; none for ordinary causes.
    pub conclusion: Option<String>,
    /// Its title, with its place.
    pub title: String,
    /// Its chance if the conclusion does not hold.
    pub without: Option<f64>,
    /// Its chance if the conclusion holds.
    pub with: Option<f64>,
    /// Its chance as it stands.
    pub chance: Option<f64>,
    /// Decibans by which the conclusion alone is ahead of the rival alone.
    pub ahead: Option<f64>,
    /// The part of that which the sightings made.
    pub weight: Option<f64>,
    /// Ids of the sightings that both can leave.
    pub shared: Vec<String>,
    /// What tells them apart.
    pub apart: Vec<ApartSays>,
    /// The look that would.
    pub look: Option<SeparatesSays>,
}

/// What a sighting adds to telling two rivals apart.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ApartSays {
    /// Id of the sighting.
    pub sighting: String,
    /// What it says.
    pub says: String,
    /// Decibans, over 0 for the conclusion.
    pub decibans: Option<f64>,
}

/// A look that would tell two rivals apart.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SeparatesSays {
    /// Id of the clue.
    pub clue: String,
    /// Its title, with the place.
    pub title: String,
    /// What there would be to see, with the place.
    pub says: String,
    /// Id of the place.
    pub place: String,
    /// What it takes.
    pub effort: &'static str,
    /// Decibans on average.
    pub decibans: Option<f64>,
    /// Decibans of finding each grade, over 0 for the conclusion.
    pub weights: Vec<Option<f64>>,
}

/// What kept a conclusion down.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct KeptDown {
    /// Sightings that speak against it.
    pub against: Vec<ApartSays>,
    /// Signs of it that something else accounts for: the sighting, and the title of what does.
    pub taken: Vec<(ApartSays, String)>,
    /// Signs of it that nobody has looked for.
    pub missing: Vec<MissingSays>,
}

/// A sign that nobody has looked for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MissingSays {
    /// Id of the clue.
    pub clue: String,
    /// Its title, with the place.
    pub title: String,
    /// What there would be to see, with the place.
    pub says: String,
    /// Id of the place.
    pub place: String,
    /// The chance that it is there.
    pub shows: Option<f64>,
    /// The conclusion's chance if it is.
    pub if_found: Option<f64>,
    /// If it is not.
    pub if_none: Option<f64>,
}

/// The smallest move of a number of the pack that changes a conclusion.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MarginSays {
    /// `link`, `background` or `prevalence`.
    pub kind: &'static str,
    /// Id of the rule.
    pub rule: String,
    /// What the number says.
    pub says: String,
    /// The number as it is.
    pub from: Option<f64>,
    /// The number where it changes.
    pub to: Option<f64>,
    /// The move, in decibans of the number's odds.
    pub decibans: Option<f64>,
    /// The grade beyond.
    pub becomes: GradeSays,
    /// Ids of the sources of the rule.
    pub sources: Vec<String>,
}

/// A reading that changes a conclusion.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReadingSays {
    /// Id of the sighting.
    pub sighting: String,
    /// What it says.
    pub says: String,
    /// The grade that it is moved to; none where it is taken away.
    pub moved_to: Option<String>,
    /// The size of that grade, where it is measured.
    pub grade_says: Option<String>,
    /// Where that is its absence, in words.
    pub none_says: Option<String>,
    /// Where that is its absence: the signs that would still speak most for the conclusion.
    pub others: Vec<String>,
    /// Where that is its absence, and one rule leads from the cause to it: how often, 0–1.
    pub expected: Option<f64>,
    /// The grade then.
    pub becomes: GradeSays,
}

/// A combination of mechanisms.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StorySays {
    /// Ids of those that are there.
    pub present: Vec<String>,
    /// Their titles, with their places.
    pub titles: Vec<String>,
    /// The chance of just this combination.
    pub chance: Option<f64>,
    /// Ids of the sightings that each accounts for best, in the order of `present`.
    pub accounts: Vec<Vec<String>>,
    /// Ids of the sightings left to ordinary causes.
    pub ordinary: Vec<String>,
}
