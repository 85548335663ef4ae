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
    /// How the share is known.
    pub basis: Basis,
    /// Where it comes from.
    pub sources: Vec<SourceIx>,
}
