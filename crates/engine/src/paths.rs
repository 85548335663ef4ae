//! What a mechanism at a place can reach: clues at places of the case, and by which links.

use std::collections::BTreeMap;

use wythe_case::Case;
use wythe_pack::{ClueIx, Link, Node, Pack, Rule};

use crate::bind::Bound;
use crate::ground::{Site, barred, joins};
use crate::network::speaks;

/// One hop of a chain: a rule, the places it joins, and its chance at that place.
#[derive(Clone, Debug, PartialEq)]
pub struct Hop {
    /// The rule.
    pub rule: Rule,
    /// Index of the cause's place in the case.
    pub from_at: usize,
    /// Index of the effect's place.
    pub to_at: usize,
    /// Chance of the effect by this cause alone at that place, 0–1.
    pub chance: f64,
}

/// The likeliest path from a mechanism to a clue, and the chance by all paths together.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Reached {
    /// Chance that the mechanism alone makes the clue show there, 0–1.
    pub chance: f64,
    /// The hops of the likeliest path.
    pub path: Vec<Hop>,
    best: f64,
}

/// Every clue that a mechanism at a place can make, through responses but not through other mechanisms.
pub(crate) fn reached(pack: &Pack, case: &Case, bound: &Bound, from: Site) -> BTreeMap<(ClueIx, usize), Reached> {
    let mut all: BTreeMap<(ClueIx, usize), Reached> = BTreeMap::new();
    Ways::new(pack, case, bound).walk(from, &[0.0, 1.0], 1.0, &mut Vec::new(), &mut |key, p, path| {
        let fresh = |chance| Reached {
            chance,
            path: path.to_vec(),
            best: p,
        };
        match all.get_mut(&key) {
            None => {
                all.insert(key, fresh(p));
            }
            Some(one) => {
                let chance = either(one.chance, p);
                if p > one.best {
                    *one = fresh(chance);
                }
                one.chance = chance;
            }
        }
    });
    all
}

/// The chances of what is reached.
pub(crate) fn chances(
    reached: &BTreeMap<(ClueIx, usize), Reached>,
) -> impl Iterator<Item = ((ClueIx, usize), f64)> + '_ {
    reached.iter().map(|(key, one)| (*key, one.chance))
}

/// One or the other, independently.
fn either(a: f64, b: f64) -> f64 {
    1.0 - (1.0 - a) * (1.0 - b)
}

/// What is told of a clue at a place, each way it is come to: the chance of it that way, and the way.
type Found<'f> = dyn FnMut((ClueIx, usize), f64, &[Hop]) + 'f;

/// The ways from causes to clues in a case, for one mechanism after the other.
pub(crate) struct Ways<'a> {
    pack: &'a Pack,
    case: &'a Case,
    bound: &'a Bound,
    /// Of each cause met so far, the chance by each of its links; none where the link leads to no sign here.
    chances: BTreeMap<Node, Vec<Option<f64>>>,
}

impl<'a> Ways<'a> {
    pub fn new(pack: &'a Pack, case: &'a Case, bound: &'a Bound) -> Self {
        Ways {
            pack,
            case,
            bound,
            chances: BTreeMap::new(),
        }
    }

    /// As [`reached`], with the chances alone, in the order of clues and places.
    pub fn chances(&mut self, from: Site) -> Vec<((ClueIx, usize), f64)> {
        let mut all: Vec<((ClueIx, usize), f64)> = Vec::new();
        self.walk(from, &[0.0, 1.0], 1.0, &mut Vec::new(), &mut |key, p, _| {
            all.push((key, p));
        });
        all.sort_by_key(|(key, _)| *key);
        all.dedup_by(|next, kept| {
            let same = next.0 == kept.0;
            if same {
                kept.1 = either(kept.1, next.1);
            }
            same
        });
        all
    }

    /// The chance that a cause makes by one of its links, at one of the places that it is shared over.
    fn chance(&mut self, from: Node, link: usize) -> Option<f64> {
        let (pack, bound) = (self.pack, self.bound);
        let how_many = |kind| bound.how_many(kind);
        let of = |link: &Link| {
            if barred(bound, link) || matches!(link.effect, Node::Mechanism(_)) {
                return None;
            }
            let among = pack.among(link.reach, pack.at(from), pack.at(link.effect), &how_many)?;
            let row = crate::network::row(pack, bound, link, among);
            Some(1.0 - row.first().copied().unwrap_or(1.0))
        };
        let all = self.chances.entry(from);
        let all = all.or_insert_with(|| pack.links(from).iter().map(of).collect());
        all.get(link).copied().flatten()
    }

    /// Goes all ways from a cause, which is in each of its states with these chances, and tells `found` of each clue it comes to.
    fn walk(&mut self, from: Site, states: &[f64], so_far: f64, path: &mut Vec<Hop>, found: &mut Found<'_>) {
        let (pack, case, bound) = (self.pack, self.case, self.bound);
        for (index, link) in pack.links(from.0).iter().enumerate() {
            let spoken = states.iter().enumerate().filter(|(state, _)| speaks(link, *state));
            let active: f64 = spoken.map(|(_, p)| p).sum();
            if active <= 0.0 {
                continue;
            }
            let Some(chance) = self.chance(from.0, index) else {
                continue;
            };
            let p = so_far * active * chance;
            for place in bound.places(pack.at(link.effect)) {
                if !joins(case, link.reach, from.1, place) {
                    continue;
                }
                path.push(Hop {
                    rule: Rule {
                        from: from.0,
                        link: index,
                    },
                    from_at: from.1,
                    to_at: place,
                    chance,
                });
                match link.effect {
                    Node::Clue(clue) => found((clue, place), p, path),
                    Node::Response(response) => {
                        let made = makes(link, pack[response].states.len());
                        self.walk((link.effect, place), &made, p, path, found);
                    }
                    Node::Mechanism(_) => {}
                }
                path.pop();
            }
        }
    }
}

/// The chances of a response's states, where a link made it.
fn makes(link: &Link, states: usize) -> Vec<f64> {
    let mut made = vec![0.0; states];
    match link.direction {
        Some(direction) => {
            if let Some(slot) = made.get_mut(direction) {
                *slot = 1.0;
            }
        }
        None => {
            for (slot, share) in made.iter_mut().skip(1).zip(&link.grades) {
                *slot = *share;
            }
        }
    }
    made
}

/// Expected weight of evidence from looking at a clue, in decibans, when the mechanism is there: the divergence of
/// "shows with it" from "shows without it", other causes apart (Good 1950).
pub(crate) fn telling(pack: &Pack, clue: ClueIx, chance: f64) -> f64 {
    let without = pack[clue].background.value;
    let with = 1.0 - (1.0 - without) * (1.0 - chance);
    let part = |p: f64, q: f64| if p > 0.0 { p * libm::log10(p / q) } else { 0.0 };
    10.0 * (part(with, without) + part(1.0 - with, 1.0 - without))
}

#[cfg(test)]
mod tests;
