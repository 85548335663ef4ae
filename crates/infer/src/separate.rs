//! Each finding by itself, and how badly all of them together fit the network.

use std::cmp::Ordering;

use crate::network::Family;
use crate::plan::{NONE, Plan};
use crate::relevance::{finding_grades, likelihood};
use crate::solve::ln_evidence;
use crate::thin::Thin;
use crate::trials::SMALL_SHARE;
use crate::{Evidence, Finding, SolveError, Solved, Solver, Var};

impl Solved {
    /// The conflict measure: ln of the product of the findings' separate probabilities over
    /// their joint probability (Jensen). Above 0 the findings support each other less than if
    /// they were independent; a rare but consistent case does that too, so it is a flag, not a
    /// proof.
    ///
    /// # Errors
    /// [`SolveError::TooTangled`] if one finding alone is too much.
    pub fn conflict(&self) -> Result<f64, SolveError> {
        let mut solver = Solver::by_plan(&self.core.net, &self.limits, Some(self.core.plan.clone()));
        solver.conflict(&self.evidence, self.ln_evidence())
    }
}

impl Solver {
    /// The conflict measure of evidence whose ln P is `ln`, as [`Solved::conflict`]: a pass up a
    /// finding and grade, in the plan at hand. The solution that is left is that of no evidence.
    ///
    /// # Errors
    /// As [`Solved::conflict`].
    pub fn conflict(&mut self, evidence: &Evidence, ln: f64) -> Result<f64, SolveError> {
        let none = Evidence::new();
        let fits = self.plan.as_ref().is_some_and(|plan| plan.fits(&self.net, &none));
        // With constraints, all is relative to the total without evidence.
        let before = match fits {
            true => self.solve(&none)?,
            false => ln_evidence(&self.net, &none, &self.limits)?,
        };
        let mut sum = before - ln;
        for (var, finding) in evidence.iter() {
            let alone = if fits { self.alone(var, finding) } else { None };
            sum += match alone {
                Some(ln) => ln - before,
                None => {
                    let only = Evidence::new().with(var, finding.clone());
                    ln_evidence(&self.net, &only, &self.limits)? - before
                }
            };
        }
        Ok(sum)
    }

    /// After a solution of no evidence: ln P(finding). `None` where the variable is neither live
    /// nor a noisy-MAX of live parents.
    ///
    /// What a noisy-MAX is at most is a product over its parents, and so is what is no more than
    /// that and of one kind. A grade is the difference of two of these, or where that is small, a
    /// sum over the first of the parents to reach it.
    fn alone(&mut self, var: Var, finding: &Finding) -> Option<f64> {
        let plan = self.plan.clone()?;
        if let Some(k) = plan.bucket_of(var) {
            if matches!(finding, Finding::OfKind { .. }) {
                return None;
            }
            let b = &plan.buckets[k];
            let weight = |s| (b.unary + s, likelihood(Some(finding), s));
            let times: Vec<(usize, f64)> = (0..b.states).map(weight).collect();
            return Some(self.beside(&plan, &times).ln());
        }
        let net = self.net.clone();
        let node = &net.model.nodes[var.index()];
        let Family::NoisyMax(noisy) = &node.family else {
            return None;
        };
        let mut room = Vec::new();
        let thin = Thin::of(noisy, &node.parents, Some(finding), &mut room);
        let (leak, rows) = thin.parts(noisy, &room, node.states);
        let mut rows_of = vec![Contribution {
            unary: None,
            root: usize::MAX,
            rows: leak,
        }];
        let mut at = 0;
        for parent in &node.parents {
            let k = plan.bucket_of(*parent)?;
            let b = &plan.buckets[k];
            let to = at + b.states * node.states;
            rows_of.push(Contribution {
                unary: Some(b.unary),
                root: root(&plan, k),
                rows: &rows[at..to],
            });
            at = to;
        }
        let mut grades = Vec::new();
        finding_grades(Some(finding), node.states, &mut grades);
        let before = self.total();
        // A parent that hangs together with no other one is summed over by itself.
        let by_itself = |one: &Contribution<'_>| {
            let root = one.root;
            rows_of.iter().filter(|other| other.root == root).count() == 1
        };
        let single: Vec<bool> = rows_of
            .iter()
            .map(|one| plan.dense.is_empty() && by_itself(one))
            .collect();
        let mut run = |by: &dyn Fn(usize, &[f64]) -> f64| {
            let mut p = 1.0;
            let mut times = Vec::new();
            for (number, one) in rows_of.iter().enumerate() {
                let rows = one.rows.chunks_exact(node.states).enumerate();
                match one.unary {
                    None => p *= by(number, one.rows),
                    Some(unary) if single[number] => {
                        let chance = self.shares(unary, one.rows.len() / node.states);
                        p *= rows
                            .zip(chance)
                            .map(|((_, row), chance)| chance * by(number, row))
                            .sum::<f64>();
                    }
                    Some(unary) => times.extend(rows.map(|(s, row)| (unary + s, by(number, row)))),
                }
            }
            match times.is_empty() {
                true => p,
                false => p * self.beside(&plan, &times).over(before),
            }
        };
        let (mut sum, mut below, mut start) = (0.0, 0.0, 0);
        for grade in &grades {
            let (from, to) = (start, grade.end);
            let upto = run(&|_, row| row[..to].iter().sum());
            let mut own = upto - below;
            if own < SMALL_SHARE * upto && grade.weight > 0.0 {
                let first = |first| {
                    run(&|number, row| match number.cmp(&first) {
                        Ordering::Less => row[..from].iter().sum(),
                        Ordering::Equal => row[from..to].iter().sum(),
                        Ordering::Greater => row[..to].iter().sum(),
                    })
                };
                own = (0..rows_of.len()).map(first).sum();
            }
            sum += grade.weight * own;
            (below, start) = (upto, to);
        }
        Some(libm::log(sum) + before.ln())
    }
}

/// What the leak or one parent contributes to a noisy-MAX: where the parent's weights are, and a row
/// for each state.
struct Contribution<'a> {
    unary: Option<usize>,
    /// The last bucket of all that hang together with it.
    root: usize,
    rows: &'a [f64],
}

fn root(plan: &Plan, mut k: usize) -> usize {
    while plan.buckets[k].parent != NONE {
        k = plan.buckets[k].parent as usize;
    }
    k
}
