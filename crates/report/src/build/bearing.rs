//! Which signs bear on a conclusion, at which places, and how strongly each would tell.

use std::collections::{BTreeMap, BTreeSet};

use wythe_case::Case;
use wythe_engine::{About, Outcome};
use wythe_pack::{Clue, ClueIx, MechanismIx, Node, Pack, Reach};

use crate::page::Look;
use crate::phrase::at_places;

/// A clue at a place.
pub(crate) type Sign = (ClueIx, usize);

/// A house as links reach over it: worked out once, for every conclusion.
pub(crate) struct Reached<'a> {
    pack: &'a Pack,
    case: &'a Case,
    /// The places of each kind of the pack.
    of_kind: Vec<Vec<usize>>,
}

impl<'a> Reached<'a> {
    pub fn new(pack: &'a Pack, case: &'a Case) -> Self {
        let kinds: BTreeMap<&str, usize> = pack.kinds.iter().map(|kind| kind.id.as_str()).zip(0..).collect();
        let mut of_kind = vec![Vec::new(); pack.kinds.len()];
        for (at, place) in case.places.iter().enumerate() {
            if let Some(places) = kinds.get(place.kind.as_str()).and_then(|kind| of_kind.get_mut(*kind)) {
                places.push(at);
            }
        }
        Self { pack, case, of_kind }
    }

    /// The signs that a mechanism at a place can leave, itself or through responses, each with how many times likelier
    /// the mechanism makes it than everything outside the pack does. A rough number, good for putting signs in order
    /// only.
    pub fn by(&self, mechanism: MechanismIx, at: usize) -> BTreeMap<Sign, f64> {
        let mut signs = BTreeMap::new();
        self.follow(Node::Mechanism(mechanism), at, 1.0, &mut signs);
        signs
    }

    fn follow(&self, from: Node, at: usize, chance: f64, signs: &mut BTreeMap<Sign, f64>) {
        for link in self.pack.links(from) {
            let there = self
                .of_kind
                .get(self.pack.at(link.effect).0)
                .map_or(&[][..], Vec::as_slice);
            let reached: Vec<usize> = match link.reach {
                Reach::Here => there.binary_search(&at).map(|_| at).into_iter().collect(),
                reach => there
                    .iter()
                    .copied()
                    .filter(|place| reaches(self.case, reach, at, *place))
                    .collect(),
            };
            let shared = if link.reach == Reach::Each {
                1.0
            } else {
                reached.len().max(1) as f64
            };
            let chance = chance * link.how_often.value / shared;
            for place in reached {
                match link.effect {
                    Node::Clue(clue) => keep_largest(signs, (clue, place), chance / self.pack[clue].background.value),
                    Node::Response(_) => self.follow(link.effect, place, chance, signs),
                    Node::Mechanism(_) => {}
                }
            }
        }
    }
}

/// The signs that bear on a conclusion; for a family, what bears on any member anywhere.
pub(crate) fn of(pack: &Pack, case: &Case, outcome: &Outcome, about: About) -> BTreeMap<Sign, f64> {
    let reached = Reached::new(pack, case);
    match about {
        About::Mechanism { mechanism, at } => reached.by(mechanism, at),
        About::Family(family) => {
            let mut signs = BTreeMap::new();
            for conclusion in &outcome.conclusions {
                if let About::Mechanism { mechanism, at } = conclusion.about
                    && conclusion.chance > 0.0
                    && pack[family].members.contains(&mechanism)
                {
                    for (sign, strength) in reached.by(mechanism, at) {
                        keep_largest(&mut signs, sign, strength);
                    }
                }
            }
            signs
        }
    }
}

fn keep_largest(signs: &mut BTreeMap<Sign, f64>, sign: Sign, strength: f64) {
    let known = signs.entry(sign).or_insert(strength);
    *known = known.max(strength);
}

fn reaches(case: &Case, reach: Reach, cause: usize, effect: usize) -> bool {
    match reach {
        Reach::Here => cause == effect,
        Reach::Inside => case.contains(cause, effect),
        Reach::Around => case.contains(effect, cause),
        Reach::Touching => case.touching(cause, effect),
        Reach::Anywhere | Reach::Each => true,
    }
}

/// The signs of `signs` that no sighting speaks of, as places to look: one entry per clue, the most telling first, at
/// most `most` of them. Left out are derived clues, which are read off others, and those of a number that a sheet of
/// readings gave and that is weighed through another: they were measured.
pub(crate) fn not_looked(
    pack: &Pack,
    case: &Case,
    outcome: &Outcome,
    signs: &BTreeMap<Sign, f64>,
    most: usize,
) -> Vec<Look> {
    let mut by_clue: BTreeMap<ClueIx, (f64, Vec<usize>)> = BTreeMap::new();
    let sighted: BTreeSet<Sign> = outcome
        .readings
        .iter()
        .map(|reading| (reading.clue, reading.at))
        .collect();
    for ((clue, at), strength) in signs {
        if !sighted.contains(&(*clue, *at)) && pack[*clue].pattern.is_none() && !was_computed(case, &pack[*clue], *at) {
            let entry = by_clue.entry(*clue).or_insert((0.0, Vec::new()));
            entry.0 = entry.0.max(*strength);
            entry.1.push(*at);
        }
    }
    let mut order: Vec<(ClueIx, f64, Vec<usize>)> = by_clue
        .into_iter()
        .map(|(clue, (strength, at))| (clue, strength, at))
        .collect();
    order.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    order
        .into_iter()
        .take(most)
        .map(|(clue, _, at)| look(case, &pack[clue], &at))
        .collect()
}

/// Whether a sheet of the case gave the number that a clue is read from, there or of the whole house.
pub(crate) fn was_computed(case: &Case, clue: &Clue, at: usize) -> bool {
    let Some(from) = &clue.computed_from else { return false };
    case.readings
        .iter()
        .filter(|sheet| from.sheets.contains(&sheet.section.name()))
        .flat_map(|sheet| &sheet.computed)
        .any(|one| one.reading.name == from.value && (one.at.contains(&at) || one.at.is_empty() && at == 0))
}

/// A clue and places as somewhere to look.
pub(crate) fn look(case: &Case, clue: &Clue, at: &[usize]) -> Look {
    Look {
        clue: clue.id.clone(),
        title: clue.title.clone(),
        places: at
            .iter()
            .filter_map(|at| case.places.get(*at))
            .map(|place| place.id.clone())
            .collect(),
        // Places by name while they are few.
        at_words: if at.len() > 3 {
            format!("at {} places", at.len())
        } else {
            at_places(case, at)
        },
        look_for: clue.look_for.clone(),
        effort: clue.effort.name(),
    }
}
