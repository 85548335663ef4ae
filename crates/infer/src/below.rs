//! "At most in this state", read off a solution: for what is below all evidence and hangs on variables that meet in one
//! table.
//!
//! For a noisy-MAX not looked at, P(v ≤ x | parents) = Π F_i(x) is a function of its parents. Where they meet in one table
//! of the plan, its mean over that table's belief is P(v ≤ x | everything supposed): one pass up and down then answers for
//! every such variable at once, instead of one pass for each.

use crate::core::Core;
use crate::network::Family;
use crate::plan::Role;
use crate::{Evidence, Finding, Var};

/// Where the beliefs of a variable's parents are, and what each is to be multiplied by.
#[derive(Clone, Debug)]
pub(crate) struct Host {
    /// The start of a table, else that of one variable's posterior.
    start: usize,
    /// The start and length of the derivative that the table is multiplied by.
    message: Option<(usize, usize)>,
    weights: Vec<f64>,
}

impl Host {
    /// P(at most in the state), from posteriors and beliefs (by the places of a table's entry and of its derivative).
    pub fn read(&self, posterior: &dyn Fn(usize) -> f64, belief: &dyn Fn(usize, usize) -> f64) -> f64 {
        let parts = self.weights.iter().enumerate();
        match self.message {
            None => parts.map(|(i, weight)| weight * posterior(self.start + i)).sum(),
            Some((down, sep)) => parts
                .map(|(i, weight)| weight * belief(self.start + i, down + i % sep))
                .sum(),
        }
    }
}

impl Core {
    /// Where "`var` is at most in this state" can be read; none where its parents do not meet, or are not all at hand.
    pub fn host(&self, evidence: &Evidence, var: Var, state: usize) -> Option<Host> {
        if self.plan.roles.get(var.index())? != &Role::Barren {
            return None;
        }
        let node = self.net.model.nodes.get(var.index())?;
        let Family::NoisyMax(noisy) = &node.family else {
            return None;
        };
        let upto = |row: &[f64]| row[..=state].iter().sum::<f64>();
        let mut constant = upto(&noisy.leak);
        let mut live: Vec<(u32, Vec<f64>)> = Vec::new();
        let mut at = 0;
        for parent in &node.parents {
            let states = self.net.states(*parent);
            let rows = noisy.rows[at..at + states * node.states].chunks_exact(node.states);
            at += states * node.states;
            match (self.plan.roles[parent.index()], evidence.get(*parent)) {
                (Role::Live(k), _) => live.push((k, rows.map(upto).collect())),
                (Role::Fixed, Some(Finding::State(s))) => constant *= upto(rows.clone().nth(*s)?),
                _ => return None,
            }
        }
        // The first to be eliminated has all that it meets in its own table.
        let k = live.iter().map(|(k, _)| *k).min()?;
        let b = &self.plan.buckets[k as usize];
        if let [(_, by)] = live.as_slice() {
            return Some(Host {
                start: b.unary,
                message: None,
                weights: by.iter().map(|f| constant * f).collect(),
            });
        }
        if b.dense {
            return None;
        }
        let mut weights = vec![constant; b.size];
        let mut stride = b.size;
        let mut met = 0;
        for axis in self.plan.scope_of(k as usize) {
            let states = self.plan.buckets[*axis as usize].states;
            stride /= states;
            if let Some((_, by)) = live.iter().find(|(other, _)| other == axis) {
                met += 1;
                for (i, weight) in weights.iter_mut().enumerate() {
                    *weight *= by[i / stride % states];
                }
            }
        }
        (met == live.len()).then_some(Host {
            start: b.table,
            message: Some((b.message, b.sep)),
            weights,
        })
    }
}
