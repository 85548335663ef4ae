//! Many suppositions from few solutions: those that differ only in a finding left out, or in what is found.

use std::collections::BTreeMap;

use crate::below::Walk;
use crate::core::Trial;
use crate::scaled::Scaled;
use crate::{SolveError, Solved, Supposed, Supposition, Var};

/// The terms of what is supposed: how many times the walk of which number.
type Terms = Vec<(f64, usize)>;

/// What is supposed beside states, and the number of the supposition.
type Numbered = (usize, Supposition);

impl Solved {
    /// P(states, what is supposed beside, evidence) over P(evidence): for each set of states, with each of what is supposed
    /// beside ([`Supposition::states`] of those are passed over). One pass up and down for each set of states, and for each
    /// of the others no more than the part of the tree between the variables that it changes.
    ///
    /// # Errors
    /// As [`Solved::suppose`]; and [`SolveError::Mismatch`] for an "at most" of which [`Solved::can_read`] says no, or for a
    /// finding that can't be left out of the plan.
    pub fn across(&self, states: &[Vec<(Var, usize)>], beside: &[Supposition]) -> Result<Vec<Vec<f64>>, SolveError> {
        let mut walks = Vec::new();
        let mut columns = Vec::with_capacity(beside.len());
        for one in beside {
            let mut aside = self.plain(one);
            aside.states.clear();
            let named = aside.at_most.first().map(|(var, _)| *var).or(aside.without);
            let what = "it can't be read off a solution";
            let var = named.unwrap_or(Var::from_index(0));
            let terms = self.walks(&aside, &mut walks)?;
            columns.push(terms.ok_or(SolveError::Mismatch { var, what })?);
        }
        let mut trials = Vec::with_capacity(states.len());
        for states in states {
            let base = Supposition {
                states: states.clone(),
                ..Supposition::default()
            };
            trials.extend(self.terms(&base)?.into_iter().flatten().map(|(_, trial)| trial));
        }
        let wanted = vec![(0..walks.len()).collect(); trials.len()];
        let mut factors = vec![0.0; walks.len() * trials.len()];
        self.core
            .run_walks(&trials, &walks, &wanted, &mut |trial, total, walk, factor| {
                factors[trial * walks.len() + walk] = if total.mantissa > 0.0 {
                    total.over(self.total) * factor
                } else {
                    0.0
                };
            });
        let row = |trial: usize| {
            let own = &factors[trial * walks.len()..(trial + 1) * walks.len()];
            let sum = |terms: &Terms| terms.iter().map(|(by, walk)| by * own[*walk]).sum::<f64>().max(0.0);
            columns.iter().map(sum).collect()
        };
        Ok((0..trials.len()).map(row).collect())
    }

    /// Whether "at most" in any state can be read off a solution for this variable.
    pub fn can_read(&self, var: Var) -> bool {
        let states = self.core.net.states(var);
        let read = |state| {
            let terms = self.terms(&Supposition {
                at_most: vec![(var, state)],
                ..Supposition::default()
            });
            let short = |(_, trial): &(f64, Trial)| self.core.walk(trial).is_some_and(|walk| walk.is_short());
            matches!(terms, Ok(Some(terms)) if terms.iter().all(short))
        };
        states > 1 && (0..states - 1).all(read)
    }

    /// Answers those suppositions that differ only in a finding left out, or in what is found, from one solution for all
    /// of them. Says which were answered.
    pub(crate) fn read(
        &self,
        all: &[Supposition],
        first: &[usize],
        out: &mut [Supposed],
    ) -> Result<Vec<bool>, SolveError> {
        let mut groups: BTreeMap<Vec<(Var, usize)>, Vec<Numbered>> = BTreeMap::new();
        for (i, one) in all.iter().enumerate().filter(|(i, _)| first[*i] == *i) {
            let mut aside = self.plain(one);
            let states = std::mem::take(&mut aside.states);
            groups.entry(states).or_default().push((i, aside));
        }
        let mut walks = Vec::new();
        let mut known: BTreeMap<Supposition, Option<Terms>> = BTreeMap::new();
        let (mut trials, mut wanted, mut members) = (Vec::new(), Vec::new(), Vec::new());
        let mut read = vec![false; all.len()];
        for (states, group) in groups {
            // A pass up and down for two passes up, or more.
            if group.len() < 3 {
                continue;
            }
            let base = Supposition {
                states,
                ..Supposition::default()
            };
            let Some([(_, trial)]) = self
                .terms(&base)?
                .and_then(|terms| <[(f64, Trial); 1]>::try_from(terms).ok())
            else {
                continue;
            };
            let mut own = Vec::new();
            for (i, aside) in group {
                let terms = match known.get(&aside) {
                    Some(terms) => terms.clone(),
                    None => {
                        let terms = self.walks(&aside, &mut walks)?;
                        known.insert(aside, terms.clone());
                        terms
                    }
                };
                if let Some(terms) = terms {
                    read[i] = true;
                    own.push((i, terms));
                }
            }
            if !own.is_empty() {
                trials.push(trial);
                wanted.push(
                    own.iter()
                        .flat_map(|(_, terms)| terms.iter().map(|(_, at)| *at))
                        .collect(),
                );
                members.push(own);
            }
        }
        let mut totals = vec![Scaled::ONE; trials.len()];
        let mut factors: BTreeMap<(usize, usize), f64> = BTreeMap::new();
        self.core
            .run_walks(&trials, &walks, &wanted, &mut |trial, total, walk, factor| {
                totals[trial] = total;
                factors.insert((trial, walk), factor);
            });
        for (trial, members) in members.iter().enumerate().filter(|(t, _)| totals[*t].mantissa > 0.0) {
            for (i, terms) in members {
                let one = |(by, walk): &(f64, usize)| by * factors.get(&(trial, *walk)).copied().unwrap_or(0.0);
                let sum: f64 = terms.iter().map(one).sum();
                out[*i].ln = totals[trial].ln() + libm::log(sum.max(0.0));
            }
        }
        Ok(read)
    }

    /// The terms of what is supposed beside states, and their walks; none where there is no way but a run of its own.
    fn walks(&self, aside: &Supposition, walks: &mut Vec<Walk>) -> Result<Option<Terms>, SolveError> {
        let Some(terms) = self.terms(aside)? else {
            return Ok(None);
        };
        let walk = |(by, trial): &(f64, Trial)| Some((*by, self.core.walk(trial)?));
        let found: Option<Vec<(f64, Walk)>> = terms.iter().map(walk).collect();
        Ok(found.map(|found| {
            let start = walks.len();
            let (by, new): (Vec<f64>, Vec<Walk>) = found.into_iter().unzip();
            walks.extend(new);
            by.into_iter().zip(start..).collect()
        }))
    }
}
