use wythe_measure::Quantity;

use crate::{Basis, Chance, ClueIx, KindIx, SourceIx};

/// Which part of a visit a clue belongs to. Corroboration asks for two.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Zone {
    /// Outside walls and slab edge.
    Outside,
    /// Rooms.
    Inside,
    /// Roof and attic.
    Roof,
    /// Ground around the house.
    Site,
    /// Below the floor.
    Under,
}

impl Zone {
    pub(crate) const NAMES: [&'static str; 5] = ["outside", "inside", "roof", "site", "under"];
    pub(crate) const ALL: [Zone; 5] = [Zone::Outside, Zone::Inside, Zone::Roof, Zone::Site, Zone::Under];

    /// The name in rule files and JSON.
    pub fn name(self) -> &'static str {
        match self {
            Zone::Outside => "outside",
            Zone::Inside => "inside",
            Zone::Roof => "roof",
            Zone::Site => "site",
            Zone::Under => "under",
        }
    }
}

/// What it takes to look, least first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Effort {
    /// In passing.
    Glance,
    /// On purpose, close up.
    CloserLook,
    /// With a tool.
    Tool,
    /// On another day.
    SecondVisit,
}

impl Effort {
    pub(crate) const NAMES: [&'static str; 4] = ["glance", "closer_look", "tool", "second_visit"];
    pub(crate) const ALL: [Effort; 4] = [Effort::Glance, Effort::CloserLook, Effort::Tool, Effort::SecondVisit];

    /// The name in rule files and JSON.
    pub fn name(self) -> &'static str {
        match self {
            Effort::Glance => "glance",
            Effort::CloserLook => "closer_look",
            Effort::Tool => "tool",
            Effort::SecondVisit => "second_visit",
        }
    }
}

/// A look that interferes with others, as water run on a wall does: they wait, or come first.
#[derive(Clone, Debug, PartialEq)]
pub struct Wait {
    /// Days, 0 or more.
    pub days: f64,
    /// Why.
    pub reason: String,
}

/// One grade of a clue.
#[derive(Clone, Debug, PartialEq)]
pub struct Grade {
    /// Name in rule and case files.
    pub id: String,
    /// What it means, where its name does not say.
    pub title: Option<String>,
    /// Upper bound of the class, in the base unit of the clue's quantity (mm for lengths); negated where less is worse.
    /// None on the last and on clues graded by eye.
    pub up_to: Option<f64>,
    /// The bound as the file states it, by `up_to`, or by `down_to` where less is worse.
    pub up_to_text: Option<String>,
}

/// How a clue is measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Instrument {
    /// What kind of quantity.
    pub quantity: Quantity,
    /// One standard deviation when a case states no error, in the base unit of the quantity.
    pub sd: f64,
    /// Whether a smaller value is the worse one, as of a seat or a clearance. Class bounds are then kept negated, so that
    /// grades rise with the trouble all the same.
    pub less_is_worse: bool,
    /// How.
    pub how: String,
    /// Where the error comes from.
    pub sources: Vec<SourceIx>,
}

/// A property of a clue that is present, such as a crack's path.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// Name in rule and case files.
    pub id: String,
    /// Name for people.
    pub title: String,
    /// Names of its kinds.
    pub kinds: Vec<String>,
    /// Share of each kind among those that the background makes; sums to 1.
    pub background: Vec<f64>,
}

/// How places must be alike for a derived clue to hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PatternKind {
    /// Every place looked at shows it.
    AllAlike,
    /// One place shows it, all others looked at do not.
    OneOnly,
    /// Two or more places show it and all of them lie in or touch one wall, others looked at do not.
    OneWallOnly,
    /// Places in or touching one wall show it worst, and more than others.
    WorstToOneSide,
}

impl PatternKind {
    pub(crate) const NAMES: [&'static str; 4] = ["all_alike", "one_only", "one_wall_only", "worst_to_one_side"];
    pub(crate) const ALL: [PatternKind; 4] = [
        PatternKind::AllAlike,
        PatternKind::OneOnly,
        PatternKind::OneWallOnly,
        PatternKind::WorstToOneSide,
    ];
}

/// A clue derived from several places before weighing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pattern {
    /// The clue it reads.
    pub of: ClueIx,
    /// How the places must be alike.
    pub kind: PatternKind,
    /// At how many places the clue must have been looked for.
    pub at_least: usize,
}

/// How a clue follows from a sheet of readings.
#[derive(Clone, Debug, PartialEq)]
pub struct ComputedFrom {
    /// Kinds of sheet that give the number, such as `survey`.
    pub sheets: Vec<&'static str>,
    /// Which of the numbers computed from it, such as `tilt`.
    pub value: &'static str,
    /// Ascending class bounds for a clue graded by eye; those of its grades else.
    pub up_to: Option<Vec<f64>>,
    /// Whether the number makes a sighting. A number that others of the same sheet say better is told and not weighed.
    pub weighed: bool,
    /// Clues that stand for it: where one of them, computed from the same sheet, shows, this one is set aside.
    pub stands_aside_for: Vec<ClueIx>,
    /// Clues whose absence says this one's: where one of them, computed from the same sheet, is weighed and this one
    /// shows nothing, this one is set aside.
    pub none_said_by: Vec<ClueIx>,
    /// Which mark a finding of the sheet makes: the mark, the finding (one of [`wythe_measure::FINDINGS`]), and the
    /// kinds that the mark may then be of.
    pub marks: Vec<(String, &'static str, Vec<String>)>,
}

/// A kind of sign, with ordered grades; the lowest means nothing there.
#[derive(Clone, Debug)]
pub struct Clue {
    /// Name in rule and case files.
    pub id: String,
    /// Name for people.
    pub title: String,
    /// Other names of the trade for it.
    pub also_called: Vec<String>,
    /// Pack version that first had it.
    pub since: String,
    /// Kind of place it is looked for at.
    pub at: KindIx,
    /// Part of the visit.
    pub zone: Zone,
    /// Ordered grades, lowest first; at least two.
    pub grades: Vec<Grade>,
    /// How it is measured, where it is.
    pub measured_by: Option<Instrument>,
    /// How it splits over the grades above the lowest when a link does not say; sums to 1.
    pub usual_grades: Vec<f64>,
    /// Chance at one place from causes outside the pack.
    pub background: Chance,
    /// How the background splits over the grades above the lowest; sums to 1.
    pub background_grades: Vec<f64>,
    /// Properties.
    pub marks: Vec<Mark>,
    /// Ordinary causes, in words.
    pub ordinary_causes: Vec<String>,
    /// How to look.
    pub look_for: String,
    /// What it takes to look.
    pub effort: Effort,
    /// How long to wait after it before other looks, where it interferes with them.
    pub wait: Option<Wait>,
    /// Whether it is the condition itself rather than a sign of it.
    pub direct: bool,
    /// How a sentence names it.
    pub says: String,
    /// How a sentence names its absence.
    pub none_says: Option<String>,
    /// The pattern it is derived from, if derived.
    pub pattern: Option<Pattern>,
    /// The computed number that it may follow from.
    pub computed_from: Option<ComputedFrom>,
    /// Where it comes from.
    pub sources: Vec<SourceIx>,
    /// Basis of the background number.
    pub basis: Basis,
}

impl Instrument {
    /// A value on the scale of the class bounds, on which more is worse.
    pub fn scaled(&self, value: f64) -> f64 {
        if self.less_is_worse { -value } else { value }
    }
}

impl Clue {
    /// Ascending class bounds, in base units; one fewer than the grades. Empty for clues graded by eye.
    pub fn bounds(&self) -> Vec<f64> {
        self.grades.iter().filter_map(|grade| grade.up_to).collect()
    }

    /// The index of a grade.
    pub fn grade(&self, id: &str) -> Option<usize> {
        self.grades.iter().position(|grade| grade.id == id)
    }

    /// The distribution over all grades that the background alone makes.
    pub fn leak(&self) -> Vec<f64> {
        spread(self.background.value, &self.background_grades)
    }
}

/// A distribution over grades: none with chance 1 − p, the others by their shares of p.
pub(crate) fn spread(p: f64, shares: &[f64]) -> Vec<f64> {
    let mut row = Vec::with_capacity(shares.len() + 1);
    row.push(1.0 - p);
    row.extend(shares.iter().map(|share| p * share));
    row
}
