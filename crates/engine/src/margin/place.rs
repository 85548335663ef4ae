//! Where a number of the pack stands in the grounded network, and what it is there when it is moved.

use std::collections::BTreeMap;

use wythe_infer::{Row, Use, Uses, Var};
use wythe_pack::{Node, Pack, Rule};

use super::{REACH, STRIDE};
use crate::ground::Site;
use crate::network::{End, Model, prior, row_at, speaks};
use crate::{Number, Weighed};

/// A number of the pack, and its places in the network.
#[derive(Clone, Debug)]
pub(super) struct Placed {
    pub number: Number,
    /// The number as it is.
    pub from: f64,
    /// Where the network has it.
    pub uses: Vec<Place>,
    /// The chance at one place that the network has for it.
    pub here: f64,
    /// The same with the number moved up and down by each stride.
    pub strides: Vec<[f64; 2]>,
}

/// One place of a number in the network.
#[derive(Clone, Copy, Debug)]
pub(super) enum Place {
    /// The prior of a variable.
    Prior(Var),
    /// The leak of a variable.
    Leak(Var),
    /// A cause of a variable, by its index.
    Cause(Var, usize),
}

impl Placed {
    /// Every number of the pack that can be moved.
    pub fn all(weighed: &Weighed<'_>) -> Vec<Placed> {
        let mut sites: BTreeMap<Node, Vec<Site>> = BTreeMap::new();
        for site in &weighed.weighing.grounded.order {
            sites.entry(site.0).or_default().push(*site);
        }
        let all = Number::all(weighed.pack()).into_iter();
        all.filter_map(|number| Placed::of(weighed, &sites, number)).collect()
    }

    fn of(weighed: &Weighed<'_>, sites: &BTreeMap<Node, Vec<Site>>, number: Number) -> Option<Placed> {
        let from = number.of(weighed.pack())?;
        if !(from > 0.0 && from < 1.0) {
            return None;
        }
        let model = &weighed.weighing.model;
        let of = |node: Node| sites.get(&node).map_or(&[][..], Vec::as_slice);
        let leaks = |node: Node, way: Option<usize>| -> Vec<Place> {
            let pushes = of(node).iter().filter_map(|site| push(model, *site, way));
            pushes.map(Place::Leak).collect()
        };
        let uses = match number {
            Number::Clue(clue) => leaks(Node::Clue(clue), None),
            Number::Response { response, way } => leaks(Node::Response(response), way),
            Number::Prevalence(mechanism) => {
                let own = of(Node::Mechanism(mechanism))
                    .iter()
                    .filter_map(|site| model.own.get(site));
                own.map(|var| Place::Prior(*var)).collect()
            }
            Number::Link(rule) => causes(weighed, rule, of),
        };
        let mut placed = Placed {
            number,
            from,
            uses,
            here: from,
            strides: Vec::new(),
        };
        placed.here = placed.at_one_place(weighed, 0.0);
        if !placed.uses.is_empty() {
            let count = (REACH / STRIDE) as usize;
            placed.strides = (1..=count)
                .map(|index| {
                    let by = index as f64 * STRIDE;
                    [by, -by].map(|by| placed.at_one_place(weighed, by))
                })
                .collect();
        }
        Some(placed)
    }

    /// The variables that have it.
    pub fn vars(&self) -> impl Iterator<Item = Var> {
        self.uses.iter().map(|place| match *place {
            Place::Prior(var) | Place::Leak(var) | Place::Cause(var, _) => var,
        })
    }

    /// The number, moved by some decibans.
    pub fn value(&self, by: f64) -> f64 {
        crate::number::by_decibans(self.from, by)
    }

    /// The chance at one place that the network has for it, with the number moved.
    pub fn at_one_place(&self, weighed: &Weighed<'_>, by: f64) -> f64 {
        let value = self.value(by);
        let (pack, bound) = (weighed.pack(), &weighed.weighing.bound);
        match self.number {
            Number::Link(rule) => {
                let Some(link) = pack.links(rule.from).get(rule.link) else {
                    return value;
                };
                let how_many = |kind| bound.how_many(kind);
                let among = pack.among(link.reach, pack.at(rule.from), pack.at(link.effect), &how_many);
                let row = row_at(pack, bound, link, (value, among.unwrap_or(1.0)));
                1.0 - row.first().copied().unwrap_or(1.0)
            }
            Number::Prevalence(mechanism) => prior(pack, bound, mechanism, End::At(value)),
            Number::Clue(_) | Number::Response { .. } => value,
        }
    }

    /// The rows of the network that hold the number, with another chance at one place.
    pub fn rows(&self, weighed: &Weighed<'_>, x: f64) -> Vec<(Row, Vec<f64>)> {
        let net = &weighed.weighing.model.net;
        let mut rows = Vec::new();
        for place in &self.uses {
            match *place {
                Place::Prior(var) => rows.push(Row::Prior(var)),
                Place::Leak(var) => rows.push(Row::Leak(var)),
                Place::Cause(var, cause) => {
                    let parent = net.causes(var).get(cause).map(|one| one.parent);
                    let states = 0..parent.map_or(0, |parent| net.states(parent));
                    let speaks = states.filter(|state| self.speaks(weighed.pack(), *state));
                    rows.extend(speaks.map(|state| Row::Cause { var, cause, state }));
                }
            }
        }
        let moved = |row: Row| {
            let old = net.row(row)?;
            let acted = 1.0 - old.first()?;
            let mut new: Vec<f64> = old.iter().map(|p| p * x / acted).collect();
            *new.first_mut()? = 1.0 - x;
            (acted > 0.0).then_some((row, new))
        };
        rows.into_iter().filter_map(moved).collect()
    }

    /// What the number did at all its places, and at how many it did anything; none where that is not known.
    pub fn did(&self, pack: &Pack, uses: &Uses) -> Option<(Use, usize)> {
        let (mut sum, mut places) = (Use::default(), 0);
        for place in &self.uses {
            let one = match *place {
                Place::Prior(var) => uses.prior(var),
                Place::Leak(var) => uses.leak(var),
                Place::Cause(var, cause) => uses.cause(var, cause, |state| self.speaks(pack, state)),
            }?;
            sum.acted += one.acted;
            sum.idle += one.idle;
            places += usize::from(one.acted > 0.0 || one.idle > 0.0);
        }
        Some((sum, places))
    }

    /// Whether a cause speaks of a state of its parent.
    fn speaks(&self, pack: &Pack, state: usize) -> bool {
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
fn causes<'s>(weighed: &Weighed<'_>, rule: Rule, sites: impl Fn(Node) -> &'s [Site]) -> Vec<Place> {
    let pack = weighed.pack();
    let Some(link) = pack.links(rule.from).get(rule.link) else {
        return Vec::new();
    };
    let weighing = &weighed.weighing;
    let mut places = Vec::new();
    for site in sites(link.effect) {
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
