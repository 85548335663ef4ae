//! The same evidence with more supposed: variables in states, one finding left out, things looked at and found to be at
//! most in a state.

use crate::core::Trial;
use crate::scaled::Scaled;
use crate::solve::solve_by;
use crate::{Evidence, SolveError, Solved, Var, solve};

/// What is supposed beside the evidence.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Supposition {
    /// Variables that are in these states.
    pub states: Vec<(Var, usize)>,
    /// Variables not looked at (noisy-MAX, nothing observed below them) that are at most in these states.
    pub at_most: Vec<(Var, usize)>,
    /// A finding that is left out.
    pub without: Option<Var>,
}

/// The answers under a supposition.
#[derive(Clone, Debug, PartialEq)]
pub struct Supposed {
    ln: f64,
    /// Where each variable's distribution starts; none where it was not asked for.
    starts: Vec<(Var, usize, usize)>,
    posterior: Vec<f64>,
}

impl Supposed {
    /// ln P(the evidence but for what is left out, and what is supposed); minus infinity if that is impossible.
    pub fn ln(&self) -> f64 {
        self.ln
    }

    /// The distribution of a variable that was asked for; empty for any other, not a number where impossible.
    pub fn posterior(&self, var: Var) -> &[f64] {
        let found = self.starts.iter().find(|(other, _, _)| *other == var);
        found.map_or(&[], |(_, from, to)| &self.posterior[*from..*to])
    }
}

impl Solved {
    /// The same solution with these variables kept in it as well, so that they may be supposed, or looked at below.
    ///
    /// # Errors
    /// [`SolveError::TooTangled`].
    pub fn keeping(&self, vars: &[Var]) -> Result<Solved, SolveError> {
        self.with_live(vars)
    }

    /// The answers under each supposition, several side by side in the plan of this solution: a pass up each, and a pass
    /// down where posteriors of `targets` are asked for.
    ///
    /// # Errors
    /// [`SolveError::Mismatch`] for a variable that is supposed in a state and is observed or below all evidence; for one
    /// supposed at most in a state that is neither a plain noisy-MAX nor below all evidence; for a target that is none of
    /// those solved for. [`SolveError::TooTangled`] as [`Solved::leave_one_out`].
    pub fn suppose(&self, all: &[Supposition], targets: &[Var]) -> Result<Vec<Supposed>, SolveError> {
        let plan = &*self.core.plan;
        let mismatch = |var, what| SolveError::Mismatch { var, what };
        let mut starts = Vec::with_capacity(targets.len());
        let mut places = Vec::new();
        for &var in targets {
            let k = plan.bucket_of(var);
            let b = &plan.buckets[k.ok_or_else(|| mismatch(var, "it is observed or below all evidence"))?];
            starts.push((var, places.len(), places.len() + b.states));
            places.extend(b.unary..b.unary + b.states);
        }
        let mut trials = Vec::with_capacity(all.len());
        let mut of = Vec::with_capacity(all.len());
        let empty = || Supposed {
            ln: f64::NEG_INFINITY,
            starts: starts.clone(),
            posterior: vec![f64::NAN; places.len()],
        };
        let mut out = vec![empty(); all.len()];
        for (i, one) in all.iter().enumerate() {
            match self.trial(one)? {
                Some(trial) => {
                    trials.push(trial);
                    of.push(i);
                }
                None => out[i] = self.afresh(one, targets, empty())?,
            }
        }
        self.core
            .run_trials(&trials, !targets.is_empty(), |t, total: Scaled, posterior| {
                let one = &mut out[of[t]];
                one.ln = total.ln();
                if one.ln > f64::NEG_INFINITY {
                    one.posterior = places.iter().map(|at| posterior(*at)).collect();
                }
                normalise(one);
            });
        Ok(out)
    }

    /// A supposition as a trial in the present plan; none where what is left out does not allow it.
    fn trial(&self, one: &Supposition) -> Result<Option<Trial>, SolveError> {
        let plan = &*self.core.plan;
        let mut trial = match one.without {
            None => Trial::default(),
            Some(var) => {
                let Some(finding) = self.evidence.get(var) else {
                    let what = "it carries no finding";
                    return Err(SolveError::Mismatch { var, what });
                };
                match self.core.without(&self.evidence, var, finding) {
                    Some(trial) => trial,
                    None => return Ok(None),
                }
            }
        };
        for &(var, state) in &one.at_most {
            if plan.roles[var.index()] != crate::plan::Role::Barren
                || !self.core.net.is_noisy_max(var)
                || !plan.missing(&self.core.net, &self.evidence, var).is_empty()
            {
                let what = "it is not a noisy-MAX below what was solved for";
                return Err(SolveError::Mismatch { var, what });
            }
            if state + 1 < self.core.net.states(var) {
                let look = self.core.at_most(&self.evidence, var, state);
                trial.times.extend(look.times);
                trial.constant = trial
                    .constant
                    .times(look.constant.mantissa)
                    .shift(look.constant.exponent);
            }
        }
        for &(var, state) in &one.states {
            let Some(k) = plan.bucket_of(var) else {
                let what = "it is observed or below all evidence";
                return Err(SolveError::Mismatch { var, what });
            };
            trial.set.extend(self.core.clamp(k, state).set);
        }
        Ok(Some(trial))
    }

    /// A supposition that leaves out a finding that the plan can't do without.
    fn afresh(&self, one: &Supposition, targets: &[Var], empty: Supposed) -> Result<Supposed, SolveError> {
        let mut evidence: Evidence = self.evidence.clone();
        if let Some(var) = one.without {
            evidence.remove(var);
        }
        let plan = &self.core.plan;
        let again = if plan.fits(&self.core.net, &evidence) {
            solve_by(&self.core.net, &evidence, &self.limits, plan.clone())
        } else {
            let live: Vec<Var> = plan.vars.iter().flatten().copied().collect();
            solve(&self.core.net, &evidence, &self.limits).and_then(|solved| solved.with_live(&live))
        };
        let solved = match again {
            Ok(solved) => solved,
            Err(SolveError::Impossible) => return Ok(empty),
            Err(error) => return Err(error),
        };
        let rest = Supposition {
            without: None,
            ..one.clone()
        };
        let found = solved.suppose(std::slice::from_ref(&rest), targets)?;
        Ok(found.into_iter().next().unwrap_or(empty))
    }
}

fn normalise(one: &mut Supposed) {
    for &(_, from, to) in &one.starts {
        let p = &mut one.posterior[from..to];
        let sum: f64 = p.iter().sum();
        p.iter_mut().for_each(|x| *x /= sum);
    }
}
