//! Many suppositions from few solutions: those that differ only in a finding left out, or in what is found.

use std::collections::BTreeMap;

use crate::core::Trial;
use crate::{SolveError, Solved, Supposed, Supposition, Var};

/// What is supposed beside states, and the number of the supposition.
type Numbered = (usize, Supposition);

impl Solved {
    /// P(states, what is supposed beside, evidence) over P(evidence): for each set of states, with each of what is supposed
    /// beside that is `asked` for with it, by its place ([`Supposition::states`] of those are passed over); not a number for
    /// all others. One pass up and down for each set of states, and for each of the others no more than the part of the tree
    /// between the variables that it changes; or a pass for that, where it is a large part.
    ///
    /// # Errors
    /// As [`Solved::suppose`].
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
    /// let free = Supposition { at_most: vec![(door, 0)], ..Supposition::default() };
    /// let states = [vec![(moved, 0)], vec![(moved, 1)]];
    /// let found = solved.across(&states, &[free], &[vec![0], vec![0]])?;
    /// assert!((found[0][0] - 0.18 * 0.9 / 0.24).abs() < 1e-12);
    /// assert!((found[1][0] - 0.06 * 0.36 / 0.24).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn across(
        &self,
        states: &[Vec<(Var, usize)>],
        beside: &[Supposition],
        asked: &[Vec<usize>],
    ) -> Result<Vec<Vec<f64>>, SolveError> {
        let mut rows = Vec::with_capacity(states.len());
        for states in states {
            rows.extend(self.row(states)?);
        }
        let mut columns = Vec::with_capacity(beside.len());
        for one in beside {
            let mut aside = self.plain(one);
            aside.states.clear();
            // Without terms nothing is read off.
            columns.push(self.terms(&aside)?);
        }
        let mut out = self.grid(&rows, &columns, asked);
        // What can't be read off a solution gets one of its own.
        let (mut places, mut left) = (Vec::new(), Vec::new());
        for (row, asked) in asked.iter().enumerate().take(states.len()) {
            for column in asked.iter().copied().filter(|column| out[row][*column].is_nan()) {
                places.push((row, column));
                left.push(Supposition {
                    states: states[row].clone(),
                    ..beside[column].clone()
                });
            }
        }
        for ((row, column), found) in places.into_iter().zip(self.suppose(&left, &[])?) {
            out[row][column] = libm::exp(found.ln() - self.total.ln());
        }
        let found = out.iter_mut().flatten().filter(|value| !value.is_nan());
        found.for_each(|value| *value = value.max(0.0));
        Ok(out)
    }

    /// Variables in states, as a trial.
    pub(crate) fn row(&self, states: &[(Var, usize)]) -> Result<Option<Trial>, SolveError> {
        let base = Supposition {
            states: states.to_vec(),
            ..Supposition::default()
        };
        Ok(self.terms(&base)?.into_iter().flatten().map(|(_, trial)| trial).next())
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
        let (mut rows, mut asked, mut members) = (Vec::new(), Vec::new(), Vec::new());
        let mut columns = Vec::new();
        let mut known: BTreeMap<Supposition, Option<usize>> = BTreeMap::new();
        let mut read = vec![false; all.len()];
        for (states, group) in groups {
            // A pass up and down for two passes up, or more.
            if group.len() < 3 {
                continue;
            }
            let mut own = Vec::new();
            for (i, aside) in group {
                let column = match known.get(&aside) {
                    Some(column) => *column,
                    None => {
                        let terms = self.terms(&aside)?;
                        let column = terms.is_some().then_some(columns.len());
                        if terms.is_some() {
                            columns.push(terms);
                        }
                        known.insert(aside, column);
                        column
                    }
                };
                own.extend(column.map(|column| (i, column)));
            }
            rows.extend(self.row(&states)?);
            asked.push(own.iter().map(|(_, column)| *column).collect());
            members.push(own);
        }
        for (row, members) in self.grid(&rows, &columns, &asked).iter().zip(members) {
            for (i, column) in members {
                let value = row[column];
                if !value.is_nan() {
                    read[i] = true;
                    out[i].ln = libm::log(value.max(0.0)) + self.total.ln();
                }
            }
        }
        Ok(read)
    }
}
