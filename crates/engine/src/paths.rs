//! What a mechanism at a place can reach: clues at places of the case, and by which links.

use std::collections::BTreeMap;

use wythe_case::Case;
use wythe_pack::{ClueIx, Node, Pack, Rule};

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
    found(pack, case, bound, from, Some(Vec::new()))
}

/// As [`reached`], with the chances alone and no paths.
pub(crate) fn reachable(pack: &Pack, case: &Case, bound: &Bound, from: Site) -> BTreeMap<(ClueIx, usize), Reached> {
    found(pack, case, bound, from, None)
}

fn found(
    pack: &Pack,
    case: &Case,
    bound: &Bound,
    from: Site,
    mut path: Option<Vec<Hop>>,
) -> BTreeMap<(ClueIx, usize), Reached> {
    let mut found = BTreeMap::new();
    walk(pack, case, bound, from, &[0.0, 1.0], 1.0, &mut path, &mut found);
    found
}

#[expect(clippy::too_many_arguments, reason = "one walk, its state on the stack")]
fn walk(
    pack: &Pack,
    case: &Case,
    bound: &Bound,
    from: Site,
    states: &[f64],
    so_far: f64,
    path: &mut Option<Vec<Hop>>,
    found: &mut BTreeMap<(ClueIx, usize), Reached>,
) {
    for (index, link) in pack.links(from.0).iter().enumerate() {
        let active: f64 = states
            .iter()
            .enumerate()
            .filter(|(state, _)| speaks(link, *state))
            .map(|(_, p)| p)
            .sum();
        if active <= 0.0 || barred(bound, link) || matches!(link.effect, Node::Mechanism(_)) {
            continue;
        }
        let (here, there) = (pack.at(from.0), pack.at(link.effect));
        let how_many = |kind| bound.how_many(kind);
        let Some(among) = pack.among(link.reach, here, there, &how_many) else {
            continue;
        };
        let row = crate::network::row(pack, bound, link, among);
        let chance = 1.0 - row.first().copied().unwrap_or(1.0);
        for place in bound
            .places(there)
            .filter(|place| joins(case, link.reach, from.1, *place))
        {
            let p = so_far * active * chance;
            if let Some(path) = path {
                path.push(Hop {
                    rule: Rule {
                        from: from.0,
                        link: index,
                    },
                    from_at: from.1,
                    to_at: place,
                    chance,
                });
            }
            match link.effect {
                Node::Clue(clue) => {
                    let entry = found.entry((clue, place)).or_insert(Reached {
                        chance: 0.0,
                        path: Vec::new(),
                        best: 0.0,
                    });
                    entry.chance = 1.0 - (1.0 - entry.chance) * (1.0 - p);
                    if p > entry.best {
                        entry.best = p;
                        if let Some(path) = path {
                            entry.path.clone_from(path);
                        }
                    }
                }
                Node::Response(response) => {
                    let mut next = vec![0.0; pack[response].states.len()];
                    match link.direction {
                        Some(direction) => {
                            if let Some(slot) = next.get_mut(direction) {
                                *slot = 1.0;
                            }
                        }
                        None => {
                            for (slot, share) in next.iter_mut().skip(1).zip(&link.grades) {
                                *slot = *share;
                            }
                        }
                    }
                    walk(pack, case, bound, (link.effect, place), &next, p, path, found);
                }
                Node::Mechanism(_) => {}
            }
            if let Some(path) = path {
                path.pop();
            }
        }
    }
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
