//! The numbers that a pack states, one by one: read, and moved.

use wythe_pack::{Chance, ClueIx, Link, MechanismIx, Node, Pack, ResponseIx, Rule};

/// A number that a pack states.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Number {
    /// How often a cause makes its effect: one rule, whatever the number of places that it joins.
    Link(Rule),
    /// How often a clue is there at one place from causes outside the pack.
    Clue(ClueIx),
    /// How often a response is there at one place from causes outside the pack; of an opposed one, which way: 1 or 2.
    Response {
        /// The response.
        response: ResponseIx,
        /// The way, if it is opposed.
        way: Option<usize>,
    },
    /// How common a mechanism is, before any context.
    Prevalence(MechanismIx),
}

impl Number {
    /// Every number of a pack: prevalences, then backgrounds of responses and clues, then links, in its order. Backgrounds
    /// of derived clues are among them.
    pub fn all(pack: &Pack) -> Vec<Number> {
        let mechanisms = || (0..pack.mechanisms.len()).map(MechanismIx);
        let responses = || (0..pack.responses.len()).map(ResponseIx);
        let mut all: Vec<Number> = mechanisms().map(Number::Prevalence).collect();
        for response in responses() {
            let ways: &[Option<usize>] = match pack[response].opposed {
                Some(_) => &[Some(1), Some(2)],
                None => &[None],
            };
            all.extend(ways.iter().map(|way| Number::Response { response, way: *way }));
        }
        all.extend((0..pack.clues.len()).map(|at| Number::Clue(ClueIx(at))));
        let causes = mechanisms().map(Node::Mechanism).chain(responses().map(Node::Response));
        all.extend(
            causes.flat_map(|from| (0..pack.links(from).len()).map(move |link| Number::Link(Rule { from, link }))),
        );
        all
    }

    /// The number as the pack has it, 0–1; none where the pack has no such number.
    pub fn of(self, pack: &Pack) -> Option<f64> {
        match self {
            Number::Link(rule) => pack.links(rule.from).get(rule.link).map(|link| link.how_often.value),
            Number::Clue(clue) => pack.clues.get(clue.0).map(|clue| clue.background.value),
            Number::Response { response, way } => {
                let response = pack.responses.get(response.0)?;
                match (&response.opposed, way) {
                    (Some(opposed), Some(way)) => {
                        opposed.background.get(way.checked_sub(1)?).map(|chance| chance.value)
                    }
                    (None, None) => Some(response.background.value),
                    _ => None,
                }
            }
            Number::Prevalence(mechanism) => pack.mechanisms.get(mechanism.0).map(|one| one.prevalence.chance),
        }
    }

    /// The number with its odds times 10^(decibans/10).
    pub fn moved(self, pack: &Pack, decibans: f64) -> Option<f64> {
        Some(by_decibans(self.of(pack)?, decibans))
    }

    /// Sets it, 0–1. The range of a prevalence and the word of a frequency are left as they are. Returns whether the pack
    /// has such a number.
    pub fn set(self, pack: &mut Pack, value: f64) -> bool {
        let slot = match self {
            Number::Link(rule) => link_mut(pack, rule).map(|link| &mut link.how_often),
            Number::Clue(clue) => pack.clues.get_mut(clue.0).map(|clue| &mut clue.background),
            Number::Response { response, way } => {
                pack.responses
                    .get_mut(response.0)
                    .and_then(|one| match (&mut one.opposed, way) {
                        (Some(opposed), Some(way)) => opposed.background.get_mut(way.checked_sub(1)?),
                        (None, None) => Some(&mut one.background),
                        _ => None,
                    })
            }
            Number::Prevalence(mechanism) => {
                return match pack.mechanisms.get_mut(mechanism.0) {
                    Some(one) => {
                        one.prevalence.chance = value;
                        true
                    }
                    None => false,
                };
            }
        };
        match slot {
            Some(Chance { value: old, .. }) => {
                *old = value;
                true
            }
            None => false,
        }
    }
}

fn link_mut(pack: &mut Pack, rule: Rule) -> Option<&mut Link> {
    let links = match rule.from {
        Node::Mechanism(at) => &mut pack.mechanisms.get_mut(at.0)?.links,
        Node::Response(at) => &mut pack.responses.get_mut(at.0)?.links,
        Node::Clue(_) => return None,
    };
    links.get_mut(rule.link)
}

/// A chance with its odds times 10^(decibans/10).
pub(crate) fn by_decibans(chance: f64, decibans: f64) -> f64 {
    let factor = libm::pow(10.0, decibans / 10.0);
    chance * factor / (1.0 - chance + chance * factor)
}
