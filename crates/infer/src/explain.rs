//! The most probable explanation, and how the evidence agrees with itself.

use crate::pass::potential;
use crate::plan::{NONE, Role};
use crate::scaled::{Scaled, exponent_of, power};
use crate::{Evidence, Finding, Limits, Network, SolveError, Solved, Var, solve};

/// One state for every variable.
#[derive(Clone, Debug, PartialEq)]
pub struct Explanation {
    /// The state of each variable, in their order.
    pub states: Vec<usize>,
    /// ln P(these states and the evidence).
    pub ln_joint: f64,
    /// P(these states | evidence): the share of the posterior this one story has, often small.
    pub share: f64,
}

/// The states of all variables that are most probable together, given the evidence.
///
/// Ties go to the lower states, the variable that is eliminated last first.
///
/// # Errors
/// As [`solve`]; every variable is kept in, so it may be [`SolveError::TooTangled`] where
/// [`solve`] is not. For all but the most tangled, [`most_probable_causes`] is enough.
pub fn most_probable_explanation(
    net: &Network,
    evidence: &Evidence,
    limits: &Limits,
) -> Result<Explanation, SolveError> {
    let solved = solve(net, evidence, limits)?;
    let all: Vec<Var> = net.vars().collect();
    solved.with_live(&all)?.best()
}

/// [`Solved::most_probable_causes`], solved for first.
///
/// # Errors
/// As [`solve`].
pub fn most_probable_causes(net: &Network, evidence: &Evidence, limits: &Limits) -> Result<Explanation, SolveError> {
    solve(net, evidence, limits)?.most_probable_causes()
}

impl Solved {
    /// The states that are most probable together of the variables that are above some evidence
    /// (or roots), the rest summed out: "the one story" of the causes. Others are left at state 0
    /// and do not count in the joint.
    ///
    /// # Errors
    /// [`SolveError::TooTangled`] where the solution has helpers or sweeps and is too much without:
    /// the largest of sums is not a sum of largests.
    ///
    /// ```
    /// use wythe_infer::{Cause, Evidence, Finding, Limits, Network, solve};
    ///
    /// let mut net = Network::new();
    /// let moved = net.table(2, &[], vec![0.9, 0.1])?;
    /// let crack = net.noisy_max(vec![0.8, 0.2], vec![Cause::boolean(moved, 0.5)])?;
    /// let door = net.noisy_max(vec![0.9, 0.1], vec![Cause::boolean(moved, 0.6)])?;
    /// let seen = Evidence::new().with(crack, Finding::State(1)).with(door, Finding::State(1));
    /// let story = solve(&net, &seen, &Limits::default())?.most_probable_causes()?;
    /// assert_eq!(story.states[moved.index()], 1);
    /// assert!((story.share - 0.0384 / (0.018 + 0.0384)).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn most_probable_causes(&self) -> Result<Explanation, SolveError> {
        self.best()
    }

    /// The most probable states of the live variables together. A plan with helpers or sweeps is
    /// made again without: they stand for sums, not for largest terms.
    fn best(&self) -> Result<Explanation, SolveError> {
        let plan = &*self.core.plan;
        if plan.vars.iter().any(Option::is_none) || !plan.dense.is_empty() {
            return self.unchained()?.best();
        }
        let numbers = &self.core.numbers;
        let mut table = vec![0.0f64; plan.table_len];
        let mut message = vec![0.0f64; plan.message_len];
        let mut total = numbers.start();
        for (k, b) in plan.buckets.iter().enumerate() {
            let own = &mut table[b.table..b.table + b.size];
            let potential = potential(plan, numbers, k);
            for (i, t) in own.iter_mut().enumerate() {
                *t = numbers.unary[b.unary + i / b.sep] * potential.map_or(1.0, |p| p[i]);
            }
            for child in plan.children_of(k) {
                let c = &plan.buckets[child.bucket as usize];
                for (i, t) in own.iter_mut().enumerate() {
                    *t *= message[c.message + child.blocks.at(&plan.maps, i)];
                }
            }
            let out = &mut message[b.message..b.message + b.sep];
            let mut most = 0.0f64;
            for (n, m) in out.iter_mut().enumerate() {
                *m = (0..b.states).map(|s| own[s * b.sep + n]).fold(0.0, f64::max);
                most = most.max(*m);
            }
            let e = exponent_of(most).clamp(-1000, 1000);
            out.iter_mut().for_each(|m| *m *= power(-e));
            total = total.shift(e.into());
            if b.parent == NONE {
                total = total.times(out[0]);
            }
        }
        if total.mantissa <= 0.0 {
            return Err(SolveError::Impossible);
        }
        Ok(self.trace(&table, total))
    }

    /// From the last bucket to the first, the best state given those already chosen.
    fn trace(&self, table: &[f64], total: Scaled) -> Explanation {
        let plan = &*self.core.plan;
        let mut chosen = vec![0usize; plan.buckets.len()];
        for (k, b) in plan.buckets.iter().enumerate().rev() {
            let mut at = 0;
            let mut stride = b.sep;
            for p in &plan.scope_of(k)[1..] {
                stride /= plan.buckets[*p as usize].states;
                at += chosen[*p as usize] * stride;
            }
            let mut best = 0.0;
            for s in 0..b.states {
                let x = table[b.table + s * b.sep + at];
                if x > best {
                    best = x;
                    chosen[k] = s;
                }
            }
        }
        let states = plan.roles.iter().enumerate().map(|(v, role)| match role {
            Role::Live(k) => chosen[*k as usize],
            _ => match self.evidence.get(Var(v as u32)) {
                Some(Finding::State(s)) => *s,
                _ => 0,
            },
        });
        Explanation {
            states: states.collect(),
            ln_joint: total.ln(),
            share: total.over(self.total),
        }
    }
}
