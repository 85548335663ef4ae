//! A conclusion's grade as a function of one number: ratios of polynomials, known from exact solutions.

use wythe_pack::Node;

use super::ledger::{Ledger, Stand, graded};
use super::place::Placed;
use super::{Graded, REACH, likeliest};
use crate::network::Model;
use crate::paths::reached;
use crate::{About, Number, Step, StepKind, WeighError, decibans};

/// One stage's functions at the nodes: P(evidence so far), and its shares with the conclusion and with each member.
struct Stage {
    total: Vec<f64>,
    with: Vec<f64>,
    members: Vec<Vec<f64>>,
}

/// The grade of one conclusion as a function of one number.
pub(super) struct Curves {
    placed: Placed,
    about: About,
    /// The chance at one place that each node stands for, and the weight of the node.
    nodes: Vec<(f64, f64)>,
    models: Vec<Model>,
    stages: Vec<Option<Stage>>,
}

impl Curves {
    pub fn of(placed: Placed, about: About) -> Self {
        Curves {
            placed,
            about,
            nodes: Vec::new(),
            models: Vec::new(),
            stages: Vec::new(),
        }
    }

    pub fn number(&self) -> Number {
        self.placed.number
    }

    /// The number, moved by some decibans.
    pub fn value(&self, by: f64) -> f64 {
        self.placed.value(by)
    }

    fn prepare(&mut self, ledger: &mut Ledger<'_, '_>) -> Result<(), WeighError> {
        if !self.nodes.is_empty() {
            return Ok(());
        }
        let count = self.placed.uses.len() + 1;
        let mut points = Vec::with_capacity(count);
        for index in 0..count {
            let angle = std::f64::consts::PI * (2 * index + 1) as f64 / (2 * count) as f64;
            let by = REACH * libm::cos(angle);
            points.push(self.placed.at_one_place(ledger, by));
            self.models.push(self.placed.model(ledger, by)?);
        }
        let weight = |one: f64| {
            points
                .iter()
                .filter(|other| **other != one)
                .map(|other| 1.0 / (one - other))
                .product::<f64>()
        };
        self.nodes = points.iter().map(|one| (*one, weight(*one))).collect();
        self.stages = ledger.stages().iter().map(|_| None).collect();
        Ok(())
    }

    /// Where the conclusion stands after the first stages, with the number moved.
    fn stand(&mut self, ledger: &mut Ledger<'_, '_>, stage: usize, by: f64) -> Result<Stand, WeighError> {
        if self.placed.uses.is_empty() {
            return ledger.base(stage, self.about);
        }
        self.prepare(ledger)?;
        if self.stages.get(stage).is_some_and(Option::is_none) {
            let mut found = Stage {
                total: Vec::new(),
                with: Vec::new(),
                members: Vec::new(),
            };
            let mut scale = None;
            for model in &self.models {
                let (stand, ln) = ledger.stand(Some(model), None, stage, self.about)?;
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
        let x = self.placed.at_one_place(ledger, by);
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
        let (weighed, about) = (ledger.weighed, self.about);
        let stages = ledger.stages();
        let last = self.stand(ledger, stages.len().saturating_sub(1), by)?;
        let prior = self.stand(ledger, 0, by)?;
        let needs = super::ledger::needs(weighed, about, prior.chance, last.chance);
        let steps = if needs.steps {
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
            steps
        } else {
            Vec::new()
        };
        let covered = if needs.coverage {
            let sites = weighed.sites(about);
            let from = likeliest(&sites, |index| last.members.get(index).copied().unwrap_or(0.0));
            let (case, bound) = (weighed.case(), &weighed.weighing.bound);
            self.placed.with(ledger, by, |pack| {
                let found = from.map(|(mechanism, at)| reached(pack, case, bound, (Node::Mechanism(mechanism), at)));
                crate::grade::coverage(pack, &bound.readings, &found.unwrap_or_default())
            })
        } else {
            Default::default()
        };
        Ok(graded(weighed, about, (prior.chance, last.chance), &steps, &covered))
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
