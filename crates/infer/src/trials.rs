//! Hypotheses about one variable, as changes to the weights of others.

use crate::core::{Core, Trial};
use crate::network::Family;
use crate::plan::Role;
use crate::{Evidence, Finding, Var};

/// A chance below this share of the cumulative one it is a difference of is summed instead.
pub(crate) const SMALL_SHARE: f64 = 1e-5;

impl Core {
    /// The variable is in this state; it must be live.
    pub(crate) fn clamp(&self, bucket: usize, state: usize) -> Trial {
        let b = &self.plan.buckets[bucket];
        let others = (0..b.states).filter(|s| *s != state);
        Trial {
            set: others.map(|s| (b.unary + s, 0.0)).collect(),
            ..Trial::default()
        }
    }

    /// The barren noisy-MAX `var` produces `row(parent's row)` times as much: its parents'
    /// weights are multiplied by what `by` makes of their rows, called with the number of the
    /// contribution, 0 for the leak.
    fn weighted(&self, evidence: &Evidence, var: Var, by: impl Fn(usize, &[f64]) -> f64) -> Trial {
        let mut trial = Trial::default();
        let node = &self.net.model.nodes[var.index()];
        let Family::NoisyMax(noisy) = &node.family else {
            return trial;
        };
        trial.constant = trial.constant.times(by(0, &noisy.leak));
        let mut at = 0;
        for (i, p) in node.parents.iter().enumerate() {
            let states = self.net.states(*p);
            let rows = noisy.rows[at..at + states * node.states].chunks_exact(node.states);
            at += states * node.states;
            match (self.plan.roles[p.index()], evidence.get(*p)) {
                (Role::Live(k), _) => {
                    let unary = self.plan.buckets[k as usize].unary;
                    let factors = rows.enumerate().map(|(s, row)| (unary + s, by(i + 1, row)));
                    trial.times.extend(factors);
                }
                (_, Some(Finding::State(s))) => {
                    let row = rows.clone().nth(*s).unwrap_or(&[]);
                    trial.constant = trial.constant.times(by(i + 1, row));
                }
                _ => {}
            }
        }
        trial
    }

    /// The barren noisy-MAX `var` is at most in this state.
    pub(crate) fn at_most(&self, evidence: &Evidence, var: Var, state: usize) -> Trial {
        self.weighted(evidence, var, |_, row| row[..=state].iter().sum())
    }

    /// Trials whose sum is that `var` is just in this state: one for each contribution that may
    /// be the first to reach it, those before being lower and those after not higher.
    /// Non-negative terms only, so nothing cancels however small the chance.
    pub(crate) fn exactly(&self, evidence: &Evidence, var: Var, state: usize) -> Vec<Trial> {
        let parents = self.net.parents(var).len();
        (0..=parents)
            .map(|first| {
                self.weighted(evidence, var, |i, row| match i.cmp(&first) {
                    std::cmp::Ordering::Less => row[..state].iter().sum(),
                    std::cmp::Ordering::Equal => row[state],
                    std::cmp::Ordering::Greater => row[..=state].iter().sum(),
                })
            })
            .collect()
    }
}
