use crate::{Action, Basis, ClueIx, ContextIx, FamilyIx, KindIx, Link, MechanismIx, NotExpected, SourceIx, Support};

/// The chance that a mechanism is present at one or more places of a house of the reference population, before context.
#[derive(Clone, Debug)]
pub struct Prevalence {
    /// Best number, in 0–1.
    pub chance: f64,
    /// Low end.
    pub from: f64,
    /// High end.
    pub to: f64,
    /// How well it is known.
    pub basis: Basis,
    /// Where it comes from.
    pub sources: Vec<SourceIx>,
}

/// What a context does to a mechanism's odds.
#[derive(Clone, Debug)]
pub struct ContextEffect {
    /// The context.
    pub context: ContextIx,
    /// Multiplies the odds; 0 rules the mechanism out.
    pub times: f64,
    /// The effect word, if it was one.
    pub word: Option<String>,
    /// Where it comes from.
    pub sources: Vec<SourceIx>,
}

/// How to measure again.
#[derive(Clone, Debug, PartialEq)]
pub struct MonitorPlan {
    /// At which points.
    pub points: String,
    /// How.
    pub method: String,
    /// What change should prompt a call.
    pub call_if: String,
}

/// What to do, in words, per action.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Advice {
    /// Ordinary upkeep.
    pub upkeep: Option<String>,
    /// Repair by a trade.
    pub trade: Option<String>,
    /// Measure again.
    pub monitor: Option<MonitorPlan>,
    /// What to ask the engineer to look at.
    pub refer: Option<String>,
}

/// What advice would harm if the conclusion were wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rival {
    /// A family of mechanisms.
    Family(FamilyIx),
    /// One mechanism.
    Mechanism(MechanismIx),
}

/// Advice held back until a rival that it would harm is settled.
#[derive(Clone, Debug)]
pub struct HarmIfWrong {
    /// The advice, such as sealing the crack.
    pub what: String,
    /// What it would hide or damage.
    pub hides: String,
    /// The rival that must be settled first.
    pub rival: Rival,
    /// Held back while the rival's chance is over this, 0–1.
    pub over: f64,
    /// What to check first.
    pub check_first: ClueIx,
}

/// Something that could be going on at a place of its kind.
#[derive(Clone, Debug)]
pub struct Mechanism {
    /// Name in rule files.
    pub id: String,
    /// Name for people.
    pub title: String,
    /// Other names of the trade for it.
    pub also_called: Vec<String>,
    /// Pack version that first had it.
    pub since: String,
    /// Kind of place.
    pub at: KindIx,
    /// Families it is reported with.
    pub families: Vec<FamilyIx>,
    /// An ordinary cause, found on most houses.
    pub ordinary: bool,
    /// What it is.
    pub what: String,
    /// What it usually looks like.
    pub picture: String,
    /// How common it is.
    pub prevalence: Prevalence,
    /// Contexts without which it cannot be.
    pub applies_if: Vec<ContextIx>,
    /// Contexts that raise or lower its odds.
    pub contexts: Vec<ContextEffect>,
    /// Row of the pack's table of consequences.
    pub consequence: usize,
    /// Actions that depart from that row.
    pub actions: Vec<(Support, Action)>,
    /// The trade, where the action is a trade's.
    pub trade: Option<String>,
    /// What to do, in words.
    pub advice: Advice,
    /// Advice held back.
    pub harm_if_wrong: Option<HarmIfWrong>,
    /// What would change it.
    pub mind_changers: Vec<MindChanger>,
    /// Links out of it.
    pub links: Vec<Link>,
    /// Effects it is not expected to have.
    pub not_expected: Vec<NotExpected>,
    /// Where it comes from.
    pub sources: Vec<SourceIx>,
}

/// Something that would change what is thought of a mechanism.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MindChanger {
    /// In words, such as "a level floor in the corner".
    pub says: String,
    /// The clue that says so, and whether by showing or by its absence. A house where a look has found it so already is
    /// not told of it as something that would change anything; one where a look has found it otherwise is told that a second
    /// look would have to find it.
    pub clue: Option<(ClueIx, bool)>,
}

/// Mechanisms reported together as well as singly.
#[derive(Clone, Debug)]
pub struct Family {
    /// Name in rule files.
    pub id: String,
    /// Name for people, such as "any ground movement".
    pub title: String,
    /// What it is, in a sentence for a lay reader; may be empty.
    pub what: String,
    /// Row of the table of consequences; none asks for nothing by itself.
    pub consequence: Option<usize>,
    /// Its members.
    pub members: Vec<MechanismIx>,
}
