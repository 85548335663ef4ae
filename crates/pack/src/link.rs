use crate::clue::spread;
use crate::{Basis, ClueIx, ContextIx, MechanismIx, ResponseIx, SourceIx};

/// A kind of node of the template graph.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Node {
    /// A mechanism.
    Mechanism(MechanismIx),
    /// A hidden response.
    Response(ResponseIx),
    /// A clue.
    Clue(ClueIx),
}

/// How far a link reaches, from the cause's place to the effect's.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reach {
    /// The same place.
    Here,
    /// At least one such place inside it.
    Inside,
    /// The place it lies in.
    Around,
    /// At least one place that touches it.
    Touching,
    /// At least one such place on the house.
    Anywhere,
    /// Every such place on the house, each with this chance.
    Each,
}

impl Reach {
    pub(crate) const NAMES: [&'static str; 6] = ["here", "inside", "around", "touching", "anywhere", "each"];
    pub(crate) const ALL: [Reach; 6] = [
        Reach::Here,
        Reach::Inside,
        Reach::Around,
        Reach::Touching,
        Reach::Anywhere,
        Reach::Each,
    ];

    /// The name in rule files and JSON.
    pub fn name(self) -> &'static str {
        match self {
            Reach::Here => "here",
            Reach::Inside => "inside",
            Reach::Around => "around",
            Reach::Touching => "touching",
            Reach::Anywhere => "anywhere",
            Reach::Each => "each",
        }
    }
}

/// A chance, as a rule file states it.
#[derive(Clone, Debug, PartialEq)]
pub struct Chance {
    /// In 0–1.
    pub value: f64,
    /// The frequency word, if it was one.
    pub word: Option<String>,
}

/// A link from a cause to an effect.
#[derive(Clone, Debug)]
pub struct Link {
    /// `cause -> effect`, unique in the pack.
    pub id: String,
    /// Where it leads.
    pub effect: Node,
    /// The direction it pushes, when the effect is an opposed response: 1 or 2.
    pub direction: Option<usize>,
    /// The state of the cause that it speaks of; none: any state above the lowest.
    pub when: Option<usize>,
    /// How far it reaches.
    pub reach: Reach,
    /// How often.
    pub how_often: Chance,
    /// How it splits over the effect's states above the lowest; sums to 1.
    pub grades: Vec<f64>,
    /// Per mark of the clue, the share of each kind among what this cause makes; sums to 1 each.
    pub marks: Vec<Vec<f64>>,
    /// Which of the clue's marks this link states itself; the others have the background's shares.
    pub states_marks: Vec<bool>,
    /// Only where this context holds.
    pub only_if: Option<ContextIx>,
    /// Why, in one sentence.
    pub reason: String,
    /// Where it comes from.
    pub sources: Vec<SourceIx>,
    /// How well the number is known.
    pub basis: Basis,
}

impl Link {
    /// The distribution over the effect's states by this cause alone, with the chance shared over `among` places.
    ///
    /// A chance p of at least one among n is 1 − (1 − p)^(1/n) at each, so that 1 − (1 − q)^n gives p back.
    pub fn row(&self, among: f64) -> Vec<f64> {
        self.row_at(self.how_often.value, among)
    }

    /// The same had it been so often, 0–1.
    pub fn row_at(&self, how_often: f64, among: f64) -> Vec<f64> {
        spread(share(how_often, among), &self.grades)
    }
}

/// The chance at each of `among` places whose chance of at least one is `p`.
pub(crate) fn share(p: f64, among: f64) -> f64 {
    if among <= 1.0 {
        p
    } else {
        -f64::exp_m1(f64::ln_1p(-p) / among)
    }
}

/// An effect that a mechanism is not expected to have, taught on its page and barred from its links.
#[derive(Clone, Debug)]
pub struct NotExpected {
    /// The effect.
    pub effect: Node,
    /// Why.
    pub reason: String,
    /// Where it comes from.
    pub sources: Vec<SourceIx>,
}
