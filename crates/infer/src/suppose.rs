//! The same evidence with more supposed: variables in states, one finding left out, things looked at and found to be at
//! most in a state.

use crate::core::{Trial, best_plan};
use crate::expand::{Sum, times};
use crate::scaled::Scaled;
use crate::solve::solve_by;
use crate::{Evidence, Limits, Network, SolveError, Solved, Var, evidence};
use std::collections::BTreeMap;
use std::sync::Arc;

/// What is supposed beside the evidence.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Supposition {
    /// Variables that are in these states.
    pub states: Vec<(Var, usize)>,
    /// Variables not looked at (noisy-MAX, nothing observed below them) that are at most in these states. What they hang on
    /// is summed out, or kept by [`Solved::keeping`]; two may not rest on the same variable below all evidence otherwise.
    pub at_most: Vec<(Var, usize)>,
    /// A finding that is left out.
    pub without: Option<Var>,
}

/// The answers under a supposition.
#[derive(Clone, Debug, PartialEq)]
pub struct Supposed {
    pub(crate) ln: f64,
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

/// All posteriors of what is above some evidence, or a root. What is below all evidence is not planned for, and is asked
/// for by [`Solved::suppose`].
///
/// # Errors
/// As [`solve`](crate::solve).
pub fn solve_seen(net: &Network, evidence: &Evidence, limits: &Limits) -> Result<Solved, SolveError> {
    evidence::check(net, evidence)?;
    let plan = best_plan(net, evidence, &[], limits)?;
    solve_by(net, evidence, limits, Arc::new(plan))
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
    ///
    /// ```
    /// use wythe_infer::{Cause, Evidence, Finding, Limits, Network, Supposition, solve_seen};
    ///
    /// let mut net = Network::new();
    /// let moved = net.table(2, &[], vec![0.9, 0.1])?;
    /// let crack = net.noisy_max(vec![0.8, 0.2], vec![Cause::boolean(moved, 0.5)])?;
    /// let door = net.noisy_max(vec![0.9, 0.1], vec![Cause::boolean(moved, 0.6)])?;
    /// let seen = Evidence::new().with(crack, Finding::State(1));
    /// let solved = solve_seen(&net, &seen, &Limits::default())?;
    /// // Were the door looked at and found free.
    /// let free = Supposition { at_most: vec![(door, 0)], ..Supposition::default() };
    /// let found = &solved.suppose(&[free], &[moved])?[0];
    /// let (moves, still) = (0.06 * 0.36, 0.18 * 0.9);
    /// assert!((found.ln().exp() - (moves + still)).abs() < 1e-12);
    /// assert!((found.posterior(moved)[1] - moves / (moves + still)).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
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
            posterior: vec![0.0; places.len()],
        };
        let mut out = vec![empty(); all.len()];
        // Sums of terms, over P(evidence).
        let mut sums = vec![0.0f64; all.len()];
        // Of those that come to the same, only the first is worked out.
        let mut met: BTreeMap<Supposition, usize> = BTreeMap::new();
        let first: Vec<usize> = (0..all.len())
            .map(|i| *met.entry(self.plain(&all[i])).or_insert(i))
            .collect();
        let read = if targets.is_empty() {
            self.read(all, &first, &mut out)?
        } else {
            vec![false; all.len()]
        };
        let once = |i: &usize| first[*i] == *i && !read[*i];
        // Those that have to be solved anew: by what is left out, and whether anything below that may be found.
        let mut anew: BTreeMap<(Option<Var>, bool), Vec<usize>> = BTreeMap::new();
        for (i, one) in all.iter().enumerate().filter(|(i, _)| once(i)) {
            match self.terms(one)? {
                Some(terms) => {
                    let alone = terms.len() == 1;
                    for (by, trial) in terms {
                        trials.push(trial);
                        of.push((i, by, alone));
                    }
                }
                None => anew.entry((one.without, one.at_most.is_empty())).or_default().push(i),
            }
        }
        for group in anew.into_values() {
            let own: Vec<Supposition> = group.iter().map(|i| all[*i].clone()).collect();
            for (i, found) in group.into_iter().zip(self.afresh(&own, targets, &empty())?) {
                out[i] = found;
            }
        }
        self.core
            .run_trials(&trials, !targets.is_empty(), |t, total: Scaled, posterior| {
                let (i, by, alone) = of[t];
                let one = &mut out[i];
                let share = if alone { by } else { by * total.over(self.total) };
                if alone {
                    one.ln = total.ln() + libm::log(by);
                }
                if total.mantissa > 0.0 {
                    sums[i] += share;
                    for (slot, at) in one.posterior.iter_mut().zip(&places) {
                        *slot += share * posterior.at(*at);
                    }
                }
            });
        let mut terms = vec![0usize; all.len()];
        of.iter().for_each(|(i, _, _)| terms[*i] += 1);
        for (i, one) in out.iter_mut().enumerate() {
            if terms[i] > 1 && sums[i] > 0.0 {
                one.ln = libm::log(sums[i]) + self.total.ln();
            }
            normalise(one);
        }
        for (i, first) in first.into_iter().enumerate().filter(|(i, first)| i != first) {
            out[i] = out[first].clone();
        }
        Ok(out)
    }

    /// A supposition without what says nothing.
    pub(crate) fn plain(&self, one: &Supposition) -> Supposition {
        let mut plain = one.clone();
        plain
            .at_most
            .retain(|(var, state)| state + 1 < self.core.net.states(*var));
        plain.at_most.sort_unstable();
        plain.states.sort_unstable();
        plain
    }

    /// A supposition as a sum of trials in the present plan; none where what is left out does not allow it.
    pub(crate) fn terms(&self, one: &Supposition) -> Result<Option<Vec<(f64, Trial)>>, SolveError> {
        let plan = &*self.core.plan;
        let mut first = match one.without {
            None => Trial::default(),
            Some(var) => {
                let Some(finding) = self.evidence.get(var) else {
                    let what = "it carries no finding";
                    return Err(SolveError::Mismatch { var, what });
                };
                if one.at_most.iter().any(|(below, _)| self.rests_on(*below, var)) {
                    return Ok(None);
                }
                match self.core.without(&self.evidence, var, finding) {
                    Some(trial) => trial,
                    None => return Ok(None),
                }
            }
        };
        for &(var, state) in &one.states {
            let Some(k) = plan.bucket_of(var) else {
                let what = "it is observed or below all evidence";
                return Err(SolveError::Mismatch { var, what });
            };
            first.set.extend(self.core.clamp(k, state).set);
        }
        let mut sum: Option<Sum> = None;
        let mut met = Vec::new();
        for &(var, state) in &one.at_most {
            if state + 1 >= self.core.net.states(var) {
                continue;
            }
            let other = self.up_to(var, state, &mut met);
            let product = match sum {
                Some(sum) => other.and_then(|other| times(&sum, &other)),
                None => other,
            };
            let what = "it can't be supposed unless what it hangs on is kept";
            sum = Some(product.ok_or(SolveError::Mismatch { var, what })?);
        }
        let Some(sum) = sum else {
            return Ok(Some(vec![(1.0, first)]));
        };
        let alone = one.without.is_none() && one.states.is_empty();
        let terms = sum.into_iter().map(|(atoms, by)| {
            let other = self.term(&atoms);
            if alone {
                return (by, other);
            }
            let mut trial = first.clone();
            trial.times.extend(other.times);
            trial.constant = trial
                .constant
                .times(other.constant.mantissa)
                .shift(other.constant.exponent);
            (by, trial)
        });
        Ok(Some(terms.collect()))
    }

    /// Whether [`Supposition::at_most`] may name this variable.
    pub fn can_suppose(&self, var: Var) -> bool {
        let states = self.core.net.states(var);
        states > 0 && (0..states - 1).all(|state| self.expand(var, state).is_some())
    }

    /// Whether one variable is another or below it.
    fn rests_on(&self, var: Var, on: Var) -> bool {
        let mut reached = vec![false; self.core.net.len()];
        reached[var.index()] = true;
        for v in (on.index()..=var.index()).rev() {
            if reached[v] {
                let parents = self.core.net.parents(Var::from_index(v));
                parents.iter().for_each(|p| reached[p.index()] = true);
            }
        }
        reached[on.index()]
    }

    /// Suppositions that leave out the same finding, which the plan can't do without.
    fn afresh(&self, all: &[Supposition], targets: &[Var], empty: &Supposed) -> Result<Vec<Supposed>, SolveError> {
        let mut evidence: Evidence = self.evidence.clone();
        if let Some(var) = all.first().and_then(|one| one.without) {
            evidence.remove(var);
        }
        let plan = &self.core.plan;
        let below = || all.iter().flat_map(|one| &one.at_most);
        let again = if below().next().is_none() && plan.fits(&self.core.net, &evidence) {
            solve_by(&self.core.net, &evidence, &self.limits, plan.clone())
        } else {
            // What is left out may be what something supposed below it rests on.
            let missing = |(var, _): &(Var, usize)| plan.missing(&self.core.net, &evidence, *var);
            let live: Vec<Var> = plan
                .vars
                .iter()
                .flatten()
                .copied()
                .chain(below().flat_map(missing))
                .collect();
            solve_seen(&self.core.net, &evidence, &self.limits).and_then(|solved| solved.with_live(&live))
        };
        let solved = match again {
            Ok(solved) => solved,
            Err(SolveError::Impossible) => return Ok(vec![empty.clone(); all.len()]),
            Err(error) => return Err(error),
        };
        let rest: Vec<Supposition> = all
            .iter()
            .map(|one| Supposition {
                without: None,
                ..one.clone()
            })
            .collect();
        solved.suppose(&rest, targets)
    }
}

fn normalise(one: &mut Supposed) {
    for &(_, from, to) in &one.starts {
        let p = &mut one.posterior[from..to];
        let sum: f64 = p.iter().sum();
        p.iter_mut().for_each(|x| *x /= sum);
    }
}
