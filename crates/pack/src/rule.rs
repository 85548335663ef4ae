use crate::{Action, Basis, ClueIx, ContextIx, SourceIx};

/// Where a limit lies.
#[derive(Clone, Debug, PartialEq)]
pub enum Bound {
    /// A measurement over this value, in the base unit of the clue's quantity, or a grade seen whose class begins there
    /// or above.
    Over {
        /// The value.
        value: f64,
        /// As the file states it.
        text: String,
    },
    /// A grade from this one up.
    From(usize),
    /// A measurement under this value, of a clue that is worse the less it is, or a grade seen whose class begins there
    /// or below.
    Under {
        /// The value.
        value: f64,
        /// As the file states it.
        text: String,
    },
}

/// A published threshold and the least action that passing it asks for.
#[derive(Clone, Debug)]
pub struct Limit {
    /// Name in rule files.
    pub id: String,
    /// Name for people.
    pub title: String,
    /// The clue it reads.
    pub clue: ClueIx,
    /// Where it lies.
    pub bound: Bound,
    /// Other clues that it reads the same way: a class of crack widths holds for every kind of crack.
    pub also: Vec<ClueIx>,
    /// Marks, by name and kind, that a sighting must have been noted with: "over 5 mm, and come back after it was patched".
    pub marks: Vec<(String, String)>,
    /// How many sightings must pass it, 1 or more: "a number of cracks over 3 mm".
    pub number: usize,
    /// The least action.
    pub at_least: Action,
    /// What the limit is for.
    pub purpose: String,
    /// Who published it.
    pub sources: Vec<SourceIx>,
    /// How well it is known.
    pub basis: Basis,
}

/// A sign that calls for a notice and action by itself, outside all weighing.
#[derive(Clone, Debug)]
pub struct Hazard {
    /// Name in rule files.
    pub id: String,
    /// Name for people.
    pub title: String,
    /// The clue it reads.
    pub clue: ClueIx,
    /// From this grade up.
    pub from: usize,
    /// The least action.
    pub at_least: Action,
    /// The notice, in words.
    pub notice: String,
    /// Where it comes from.
    pub sources: Vec<SourceIx>,
}

/// What hides a clue.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SuppressedBy {
    /// A context that holds.
    Context(ContextIx),
    /// Another clue, from a grade up, at the same place or at a place around or inside it.
    Clue {
        /// That clue.
        clue: ClueIx,
        /// Its grade.
        from: usize,
    },
    /// A test made before at the same place, or at one around or inside it, that brings about the sign itself, as water
    /// run on a wall does: until its wait is over, whatever is seen says nothing.
    Test {
        /// The clue that the test looks for, which has a wait.
        clue: ClueIx,
    },
}

/// A rule by which a sighting counts as not looked: one of none that something hides, or any that a test spoiled.
#[derive(Clone, Debug)]
pub struct Suppression {
    /// Name in rule files.
    pub id: String,
    /// The clues it hides.
    pub hides: Vec<ClueIx>,
    /// What hides them.
    pub by: SuppressedBy,
    /// Why.
    pub reason: String,
    /// Where it comes from.
    pub sources: Vec<SourceIx>,
}
