//! Many suppositions from few solutions: those that differ only in a finding left out, or in what is found.

use std::collections::BTreeMap;

use crate::core::Trial;
use crate::grid::{Added, Grid};
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
        let open = self.across_in_parts(states.to_vec(), beside.to_vec(), asked.to_vec())?;
        let parts = (0..open.parts()).map(|part| open.part(part));
        Ok(open.whole(parts.collect::<Result<Vec<AcrossPart>, SolveError>>()?))
    }

    /// The same, in parts that may be worked out in any order, and side by side.
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
    /// let seen = Evidence::new().with(crack, Finding::State(1));
    /// let solved = solve_seen(&net, &seen, &Limits::default())?;
    /// let open = solved.across_in_parts(vec![vec![(moved, 1)]], vec![Supposition::default()], vec![vec![0]])?;
    /// let mut parts = Vec::new();
    /// for part in 0..open.parts() {
    ///     parts.push(open.part(part)?);
    /// }
    /// assert!((open.whole(parts)[0][0] - 0.06 / 0.24).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn across_in_parts(
        &self,
        states: Vec<Vec<(Var, usize)>>,
        beside: Vec<Supposition>,
        asked: Vec<Vec<usize>>,
    ) -> Result<Across<'_>, SolveError> {
        let mut rows = Vec::with_capacity(states.len());
        for states in &states {
            rows.extend(self.row(states)?);
        }
        let mut columns = Vec::with_capacity(beside.len());
        for one in &beside {
            let mut aside = self.plain(one);
            aside.states.clear();
            // Without terms nothing is read off.
            columns.push(self.terms(&aside)?);
        }
        let grid = Grid::new(self, &rows, &columns, &asked);
        let mut left = Vec::new();
        for (row, asked) in asked.iter().enumerate().take(states.len()) {
            let own = asked.iter().filter(|column| !grid.answers(row, **column));
            left.extend(own.map(|column| (row, *column)));
        }
        Ok(Across {
            grid,
            states,
            beside,
            asked,
            left,
        })
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
        let grid = Grid::new(self, &rows, &columns, &asked);
        let parts = (0..grid.parts()).map(|part| grid.found(part));
        for (row, (sums, members)) in grid.sums(rows.len(), parts).iter().zip(members).enumerate() {
            for (i, column) in members.into_iter().filter(|(_, column)| grid.answers(row, *column)) {
                read[i] = true;
                out[i].ln = libm::log(sums[column].max(0.0)) + self.total.ln();
            }
        }
        Ok(read)
    }
}

/// [`Solved::across`] in parts.
pub struct Across<'s> {
    grid: Grid<'s>,
    states: Vec<Vec<(Var, usize)>>,
    beside: Vec<Supposition>,
    asked: Vec<Vec<usize>>,
    /// What can't be read off a solution, and gets one of its own.
    left: Vec<(usize, usize)>,
}

/// What came of one part.
#[derive(Debug)]
pub struct AcrossPart(Vec<Added>);

impl Across<'_> {
    /// How many parts there are.
    pub fn parts(&self) -> usize {
        self.grid.parts() + usize::from(!self.left.is_empty())
    }

    /// Works one part out.
    ///
    /// # Errors
    /// As [`Solved::suppose`].
    pub fn part(&self, part: usize) -> Result<AcrossPart, SolveError> {
        if part < self.grid.parts() {
            return Ok(AcrossPart(self.grid.found(part)));
        }
        let one = |&(row, column): &(usize, usize)| Supposition {
            states: self.states[row].clone(),
            ..self.beside[column].clone()
        };
        let solved = self.grid.solved();
        let found = solved.suppose(&self.left.iter().map(one).collect::<Vec<_>>(), &[])?;
        let share = |((row, column), found): (&(usize, usize), crate::Supposed)| {
            let share = libm::exp(found.ln() - solved.total.ln());
            (*row as u32, *column as u32, share)
        };
        Ok(AcrossPart(self.left.iter().zip(found).map(share).collect()))
    }

    /// P(states, what is supposed beside, evidence) over P(evidence) from all the parts, in their order; not a number for
    /// what was not asked for.
    pub fn whole(&self, parts: Vec<AcrossPart>) -> Vec<Vec<f64>> {
        let sums = self
            .grid
            .sums(self.states.len(), parts.into_iter().map(|AcrossPart(added)| added));
        let mut out = vec![vec![f64::NAN; self.beside.len()]; self.states.len()];
        for ((out, sums), asked) in out.iter_mut().zip(sums).zip(&self.asked) {
            asked.iter().for_each(|column| out[*column] = sums[*column].max(0.0));
        }
        out
    }
}
