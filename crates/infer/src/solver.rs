//! Case after case in one plan.

use std::sync::Arc;

use crate::aside::{Asides, Times, Watch};
use crate::core::best_plan;
use crate::numbers::Numbers;
use crate::pass::Work;
use crate::plan::Plan;
use crate::reading::Reading;
use crate::scaled::Scaled;
use crate::{Evidence, Limits, Network, SolveError, Var, evidence};

/// Solves case after case, keeping its plan and its room.
///
/// While the pattern of the evidence stays the same or is part of the one planned for (the same
/// variables known, the same findings or fewer, coarser or other values) the plan is used again,
/// only what lies above a change is passed up anew, and nothing is allocated (but for findings of
/// one kind, whose rows are thinned anew). Findings that stay what they were are not multiplied in again. The answers have
/// the same bits as with everything done anew under that plan.
///
/// ```
/// use wythe_infer::{Cause, Evidence, Finding, Limits, Network, Solver};
///
/// let mut net = Network::new();
/// let moved = net.table(2, &[], vec![0.9, 0.1])?;
/// let crack = net.noisy_max(vec![0.8, 0.2], vec![Cause::boolean(moved, 0.5)])?;
/// let door = net.noisy_max(vec![0.9, 0.1], vec![Cause::boolean(moved, 0.6)])?;
/// let mut solver = Solver::new(&net, &Limits::default());
/// let one = Evidence::new().with(crack, Finding::State(1));
/// let both = one.clone().with(door, Finding::State(1));
/// let ln = solver.solve(&both)?;
/// assert!((ln.exp() - (0.9 * 0.2 * 0.1 + 0.1 * 0.6 * 0.64)).abs() < 1e-12);
/// // Fewer findings go by the same plan.
/// let ln = solver.solve(&one)?;
/// let moves = solver.posterior(moved).and_then(|mut states| states.nth(1));
/// assert!((ln.exp() - (0.9 * 0.2 + 0.1 * 0.6)).abs() < 1e-12);
/// assert!(moves.is_some_and(|p| (p - 0.06 / 0.24).abs() < 1e-12));
/// assert_eq!(solver.plans(), 1);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Solver {
    pub(crate) net: Network,
    pub(crate) limits: Limits,
    pub(crate) plan: Option<Arc<Plan>>,
    live: Vec<Var>,
    pub(crate) numbers: Numbers,
    pub(crate) work: Work<1>,
    /// Whether `work` holds a pass up under the present plan.
    risen: bool,
    changed: Vec<bool>,
    /// Buckets whose tree was formed anew since they were last passed down to; their roots at least.
    due: Vec<bool>,
    pub(crate) reading: Reading,
    /// The evidence of the last pass up, where that may be by it again.
    pub(crate) entered: Option<Arc<Evidence>>,
    asides: Asides,
    watch: Watch,
    plans: usize,
    /// For the conflict measure.
    pub(crate) spare: Option<Room>,
}

/// The memory that a solver took, for the next one; nothing else is kept of it. Room for tables of more than 2^17 entries is
/// not kept.
#[derive(Clone, Debug, Default)]
pub struct Room(Option<Box<Solver>>);

impl Room {
    /// A solver for one network, which answers as one with room of its own.
    pub fn solver(self, net: &Network, limits: &Limits) -> Solver {
        let Some(mut solver) = self.0 else {
            return Solver::new(net, limits);
        };
        solver.net = net.clone();
        solver.limits = *limits;
        *solver
    }
}

/// Most entries of all tables whose room is kept.
const KEPT: usize = 1 << 17;

impl Solver {
    /// A solver for one network.
    pub fn new(net: &Network, limits: &Limits) -> Self {
        Self::by_plan(net, limits, None)
    }

    /// What this solver leaves to the next one.
    pub fn into_room(mut self) -> Room {
        if self.work.table.len() > KEPT {
            return Room::default();
        }
        self.net = Network::new();
        self.plan = None;
        self.live.clear();
        self.numbers.forget();
        self.risen = false;
        self.due.clear();
        self.reading = Reading::default();
        self.entered = None;
        self.watch.over(Vec::new());
        self.plans = 0;
        Room(Some(Box::new(self)))
    }

    pub(crate) fn by_plan(net: &Network, limits: &Limits, plan: Option<Arc<Plan>>) -> Self {
        Self {
            net: net.clone(),
            limits: *limits,
            plan,
            live: Vec::new(),
            numbers: Numbers::default(),
            work: Work::default(),
            risen: false,
            changed: Vec::new(),
            due: Vec::new(),
            reading: Reading::default(),
            entered: None,
            asides: Asides::default(),
            watch: Watch::default(),
            plans: 0,
            spare: None,
        }
    }

    /// The same solver, whose plans keep these variables, so that their posteriors can be read
    /// although nothing below them is observed.
    #[must_use]
    pub fn keeping(mut self, vars: &[Var]) -> Self {
        self.live = vars.to_vec();
        self.plan = None;
        self
    }

    /// A solver of the same network that keeps, watches and reads the same, with no plan yet: for evidence of quite another pattern,
    /// so that this one's plan and messages stay.
    #[must_use]
    pub fn anew(&self) -> Self {
        let mut other = Self::new(&self.net, &self.limits).keeping(&self.live);
        other.watch.over(self.watch.sets().to_vec());
        other.reading = self.reading.clone();
        other.reading.forget();
        other
    }

    /// Solves for this evidence. Returns ln P(evidence); posteriors are then read with
    /// [`Solver::posterior`].
    ///
    /// # Errors
    /// As [`solve`](crate::solve), but variables below all evidence are not planned for.
    pub fn solve(&mut self, evidence: &Evidence) -> Result<f64, SolveError> {
        let plan = self.rise(evidence)?;
        self.after(&plan)
    }

    /// What a solution asks for after its pass up.
    pub(crate) fn after(&mut self, plan: &Plan) -> Result<f64, SolveError> {
        if self.work.total[0].mantissa <= 0.0 {
            return Err(SolveError::Impossible);
        }
        let wanted = self.reading.wanted(plan);
        self.work.fall(plan, &self.numbers, &mut self.due, wanted);
        Ok(self.work.total[0].ln())
    }

    /// From the next solution on, only these variables' posteriors are read: the others are not passed down to, and
    /// [`Solver::posterior`] has `None` for them. What is asked for beside a solution is as it was.
    ///
    /// ```
    /// use wythe_infer::{Cause, Evidence, Finding, Limits, Network, Solver};
    ///
    /// let mut net = Network::new();
    /// let moved = net.table(2, &[], vec![0.9, 0.1])?;
    /// let damp = net.table(2, &[], vec![0.7, 0.3])?;
    /// let causes = vec![Cause::boolean(moved, 0.5), Cause::boolean(damp, 0.2)];
    /// let crack = net.noisy_max(vec![0.8, 0.2], causes)?;
    /// let mut solver = Solver::new(&net, &Limits::default());
    /// let seen = Evidence::new().with(crack, Finding::State(1));
    /// solver.reading(&[moved]);
    /// solver.solve(&seen)?;
    /// assert!(solver.posterior(moved).is_some() && solver.posterior(damp).is_none());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn reading(&mut self, vars: &[Var]) {
        self.reading.only(vars);
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

    /// After [`Solver::solve`]: for each of these partial assignments, ln P(evidence and it); minus
    /// infinity if it is impossible. `None` if there is no solution yet, or a variable is observed
    /// or below all evidence.
    ///
    /// ```
    /// use wythe_infer::{Cause, Evidence, Finding, Limits, Network, Solver};
    ///
    /// let mut net = Network::new();
    /// let moved = net.table(2, &[], vec![0.9, 0.1])?;
    /// let crack = net.noisy_max(vec![0.8, 0.2], vec![Cause::boolean(moved, 0.5)])?;
    /// let door = net.noisy_max(vec![0.9, 0.1], vec![Cause::boolean(moved, 0.6)])?;
    /// let mut solver = Solver::new(&net, &Limits::default());
    /// let ln = solver.solve(&Evidence::new().with(crack, Finding::State(1)))?;
    /// let with = solver.ln_with(&[vec![(moved, 0)], vec![(moved, 1)]]).unwrap_or_default();
    /// assert!((with[0].exp() - 0.9 * 0.2).abs() < 1e-12);
    /// assert!((with[0].exp() + with[1].exp() - ln.exp()).abs() < 1e-12);
    /// // Nothing was seen of the door, so it is not in the plan.
    /// assert_eq!(solver.ln_with(&[vec![(door, 1)]]), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn ln_with(&mut self, assignments: &[Vec<(Var, usize)>]) -> Option<Vec<f64>> {
        let all: Vec<Vec<(Var, Vec<f64>)>> = assignments.iter().map(|one| self.only(one)).collect();
        self.ln_times(&all)
    }

    /// After [`Solver::solve`]: for each of these sets of weights on the states of variables, the
    /// logarithm of P(evidence) with every configuration multiplied by the weights of its states.
    /// `None` as [`Solver::ln_with`], and where the weights are not one a state.
    pub fn ln_times(&mut self, weights: &[Vec<(Var, Vec<f64>)>]) -> Option<Vec<f64>> {
        let plan = self.plan.clone()?;
        let sets: Option<Vec<Times>> = weights.iter().map(|one| plan.times(one)).collect();
        let totals = self.beside(&plan, &sets?);
        Some(totals.into_iter().map(Scaled::ln).collect())
    }

    /// The same solver, which watches these partial assignments: [`Solver::ln_watched`] costs, for
    /// each, only what changed since it was last asked.
    ///
    /// ```
    /// use wythe_infer::{Cause, Evidence, Finding, Limits, Network, Solver};
    ///
    /// let mut net = Network::new();
    /// let moved = net.table(2, &[], vec![0.9, 0.1])?;
    /// let crack = net.noisy_max(vec![0.8, 0.2], vec![Cause::boolean(moved, 0.5)])?;
    /// let door = net.noisy_max(vec![0.9, 0.1], vec![Cause::boolean(moved, 0.6)])?;
    /// let mut solver = Solver::new(&net, &Limits::default()).watching(&[vec![(moved, 1)]]);
    /// let mut seen = Evidence::new();
    /// let mut moves = Vec::new();
    /// for finding in [(crack, Finding::State(1)), (door, Finding::State(0))] {
    ///     seen.insert(finding.0, finding.1);
    ///     let all = solver.solve(&seen)?;
    ///     let with = solver.ln_watched().unwrap_or_default();
    ///     moves.push((with[0] - all).exp());
    /// }
    /// assert!((moves[0] - 0.06 / 0.24).abs() < 1e-12);
    /// assert!((moves[1] - 0.06 * 0.36 / (0.06 * 0.36 + 0.18 * 0.9)).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn watching(mut self, assignments: &[Vec<(Var, usize)>]) -> Self {
        let sets = assignments.iter().map(|one| self.only(one)).collect();
        self.watch.over(sets);
        self
    }

    /// [`Solver::ln_with`] of what is watched.
    pub fn ln_watched(&mut self) -> Option<Vec<f64>> {
        let plan = self.plan.clone()?;
        let wanted = self.watch.wanted(&plan)?;
        self.work.fall(&plan, &self.numbers, &mut self.due, Some(wanted));
        let totals = self.watch.totals(&plan, &self.numbers, &self.work)?;
        Some(totals.into_iter().map(Scaled::ln).collect())
    }

    /// A partial assignment as weights.
    fn only(&self, states: &[(Var, usize)]) -> Vec<(Var, Vec<f64>)> {
        let only = |(var, state): &(Var, usize)| {
            let states = 0..self.net.states(*var);
            (*var, states.map(|s| f64::from(u8::from(s == *state))).collect())
        };
        states.iter().map(only).collect()
    }

    /// P(evidence) with some unary weights multiplied, for each of several sets of them.
    pub(crate) fn beside(&mut self, plan: &Plan, sets: &[Times]) -> Vec<Scaled> {
        self.fall(plan);
        self.asides.run(plan, &self.numbers, &self.work, sets)
    }

    /// The upward pass, by the present plan if it fits.
    pub(crate) fn rise(&mut self, evidence: &Evidence) -> Result<Arc<Plan>, SolveError> {
        self.entered = None;
        evidence::check(&self.net, evidence)?;
        let plan = match &self.plan {
            Some(plan) if plan.fits(&self.net, evidence) => plan.clone(),
            _ => {
                self.plan = None;
                let plan = Arc::new(best_plan(&self.net, evidence, &self.live, &self.limits)?);
                self.plans += 1;
                self.numbers.forget();
                self.watch.forget();
                self.reading.forget();
                self.plan = Some(plan.clone());
                self.risen = false;
                plan
            }
        };
        self.numbers.load(&plan, &self.net, evidence);
        self.pass_up(&plan);
        Ok(plan)
    }

    /// The pass up by the numbers just loaded.
    pub(crate) fn pass_up(&mut self, plan: &Plan) {
        self.work.fit(plan);
        if self.risen && plan.dense.is_empty() {
            renew(plan, &mut self.work, &self.numbers, &mut self.changed);
            self.watch.note(Some(&self.changed));
            self.due.iter_mut().zip(&self.changed).for_each(|(d, c)| *d |= c);
        } else {
            self.work.set_unary(&self.numbers.unary);
            self.work.up(plan, &self.numbers, &[], &[]);
            self.watch.note(None);
            self.due.clear();
            self.due.resize(plan.buckets.len(), true);
            self.risen = true;
        }
    }

    /// The whole downward pass after [`Solver::pass_up`], where that changed something.
    fn fall(&mut self, plan: &Plan) {
        self.work.fall(plan, &self.numbers, &mut self.due, None);
    }

    /// After [`Solver::solve`]: the distribution of a variable that is a root, above something
    /// observed, or kept, and whose state is not known; `None` for any other, and for what is not
    /// [read](Solver::reading). For those use [`solve`](crate::solve).
    pub fn posterior(&self, var: Var) -> Option<impl Iterator<Item = f64>> {
        let plan = self.plan.as_ref()?;
        let k = plan.bucket_of(var)?;
        let now = self.reading.has(var) && self.due.get(k) == Some(&false);
        let b = plan.buckets.get(k).filter(|_| now)?;
        Some(self.shares(b.unary, b.states))
    }

    /// The distribution of the variable whose weights are here.
    pub(crate) fn shares(&self, unary: usize, states: usize) -> impl Iterator<Item = f64> {
        let p = &self.work.posterior[unary..unary + states];
        let total: f64 = p.iter().map(|p| p[0]).sum();
        p.iter().map(move |p| p[0] / total)
    }

    /// The network with other numbers and the same shape: the plan and its room are kept. One of
    /// another shape is planned for anew.
    pub fn renumber(&mut self, net: &Network) {
        if !self.net.has_shape_of(net) {
            self.plan = None;
        }
        self.net = net.clone();
        self.numbers.forget();
        self.entered = None;
        self.risen = false;
    }

    /// Whether evidence can be planned for within the limits.
    pub fn can_solve(&self, evidence: &Evidence) -> bool {
        evidence::check(&self.net, evidence).is_ok() && best_plan(&self.net, evidence, &self.live, &self.limits).is_ok()
    }

    /// Whether the present plan is one for this evidence, which must fit the network.
    pub fn fits(&self, evidence: &Evidence) -> bool {
        self.plan.as_ref().is_some_and(|plan| plan.fits(&self.net, evidence))
    }

    /// What a pass costs under the present plan, as entries of tables; 0 before there is one.
    pub fn entries(&self) -> usize {
        self.plan.as_ref().map_or(0, |p| p.cost())
    }

    /// P(evidence) of the last pass up.
    pub(crate) fn total(&self) -> Scaled {
        self.work.total[0]
    }

    /// How many plans were made so far.
    pub fn plans(&self) -> usize {
        self.plans
    }
}

/// Passes up what numbers just loaded have changed.
pub(crate) fn renew(plan: &Plan, work: &mut Work<1>, numbers: &Numbers, changed: &mut Vec<bool>) {
    if numbers.weights_renewed {
        mark(plan, changed, |at| work.unary[at][0] != numbers.unary[at]);
    } else {
        changed.clear();
        changed.resize(plan.buckets.len(), false);
    }
    for (changed, renewed) in changed.iter_mut().zip(&numbers.renewed) {
        *changed |= renewed;
    }
    work.set_unary(&numbers.unary);
    work.up_again(plan, numbers, changed);
}

/// Marks the buckets with a unary weight that is not what it was.
fn mark(plan: &Plan, changed: &mut Vec<bool>, differs: impl Fn(usize) -> bool) {
    changed.clear();
    let any = |from: usize, states: usize| (from..from + states).any(&differs);
    changed.extend(plan.buckets.iter().map(|b| any(b.unary, b.states)));
}
