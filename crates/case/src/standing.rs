//! What stands, of all that was seen.

use std::collections::{BTreeMap, BTreeSet};

use crate::{Case, Pass, Repair, Seen, Sighting};

/// What stands of one clue at one place.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing<'c> {
    /// The clue.
    pub clue: &'c str,
    /// The place, by index.
    pub at: usize,
    /// The pass of the sighting that stands.
    pub pass: &'c Pass,
    /// The sighting that stands.
    pub sighting: &'c Sighting,
    /// Its marks, with those noted earlier that it does not restate.
    pub marks: Vec<(&'c str, &'c [String])>,
    /// All other sightings of the clue at the place, in the order they were made.
    pub history: Vec<&'c Sighting>,
}

/// When a sighting was made: the number of its pass, then its number in the pass.
type When = (usize, usize);
type Made<'c> = (When, &'c Pass, &'c Sighting);

impl Case {
    /// What stands of each clue at each place, in the order first seen.
    ///
    /// The latest sighting that reached the place stands; one that did not reach it stands only when nothing else
    /// does. A correction stands in the stead of the sighting that it corrects, as if made when that was made. What was
    /// seen before a repair that covers it stands no more. A mark noted earlier holds until a later sighting restates
    /// it or finds none.
    pub fn standing(&self) -> Vec<Standing<'_>> {
        let mut order: Vec<Vec<Made<'_>>> = Vec::new();
        let mut found: BTreeMap<(&str, usize), usize> = BTreeMap::new();
        let (all, corrected) = self.made();
        for made in all {
            let next = order.len();
            let index = *found.entry((&made.2.clue, made.2.at)).or_insert(next);
            if index == next {
                order.push(Vec::new());
            }
            if let Some(of) = order.get_mut(index) {
                of.push(made);
            }
        }
        let repairs: Vec<Cover<'_>> = self.repairs.iter().map(Cover::of).collect();
        order
            .iter()
            .filter_map(|made| self.stands(made, &repairs, &corrected))
            .collect()
    }

    /// Every sighting, a correction beside what it corrects; and the ids of those corrected.
    fn made(&self) -> (Vec<Made<'_>>, BTreeSet<&str>) {
        let mut all: Vec<Made<'_>> = Vec::new();
        let mut when: BTreeMap<&str, When> = BTreeMap::new();
        let mut corrected: BTreeSet<&str> = BTreeSet::new();
        for (pass_number, pass) in self.passes.iter().enumerate() {
            for (number, sighting) in pass.sightings.iter().enumerate() {
                let of = sighting.corrects.as_deref();
                corrected.extend(of);
                let own = (pass_number, number);
                let at = of.and_then(|id| when.get(id)).copied().unwrap_or(own);
                when.insert(&sighting.id, at);
                all.push((at, pass, sighting));
            }
        }
        // A sort that keeps equals in order: a correction of a correction comes after it.
        all.sort_by_key(|(at, ..)| *at);
        (all, corrected)
    }

    /// What stands of the sightings of one clue at one place.
    fn stands<'c>(
        &'c self,
        made: &[Made<'c>],
        repairs: &[Cover<'_>],
        corrected: &BTreeSet<&str>,
    ) -> Option<Standing<'c>> {
        let &(_, _, first) = made.first()?;
        let covers = |cover: &&Cover<'_>| cover.covers(self, &first.clue, first.at);
        let from = repairs
            .iter()
            .filter(covers)
            .map(|cover| cover.repair.before_pass)
            .max()
            .unwrap_or(0);
        let counts = |at: &When, one: &Sighting| at.0 >= from && !corrected.contains(one.id.as_str());
        let live = || made.iter().filter(|(at, _, one)| counts(at, one));
        let reached = |sighting: &Sighting| !matches!(sighting.seen, Seen::NotReached { .. });
        let &(_, pass, sighting) = live()
            .rfind(|(_, _, sighting)| reached(sighting))
            .or_else(|| live().next_back())?;
        let mut marks: Vec<(&str, &[String])> = Vec::new();
        for (_, _, sighting) in live().filter(|(_, _, sighting)| reached(sighting)) {
            if matches!(sighting.seen, Seen::NoneThere { .. }) {
                marks.clear();
            }
            for (mark, kinds) in &sighting.marks {
                match marks.iter_mut().find(|(noted, _)| noted == mark) {
                    Some(noted) => noted.1 = kinds,
                    None => marks.push((mark, kinds)),
                }
            }
        }
        let history = made
            .iter()
            .map(|&(_, _, other)| other)
            .filter(|other| !std::ptr::eq(*other, sighting))
            .collect();
        Some(Standing {
            clue: &first.clue,
            at: first.at,
            pass,
            sighting,
            marks,
            history,
        })
    }
}

/// A repair, with its places in a form that is quick to search.
struct Cover<'c> {
    repair: &'c Repair,
    places: BTreeSet<usize>,
    clues: BTreeSet<&'c str>,
}

impl<'c> Cover<'c> {
    fn of(repair: &'c Repair) -> Self {
        let clues = repair.clues.iter().map(String::as_str).collect();
        Self {
            repair,
            places: repair.at.iter().copied().collect(),
            clues,
        }
    }

    fn covers(&self, case: &Case, clue: &str, at: usize) -> bool {
        let of_clue = self.clues.is_empty() || self.clues.contains(clue);
        of_clue && (self.places.contains(&at) || case.around(at).any(|place| self.places.contains(&place)))
    }
}

impl Case {
    /// True when a repair covers that clue at that place.
    pub fn covers(&self, repair: &Repair, clue: &str, at: usize) -> bool {
        Cover::of(repair).covers(self, clue, at)
    }
}
