//! Places, and how they lie to one another.

use wythe_text::Locus;

use crate::Case;

/// Name and kind of the place that all others lie in.
pub const HOUSE: &str = "house";

/// Somewhere on a house.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Name in the case.
    pub id: String,
    /// Kind of place, as the pack names it.
    pub kind: String,
    /// Name for people; the id when the case gives none.
    pub label: String,
    /// The place that it lies in, by index; none for the house only.
    pub within: Option<usize>,
    /// The places that it touches, by index, ascending. Given either way, it stands on both sides.
    pub touches: Vec<usize>,
    /// Free note.
    pub note: Option<String>,
    /// Where the case file says so.
    pub locus: Locus,
}

impl Place {
    /// A place of that name and kind, in the house and touching nothing.
    pub fn new(id: &str, kind: &str) -> Self {
        Self {
            id: id.to_owned(),
            kind: kind.to_owned(),
            label: id.to_owned(),
            within: (id != HOUSE).then_some(0),
            touches: Vec::new(),
            note: None,
            locus: Locus::default(),
        }
    }

    /// The house itself.
    pub fn house() -> Self {
        Self::new(HOUSE, HOUSE)
    }
}

impl Case {
    /// Index of the place of that name.
    pub fn place(&self, id: &str) -> Option<usize> {
        self.places.iter().position(|place| place.id == id)
    }

    /// The places that a place lies in, nearest first.
    pub fn around(&self, place: usize) -> impl Iterator<Item = usize> + '_ {
        let step = |&at: &usize| self.places.get(at).and_then(|place| place.within);
        std::iter::successors(step(&place), step).take(self.places.len())
    }

    /// True when `inner` lies in `outer`, over any number of steps. No place lies in itself.
    pub fn contains(&self, outer: usize, inner: usize) -> bool {
        outer != inner && self.around(inner).any(|place| place == outer)
    }

    /// True when the two touch: the case says so of either, or one lies in a place that the other touches. No place
    /// touches itself, a place that it lies in, or one that lies in it.
    pub fn touching(&self, a: usize, b: usize) -> bool {
        let said = |a: usize, b: usize| {
            let lists = |one: usize, other| self.places.get(one).is_some_and(|place| place.touches.contains(&other));
            lists(a, b) || lists(b, a)
        };
        a != b
            && !self.contains(a, b)
            && !self.contains(b, a)
            && (said(a, b) || self.around(b).any(|outer| said(a, outer)) || self.around(a).any(|outer| said(b, outer)))
    }
}
