use std::fmt;

use crate::Effort;

/// What a look takes where a pack does not say: common practice, no source.
pub(crate) const LOOK_MINUTES: [f64; 4] = [1.0, 5.0, 15.0, 120.0];

/// What an hour of looking costs where a pack does not say, in needless referrals: our judgement, no source.
pub(crate) const LOOK_HOUR: f64 = 0.2;

/// How far the clues support a conclusion.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Support {
    /// The clues that matter most were not looked at.
    CannotTell,
    /// The clues speak against it.
    SpokenAgainst,
    /// The clues moved its odds by less than the pack's factor.
    NotMoved,
    /// Moved, and still unlikely.
    Slight,
    /// Moved, and less likely than not.
    Some,
    /// More likely than not.
    Fair,
    /// The clues agree on it.
    Strong,
}

impl Support {
    /// Every support, in order.
    pub const ALL: [Support; 7] = [
        Support::CannotTell,
        Support::SpokenAgainst,
        Support::NotMoved,
        Support::Slight,
        Support::Some,
        Support::Fair,
        Support::Strong,
    ];
    pub(crate) const NAMES: [&'static str; 7] = [
        "cannot_tell",
        "spoken_against",
        "not_moved",
        "slight",
        "some",
        "fair",
        "strong",
    ];

    /// The name in rule files and JSON.
    pub fn name(self) -> &'static str {
        match self {
            Support::CannotTell => "cannot_tell",
            Support::SpokenAgainst => "spoken_against",
            Support::NotMoved => "not_moved",
            Support::Slight => "slight",
            Support::Some => "some",
            Support::Fair => "fair",
            Support::Strong => "strong",
        }
    }
}

impl fmt::Display for Support {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name().replace('_', " "))
    }
}

/// What to do about a conclusion, from the least to the most.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Action {
    /// Write it down.
    Record,
    /// Ordinary upkeep.
    Upkeep,
    /// Repair by a qualified trade.
    Trade,
    /// Measure again, at named points, over a named time.
    Monitor,
    /// Refer to a licensed professional engineer.
    Refer,
    /// Refer promptly and keep people clear.
    Promptly,
}

impl Action {
    pub(crate) const NAMES: [&'static str; 6] = ["record", "upkeep", "trade", "monitor", "refer", "promptly"];
    /// Every action, least first.
    pub const ALL: [Action; 6] = [
        Action::Record,
        Action::Upkeep,
        Action::Trade,
        Action::Monitor,
        Action::Refer,
        Action::Promptly,
    ];

    /// The name in rule files and JSON.
    pub fn name(self) -> &'static str {
        match self {
            Action::Record => "record",
            Action::Upkeep => "upkeep",
            Action::Trade => "trade",
            Action::Monitor => "monitor",
            Action::Refer => "refer",
            Action::Promptly => "promptly",
        }
    }
}

/// The bounds between supports. Chances are in 0–1, factors on the odds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Spoken against under this chance.
    pub spoken_against: f64,
    /// Or under this chance, when also the next two hold.
    pub weakly: f64,
    /// Under this share of the prior chance.
    pub share_of_prior: f64,
    /// Odds multiplied by this or less.
    pub halved: f64,
    /// Not moved while the odds changed by less than this factor either way, over 1.
    pub not_moved: f64,
    /// Some support from this chance.
    pub some: f64,
    /// Fair support from this chance.
    pub fair: f64,
    /// Strong support over this chance.
    pub strong: f64,
    /// Cannot tell under this coverage, 0–1.
    pub cannot_tell: f64,
}

/// What it takes for a referral by pattern.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corroboration {
    /// Independent groups of evidence (no shared response).
    pub groups: usize,
    /// Zones (outside, inside …) that they come from.
    pub zones: usize,
    /// Least weight of a group that counts, in decibans.
    pub at_least: f64,
}

/// The stated cost ratio behind a referral.
#[derive(Clone, Debug, PartialEq)]
pub struct Referral {
    /// A miss costs this many needless referrals.
    pub miss_costs: f64,
    /// Why that ratio.
    pub reason: String,
    /// What a referral by pattern needs.
    pub corroborate: Corroboration,
}

impl Referral {
    /// The chance from which to refer: 1/(1+k) (threshold approach, Pauker & Kassirer 1980).
    pub fn bound(&self) -> f64 {
        1.0 / (1.0 + self.miss_costs)
    }
}

/// How much of the neighbouring grades an unsure sighting allows, 0–1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unsure {
    /// When fairly sure.
    pub fairly: f64,
    /// When unsure.
    pub unsure: f64,
}

/// A row of the table of support by what it costs to be wrong.
#[derive(Clone, Debug, PartialEq)]
pub struct Consequence {
    /// Name in rule files.
    pub id: String,
    /// The action per support, in the order of [`Support::ALL`].
    pub actions: [Action; 7],
}

impl Consequence {
    /// The action at a support.
    #[allow(clippy::indexing_slicing, reason = "one action per support")]
    pub fn action(&self, support: Support) -> Action {
        self.actions[support as usize]
    }
}

/// Policy of a pack: printed with every outcome, and not science.
#[derive(Clone, Debug, PartialEq)]
pub struct Policy {
    /// Bounds between supports.
    pub bounds: Bounds,
    /// When to refer.
    pub referral: Referral,
    /// Most that contexts together may multiply or divide the odds of a mechanism, over 1.
    pub context_cap: f64,
    /// Chance of having noticed a clue where only part was looked at, 0–1.
    pub part_looked: f64,
    /// Unsure sightings.
    pub unsure: Unsure,
    /// A measurement from a photograph has its error times this, 1 or more.
    pub photo_error: f64,
    /// Conflict past which the signs do not fit a pattern known here, in decibans.
    pub misfit: f64,
    /// Months over which to monitor.
    pub monitor_months: f64,
    /// What a look takes, in minutes, for each [`Effort`] in its order: a stated guess, by which looks are put in order.
    pub look_minutes: [f64; 4],
    /// What an hour of looking costs, in needless referrals: by it a look is worth its effort or not.
    pub look_hour: f64,
    /// The table of support by consequence.
    pub consequences: Vec<Consequence>,
}

impl Policy {
    /// What a look takes, in minutes.
    #[allow(clippy::indexing_slicing, reason = "one number per effort")]
    pub fn minutes(&self, effort: Effort) -> f64 {
        self.look_minutes[effort as usize]
    }

    /// What a look costs, in needless referrals: it is worth its effort where it is worth as much.
    pub fn look_costs(&self, effort: Effort) -> f64 {
        self.minutes(effort) / 60.0 * self.look_hour
    }
}
