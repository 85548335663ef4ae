//! The page: everything that an outcome says, as one small value with ids. Text and JSON are both written from it.
//!
//! Numbers stay numbers here, rounded to six significant digits; each stands beside the ids that it came from:
//! sightings by their id in the case, rules and sources by their id in the pack, places by their id in the case.

mod readings;
mod sighting;

pub use readings::{ComputedFrom, ComputedNumber, Readings};
pub use sighting::{Look, Mark, Measurement, Sighting};

use serde::Serialize;

/// The format of the JSON written from a page.
pub const FORMAT: u32 = 1;

/// What an outcome says.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Page {
    /// Format of this value, [`FORMAT`].
    pub format: u32,
    /// The pack that answered.
    pub pack: PackRef,
    /// The house.
    pub case: CaseRef,
    /// What this is, and what it is not.
    pub about: Vec<String>,
    /// The highest action asked for by anything.
    pub action: &'static str,
    /// Hazards, limits passed and misfit: highest action first.
    pub notices: Vec<Notice>,
    /// Matters to act on: highest action first, then highest chance.
    pub matters: Vec<Matter>,
    /// What changed since an earlier pass, where that was asked for.
    pub changes: Option<Changes>,
    /// Every conclusion, in the order of the outcome.
    pub conclusions: Vec<Conclusion>,
    /// Every sighting that stands, in the order of the case.
    pub sightings: Vec<Sighting>,
    /// Sheets of readings of the case, and what was computed from each.
    pub readings: Vec<Readings>,
    /// Signs that nobody has looked for yet: the most telling first.
    pub not_looked: Vec<Look>,
    /// Facts of the house that were taken in.
    pub contexts: Vec<Context>,
    /// How badly the causes known to the pack explain the signs together.
    pub misfit: Misfit,
    /// The policy that turned chances into words and actions.
    pub policy: Policy,
    /// Cautions that go with every output.
    pub cautions: Vec<String>,
    /// The sources named above.
    pub sources: Vec<Source>,
}

/// The pack that answered.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PackRef {
    /// Its id.
    pub id: String,
    /// Its version: answers depend on it.
    pub version: String,
    /// The format it is written in.
    pub format: i64,
    /// Its name for people.
    pub title: String,
    /// Where its frequencies are meant for.
    pub region: String,
    /// The houses that its shares count.
    pub reference_population: String,
}

/// The house.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CaseRef {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Day of the visit, year first.
    pub visited: Option<String>,
    /// The last pass taken in.
    pub as_of: Option<String>,
    /// Its places.
    pub places: Vec<PlaceRef>,
}

/// A place of the house.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlaceRef {
    /// Its id.
    pub id: String,
    /// Its kind.
    pub kind: String,
    /// Its name for people.
    pub label: String,
}

/// A hazard, a limit passed, or misfit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Notice {
    /// `hazard`, `limit` or `misfit`.
    pub kind: &'static str,
    /// Id of the rule; none for misfit.
    pub rule: Option<String>,
    /// Its title.
    pub title: String,
    /// The least action that it asks for.
    pub action: &'static str,
    /// Number of the matter, 1 for the first, that asks for an engineer at the same place: what this asks for waits for
    /// that visit.
    pub engineer_first: Option<usize>,
    /// The sighting that fired it.
    pub sighting: Option<String>,
    /// What it says.
    pub says: Vec<String>,
    /// Its sources.
    pub sources: Vec<String>,
}

/// Something to act on: one conclusion, or several that share a family.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Matter {
    /// Its title.
    pub title: String,
    /// Where.
    pub places: Vec<String>,
    /// Its action.
    pub action: &'static str,
    /// Ids of its conclusions, the leading one first.
    pub conclusions: Vec<String>,
    /// Ids of the sightings that show something and bear on it.
    pub seen: Vec<String>,
    /// Ids of the sightings that found nothing and bear on it.
    pub not_there: Vec<String>,
    /// Ids of the sightings that could not be made, or that something hides.
    pub not_reached: Vec<String>,
    /// Signs of it that nobody has looked for yet.
    pub not_looked: Vec<Look>,
    /// What it may mean, one per conclusion worth saying.
    pub means: Vec<Meaning>,
    /// What to do, one sentence each.
    pub todo: Vec<String>,
    /// What would change it, and can still be found.
    pub mind_changers: Vec<String>,
    /// What would change it and was found otherwise: a second look would have to find it, against what was noted.
    pub found_otherwise: Vec<String>,
    /// How much was looked at, in words.
    pub coverage: String,
}

/// What a matter may mean.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Meaning {
    /// Id of the conclusion.
    pub conclusion: String,
    /// The support with its number: `fair support (about 6 in 10; 0.61)`.
    pub support: String,
    /// The sentence.
    pub says: String,
}

/// One conclusion.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Conclusion {
    /// `rule@place`, or the id of a family.
    pub id: String,
    /// `mechanism` or `family`.
    pub kind: &'static str,
    /// Id of the mechanism or family.
    pub rule: String,
    /// Its title.
    pub title: String,
    /// Id of the place; none for a family.
    pub place: Option<String>,
    /// Families that a mechanism belongs to; members of a family.
    pub families: Vec<String>,
    /// An ordinary cause, found on most houses.
    pub ordinary: bool,
    /// Chance as the pack has it, before any fact of this house.
    pub base: Option<f64>,
    /// Chance with the facts of this house, before any sighting.
    pub prior: Option<f64>,
    /// Chance given everything.
    pub chance: Option<f64>,
    /// The chance with its share among houses taken at the low and at the high end.
    pub range: [Option<f64>; 2],
    /// The chance in words.
    pub words: String,
    /// Weight of the sightings, in decibans.
    pub weight: Option<f64>,
    /// Support.
    pub support: &'static str,
    /// Action.
    pub action: &'static str,
    /// What decided the action.
    pub decided: &'static str,
    /// The look that would corroborate a referral that still lacks it.
    pub wants_look: Option<Look>,
    /// How much of what would tell was looked at, 0–1.
    pub coverage: Option<f64>,
    /// Steps from `base` to `chance`: decibans that add up. Those that moved nothing are left out.
    pub steps: Vec<Step>,
    /// The evidence for it, counted for corroboration.
    pub corroboration: Corroboration,
    /// Advice held back.
    pub held_back: Option<HeldBack>,
    /// Sources of the rule.
    pub sources: Vec<String>,
}

/// One step of a conclusion.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Step {
    /// `context`, `none_there` or `seen`.
    pub kind: &'static str,
    /// Ids of the sightings.
    pub sightings: Vec<String>,
    /// Decibans.
    pub weight: Option<f64>,
    /// The chance after it.
    pub after: Option<f64>,
    /// What it is, in words; not part of the JSON, where the ids say it.
    #[serde(skip)]
    pub says: String,
}

/// Independent evidence.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Corroboration {
    /// Independent groups.
    pub groups: usize,
    /// Parts of the visit that they come from.
    pub zones: Vec<&'static str>,
    /// Whether that is enough for a referral by pattern.
    pub enough: bool,
}

/// Advice held back until a rival is settled.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HeldBack {
    /// The advice.
    pub what: String,
    /// What it would hide.
    pub hides: String,
    /// Id of the rival.
    pub rival: String,
    /// The rival's title.
    pub rival_title: String,
    /// The rival's chance.
    pub chance: Option<f64>,
    /// What to check first.
    pub check_first: Look,
}

/// A fact of the house.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Context {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Whether it holds.
    pub holds: bool,
    /// The observer's note.
    pub note: Option<String>,
}

/// The conflict measure.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Misfit {
    /// Decibans.
    pub decibans: Option<f64>,
    /// The pack's bound.
    pub bound: f64,
    /// Whether it is passed.
    pub over: bool,
}

/// The policy that was applied: not science.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Policy {
    /// Chances from which support is some, fair and strong.
    pub some_fair_strong: [f64; 3],
    /// A miss is taken to cost this many needless referrals.
    pub miss_costs: f64,
    /// So refer from this chance.
    pub refer_from: Option<f64>,
    /// Why.
    pub reason: String,
}

/// A source.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Source {
    /// Its id.
    pub id: String,
    /// Title, by whom, year.
    pub title: String,
    /// Public address.
    pub address: Option<String>,
}

/// What differs between two outcomes of one case.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Changes {
    /// The pass that the earlier one stands for.
    pub since: Option<String>,
    /// The conclusions that moved to another support or action.
    pub moved: Vec<Moved>,
    /// Ids of new sightings that show something.
    pub seen: Vec<String>,
    /// Ids of new sightings that found nothing.
    pub not_there: Vec<String>,
}

/// A conclusion that moved.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Moved {
    /// Its id.
    pub conclusion: String,
    /// Its title and place in words.
    pub title: String,
    /// Support, chance and action before.
    pub before: Standing,
    /// And after.
    pub after: Standing,
    /// By how much it moved: decibans of odds, less than 0 where it fell.
    pub decibans: Option<f64>,
    /// The new sightings that pulled that way, the heaviest first.
    pub by: Vec<String>,
    /// Whether those are signs of something else only, which account for what spoke for this, or no longer do.
    pub elsewhere: bool,
    /// What those are, in words.
    pub by_words: Vec<String>,
}

/// Where a conclusion stood.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Standing {
    /// Support.
    pub support: &'static str,
    /// Chance.
    pub chance: Option<f64>,
    /// The two in words.
    pub words: String,
    /// Action.
    pub action: &'static str,
}
