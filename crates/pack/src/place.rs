use crate::ContextIx;
use crate::{Basis, KindIx, SourceIx};

/// A kind of place where a clue can be.
#[derive(Clone, Debug)]
pub struct PlaceKind {
    /// Name in rule and case files.
    pub id: String,
    /// Name for people.
    pub title: String,
    /// The kind that a place of this kind lies in.
    pub within: Option<KindIx>,
    /// How many places of another kind one of these touches.
    pub touches: Vec<(KindIx, f64)>,
    /// How many a usual house has, 1 or more. Shares out a chance of at least one.
    pub usual: f64,
    /// What such places are called on a new case, going round the house; empty where that differs from house to house.
    pub names: Vec<String>,
    /// How a drawing of the house shows it.
    pub drawn: Drawn,
}

/// What a place is in a drawing of the house.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Drawn {
    /// A stretch of the outline.
    Wall,
    /// Where two stretches of the outline meet.
    Corner,
    /// A hole in a wall.
    Opening,
    /// A room inside the outline.
    Room,
    /// Something in a room.
    Door,
    /// A part of the ground plan, under the rooms that touch it.
    Part,
    /// A box of its own beside the house.
    #[default]
    Beside,
}

impl Drawn {
    pub(crate) const NAMES: [&'static str; 7] = ["wall", "corner", "opening", "room", "door", "part", "beside"];
    pub(crate) const ALL: [Drawn; 7] = [
        Drawn::Wall,
        Drawn::Corner,
        Drawn::Opening,
        Drawn::Room,
        Drawn::Door,
        Drawn::Part,
        Drawn::Beside,
    ];
}

/// A fact of house, site, weather or history that raises or lowers a prevalence.
#[derive(Clone, Debug)]
pub struct Context {
    /// Name in rule and case files.
    pub id: String,
    /// Name for people.
    pub title: String,
    /// How an inspector finds out.
    pub ask: String,
    /// Chance, in the reference population, that it holds; used when a case does not say.
    pub share: f64,
    /// Contexts that cannot hold beside it: where it holds, they do not.
    pub not_with: Vec<ContextIx>,
    /// How the share is known.
    pub basis: Basis,
    /// Where it comes from.
    pub sources: Vec<SourceIx>,
    /// Computed numbers that say whether it holds, where a case does not.
    pub computed_from: Vec<ContextFrom>,
}

/// How a context follows from a sheet of readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ContextFrom {
    /// Kind of sheet, such as `site`.
    pub sheet: &'static str,
    /// Which of the numbers computed from it, such as `plasticity-index`.
    pub value: &'static str,
    /// The bound, in the base unit of the number.
    pub bound: f64,
    /// True when it holds over the bound, false when under.
    pub holds_over: bool,
    /// Whether the other side of the bound says that it does not hold.
    pub denies: bool,
}
