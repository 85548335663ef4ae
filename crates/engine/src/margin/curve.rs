//! A conclusion's grade as a function of one number: ratios of polynomials, known from exact solutions.

use std::collections::BTreeSet;

use wythe_pack::{Node, Pack, Rule};

use super::ledger::{Ledger, Stand, graded};
use super::{Graded, REACH, likeliest};
use crate::ground::Site;
use crate::network::{End, Model, prior, row};
use crate::paths::reached;
use crate::{About, Number, Step, StepKind, WeighError, Weighed, decibans};

/// One stage's functions at the nodes: P(evidence so far), and its shares with the conclusion and with each member.
struct Stage {
    total: Vec<f64>,
    with: Vec<f64>,
    members: Vec<Vec<f64>>,
}

/// The grade of one conclusion as a function of one number.
pub(super) struct Curves<'w, 'a> {
    weighed: &'w Weighed<'a>,
    number: Number,
    about: About,
    /// The pack with the number moved.
    pack: Pack,
    from: f64,
    /// The sites of the grounded graph whose numbers it sets, each an effect or a mechanism.
    uses: Vec<Site>,
    /// Clues of the conclusion's coverage that it bears on.
    covers: bool,
    /// The chance at one place that each node stands for, and the weight of the node.
    nodes: Vec<(f64, f64)>,
    models: Vec<Model>,
    stages: Vec<Option<Stage>>,
}

impl<'w, 'a> Curves<'w, 'a> {
    pub fn of(weighed: &'w Weighed<'a>, number: Number, about: About) -> Self {
        let pack = weighed.pack();
        let weighing = &weighed.weighing;
        let order = &weighing.grounded.order;
        let at = |node: Node| {
            order
                .iter()
                .filter(move |site| site.0 == node)
                .copied()
                .collect::<Vec<Site>>()
        };
        let uses = match number {
            Number::Clue(clue) => at(Node::Clue(clue)),
            Number::Response { response, .. } => at(Node::Response(response)),
            Number::Prevalence(mechanism) => at(Node::Mechanism(mechanism)),
            Number::Link(rule) => arcs(weighed, rule),
        };
        Curves {
            weighed,
            number,
            about,
            pack: pack.clone(),
            from: number.of(pack).unwrap_or(0.5),
            uses,
            covers: covers(weighed, number, about),
            nodes: Vec::new(),
            models: Vec::new(),
            stages: Vec::new(),
        }
    }

    /// Whether it bears on the conclusion at all.
    pub fn bears(&self) -> bool {
        self.from > 0.0 && self.from < 1.0 && (!self.uses.is_empty() || self.covers)
    }

    /// The number, moved by some decibans.
    pub fn value(&self, decibans: f64) -> f64 {
        crate::number::by_decibans(self.from, decibans)
    }

    /// The chance at one place that the network has for it.
    fn at_one_place(&mut self, decibans: f64) -> f64 {
        let value = self.value(decibans);
        self.number.set(&mut self.pack, value);
        let bound = &self.weighed.weighing.bound;
        match self.number {
            Number::Link(rule) => {
                let pack = &self.pack;
                let Some(link) = pack.links(rule.from).get(rule.link) else {
                    return value;
                };
                let how_many = |kind| bound.how_many(kind);
                let among = pack.among(link.reach, pack.at(rule.from), pack.at(link.effect), &how_many);
                1.0 - row(pack, bound, link, among.unwrap_or(1.0))
                    .first()
                    .copied()
                    .unwrap_or(1.0)
            }
            Number::Prevalence(mechanism) => prior(&self.pack, bound, mechanism, End::Best),
            Number::Clue(_) | Number::Response { .. } => value,
        }
    }

    fn prepare(&mut self, stages: usize) -> Result<(), WeighError> {
        if !self.nodes.is_empty() {
            return Ok(());
        }
        let count = self.uses.len() + 1;
        let mut points = Vec::with_capacity(count);
        for index in 0..count {
            let angle = std::f64::consts::PI * (2 * index + 1) as f64 / (2 * count) as f64;
            points.push(self.at_one_place(REACH * libm::cos(angle)));
            let weighing = &self.weighed.weighing;
            self.models
                .push(Model::of(&self.pack, &weighing.bound, &weighing.grounded, End::Best)?);
        }
        let weight = |one: f64| {
            points
                .iter()
                .filter(|other| **other != one)
                .map(|other| 1.0 / (one - other))
                .product::<f64>()
        };
        self.nodes = points.iter().map(|one| (*one, weight(*one))).collect();
        self.stages = (0..stages).map(|_| None).collect();
        Ok(())
    }

    /// Where the conclusion stands after the first stages, with the number moved.
    fn stand(&mut self, ledger: &mut Ledger<'_, '_>, stage: usize, decibans: f64) -> Result<Stand, WeighError> {
        let count = ledger.stages().len();
        self.prepare(count)?;
        if self.stages.get(stage).is_some_and(Option::is_none) {
            let mut found = Stage {
                total: Vec::new(),
                with: Vec::new(),
                members: Vec::new(),
            };
            let mut scale = None;
            for model in &self.models {
                let (stand, ln) = ledger.stand(model, &self.weighed.weighing.bound.readings, stage + 1, self.about)?;
                let total = libm::exp(ln - *scale.get_or_insert(ln));
                found.total.push(total);
                found.with.push(stand.chance * total);
                found
                    .members
                    .push(stand.members.iter().map(|chance| chance * total).collect());
            }
            if let Some(slot) = self.stages.get_mut(stage) {
                *slot = Some(found);
            }
        }
        let x = self.at_one_place(decibans);
        let Some(Some(found)) = self.stages.get(stage) else {
            return Ok(Stand::default());
        };
        let shares = shares(&self.nodes, x);
        let at = |values: &mut dyn Iterator<Item = f64>| {
            shares
                .iter()
                .zip(values)
                .map(|(share, value)| share * value)
                .sum::<f64>()
        };
        let total = at(&mut found.total.iter().copied());
        let members = found.members.first().map_or(0, Vec::len);
        Ok(Stand {
            chance: at(&mut found.with.iter().copied()) / total,
            members: (0..members)
                .map(|member| at(&mut found.members.iter().map(|row| row.get(member).copied().unwrap_or(0.0))) / total)
                .collect(),
        })
    }

    /// The grade with the number moved by some decibans.
    pub fn grade(&mut self, ledger: &mut Ledger<'_, '_>, by: f64) -> Result<Graded, WeighError> {
        let (weighed, about) = (self.weighed, self.about);
        let stages = ledger.stages();
        let last = self.stand(ledger, stages.len() - 1, by)?;
        let prior = self.stand(ledger, 0, by)?;
        let moved = {
            self.at_one_place(by);
            self.pack.clone()
        };
        let members = last.members.clone();
        let mut covered = || {
            let sites = weighed.sites(about);
            let from = likeliest(&sites, |index| members.get(index).copied().unwrap_or(0.0));
            let (case, bound) = (weighed.case(), &weighed.weighing.bound);
            let found = from.map(|(mechanism, at)| reached(&moved, case, bound, (Node::Mechanism(mechanism), at)));
            crate::grade::coverage(&moved, &bound.readings, &found.unwrap_or_default())
        };
        let mut steps = || -> Result<Vec<Step>, WeighError> {
            let mut before = prior.chance;
            let mut steps = Vec::with_capacity(stages.len());
            for (stage, (kind, group)) in stages.iter().enumerate() {
                let after = self.stand(ledger, stage, by)?.chance;
                if *kind == StepKind::Seen {
                    steps.push(Step {
                        kind: *kind,
                        readings: group.clone(),
                        weight: decibans(after) - decibans(before),
                        after,
                    });
                }
                before = after;
            }
            Ok(steps)
        };
        graded(weighed, about, (prior.chance, last.chance), &mut steps, &mut covered)
    }
}

/// The share that each node's value has in the value at `x` (second barycentric form).
fn shares(nodes: &[(f64, f64)], x: f64) -> Vec<f64> {
    if let Some(hit) = nodes.iter().position(|(node, _)| *node == x) {
        return (0..nodes.len())
            .map(|index| f64::from(u8::from(index == hit)))
            .collect();
    }
    let parts: Vec<f64> = nodes.iter().map(|(node, weight)| weight / (x - node)).collect();
    let sum: f64 = parts.iter().sum();
    parts.into_iter().map(|part| part / sum).collect()
}

/// The effects that a rule joins in the grounded graph, one for each arc.
fn arcs(weighed: &Weighed<'_>, rule: Rule) -> Vec<Site> {
    let Some(link) = weighed.pack().links(rule.from).get(rule.link) else {
        return Vec::new();
    };
    let grounded = &weighed.weighing.grounded;
    let effects = grounded.order.iter().filter(|site| site.0 == link.effect);
    effects
        .flat_map(|site| {
            let arcs = grounded.causes(*site);
            arcs.into_iter()
                .filter(|(_, arc)| arc.rule == rule)
                .map(|_| *site)
                .collect::<Vec<_>>()
        })
        .collect()
}

/// Whether a number bears on what a conclusion's clues would tell.
fn covers(weighed: &Weighed<'_>, number: Number, about: About) -> bool {
    let mut rules = BTreeSet::new();
    let mut clues = BTreeSet::new();
    for site in weighed.sites(about) {
        for ((clue, _), found) in weighed.reach(site) {
            clues.insert(clue);
            rules.extend(found.path.iter().map(|hop| hop.rule));
        }
    }
    match number {
        Number::Link(rule) => {
            let from_own = |rule: Rule| match rule.from {
                Node::Mechanism(mechanism) => weighed.sites(about).iter().any(|(own, _)| *own == mechanism),
                _ => true,
            };
            rules.contains(&rule) || from_own(rule)
        }
        Number::Clue(clue) => clues.contains(&clue),
        _ => false,
    }
}
