//! Posteriors and the probability of the evidence.

use std::sync::{Arc, OnceLock};

use crate::core::{Core, LANES, Trial, best_plan, deep};
use crate::numbers::Numbers;
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

/// Solves case after case, keeping its plan and its room.
///
/// While the pattern of the evidence stays the same or is part of the one planned for (the same
/// variables known, the same findings or fewer, coarser or other values) the plan is used again,
/// and nothing is allocated (but for findings of one kind, whose rows are thinned anew).
#[derive(Clone, Debug)]
pub struct Solver {
    net: Network,
    limits: Limits,
    plan: Option<Arc<Plan>>,
    numbers: Numbers,
    work: Work<1>,
    side: Work<LANES>,
    plans: usize,
}

impl Solver {
    /// A solver for one network.
    pub fn new(net: &Network, limits: &Limits) -> Self {
        Self {
            net: net.clone(),
            limits: *limits,
            plan: None,
            numbers: Numbers::default(),
            work: Work::default(),
            side: Work::default(),
            plans: 0,
        }
    }

    /// Solves for this evidence. Returns ln P(evidence); posteriors are then read with
    /// [`Solver::posterior`].
    ///
    /// # Errors
    /// As [`solve`], but variables below all evidence are not planned for.
    pub fn solve(&mut self, evidence: &Evidence) -> Result<f64, SolveError> {
        let plan = self.rise(evidence)?;
        if self.work.total[0].mantissa <= 0.0 {
            return Err(SolveError::Impossible);
        }
        self.work.down(&plan, &self.numbers, false, &[]);
        Ok(self.work.total[0].ln())
    }

    /// ln P(evidence) alone, at half the cost; minus infinity if it is impossible. Posteriors
    /// are not to be read after it.
    ///
    /// # Errors
    /// As [`Solver::solve`].
    pub fn ln_evidence(&mut self, evidence: &Evidence) -> Result<f64, SolveError> {
        self.rise(evidence)?;
        Ok(self.work.total[0].ln())
    }

    /// After [`Solver::solve`]: for each of these partial assignments, ln P(evidence and it),
    /// several side by side; minus infinity if it is impossible. `None` if there is no solution
    /// yet, or a variable is observed or below all evidence.
    pub fn ln_with(&mut self, assignments: &[Vec<(Var, usize)>]) -> Option<Vec<f64>> {
        let only = |(var, state): &(Var, usize)| {
            let states = 0..self.net.states(*var);
            (*var, states.map(|s| f64::from(u8::from(s == *state))).collect())
        };
        let weights: Vec<Vec<(Var, Vec<f64>)>> = assignments
            .iter()
            .map(|states| states.iter().map(only).collect())
            .collect();
        self.ln_times(&weights)
    }

    /// After [`Solver::solve`]: for each of these sets of weights on the states of variables, the logarithm of
    /// P(evidence) with every configuration multiplied by the weights of its states. `None` as [`Solver::ln_with`].
    pub fn ln_times(&mut self, weights: &[Vec<(Var, Vec<f64>)>]) -> Option<Vec<f64>> {
        let plan = self.plan.clone()?;
        let mut out = Vec::with_capacity(weights.len());
        self.side.fit(&plan);
        for group in weights.chunks(LANES) {
            self.side.set_unary(&self.numbers.unary);
            for (lane, one) in group.iter().enumerate() {
                for (var, weights) in one {
                    let b = &plan.buckets[plan.bucket_of(*var)?];
                    for (u, weight) in self.side.unary[b.unary..b.unary + b.states].iter_mut().zip(weights) {
                        u[lane] *= weight;
                    }
                }
            }
            self.side.up(&plan, &self.numbers, &[], &[]);
            out.extend(self.side.total.iter().take(group.len()).map(|total| total.ln()));
        }
        Some(out)
    }

    /// The upward pass, by the present plan if it fits.
    fn rise(&mut self, evidence: &Evidence) -> Result<Arc<Plan>, SolveError> {
        evidence::check(&self.net, evidence)?;
        let plan = match &self.plan {
            Some(plan) if plan.fits(&self.net, evidence) => plan.clone(),
            _ => {
                self.plan = None;
                let plan = Arc::new(best_plan(&self.net, evidence, &[], &self.limits)?);
                self.plans += 1;
                self.numbers.forget();
                self.plan = Some(plan.clone());
                plan
            }
        };
        self.numbers.load(&plan, &self.net, evidence);
        self.work.fit(&plan);
        self.work.set_unary(&self.numbers.unary);
        self.work.up(&plan, &self.numbers, &[], &[]);
        Ok(plan)
    }

    /// After [`Solver::solve`]: the distribution of a variable that is not observed and that is
    /// a root or above something observed; `None` for any other. For those use [`solve`].
    pub fn posterior(&self, var: Var) -> Option<impl Iterator<Item = f64>> {
        let plan = self.plan.as_ref()?;
        let b = &plan.buckets[plan.bucket_of(var)?];
        let p = &self.work.posterior[b.unary..b.unary + b.states];
        let total: f64 = p.iter().map(|p| p[0]).sum();
        Some(p.iter().map(move |p| p[0] / total))
    }

    /// The network with other numbers and the same shape: the plan and its room are kept. One of another shape is planned
    /// for anew.
    pub fn renumber(&mut self, net: &Network) {
        self.net = net.clone();
        self.numbers.forget();
    }

    /// What a pass costs under the present plan, as entries of tables; 0 before there is one.
    pub fn entries(&self) -> usize {
        self.plan.as_ref().map_or(0, |p| p.cost())
    }

    /// How many plans were made so far.
    pub fn plans(&self) -> usize {
        self.plans
    }
}
