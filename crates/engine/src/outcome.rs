//! What comes out: values with ids, and no prose.

use wythe_pack::{Action, ClueIx, ContextIx, FamilyIx, MechanismIx, Support, Zone};

/// Everything that was weighed, graded and decided.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// Id and version of the pack that answered, and the format it was written in.
    pub pack: (String, String, i64),
    /// The case's id.
    pub case: String,
    /// The last pass taken in; none before any pass.
    pub as_of: Option<String>,
    /// What became of each sighting that stands, in the order of the case.
    pub readings: Vec<Reading>,
    /// Contexts that the case states, and whether they hold.
    pub contexts: Vec<(ContextIx, bool)>,
    /// Mechanisms at their places (pack order, then case order), then families.
    pub conclusions: Vec<Conclusion>,
    /// Limits passed, hazards seen, and misfit.
    pub notices: Vec<Notice>,
    /// How badly the modelled causes together explain the sightings.
    pub misfit: Misfit,
    /// The highest action asked for by anything.
    pub action: Action,
    /// Natural logarithm of the probability of the evidence under the pack.
    pub ln_evidence: f64,
}

/// A sighting that stands, and how it was used.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Id of the sighting in the case; for a derived clue, the clue's id.
    pub sighting: String,
    /// The clue.
    pub clue: ClueIx,
    /// Index of the place in the case.
    pub at: usize,
    /// Likelihood of what was seen under each grade, largest 1.
    pub likelihood: Vec<f64>,
    /// The likeliest grade.
    pub grade: usize,
    /// Marks noted: index of the mark, and the kinds that it may be.
    pub marks: Vec<(usize, Vec<usize>)>,
    /// What became of it.
    pub used: Used,
    /// Sightings that a derived clue was made from.
    pub made_from: Vec<String>,
}

impl Reading {
    /// Whether it says that something is there.
    pub fn shows(&self) -> bool {
        self.grade > 0
    }
}

/// How a sighting was used.
#[derive(Clone, Debug, PartialEq)]
pub enum Used {
    /// As evidence.
    Weighed,
    /// Not as evidence: a derived clue stands for it.
    SetAside {
        /// The derived clue.
        by: ClueIx,
    },
    /// Not as evidence: nothing was seen, but something hides it. Counts as not looked.
    Hidden {
        /// Index of the suppression in the pack.
        by: usize,
    },
    /// Could not be looked at: no evidence, and a limit of the visit.
    NotReached,
}

/// What a conclusion is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum About {
    /// A mechanism at a place of the case.
    Mechanism {
        /// The mechanism.
        mechanism: MechanismIx,
        /// Index of the place in the case.
        at: usize,
    },
    /// At least one member of a family, anywhere on the house.
    Family(FamilyIx),
}

/// One conclusion: a chance, how the clues moved it, its support, and what to do.
#[derive(Clone, Debug, PartialEq)]
pub struct Conclusion {
    /// What it is about.
    pub about: About,
    /// Chance before any context of this house is known (as the pack has it), 0–1.
    pub base: f64,
    /// Chance given the contexts and before any sighting, 0–1.
    pub prior: f64,
    /// Chance given everything, 0–1.
    pub chance: f64,
    /// The chance with its own prevalence at the low and at the high end of the pack's range, all else as it is: of a
    /// mechanism at one of several places its share there, of a family the prevalences of all its members.
    pub range: (f64, f64),
    /// Weight of the sightings, in decibans: ten times the decimal logarithm of the factor on the odds.
    pub weight: f64,
    /// Prior plus these equals the posterior, in decibans of odds.
    pub steps: Vec<Step>,
    /// How much of what would tell was looked at, 0–1 by expected weight of evidence.
    pub coverage: f64,
    /// Support.
    pub support: Support,
    /// What to do.
    pub action: Action,
    /// What decided the action.
    pub decided: Decided,
    /// The look that would corroborate a referral that still lacks it: the clue, and the index of its place in the case. The
    /// action waits for it only where [`Decided::WantsLook`] decided.
    pub wants_look: Option<(ClueIx, usize)>,
    /// The evidence for it, counted for corroboration.
    pub corroboration: Corroborated,
    /// Advice held back because it would do harm if this is wrong.
    pub held_back: Option<HeldBack>,
}

/// One step of a ledger.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// What kind of step.
    pub kind: StepKind,
    /// Indices into [`Outcome::readings`].
    pub readings: Vec<usize>,
    /// Weight in decibans.
    pub weight: f64,
    /// The chance after it.
    pub after: f64,
}

/// Kinds of ledger step, in their fixed order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum StepKind {
    /// The contexts of the case.
    Context,
    /// Everything looked for and not there.
    NoneThere,
    /// Something seen: sightings that share a response or a place.
    Seen,
}

/// What decided an action.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Decided {
    /// The table of support by consequence.
    Support,
    /// The referral bound 1/(1+k).
    CostRatio,
    /// A referral short of strong support that still wants corroboration: monitor, and look first.
    WantsLook,
    /// A referral without corroboration, because the look that would supply it can't be had.
    NoLookLeft,
}

/// Independent groups of evidence for a conclusion.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Corroborated {
    /// How many groups count.
    pub groups: usize,
    /// The zones they come from.
    pub zones: Vec<Zone>,
    /// Whether that is enough for a referral by pattern.
    pub enough: bool,
}

/// Advice held back until a rival is settled.
#[derive(Clone, Debug, PartialEq)]
pub struct HeldBack {
    /// The rival.
    pub rival: wythe_pack::Rival,
    /// Its chance.
    pub chance: f64,
    /// What to check first.
    pub check_first: ClueIx,
}

/// Something that asks for action by itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Notice {
    /// What fired.
    pub kind: NoticeKind,
    /// The reading that fired it, as an index into [`Outcome::readings`].
    pub reading: Option<usize>,
    /// The least action.
    pub action: Action,
}

/// Kinds of notice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoticeKind {
    /// A hazard: index in the pack.
    Hazard(usize),
    /// A limit passed: index in the pack.
    Limit(usize),
    /// The signs do not fit a pattern known here.
    Misfit,
}

/// The conflict measure: how badly the modelled causes together explain the sightings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Misfit {
    /// Ten times the decimal logarithm of the product of single probabilities over the joint.
    pub decibans: f64,
    /// The pack's bound.
    pub bound: f64,
    /// Whether it is passed.
    pub over: bool,
}

/// A weight that counts as some, in decibans: about what people can tell apart (Good 1950, half a ban to a deciban).
pub const SOME: f64 = 1.0;

/// Decibans of odds of a chance.
pub fn decibans(chance: f64) -> f64 {
    10.0 * (libm::log10(chance) - libm::log10(1.0 - chance))
}
