//! Where a number of the pack stands in the grounded network, and what it is there when it is moved.

use wythe_infer::Var;
use wythe_pack::{Node, Pack, Rule};

use super::ledger::Ledger;
use crate::ground::Site;
use crate::network::{End, Model, prior, row, speaks};
use crate::{Number, WeighError, Weighed};

/// A number of the pack, and its places in the network.
#[derive(Clone, Debug)]
pub(super) struct Placed {
    pub number: Number,
    /// The number as it is.
    pub from: f64,
    /// Where the network has it.
    pub uses: Vec<Place>,
}

/// One place of a number in the network.
#[derive(Clone, Copy, Debug)]
pub(super) enum Place {
    /// The leak of a variable.
    Leak(Var),
    /// A cause of a variable, by its index.
    Cause(Var, usize),
}

impl Placed {
    pub fn of(weighed: &Weighed<'_>, number: Number) -> Option<Placed> {
        let from = number.of(weighed.pack())?;
        if !(from > 0.0 && from < 1.0) {
            return None;
        }
        let weighing = &weighed.weighing;
        let order = &weighing.grounded.order;
        let model = &weighing.model;
        let leaks = |node: Node, way: Option<usize>| -> Vec<Place> {
            let sites = order.iter().filter(|site| site.0 == node);
            sites
                .filter_map(|site| Some(Place::Leak(push(model, *site, way)?)))
                .collect()
        };
        let uses = match number {
            Number::Clue(clue) => leaks(Node::Clue(clue), None),
            Number::Response { response, way } => leaks(Node::Response(response), way),
            Number::Prevalence(mechanism) => leaks(Node::Mechanism(mechanism), None),
            Number::Link(rule) => causes(weighed, rule),
        };
        Some(Placed { number, from, uses })
    }

    /// The number, moved by some decibans.
    pub fn value(&self, by: f64) -> f64 {
        crate::number::by_decibans(self.from, by)
    }

    /// What `then` makes of the pack with the number moved.
    pub fn with<T>(&self, ledger: &mut Ledger<'_, '_>, by: f64, then: impl FnOnce(&Pack) -> T) -> T {
        self.number.set(&mut ledger.scratch, self.value(by));
        let out = then(&ledger.scratch);
        self.number.set(&mut ledger.scratch, self.from);
        out
    }

    /// The chance at one place that the network has for it.
    pub fn at_one_place(&self, ledger: &mut Ledger<'_, '_>, by: f64) -> f64 {
        let value = self.value(by);
        let bound = &ledger.weighed.weighing.bound;
        match self.number {
            Number::Link(rule) => self.with(ledger, by, |pack| {
                let Some(link) = pack.links(rule.from).get(rule.link) else {
                    return value;
                };
                let how_many = |kind| bound.how_many(kind);
                let among = pack.among(link.reach, pack.at(rule.from), pack.at(link.effect), &how_many);
                1.0 - row(pack, bound, link, among.unwrap_or(1.0))
                    .first()
                    .copied()
                    .unwrap_or(1.0)
            }),
            Number::Prevalence(mechanism) => self.with(ledger, by, |pack| prior(pack, bound, mechanism, End::Best)),
            Number::Clue(_) | Number::Response { .. } => value,
        }
    }

    /// The network with the number moved.
    pub fn model(&self, ledger: &mut Ledger<'_, '_>, by: f64) -> Result<Model, WeighError> {
        let weighing = &ledger.weighed.weighing;
        Ok(self.with(ledger, by, |pack| {
            Model::of(pack, &weighing.bound, &weighing.grounded, End::Best)
        })?)
    }

    /// Whether a cause speaks of a state of its parent.
    pub fn speaks(&self, pack: &Pack, state: usize) -> bool {
        match self.number {
            Number::Link(rule) => pack
                .links(rule.from)
                .get(rule.link)
                .is_some_and(|link| speaks(link, state)),
            _ => true,
        }
    }
}

/// The variable that has the numbers of a site: of an opposed response, the push that way.
fn push(model: &Model, site: Site, way: Option<usize>) -> Option<Var> {
    let var = *model.vars.get(&site)?;
    match way {
        None => Some(var),
        Some(way) => model.net.parents(var).get(way.checked_sub(1)?).copied(),
    }
}

/// Where a rule is a cause in the network, in the order in which the network was made.
fn causes(weighed: &Weighed<'_>, rule: Rule) -> Vec<Place> {
    let pack = weighed.pack();
    let Some(link) = pack.links(rule.from).get(rule.link) else {
        return Vec::new();
    };
    let weighing = &weighed.weighing;
    let mut places = Vec::new();
    for site in weighing.grounded.order.iter().filter(|site| site.0 == link.effect) {
        let Some(var) = push(&weighing.model, *site, link.direction) else {
            continue;
        };
        let same_way = |other: &Rule| {
            let other = pack.links(other.from).get(other.link);
            link.direction.is_none() || other.is_some_and(|other| other.direction == link.direction)
        };
        let arcs = weighing.grounded.causes(*site);
        let arcs = arcs.iter().map(|(_, arc)| arc.rule).filter(same_way);
        places.extend(
            arcs.enumerate()
                .filter(|(_, other)| *other == rule)
                .map(|(index, _)| Place::Cause(var, index)),
        );
    }
    places
}
