//! "At most in this state", for a variable below all evidence, as a sum of products of weights on single live variables.
//!
//! For a noisy-MAX whose parents are live it is one product, P(v ≤ x | parents) = Π F_i(x): an *atom*. A parent that is
//! itself below all evidence is summed out. For a noisy-MAX p with f(s) = F_p(x | s),
//!
//! > E f(p) = f(last) + Σ_(s < last) (f(s) − f(s + 1)) · P(p ≤ s),
//!
//! and a table over such parents is expanded the same way, parent by parent. The result is a polynomial in atoms: a handful
//! of further passes, instead of a wider plan in which those parents are live. It holds while no parent is met twice on the
//! way up; otherwise they have to be kept live.

use std::collections::BTreeMap;

use crate::core::Trial;
use crate::network::Family;
use crate::plan::Role;
use crate::relevance::is_hard;
use crate::{Solved, Var};

/// Most terms of one expansion.
const MOST: usize = 64;

/// A polynomial in atoms: sorted atoms of each term, and its coefficient.
pub(crate) type Sum = BTreeMap<Vec<(Var, usize)>, f64>;

impl Solved {
    /// P(`var` ≤ `state` | live variables); none where it can't be expanded.
    pub(crate) fn expand(&self, var: Var, state: usize) -> Option<Sum> {
        self.up_to(var, state, &mut Vec::new())
    }

    /// The same, if it rests on none of those already `met`, to which it adds.
    pub(crate) fn up_to(&self, var: Var, state: usize, met: &mut Vec<Var>) -> Option<Sum> {
        if met.contains(&var) || !matches!(self.core.plan.roles.get(var.index())?, Role::Barren) {
            return None;
        }
        let node = self.core.net.model.nodes.get(var.index())?;
        let Family::NoisyMax(noisy) = &node.family else {
            return None;
        };
        let mut sum = Sum::from([(vec![(var, state)], 1.0)]);
        let mut at = 0;
        let mut barren: Vec<(Var, Vec<f64>)> = Vec::new();
        for parent in &node.parents {
            let states = self.core.net.states(*parent);
            let rows = &noisy.rows[at..at + states * node.states];
            at += rows.len();
            match self.core.plan.roles[parent.index()] {
                Role::Live(_) => {}
                Role::Barren => {
                    let upto = rows.chunks_exact(node.states).map(|row| row[..=state].iter().sum());
                    barren.push((*parent, upto.collect()));
                }
                _ if is_hard(&self.evidence, *parent) => {}
                // Observed, but not for certain: it would have to be live.
                _ => return None,
            }
        }
        met.push(var);
        for (parent, f) in barren {
            sum = times(&sum, &self.mean(parent, &f, met)?)?;
        }
        Some(sum)
    }

    /// The mean of a function of a barren variable.
    fn mean(&self, var: Var, f: &[f64], met: &mut Vec<Var>) -> Option<Sum> {
        let node = self.core.net.model.nodes.get(var.index())?;
        match &node.family {
            Family::NoisyMax(_) => {
                let levels: Vec<Sum> = f.iter().map(|value| Sum::from([(Vec::new(), *value)])).collect();
                self.mix(var, &levels, met)
            }
            Family::Table(rows) => {
                if met.contains(&var) {
                    return None;
                }
                met.push(var);
                let mut values: Vec<Sum> = rows
                    .chunks_exact(node.states)
                    .map(|row| {
                        let mean: f64 = row.iter().zip(f).map(|(p, value)| p * value).sum();
                        Sum::from([(Vec::new(), mean)])
                    })
                    .collect();
                for parent in node.parents.iter().rev() {
                    let states = self.core.net.states(*parent);
                    let before = met.clone();
                    let mut mixed = Vec::with_capacity(values.len() / states);
                    for levels in values.chunks_exact(states) {
                        // The same parent in each: met once.
                        *met = before.clone();
                        mixed.push(self.mix(*parent, levels, met)?);
                    }
                    values = mixed;
                }
                values.into_iter().next()
            }
        }
    }

    /// The mean over a barren noisy-MAX of what stands for each of its states.
    fn mix(&self, var: Var, levels: &[Sum], met: &mut Vec<Var>) -> Option<Sum> {
        if met.contains(&var) {
            return None;
        }
        let (last, lower) = levels.split_last()?;
        let mut sum = last.clone();
        let start = met.clone();
        met.push(var);
        for (state, level) in lower.iter().enumerate() {
            let mut difference = level.clone();
            add(&mut difference, &levels[state + 1], -1.0);
            difference.retain(|_, by| *by != 0.0);
            if !difference.is_empty() {
                let mut own = start.clone();
                let below = self.up_to(var, state, &mut own)?;
                for one in own {
                    if !met.contains(&one) {
                        met.push(one);
                    }
                }
                add(&mut sum, &times(&difference, &below)?, 1.0);
            }
        }
        Some(sum)
    }

    /// A term as a trial.
    pub(crate) fn term(&self, atoms: &[(Var, usize)]) -> Trial {
        let mut trial = Trial::default();
        for (var, state) in atoms {
            let one = self.core.at_most(&self.evidence, *var, *state);
            trial.times.extend(one.times);
            trial.constant = trial.constant.times(one.constant.mantissa).shift(one.constant.exponent);
        }
        trial
    }
}

fn add(sum: &mut Sum, other: &Sum, by: f64) {
    for (atoms, value) in other {
        *sum.entry(atoms.clone()).or_insert(0.0) += by * value;
    }
}

pub(crate) fn times(a: &Sum, b: &Sum) -> Option<Sum> {
    let mut out = Sum::new();
    for (left, x) in a {
        for (right, y) in b {
            let mut atoms = left.clone();
            atoms.extend(right);
            atoms.sort_unstable();
            *out.entry(atoms).or_insert(0.0) += x * y;
        }
    }
    (out.len() <= MOST).then_some(out)
}
