use crate::{Basis, Chance, KindIx, Link, SourceIx};

/// Two directions that exclude each other, as down and up.
#[derive(Clone, Debug, PartialEq)]
pub struct Opposed {
    /// Chance of each direction from causes outside the pack.
    pub background: [Chance; 2],
}

/// A hidden step between mechanism and clue.
#[derive(Clone, Debug)]
pub struct Response {
    /// Name in rule files.
    pub id: String,
    /// Name for people.
    pub title: String,
    /// Kind of place.
    pub at: KindIx,
    /// Names of its states; the first is the resting one.
    pub states: Vec<String>,
    /// Set when states 1 and 2 are opposed directions rather than grades.
    pub opposed: Option<Opposed>,
    /// Chance from causes outside the pack (ordered responses).
    pub background: Chance,
    /// How the background splits over the states above the lowest.
    pub background_grades: Vec<f64>,
    /// Links out of it.
    pub links: Vec<Link>,
    /// Where it comes from.
    pub sources: Vec<SourceIx>,
    /// How well the background is known.
    pub basis: Basis,
}

impl Response {
    /// The distribution over the states that the background alone makes (ordered responses).
    pub fn leak(&self) -> Vec<f64> {
        crate::clue::spread(self.background.value, &self.background_grades)
    }
}
