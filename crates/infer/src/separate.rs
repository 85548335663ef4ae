//! Each finding by itself, and how badly all of them together fit the network.

use std::cmp::Ordering;

use crate::aside::Times;
use crate::network::Family;
use crate::noisy::Grade;
use crate::plan::{NONE, Plan};
use crate::relevance::{finding_grades, likelihood};
use crate::scaled::Scaled;
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
        let lone = Solver::new(&self.core.net, &self.limits);
        Ok(conflict(lone, &self.evidence, self.ln_evidence())?.0)
    }
}

impl Solver {
    /// The conflict measure of evidence whose ln P is `ln`, as [`Solved::conflict`].
    ///
    /// # Errors
    /// As [`Solved::conflict`].
    pub fn conflict(&mut self, evidence: &Evidence, ln: f64) -> Result<f64, SolveError> {
        let lone = self.spare.take().unwrap_or_default();
        let (conflict, lone) = conflict(lone.solver(&self.net, &self.limits), evidence, ln)?;
        self.spare = Some(lone.into_room());
        Ok(conflict)
    }
}

/// One plan without evidence, which ties no parents together, keeps the parents of every finding; there, a finding by itself
/// is a pass up a grade, from its parents to where they meet.
fn conflict(lone: Solver, evidence: &Evidence, ln: f64) -> Result<(f64, Solver), SolveError> {
    let (net, limits) = (lone.net.clone(), lone.limits);
    let (net, limits) = (&net, &limits);
    let none = Evidence::new();
    let mut keep: Vec<Var> = Vec::new();
    for (var, _) in evidence.iter() {
        let node = &net.model.nodes[var.index()];
        match node.family {
            Family::NoisyMax(_) => keep.extend(&node.parents),
            Family::Table(_) => keep.push(var),
        }
    }
    keep.sort_unstable();
    keep.dedup();
    let mut lone = lone.keeping(&keep);
    let plan = match lone.solve(&none) {
        Err(SolveError::TooTangled { .. }) => None,
        other => other.map(|_| lone.plan.clone())?,
    };
    // With constraints, all is relative to the total without evidence.
    let before = match &plan {
        Some(_) => lone.total().ln(),
        None => ln_evidence(net, &none, limits)?,
    };
    let mut sum = before - ln;
    let mut sets = Vec::new();
    let mut here = Vec::new();
    for (var, finding) in evidence.iter() {
        match plan.as_ref().and_then(|plan| lone.alone(plan, var, finding, &mut sets)) {
            Some(one) => here.push(one),
            None => {
                let only = Evidence::new().with(var, finding.clone());
                sum += ln_evidence(net, &only, limits)? - before;
            }
        }
    }
    if let Some(plan) = plan {
        let totals = lone.beside(&plan, &sets);
        let base = lone.total();
        for one in here {
            sum += libm::log(one.chance(&totals, base, |sets| lone.beside(&plan, sets)));
        }
    }
    Ok((sum, lone))
}

impl Solver {
    /// After a solution of no evidence: how P(finding) comes about; what runs it takes is added to `sets`. `None` where the
    /// variable is neither live nor a noisy-MAX of live parents.
    ///
    /// What a noisy-MAX is at most is a product over its parents, and so is what is no more than
    /// that and of one kind. A grade is the difference of two of these, or where that is small, a
    /// sum over the first of the parents to reach it.
    fn alone(&self, plan: &Plan, var: Var, finding: &Finding, sets: &mut Vec<Times>) -> Option<Alone> {
        if let Some(k) = plan.bucket_of(var) {
            if matches!(finding, Finding::OfKind { .. }) {
                return None;
            }
            let b = &plan.buckets[k];
            let weight = |s| (b.unary + s, likelihood(Some(finding), s));
            let run = Run::of(1.0, (0..b.states).map(weight).collect(), sets);
            return Some(Alone::Live(run));
        }
        let node = &self.net.model.nodes[var.index()];
        let Family::NoisyMax(noisy) = &node.family else {
            return None;
        };
        let mut room = Vec::new();
        let thin = Thin::of(noisy, &node.parents, Some(finding), &mut room);
        let (leak, rows) = thin.parts(noisy, &room, node.states);
        let mut parts = vec![Contribution {
            unary: 0,
            root: usize::MAX,
            rows: leak.to_vec(),
            shares: Some(vec![1.0]),
        }];
        let mut at = 0;
        for parent in &node.parents {
            let k = plan.bucket_of(*parent)?;
            let b = &plan.buckets[k];
            let to = at + b.states * node.states;
            parts.push(Contribution {
                unary: b.unary,
                root: root(plan, k),
                rows: rows[at..to].to_vec(),
                shares: None,
            });
            at = to;
        }
        // A parent that hangs together with no other one is summed over by itself.
        for i in 1..parts.len() {
            let root = parts[i].root;
            if plan.dense.is_empty() && parts.iter().filter(|other| other.root == root).count() == 1 {
                let states = parts[i].rows.len() / node.states;
                parts[i].shares = Some(self.shares(parts[i].unary, states).collect());
            }
        }
        let mut grades = Vec::new();
        finding_grades(Some(finding), node.states, &mut grades);
        let states = node.states;
        let upto = |grade: &Grade| {
            let (p, times) = product(&parts, states, |_, row| row[..grade.end].iter().sum());
            Run::of(p, times, sets)
        };
        let upto = grades.iter().map(upto).collect();
        Some(Alone::Graded(Graded {
            parts,
            states,
            grades,
            upto,
        }))
    }
}

/// How the chance of one finding by itself comes about.
enum Alone {
    /// The finding is about a variable that has weights.
    Live(Run),
    Graded(Graded),
}

/// A finding about a noisy-MAX, grade by grade.
struct Graded {
    parts: Vec<Contribution>,
    states: usize,
    grades: Vec<Grade>,
    /// What gives the chance of at most each grade.
    upto: Vec<Run>,
}

/// A factor, times a run if it takes one.
struct Run {
    factor: f64,
    set: Option<usize>,
}

impl Run {
    fn of(factor: f64, times: Times, sets: &mut Vec<Times>) -> Run {
        let set = (!times.is_empty()).then_some(sets.len());
        sets.extend(set.map(|_| times));
        Run { factor, set }
    }

    fn chance(&self, totals: &[Scaled], base: Scaled) -> f64 {
        self.factor * self.set.map_or(1.0, |at| totals[at].over(base))
    }
}

impl Alone {
    /// P(finding), from the totals of all runs and the one they are relative to; `beside` makes more runs.
    fn chance(&self, totals: &[Scaled], base: Scaled, mut beside: impl FnMut(&[Times]) -> Vec<Scaled>) -> f64 {
        let graded = match self {
            Alone::Live(run) => return run.chance(totals, base),
            Alone::Graded(graded) => graded,
        };
        let (mut sum, mut below, mut from) = (0.0, 0.0, 0);
        for (grade, run) in graded.grades.iter().zip(&graded.upto) {
            let upto = run.chance(totals, base);
            let mut own = upto - below;
            if own < SMALL_SHARE * upto && grade.weight > 0.0 {
                let mut sets = Vec::new();
                let first = |first| {
                    let (p, times) = product(&graded.parts, graded.states, |number, row| match number.cmp(&first) {
                        Ordering::Less => row[..from].iter().sum(),
                        Ordering::Equal => row[from..grade.end].iter().sum(),
                        Ordering::Greater => row[..grade.end].iter().sum(),
                    });
                    Run::of(p, times, &mut sets)
                };
                let runs: Vec<Run> = (0..graded.parts.len()).map(first).collect();
                let totals = beside(&sets);
                own = runs.iter().map(|run| run.chance(&totals, base)).sum();
            }
            sum += grade.weight * own;
            (below, from) = (upto, grade.end);
        }
        sum
    }
}

/// What the leak or one parent contributes to a noisy-MAX: where the parent's weights are, and a row
/// for each state.
struct Contribution {
    unary: usize,
    /// The last bucket of all that hang together with it.
    root: usize,
    rows: Vec<f64>,
    /// Its states' chances, where it hangs together with no other parent.
    shares: Option<Vec<f64>>,
}

/// The product over all contributions of what `by` makes of their rows, called with the number of the contribution: a factor,
/// and weights for those that hang together.
fn product(parts: &[Contribution], states: usize, by: impl Fn(usize, &[f64]) -> f64) -> (f64, Times) {
    let mut p = 1.0;
    let mut times = Vec::new();
    for (number, one) in parts.iter().enumerate() {
        let rows = one.rows.chunks_exact(states).map(|row| by(number, row));
        match &one.shares {
            Some(shares) => p *= rows.zip(shares).map(|(x, share)| share * x).sum::<f64>(),
            None => times.extend(rows.enumerate().map(|(s, x)| (one.unary + s, x))),
        }
    }
    (p, times)
}

fn root(plan: &Plan, mut k: usize) -> usize {
    while plan.buckets[k].parent != NONE {
        k = plan.buckets[k].parent as usize;
    }
    k
}
