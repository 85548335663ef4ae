//! The template laid on a house: each kind of node at each place of its kind, joined where a link reaches.

use std::collections::BTreeMap;

use petgraph::graph::{DiGraph, NodeIndex};
use petgraph::visit::EdgeRef;
use wythe_case::Case;
use wythe_pack::{Link, Mechanism, MechanismIx, Node, Pack, Reach, Rule};

use crate::Used;
use crate::bind::Bound;

/// A kind of node at a place of the case.
pub(crate) type Site = (Node, usize);

/// A link between two sites.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Arc {
    /// The rule.
    pub rule: Rule,
    /// Over how many places its chance of at least one is shared out.
    pub among: f64,
}

/// The grounded graph: causes before effects.
#[derive(Clone, Debug, Default)]
pub(crate) struct Grounded {
    graph: DiGraph<Site, Arc>,
    at: BTreeMap<Site, NodeIndex>,
    /// Sites in an order in which causes come before effects: by template, then by place.
    pub order: Vec<Site>,
}

impl Grounded {
    /// The causes of a site, with the link from each, in a fixed order.
    pub fn causes(&self, site: Site) -> Vec<(Site, Arc)> {
        let Some(at) = self.at.get(&site) else {
            return Vec::new();
        };
        let mut causes: Vec<(Site, Arc)> = self
            .graph
            .edges_directed(*at, petgraph::Direction::Incoming)
            .filter_map(|edge| Some((*self.graph.node_weight(edge.source())?, *edge.weight())))
            .collect();
        causes.sort_by_key(|(site, arc)| (arc.rule, *site));
        causes
    }

    /// Whether a site is part of the graph.
    pub fn has(&self, site: Site) -> bool {
        self.at.contains_key(&site)
    }
}

/// Whether a context that the case states rules a mechanism out.
pub(crate) fn ruled_out(bound: &Bound, mechanism: &Mechanism) -> bool {
    mechanism
        .applies_if
        .iter()
        .any(|context| bound.context(*context) == Some(false))
        || mechanism
            .contexts
            .iter()
            .any(|effect| effect.times == 0.0 && bound.context(effect.context) == Some(true))
}

/// Whether a link joins a cause at one place to an effect at another.
pub(crate) fn joins(case: &Case, reach: Reach, cause: usize, effect: usize) -> bool {
    match reach {
        Reach::Here => cause == effect,
        Reach::Inside => case.contains(cause, effect),
        Reach::Around => case.contains(effect, cause),
        Reach::Touching => case.touching(cause, effect),
        Reach::Anywhere | Reach::Each => true,
    }
}

/// Whether the context that a link asks for is known not to hold.
pub(crate) fn barred(bound: &Bound, link: &Link) -> bool {
    link.only_if
        .is_some_and(|context| bound.context(context) == Some(false))
}

/// Lays the pack's template on the case.
///
/// Works backward from what is wanted: the clues that were weighed and the mechanisms, which are all reported. With
/// `prune` off, every clue and response at every place is wanted too; the answers are the same.
pub(crate) fn ground(pack: &Pack, case: &Case, bound: &Bound, prune: bool) -> Grounded {
    let mut grounded = Grounded::default();
    let mut work: Vec<Site> = Vec::new();
    for (at, mechanism) in pack.mechanisms.iter().enumerate() {
        if !ruled_out(bound, mechanism) {
            work.extend(
                bound
                    .places(mechanism.at)
                    .map(|place| (Node::Mechanism(MechanismIx(at)), place)),
            );
        }
    }
    if prune {
        let weighed = bound.readings.iter().filter(|reading| reading.used == Used::Weighed);
        work.extend(weighed.map(|reading| (Node::Clue(reading.clue), reading.at)));
    } else {
        let others = pack
            .template()
            .order()
            .iter()
            .filter(|node| !matches!(node, Node::Mechanism(_)));
        work.extend(others.flat_map(|node| bound.places(pack.at(*node)).map(|place| (*node, place))));
    }
    for site in &work {
        grounded.add(*site);
    }
    while let Some((node, place)) = work.pop() {
        for rule in pack.template().into(node) {
            let Some(link) = pack.links(rule.from).get(rule.link) else {
                continue;
            };
            if barred(bound, link) || matches!(rule.from, Node::Mechanism(at) if ruled_out(bound, &pack[at])) {
                continue;
            }
            let kind = pack.at(rule.from);
            let how_many = |kind| bound.how_many(kind);
            let Some(among) = pack.among(link.reach, kind, pack.at(node), &how_many) else {
                continue;
            };
            for from in bound.places(kind).filter(|from| joins(case, link.reach, *from, place)) {
                let cause = (rule.from, from);
                if !grounded.has(cause) {
                    grounded.add(cause);
                    work.push(cause);
                }
                grounded.join(cause, (node, place), Arc { rule, among });
            }
        }
    }
    let sites = |node: &Node| grounded.at.range((*node, 0)..=(*node, usize::MAX));
    let order = pack.template().order().iter().flat_map(sites);
    grounded.order = order.map(|(site, _)| *site).collect();
    grounded
}

impl Grounded {
    fn add(&mut self, site: Site) {
        if !self.at.contains_key(&site) {
            let index = self.graph.add_node(site);
            self.at.insert(site, index);
        }
    }

    fn join(&mut self, cause: Site, effect: Site, arc: Arc) {
        if let (Some(from), Some(to)) = (self.at.get(&cause), self.at.get(&effect)) {
            self.graph.add_edge(*from, *to, arc);
        }
    }
}

#[cfg(test)]
mod tests;
