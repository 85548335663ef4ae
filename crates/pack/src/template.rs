//! The template graph of a pack: kinds of node, and the links between them, as a petgraph graph.

use std::collections::BTreeMap;

use petgraph::algo::{tarjan_scc, toposort};
use petgraph::graph::{DiGraph, NodeIndex};
use petgraph::visit::EdgeRef;

use crate::{ClueIx, KindIx, MechanismIx, Node, Pack, Reach, ResponseIx};

/// One edge of the template: a link, by the node it leaves and its index there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Rule {
    /// The cause.
    pub from: Node,
    /// Index among the cause's links.
    pub link: usize,
}

/// The template graph.
#[derive(Clone, Debug, Default)]
pub struct Template {
    graph: DiGraph<Node, Rule>,
    at: BTreeMap<Node, NodeIndex>,
    order: Vec<Node>,
}

impl Template {
    pub(crate) fn of(pack: &Pack) -> Template {
        let mut template = Template::default();
        let mechanisms = (0..pack.mechanisms.len()).map(|at| Node::Mechanism(MechanismIx(at)));
        let responses = (0..pack.responses.len()).map(|at| Node::Response(ResponseIx(at)));
        let clues = (0..pack.clues.len()).map(|at| Node::Clue(ClueIx(at)));
        for node in mechanisms.chain(responses).chain(clues) {
            let index = template.graph.add_node(node);
            template.at.insert(node, index);
        }
        let nodes: Vec<(Node, NodeIndex)> = template.at.iter().map(|(node, at)| (*node, *at)).collect();
        for (from, at) in nodes {
            for (link, rule) in pack.links(from).iter().enumerate() {
                if let Some(to) = template.at.get(&rule.effect) {
                    template.graph.add_edge(at, *to, Rule { from, link });
                }
            }
        }
        if let Ok(order) = toposort(&template.graph, None) {
            template.order = order
                .into_iter()
                .filter_map(|at| template.graph.node_weight(at).copied())
                .collect();
        }
        template
    }

    /// Every kind of node, causes before effects; empty when the pack has a cycle.
    pub fn order(&self) -> &[Node] {
        &self.order
    }

    /// The rules that lead into a node, in the order of the pack.
    pub fn into(&self, node: Node) -> Vec<Rule> {
        let Some(at) = self.at.get(&node) else {
            return Vec::new();
        };
        let mut rules: Vec<Rule> = self
            .graph
            .edges_directed(*at, petgraph::Direction::Incoming)
            .map(|edge| *edge.weight())
            .collect();
        rules.sort();
        rules
    }

    /// A cycle of nodes, if there is one.
    pub(crate) fn cycle(&self) -> Option<Vec<Node>> {
        tarjan_scc(&self.graph)
            .into_iter()
            .find(|part| part.len() > 1 || part.first().is_some_and(|at| self.graph.contains_edge(*at, *at)))
            .map(|part| {
                let mut nodes: Vec<Node> = part
                    .into_iter()
                    .filter_map(|at| self.graph.node_weight(at).copied())
                    .collect();
                nodes.sort();
                nodes
            })
    }

    /// The responses on some path of links from `from` to `to`, at least one link long before and after.
    pub(crate) fn between(&self, from: Node, to: Node) -> Vec<Node> {
        let (Some(start), Some(end)) = (self.at.get(&from), self.at.get(&to)) else {
            return Vec::new();
        };
        let forward = self.reached(*start, petgraph::Direction::Outgoing);
        let back = self.reached(*end, petgraph::Direction::Incoming);
        forward
            .into_iter()
            .filter(|at| at != start && at != end && back.contains(at))
            .filter_map(|at| self.graph.node_weight(at).copied())
            .filter(|node| matches!(node, Node::Response(_)))
            .collect()
    }

    fn reached(&self, from: NodeIndex, direction: petgraph::Direction) -> Vec<NodeIndex> {
        let mut seen = vec![from];
        let mut next = 0;
        while let Some(at) = seen.get(next).copied() {
            next += 1;
            for edge in self.graph.edges_directed(at, direction) {
                let other = if direction == petgraph::Direction::Outgoing {
                    edge.target()
                } else {
                    edge.source()
                };
                if !seen.contains(&other) {
                    seen.push(other);
                }
            }
        }
        seen
    }
}

impl Pack {
    /// Over how many places a link's chance of at least one is shared out, from the usual numbers of places, or from a
    /// case's own (`how_many`). `None` where no place of the effect's kind can be reached that way.
    pub fn among(&self, reach: Reach, from: KindIx, to: KindIx, how_many: &dyn Fn(KindIx) -> f64) -> Option<f64> {
        let at_least_one = |n: f64| n.max(1.0);
        match reach {
            Reach::Here => (from == to).then_some(1.0),
            Reach::Each => Some(1.0),
            Reach::Anywhere => Some(at_least_one(how_many(to))),
            Reach::Around => self.lies_in(from, to).then_some(1.0),
            Reach::Inside => self
                .lies_in(to, from)
                .then(|| at_least_one(how_many(to) / how_many(from))),
            Reach::Touching => self.touched_by(from, to, how_many).map(at_least_one),
        }
    }

    /// Whether places of one kind lie in places of another, at any depth.
    pub fn lies_in(&self, inner: KindIx, outer: KindIx) -> bool {
        let mut at = self[inner].within;
        while let Some(kind) = at {
            if kind == outer {
                return true;
            }
            at = self[kind].within;
        }
        false
    }

    /// How many places of kind `to` touch one of kind `from`.
    fn touched_by(&self, from: KindIx, to: KindIx, how_many: &dyn Fn(KindIx) -> f64) -> Option<f64> {
        let declared = |one: KindIx, other: KindIx| {
            self[one]
                .touches
                .iter()
                .find(|(kind, _)| *kind == other)
                .map(|(_, n)| *n)
        };
        if let Some(n) = declared(from, to) {
            return Some(n);
        }
        if let Some(n) = declared(to, from) {
            return Some(n * how_many(to) / how_many(from));
        }
        // Through what holds them: openings in a wall that a corner touches; the walls that a corner's opening touches.
        let house = KindIx(0);
        if let Some(holder) = self[to].within.filter(|kind| *kind != house)
            && let Some(n) = self.touched_by(from, holder, how_many)
        {
            return Some(n * how_many(to) / how_many(holder));
        }
        if let Some(holder) = self[from].within.filter(|kind| *kind != house) {
            return self.touched_by(holder, to, how_many);
        }
        None
    }
}
