//! What a look would tell: every target given each state of what was not looked at.

use crate::core::Trial;
use crate::plan::Role;
use crate::scaled::Scaled;
use crate::trials::SMALL_SHARE;
use crate::{Finding, SolveError, Solved, Var};

/// What the targets would be, given each state of one variable.
#[derive(Clone, Debug, PartialEq)]
pub struct Look {
    var: Var,
    chances: Vec<f64>,
    /// For each state, the targets' distributions one after the other; zeros if it is impossible.
    given: Vec<Vec<f64>>,
    /// Where each target's distribution starts and ends.
    ranges: Vec<(Var, usize, usize)>,
}

impl Look {
    /// What would be looked at.
    pub fn var(&self) -> Var {
        self.var
    }

    /// The chance of each state, given the evidence.
    pub fn chances(&self) -> &[f64] {
        &self.chances
    }

    /// The distribution of a target given the evidence and this state; `None` if it was not asked
    /// for or there is no such state. All zeros if the state is impossible.
    pub fn given(&self, state: usize, target: Var) -> Option<&[f64]> {
        let (_, from, to) = self.ranges.iter().find(|(v, _, _)| *v == target)?;
        Some(&self.given.get(state)?[*from..*to])
    }

    /// How much a look tells about a target, in nats: their mutual information given the
    /// evidence, the expected drop in the target's entropy. `None` if it was not asked for.
    pub fn information(&self, target: Var) -> Option<f64> {
        let mut information = 0.0;
        let states = self.given(0, target)?.len();
        for t in 0..states {
            let joint = |s: usize| self.chances[s] * self.given(s, target).map_or(0.0, |p| p[t]);
            let alone: f64 = (0..self.chances.len()).map(joint).sum();
            for (s, chance) in self.chances.iter().enumerate() {
                let both = joint(s);
                if both > 0.0 {
                    information += both * libm::log(both / (chance * alone));
                }
            }
        }
        Some(information.max(0.0))
    }
}

/// Which trials make up which state of which variable.
struct Part {
    look: usize,
    state: usize,
    /// The trial is "at most in this state" rather than part of the state itself.
    cumulative: bool,
}

impl Solved {
    /// For each of `vars`, what each of `targets` would be given each of its states.
    ///
    /// A boolean noisy-MAX not looked at costs one more pass, whatever the number of targets; any
    /// other variable one pass a state.
    ///
    /// # Errors
    /// [`SolveError::Mismatch`] for a variable that is not in the network, a variable to look at
    /// that already carries a finding, or a target that is an effect below all evidence with
    /// nothing below it; [`SolveError::TooTangled`] if a variable that was left out of the
    /// solution cannot be brought in.
    pub fn looks(&self, vars: &[Var], targets: &[Var]) -> Result<Vec<Look>, SolveError> {
        let mismatch = |var, what| Err(SolveError::Mismatch { var, what });
        let net = &self.core.net;
        for &var in vars.iter().chain(targets) {
            if net.states(var) == 0 {
                return mismatch(var, "the variable is not in this network");
            }
        }
        for &var in vars {
            let live = self.core.plan.bucket_of(var).is_some();
            let hard = matches!(self.evidence.get(var), Some(Finding::State(_)));
            if hard || (self.evidence.get(var).is_some() && !live) {
                return mismatch(var, "it already carries a finding");
            }
        }
        let out = |v: &&Var| self.core.plan.bucket_of(**v).is_none();
        let hard = |v: &&Var| matches!(self.evidence.get(**v), Some(Finding::State(_)));
        let mut missing: Vec<Var> = targets.iter().filter(|v| out(v) && !hard(v)).copied().collect();
        for var in vars.iter().filter(out) {
            missing.extend(self.core.plan.missing(net, &self.evidence, *var));
        }
        if missing.is_empty() {
            return Ok(self.looks_here(vars, targets));
        }
        missing.sort_unstable();
        missing.dedup();
        Ok(self.with_live(&missing)?.looks_here(vars, targets))
    }

    /// As [`Solved::looks`] once everything needed is live.
    fn looks_here(&self, vars: &[Var], targets: &[Var]) -> Vec<Look> {
        let plan = &*self.core.plan;
        let mut ranges = Vec::with_capacity(targets.len());
        let mut offsets = Vec::new();
        for &target in targets {
            let from = offsets.len();
            match plan.bucket_of(target) {
                Some(k) => {
                    let b = &plan.buckets[k];
                    offsets.extend((b.unary..b.unary + b.states).map(Some));
                }
                None => offsets.resize(from + self.core.net.states(target), None),
            }
            ranges.push((target, from, offsets.len()));
        }
        let mut trials: Vec<Trial> = Vec::new();
        let mut parts = Vec::new();
        let mut looks = Vec::with_capacity(vars.len());
        for (look, &var) in vars.iter().enumerate() {
            let states = self.core.net.states(var);
            match plan.roles[var.index()] {
                Role::Live(k) => {
                    for state in 0..states {
                        trials.push(self.core.clamp(k as usize, state));
                        parts.push(Part {
                            look,
                            state,
                            cumulative: false,
                        });
                    }
                }
                _ => {
                    for state in 0..states - 1 {
                        trials.push(self.core.at_most(&self.evidence, var, state));
                        parts.push(Part {
                            look,
                            state,
                            cumulative: true,
                        });
                    }
                }
            }
            let mut given = vec![vec![0.0; offsets.len()]; states];
            let mut chances = vec![0.0; states];
            if !matches!(plan.roles[var.index()], Role::Live(_)) {
                given[states - 1] = self.now(&offsets);
                chances[states - 1] = 1.0;
            }
            looks.push(Look {
                var,
                chances,
                given,
                ranges: ranges.clone(),
            });
        }
        // Joint chances with each target's states, to be divided at the end.
        self.collect(&trials, &parts, &offsets, &mut looks);
        self.differ(&mut looks, &parts, &offsets);
        let known = |(target, from, to): &(Var, usize, usize)| {
            let state = match self.evidence.get(*target) {
                Some(Finding::State(x)) => Some(*x),
                _ => None,
            };
            (*from, *to, state)
        };
        let known: Vec<_> = ranges.iter().map(known).collect();
        looks.iter_mut().for_each(|look| look.finish(&known));
        looks
    }

    fn now(&self, offsets: &[Option<usize>]) -> Vec<f64> {
        let at = |o: &Option<usize>| o.map_or(0.0, |o| self.posterior[o]);
        offsets.iter().map(at).collect()
    }

    fn collect(&self, trials: &[Trial], parts: &[Part], offsets: &[Option<usize>], looks: &mut [Look]) {
        self.core.run_trials(trials, true, |t, total: Scaled, posterior| {
            let Part { look, state, .. } = parts[t];
            let chance = total.over(self.total);
            looks[look].chances[state] += chance;
            for (g, o) in looks[look].given[state].iter_mut().zip(offsets) {
                *g += o.map_or(0.0, |o| posterior.at(o) * chance);
            }
        });
    }

    /// From "at most" to "just": by difference, or by a sum of parts where that would cancel.
    fn differ(&self, looks: &mut [Look], parts: &[Part], offsets: &[Option<usize>]) {
        let mut trials = Vec::new();
        let mut exact = Vec::new();
        let mut last = usize::MAX;
        for part in parts.iter().filter(|p| p.cumulative) {
            let look = part.look;
            if look == last {
                continue;
            }
            last = look;
            let Look {
                var, chances, given, ..
            } = &mut looks[look];
            for s in (1..chances.len()).rev() {
                let (upto, below) = (chances[s], chances[s - 1]);
                if upto - below < SMALL_SHARE * upto {
                    chances[s] = 0.0;
                    given[s].fill(0.0);
                    let sum = self.core.exactly(&self.evidence, *var, s);
                    exact.extend(sum.iter().map(|_| Part {
                        look,
                        state: s,
                        cumulative: false,
                    }));
                    trials.extend(sum);
                } else {
                    chances[s] = upto - below;
                    let (low, high) = given.split_at_mut(s);
                    for (g, b) in high[0].iter_mut().zip(&low[s - 1]) {
                        *g = (*g - b).max(0.0);
                    }
                }
            }
        }
        self.collect(&trials, &exact, offsets, looks);
    }
}

impl Look {
    /// Divides the joints by the chances. What is known stays as it is; its range and state are given.
    fn finish(&mut self, known: &[(usize, usize, Option<usize>)]) {
        let total: f64 = self.chances.iter().sum();
        for (s, chance) in self.chances.iter_mut().enumerate() {
            for &(from, to, state) in known {
                let p = &mut self.given[s][from..to];
                if let Some(x) = state {
                    p.fill(0.0);
                    p[x] = f64::from(u8::from(*chance > 0.0));
                    continue;
                }
                let sum: f64 = p.iter().sum();
                if sum > 0.0 {
                    let by = 1.0 / sum;
                    p.iter_mut().for_each(|x| *x *= by);
                }
            }
            *chance /= total;
        }
    }
}
