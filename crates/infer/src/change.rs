//! Another number in the place of one: a solver's network changed row by row, keeping its plan and all that does not hang
//! on the row.

use std::sync::Arc;

use crate::memo::Memo;
use crate::network::{Family, Model, is_distribution};
use crate::{Evidence, Network, SolveError, Solver, Var};

/// One row of numbers of a network.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Row {
    /// The prior of a variable without parents.
    Prior(Var),
    /// The leak of a noisy-MAX.
    Leak(Var),
    /// What one cause of a noisy-MAX makes while its parent is in a state.
    Cause {
        /// The noisy-MAX.
        var: Var,
        /// The number of the cause, in the order given.
        cause: usize,
        /// The state of the parent.
        state: usize,
    },
}

impl Row {
    /// The variable whose numbers it has.
    pub fn var(self) -> Var {
        match self {
            Row::Prior(var) | Row::Leak(var) | Row::Cause { var, .. } => var,
        }
    }
}

impl Network {
    /// The numbers of a row, a distribution; none where there is no such row.
    pub fn row(&self, row: Row) -> Option<&[f64]> {
        let node = self.model.nodes.get(row.var().index())?;
        match (&node.family, row) {
            (Family::Table(rows), Row::Prior(_)) if node.parents.is_empty() => Some(rows),
            (Family::NoisyMax(noisy), Row::Leak(_)) => Some(&noisy.leak),
            (Family::NoisyMax(noisy), Row::Cause { cause, state, .. }) => {
                Some(noisy.causes.get(cause)?.rows.get(state)?)
            }
            _ => None,
        }
    }
}

impl Model {
    fn row_mut(&mut self, row: Row) -> Option<&mut Vec<f64>> {
        let node = self.nodes.get_mut(row.var().index())?;
        match (&mut node.family, row) {
            (Family::Table(rows), Row::Prior(_)) if node.parents.is_empty() => Some(rows),
            (Family::NoisyMax(noisy), Row::Leak(_)) => Some(&mut noisy.leak),
            (Family::NoisyMax(noisy), Row::Cause { cause, state, .. }) => {
                noisy.causes.get_mut(cause)?.rows.get_mut(state)
            }
            _ => None,
        }
    }

    /// Brings what is computed from a variable's rows in line with them.
    fn combine(&mut self, var: Var) {
        if let Some(node) = self.nodes.get_mut(var.index())
            && let Family::NoisyMax(noisy) = &mut node.family
        {
            noisy.combine(&node.parents);
        }
    }
}

impl Solver {
    /// Puts other numbers into some rows. The plan is kept, and so is all that was computed and does not hang on them. A
    /// row that there is not, and one that is no distribution of the same length, is left as it is; returns whether every
    /// row was taken.
    ///
    /// ```
    /// use wythe_infer::{Cause, Evidence, Finding, Limits, Network, Row, Solver};
    ///
    /// let mut net = Network::new();
    /// let moved = net.table(2, &[], vec![0.9, 0.1])?;
    /// let crack = net.noisy_max(vec![0.8, 0.2], vec![Cause::boolean(moved, 0.5)])?;
    /// let mut solver = Solver::new(&net, &Limits::default());
    /// let seen = Evidence::new().with(crack, Finding::State(1));
    /// solver.solve(&seen)?;
    /// assert!(solver.change(&[(Row::Leak(crack), vec![0.6, 0.4])]));
    /// let crack = 0.9 * 0.4 + 0.1 * (1.0 - 0.6 * 0.5);
    /// assert!((solver.solve(&seen)? - f64::ln(crack)).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn change(&mut self, rows: &[(Row, Vec<f64>)]) -> bool {
        let mut vars: Vec<Var> = Vec::with_capacity(rows.len());
        let mut all = true;
        if rows.is_empty() {
            return all;
        }
        let model = Arc::make_mut(&mut self.net.model);
        for (row, numbers) in rows {
            match model.row_mut(*row) {
                Some(slot) if slot.len() == numbers.len() && is_distribution(numbers) => {
                    slot.clone_from(numbers);
                    vars.push(row.var());
                }
                _ => all = false,
            }
        }
        vars.sort_unstable();
        vars.dedup();
        for var in &vars {
            model.combine(*var);
        }
        if let Some(plan) = &self.plan {
            // What was computed from them may not be used again.
            let (first, last) = (vars.first().copied(), vars.last().copied());
            let has = |var: Var| first <= Some(var) && Some(var) <= last && vars.binary_search(&var).is_ok();
            for (memo, slot) in self.numbers.memo.iter_mut().zip(&plan.slots) {
                if has(Var(slot.var)) {
                    *memo = Memo::Unknown;
                }
            }
            // Kept in number: with no finding next, that there were some is still known.
            for (var, memo) in &mut self.numbers.held {
                if has(*var) {
                    *memo = Memo::Unknown;
                }
            }
        }
        all
    }

    /// As [`Solver::solve`]. Where this is the very evidence that was last solved for in this way, and the same in memory,
    /// it is neither checked nor compared, and only what hangs on rows changed since is loaded.
    ///
    /// ```
    /// use std::sync::Arc;
    ///
    /// use wythe_infer::{Cause, Evidence, Finding, Limits, Network, Row, Solver};
    ///
    /// let mut net = Network::new();
    /// let moved = net.table(2, &[], vec![0.9, 0.1])?;
    /// let crack = net.noisy_max(vec![0.8, 0.2], vec![Cause::boolean(moved, 0.5)])?;
    /// let mut solver = Solver::new(&net, &Limits::default());
    /// let seen = Arc::new(Evidence::new().with(crack, Finding::State(1)));
    /// assert!((solver.solve_again(&seen)? - f64::ln(0.9 * 0.2 + 0.1 * 0.6)).abs() < 1e-12);
    /// solver.change(&[(Row::Prior(moved), vec![0.5, 0.5])]);
    /// assert!((solver.solve_again(&seen)? - f64::ln(0.5 * 0.2 + 0.5 * 0.6)).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// As [`Solver::solve`].
    pub fn solve_again(&mut self, evidence: &Arc<Evidence>) -> Result<f64, SolveError> {
        let same = self.entered.as_ref().is_some_and(|old| Arc::ptr_eq(old, evidence));
        let plan = match self.plan.clone() {
            // Nothing to pass up.
            Some(plan) if same && plan.dense.is_empty() && self.numbers.is_loaded() => plan,
            Some(plan) if same => {
                self.numbers.load_changed(&plan, &self.net, evidence);
                self.pass_up(&plan);
                plan
            }
            _ => {
                let plan = self.rise(evidence)?;
                self.entered = Some(evidence.clone());
                plan
            }
        };
        self.after(&plan)
    }
}
