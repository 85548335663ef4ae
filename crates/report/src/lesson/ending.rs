//! What a lesson came to, as values.

use super::Reckoned;

/// What a lesson came to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct End {
    /// The most that anything asks for, and whether an engineer is asked for: one sentence each.
    pub asks: Vec<String>,
    /// Matters to act on: highest action first.
    pub matters: Vec<EndMatter>,
    /// Where nothing is to be acted on: the causes that what was seen speaks for most.
    pub recorded: Vec<EndMatter>,
    /// Where no engineer is asked for: what would ask for one, and where it stands.
    pub engineer: Vec<String>,
    /// What was seen besides, and is no sign of a matter.
    pub also: Vec<String>,
    /// Limits passed, hazards and misfit, one sentence each.
    pub notices: Vec<String>,
    /// What was computed and is not weighed, and what the readings cannot tell.
    pub readings: Vec<String>,
    /// What could not be seen, and why.
    pub not_seen: Vec<String>,
    /// The pass before the last and what the last changed, where there were several.
    pub changes: Option<(String, Vec<String>)>,
    /// The words of the trade that the lesson uses, and what each means.
    pub words: Vec<String>,
    /// What the numbers rest on, and where the words begin.
    pub rests_on: Vec<String>,
}

/// A matter to act on.
#[derive(Clone, Debug, PartialEq)]
pub struct EndMatter {
    /// Its title with its place.
    pub title: String,
    /// Whether the signs raised it; what they left about where it began, or lowered, is not said to fit them.
    pub raised: bool,
    /// What it asks for, in words.
    pub asks: &'static str,
    /// Where it stands, in words and in a number.
    pub stands: String,
    /// The pack's sentence for it: what the signs are consistent with.
    pub says: String,
    /// The other conclusions gathered in it, each with its chance.
    pub within: Vec<String>,
    /// What carried it and what spoke against it.
    pub reckoned: Reckoned,
    /// Of a group, the same for the conclusion in it that stands out most: its title with its chance.
    pub member: Option<(String, Box<EndMatter>)>,
    /// What else could be behind its signs: each with what tells the two apart. None where that was too much to work out.
    pub rivals: Option<Vec<(String, Vec<String>)>>,
    /// Signs of it that something else accounts for.
    pub taken: Vec<String>,
    /// Of what is not supported, what speaks against it beside all others.
    pub kept_down: Vec<String>,
    /// What would change it.
    pub change: EndChange,
    /// What to do, one sentence each.
    pub todo: Vec<String>,
}

/// What would change a matter.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct EndChange {
    /// What would make it less likely.
    pub less: Vec<String>,
    /// What would make it more likely.
    pub more: Vec<String>,
    /// How many more changes of one sighting would change its support or its action, or that none would.
    pub sightings: Option<String>,
    /// How close it is, and what the numbers below are.
    pub head: String,
    /// Numbers of the rules.
    pub numbers: Vec<String>,
    /// With everything as rare, or as common, as the rules allow.
    pub ends: Vec<String>,
}
