//! Posteriors and the probability of the evidence.

use std::sync::{Arc, OnceLock};

use crate::core::{Core, Trial, best_plan, deep};
use crate::pass::Work;
use crate::plan::{Plan, Role, Style};
use crate::relevance::likelihood;
use crate::scaled::Scaled;
use crate::trials::SMALL_SHARE;
use crate::{Evidence, Finding, Limits, Network, SolveError, Var, evidence};

/// Barren parts are planned together with the rest while all tables stay below this.
const TOGETHER: usize = 12;

/// Every posterior, and the probability of the evidence.
///
/// Variables below which nothing was observed, and observed variables with soft evidence, are
/// computed when first asked for; that never fails and never needs a wider table than the limits
/// allowed.
#[derive(Clone, Debug)]
pub struct Solved {
    pub(crate) core: Core,
    pub(crate) evidence: Evidence,
    pub(crate) limits: Limits,
    pub(crate) total: Scaled,
    /// Posteriors of live variables, where their unary weights are.
    pub(crate) posterior: Vec<f64>,
    lazy: Vec<OnceLock<Vec<f64>>>,
    /// A solution in which everything deep is live, if this one is not.
    deep: OnceLock<Option<Box<Solved>>>,
    /// The passes up and down, from when they are first asked for.
    pub(crate) passes: OnceLock<Box<Work<1>>>,
}

impl Solved {
    /// The natural logarithm of the probability of the evidence.
    ///
    /// With constraints it is that of the weighted total, not divided by the total without
    /// evidence. Likelihoods count at the scale they were given.
    pub fn ln_evidence(&self) -> f64 {
        self.total.ln()
    }

    /// The evidence this is the solution for.
    pub fn evidence(&self) -> &Evidence {
        &self.evidence
    }

    /// The distribution of a variable given the evidence; empty if it is not in the network.
    pub fn posterior(&self, var: Var) -> &[f64] {
        match self.core.plan.roles.get(var.index()) {
            None => &[],
            Some(Role::Live(k)) => {
                let b = &self.core.plan.buckets[*k as usize];
                &self.posterior[b.unary..b.unary + b.states]
            }
            Some(role) => self.lazy[var.index()].get_or_init(|| match role {
                Role::Barren => self.forward(var),
                _ => self.observed(var),
            }),
        }
    }

    /// Binary logarithm of the largest table that was needed, rounded up.
    pub fn width(&self) -> usize {
        self.core.plan.width
    }

    /// Entries of all tables together: a pass multiplies and adds about twice that many numbers.
    pub fn entries(&self) -> usize {
        self.core.plan.cost()
    }

    /// What one pass up and one down must do at least under this plan, sweeps apart: arithmetic
    /// operations, and bytes read and written. Times can be held against it.
    pub fn floor(&self) -> (usize, usize) {
        self.core.plan.floor()
    }

    /// An observed variable: certain, or one state of its likelihood after the other.
    fn observed(&self, var: Var) -> Vec<f64> {
        let states = self.core.net.states(var);
        let finding = self.evidence.get(var);
        if let Some(Finding::State(s)) = finding {
            return (0..states).map(|x| f64::from(u8::from(x == *s))).collect();
        }
        let mut with = self.evidence.clone();
        let mut work = Work::default();
        let mut numbers = self.core.numbers.clone();
        let product = matches!(self.core.plan.roles[var.index()], Role::Product | Role::Mixed);
        let mut below = 0.0;
        let p = (0..states).map(|s| {
            let l = likelihood(finding, s);
            if l == 0.0 {
                return 0.0;
            }
            // A product can only say "at most": the state is then a difference.
            let keep = |x: usize| f64::from(u8::from(x == s || (product && x < s)));
            let narrowed = (0..states).map(keep).collect();
            with.insert(
                var,
                match finding {
                    Some(Finding::OfKind { leak_share, shares, .. }) => Finding::OfKind {
                        likelihood: narrowed,
                        leak_share: *leak_share,
                        shares: shares.clone(),
                    },
                    _ => Finding::Likelihood(narrowed),
                },
            );
            numbers.load(&self.core.plan, &self.core.net, &with);
            let core = Core {
                net: self.core.net.clone(),
                plan: self.core.plan.clone(),
                numbers: std::mem::take(&mut numbers),
            };
            let upto = core.up(&mut work).over(self.total);
            numbers = core.numbers;
            let own = if product { upto - below } else { upto };
            below = upto;
            l * own.max(0.0)
        });
        normalised(p.collect())
    }

    /// A barren variable.
    fn forward(&self, var: Var) -> Vec<f64> {
        let missing = self.core.plan.missing(&self.core.net, &self.evidence, var);
        if !missing.is_empty() {
            let all = || deep(&self.core.net, &self.evidence);
            let whole = self.deep.get_or_init(|| self.with_live(&all()).ok().map(Box::new));
            return match whole {
                Some(whole) => whole.posterior(var).to_vec(),
                None => self
                    .with_live(&missing)
                    .map_or_else(|_| Vec::new(), |s| s.posterior(var).to_vec()),
            };
        }
        let states = self.core.net.states(var);
        let trials: Vec<Trial> = (0..states - 1)
            .map(|s| self.core.at_most(&self.evidence, var, s))
            .collect();
        let mut upto = vec![1.0; states];
        self.core
            .run_trials(&trials, false, |i, total, _| upto[i] = total.over(self.total));
        let mut p = upto.clone();
        for s in 1..states {
            p[s] = upto[s] - upto[s - 1];
            if p[s] < SMALL_SHARE * upto[s] {
                p[s] = 0.0;
                let parts = self.core.exactly(&self.evidence, var, s);
                self.core
                    .run_trials(&parts, false, |_, total, _| p[s] += total.over(self.total));
            }
        }
        normalised(p)
    }

    /// The same evidence solved with these variables live as well as those that are.
    pub(crate) fn with_live(&self, vars: &[Var]) -> Result<Self, SolveError> {
        let live = self.core.plan.vars.iter().flatten();
        let vars: Vec<Var> = vars.iter().chain(live).copied().collect();
        let plan = best_plan(&self.core.net, &self.evidence, &vars, &self.limits)?;
        solve_by(&self.core.net, &self.evidence, &self.limits, Arc::new(plan))
    }
}

impl Solved {
    /// The same live variables without helpers.
    pub(crate) fn unchained(&self) -> Result<Self, SolveError> {
        let live: Vec<Var> = self.core.plan.vars.iter().flatten().copied().collect();
        let limits = self.limits.capped();
        let plan = Plan::new(&self.core.net, &self.evidence, &live, Style::TABLES, &limits)?;
        solve_by(&self.core.net, &self.evidence, &self.limits, Arc::new(plan))
    }
}

fn normalised(mut p: Vec<f64>) -> Vec<f64> {
    let total: f64 = p.iter().sum();
    if total > 0.0 {
        p.iter_mut().for_each(|x| *x /= total);
    }
    p
}

/// All posteriors given the evidence.
///
/// # Errors
/// [`SolveError::Mismatch`] if a finding does not fit its variable, [`SolveError::Impossible`] if
/// the evidence has probability 0, [`SolveError::TooTangled`] if the answer, or the posterior of
/// any single variable, would need more than the limits allow.
pub fn solve(net: &Network, evidence: &Evidence, limits: &Limits) -> Result<Solved, SolveError> {
    evidence::check(net, evidence)?;
    let plan = plan_all(net, evidence, limits)?;
    solve_by(net, evidence, limits, Arc::new(plan))
}

/// A plan under which every posterior can be had.
fn plan_all(net: &Network, evidence: &Evidence, limits: &Limits) -> Result<Plan, SolveError> {
    let deep = deep(net, evidence);
    if deep.is_empty() {
        return best_plan(net, evidence, &[], limits);
    }
    let tight = Limits {
        width: limits.width.min(TOGETHER),
    };
    if let Ok(plan) = best_plan(net, evidence, &deep, &tight) {
        return Ok(plan);
    }
    let plan = best_plan(net, evidence, &[], limits)?;
    if best_plan(net, evidence, &deep, limits).is_err() {
        let barren = |v: &Var| plan.roles[v.index()] == Role::Barren;
        for var in net.vars().filter(barren) {
            let missing = plan.missing(net, evidence, var);
            if !missing.is_empty() {
                best_plan(net, evidence, &missing, limits)?;
            }
        }
    }
    Ok(plan)
}

pub(crate) fn solve_by(
    net: &Network,
    evidence: &Evidence,
    limits: &Limits,
    plan: Arc<Plan>,
) -> Result<Solved, SolveError> {
    let core = Core::new(net, evidence, plan);
    let mut work = Work::<1>::default();
    let total = core.up(&mut work);
    if total.mantissa <= 0.0 {
        return Err(SolveError::Impossible);
    }
    work.down(&core.plan, &core.numbers, false, &[]);
    Ok(Solved {
        posterior: posteriors(&core.plan, &work),
        core,
        evidence: evidence.clone(),
        limits: *limits,
        total,
        lazy: vec![OnceLock::new(); net.len()],
        deep: OnceLock::new(),
        passes: OnceLock::new(),
    })
}

/// The posteriors of a work, each made to sum to 1.
pub(crate) fn posteriors(plan: &Plan, work: &Work<1>) -> Vec<f64> {
    let mut out: Vec<f64> = work.posterior.iter().map(|p| p[0]).collect();
    for b in &plan.buckets {
        let p = &mut out[b.unary..b.unary + b.states];
        let total: f64 = p.iter().sum();
        p.iter_mut().for_each(|x| *x /= total);
    }
    out
}

/// ln P(evidence), by the upward pass only; minus infinity if it is impossible.
pub(crate) fn ln_evidence(net: &Network, evidence: &Evidence, limits: &Limits) -> Result<f64, SolveError> {
    let plan = best_plan(net, evidence, &[], limits)?;
    let core = Core::new(net, evidence, Arc::new(plan));
    Ok(core.up(&mut Work::default()).ln())
}
