//! More known for certain beside a solution: as a solution of its own, or just how probable it is.

use std::sync::Arc;

use crate::aside::{Asides, Times};
use crate::core::best_plan;
use crate::pass::Work;
use crate::scaled::Scaled;
use crate::solve::solve_by;
use crate::{Finding, SolveError, Solved, Var};

impl Solved {
    /// The same evidence with these variables in these states for certain. What else is in this solution's plan stays in
    /// that one's. Many suppositions that have several states in common are asked of it at less cost: what is known is
    /// sliced out of every table. [`Solved::ln_evidence`] of it is ln P(states, evidence).
    ///
    /// # Errors
    /// [`SolveError::Mismatch`] for a variable that carries a finding; [`SolveError::Impossible`] where this can't be; as
    /// [`solve`](crate::solve) else.
    ///
    /// ```
    /// use wythe_infer::{Cause, Evidence, Finding, Limits, Network, solve};
    ///
    /// let mut net = Network::new();
    /// let moved = net.table(2, &[], vec![0.9, 0.1])?;
    /// let crack = net.noisy_max(vec![0.8, 0.2], vec![Cause::boolean(moved, 0.5)])?;
    /// let seen = Evidence::new().with(crack, Finding::State(1));
    /// let still = solve(&net, &seen, &Limits::default())?.given(&[(moved, 0)])?;
    /// assert!((still.ln_evidence() - f64::ln(0.9 * 0.2)).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn given(&self, states: &[(Var, usize)]) -> Result<Solved, SolveError> {
        let mut evidence = self.evidence.clone();
        for &(var, state) in states {
            if evidence
                .get(var)
                .is_some_and(|finding| *finding != Finding::State(state))
            {
                let what = "it carries a finding";
                return Err(SolveError::Mismatch { var, what });
            }
            evidence.insert(var, Finding::State(state));
        }
        crate::evidence::check(&self.core.net, &evidence)?;
        let live = self.core.plan.vars.iter().flatten().copied();
        let live: Vec<Var> = live.filter(|var| evidence.get(*var).is_none()).collect();
        let plan = best_plan(&self.core.net, &evidence, &live, &self.limits)?;
        solve_by(&self.core.net, &evidence, &self.limits, Arc::new(plan))
    }

    /// A pass up and down, which is kept.
    pub(crate) fn passes(&self) -> &Work<1> {
        self.passes.get_or_init(|| Box::new(self.core.passes()))
    }

    /// ln P(states, evidence) for each of several sets of states: from one pass up and down, which is kept, and for each no
    /// more than the part of the tree between its variables; several go side by side. Minus infinity for what can't be.
    ///
    /// # Errors
    /// As [`Solved::suppose`].
    ///
    /// ```
    /// use wythe_infer::{Cause, Evidence, Finding, Limits, Network, solve};
    ///
    /// let mut net = Network::new();
    /// let moved = net.table(2, &[], vec![0.9, 0.1])?;
    /// let dried = net.table(2, &[], vec![0.7, 0.3])?;
    /// let crack = net.noisy_max(vec![0.8, 0.2], vec![Cause::boolean(moved, 0.5), Cause::boolean(dried, 0.5)])?;
    /// let seen = Evidence::new().with(crack, Finding::State(1));
    /// let solved = solve(&net, &seen, &Limits::default())?;
    /// let found = solved.ln_joint(&[vec![(moved, 1), (dried, 0)], vec![(moved, 0)]])?;
    /// assert!((found[0] - f64::ln(0.1 * 0.7 * 0.6)).abs() < 1e-12);
    /// assert!((found[1] - f64::ln(0.9 * 0.7 * 0.2 + 0.9 * 0.3 * 0.6)).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn ln_joint(&self, states: &[Vec<(Var, usize)>]) -> Result<Vec<f64>, SolveError> {
        let mut sets: Vec<Times> = Vec::with_capacity(states.len());
        for states in states {
            let row = self.row(states)?.unwrap_or_default().as_weights();
            sets.push(row.times.into_vec());
        }
        let core = &self.core;
        let found = Asides::default().run(&core.plan, &core.numbers, self.passes(), &sets);
        Ok(found.into_iter().map(Scaled::ln).collect())
    }
}
