//! The same case with part of its evidence: leave-one-out, and findings entered in order.

use std::sync::{Arc, OnceLock};

use crate::core::{Core, Trial};
use crate::network::Family;
use crate::numbers::Numbers;
use crate::pass::Work;
use crate::plan::{Kind, Role, Slot};
use crate::relevance::{finding_grades, likelihood};
use crate::scaled::Scaled;
use crate::solve::posteriors;
use crate::solver::renew;
use crate::thin::Thin;
use crate::{Evidence, Finding, Limits, Network, SolveError, Solved, Var, solve};

/// Weights this small or smaller are not divided by.
const DIVISIBLE: f64 = 1e-60;

/// Which part of the evidence counts.
#[derive(Clone, Debug)]
enum Part {
    AllBut(Var),
    /// The findings of so many of the groups.
    First(Arc<[Vec<Var>]>, usize),
}

impl Part {
    fn of(&self, whole: &Evidence) -> Evidence {
        match self {
            Self::AllBut(var) => {
                let mut evidence = whole.clone();
                evidence.remove(*var);
                evidence
            }
            Self::First(groups, n) => {
                let all = groups[..*n].iter().flatten();
                all.filter_map(|var| Some((*var, whole.get(*var)?.clone()))).collect()
            }
        }
    }
}

/// The answers with part of the evidence.
#[derive(Clone, Debug)]
pub struct Variant {
    base: Arc<Solved>,
    part: Part,
    total: Scaled,
    /// Posteriors of live variables, where their unary weights are; empty if `fresh` has them.
    posterior: Vec<f64>,
    fresh: OnceLock<Option<Box<Solved>>>,
}

impl Variant {
    /// ln P(this evidence).
    pub fn ln_evidence(&self) -> f64 {
        self.total.ln()
    }

    /// The distribution of a variable given this evidence, also of one left out; empty
    /// if it is not in the network. Variables that are themselves observed, or below all evidence,
    /// are solved for when first asked for; empty too if that is over the limits.
    pub fn posterior(&self, var: Var) -> &[f64] {
        let plan = &self.base.core.plan;
        if let (Some(k), false) = (plan.bucket_of(var), self.posterior.is_empty()) {
            let b = &plan.buckets[k];
            return &self.posterior[b.unary..b.unary + b.states];
        }
        let fresh = self.fresh.get_or_init(|| {
            let evidence = self.part.of(&self.base.evidence);
            solve(&self.base.core.net, &evidence, &self.base.limits)
                .ok()
                .map(Box::new)
        });
        fresh.as_ref().map_or(&[], |solved| solved.posterior(var))
    }
}

/// The answers with each finding left out in turn, in the order of the evidence.
///
/// # Errors
/// As [`solve`].
pub fn leave_one_out(net: &Network, evidence: &Evidence, limits: &Limits) -> Result<Vec<(Var, Variant)>, SolveError> {
    solve(net, evidence, limits)?.leave_one_out()
}

impl Solved {
    /// The answers with each finding left out in turn, in the order of the evidence.
    ///
    /// A finding that is a table or a product over its parents costs one more run of the same plan
    /// beside others, any other but one that fixed a variable a run by itself; that one is solved
    /// for afresh.
    ///
    /// # Errors
    /// [`SolveError::TooTangled`] if a fixed variable set free is too much.
    ///
    /// ```
    /// use wythe_infer::{Cause, Evidence, Finding, Limits, Network, solve};
    ///
    /// let mut net = Network::new();
    /// let moved = net.table(2, &[], vec![0.9, 0.1])?;
    /// let crack = net.noisy_max(vec![0.8, 0.2], vec![Cause::boolean(moved, 0.5)])?;
    /// let door = net.noisy_max(vec![0.9, 0.1], vec![Cause::boolean(moved, 0.6)])?;
    /// let seen = Evidence::new().with(crack, Finding::State(1)).with(door, Finding::State(1));
    /// let solved = solve(&net, &seen, &Limits::default())?;
    /// for (left_out, rest) in solved.leave_one_out()? {
    ///     // What the ground would look like without the crack, then without the door.
    ///     let expected = if left_out == crack { 0.064 / 0.154 } else { 0.06 / 0.24 };
    ///     assert!((rest.posterior(moved)[1] - expected).abs() < 1e-12);
    /// }
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn leave_one_out(&self) -> Result<Vec<(Var, Variant)>, SolveError> {
        let base = Arc::new(self.clone());
        let core = &self.core;
        let mut trials = Vec::with_capacity(self.evidence.len());
        let mut of = Vec::with_capacity(self.evidence.len());
        let mut out = Vec::with_capacity(self.evidence.len());
        let mut again = Again::default();
        for (i, (var, finding)) in self.evidence.iter().enumerate() {
            let mut without = Variant {
                base: base.clone(),
                part: Part::AllBut(var),
                total: Scaled::ONE,
                posterior: Vec::new(),
                fresh: OnceLock::new(),
            };
            match core.without(&self.evidence, var, finding) {
                Some(trial) => {
                    of.push(i);
                    trials.push(trial);
                }
                None => {
                    let mut evidence = self.evidence.clone();
                    evidence.remove(var);
                    again.fill(&mut without, &evidence)?;
                }
            }
            out.push((var, without));
        }
        core.run_trials(&trials, true, |t, total, posterior| {
            let without = &mut out[of[t]].1;
            without.total = total;
            without.posterior = (0..core.plan.unary_len).map(|at| posterior.at(at)).collect();
            for b in &core.plan.buckets {
                let p = &mut without.posterior[b.unary..b.unary + b.states];
                let sum: f64 = p.iter().sum();
                p.iter_mut().for_each(|x| *x /= sum);
            }
        });
        Ok(out)
    }

    /// The findings entered group after group, from none: the answers after each group.
    ///
    /// Each group costs one more run of the same plan; one without which a variable is no longer
    /// fixed is solved for afresh.
    ///
    /// # Errors
    /// As [`solve`], for any of the steps.
    ///
    /// ```
    /// use wythe_infer::{Cause, Evidence, Finding, Limits, Network, solve};
    ///
    /// let mut net = Network::new();
    /// let moved = net.table(2, &[], vec![0.9, 0.1])?;
    /// let crack = net.noisy_max(vec![0.8, 0.2], vec![Cause::boolean(moved, 0.5)])?;
    /// let door = net.noisy_max(vec![0.9, 0.1], vec![Cause::boolean(moved, 0.6)])?;
    /// let seen = Evidence::new().with(crack, Finding::State(1)).with(door, Finding::State(1));
    /// let steps = solve(&net, &seen, &Limits::default())?.sequence(&[vec![crack], vec![door]])?;
    /// assert!((steps[0].posterior(moved)[1] - 0.06 / 0.24).abs() < 1e-12);
    /// assert!((steps[1].posterior(moved)[1] - 0.0384 / 0.0564).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn sequence(&self, groups: &[Vec<Var>]) -> Result<Vec<Variant>, SolveError> {
        let base = Arc::new(self.clone());
        let mut again = Again::default();
        let mut so_far = Evidence::new();
        let mut out = Vec::with_capacity(groups.len());
        let all: Arc<[Vec<Var>]> = groups.into();
        for (n, group) in groups.iter().enumerate() {
            let finding = |var: &Var| Some((*var, self.evidence.get(*var)?.clone()));
            group.iter().filter_map(finding).for_each(|(var, finding)| {
                so_far.insert(var, finding);
            });
            let mut variant = Variant {
                base: base.clone(),
                part: Part::First(all.clone(), n + 1),
                total: Scaled::ONE,
                posterior: Vec::new(),
                fresh: OnceLock::new(),
            };
            again.fill(&mut variant, &so_far)?;
            out.push(variant);
        }
        Ok(out)
    }
}

/// [`Solved::sequence`] for the findings of these groups alone. Variables without a
/// finding in `evidence` are passed over.
///
/// # Errors
/// As [`solve`], for any of the steps.
pub fn sequence(
    net: &Network,
    evidence: &Evidence,
    groups: &[Vec<Var>],
    limits: &Limits,
) -> Result<Vec<Variant>, SolveError> {
    crate::evidence::check(net, evidence)?;
    let all = groups.iter().flatten();
    let all: Evidence = all
        .filter_map(|var| Some((*var, evidence.get(*var)?.clone())))
        .collect();
    solve(net, &all, limits)?.sequence(groups)
}

/// Room to run other evidence through the plan of a solution.
#[derive(Default)]
struct Again {
    numbers: Numbers,
    work: Work<1>,
    risen: bool,
    changed: Vec<bool>,
}

impl Again {
    /// Answers with this evidence, in the plan of the whole if it fits, else solved for afresh.
    fn fill(&mut self, variant: &mut Variant, evidence: &Evidence) -> Result<(), SolveError> {
        let (net, plan) = (&variant.base.core.net, &*variant.base.core.plan);
        if !plan.fits(net, evidence) {
            let solved = solve(net, evidence, &variant.base.limits)?;
            variant.total = solved.total;
            variant.fresh = OnceLock::from(Some(Box::new(solved)));
            return Ok(());
        }
        let (numbers, work) = (&mut self.numbers, &mut self.work);
        numbers.load(plan, net, evidence);
        work.fit(plan);
        if self.risen && plan.dense.is_empty() {
            renew(plan, work, numbers, &mut self.changed);
        } else {
            work.set_unary(&numbers.unary);
            work.up(plan, numbers, &[], &[]);
            self.risen = true;
        }
        work.down(plan, numbers, false, &[]);
        variant.total = work.total[0];
        variant.posterior = posteriors(plan, work);
        Ok(())
    }
}

impl Core {
    /// The trial in which a finding is taken away; `None` where the plan does not allow it.
    pub(crate) fn without(&self, evidence: &Evidence, var: Var, finding: &Finding) -> Option<Trial> {
        let mut trial = Trial::default();
        match self.plan.roles[var.index()] {
            Role::Live(k) => {
                if matches!(finding, Finding::OfKind { .. }) {
                    return None;
                }
                let b = &self.plan.buckets[k as usize];
                for s in 0..b.states {
                    self.divide(&mut trial, b.unary + s, likelihood(Some(finding), s))?;
                }
            }
            Role::Product => self.without_product(evidence, var, finding, &mut trial)?,
            Role::Seen => self.without_table(var, finding, &mut trial)?,
            Role::Mixed => self.without_mixture(var, finding, &mut trial)?,
            Role::Fixed | Role::Barren => return None,
        }
        Some(trial)
    }

    /// Takes a factor out of a unary weight.
    fn divide(&self, trial: &mut Trial, at: usize, by: f64) -> Option<()> {
        if by < DIVISIBLE {
            return None;
        }
        trial.times.push((at, 1.0 / by));
        Some(())
    }

    fn without_product(&self, evidence: &Evidence, var: Var, finding: &Finding, trial: &mut Trial) -> Option<()> {
        let node = &self.net.model.nodes[var.index()];
        let Family::NoisyMax(noisy) = &node.family else {
            return None;
        };
        let mut grades = Vec::new();
        finding_grades(Some(finding), node.states, &mut grades);
        let (end, weight) = grades.first().map(|g| (g.end, g.weight))?;
        let mut room = Vec::new();
        let thin = Thin::of(noisy, &node.parents, Some(finding), &mut room);
        let (leak, rows) = thin.parts(noisy, &room, node.states);
        let upto = |row: &[f64]| row[..end].iter().sum::<f64>();
        let mut taken = vec![weight, upto(leak)];
        let mut at = 0;
        for p in &node.parents {
            let states = self.net.states(*p);
            let rows = &rows[at..at + states * node.states];
            at += rows.len();
            match (self.plan.bucket_of(*p), evidence.get(*p)) {
                (Some(k), _) => {
                    let unary = self.plan.buckets[k].unary;
                    for (s, row) in rows.chunks_exact(node.states).enumerate() {
                        self.divide(trial, unary + s, upto(row))?;
                    }
                }
                (None, Some(Finding::State(s))) => {
                    taken.push(upto(&rows[s * node.states..][..node.states]));
                }
                _ => return None,
            }
        }
        for x in taken {
            if x < DIVISIBLE {
                return None;
            }
            trial.constant = trial.constant.times(1.0 / x);
        }
        Some(())
    }

    /// Whether the grades of a finding are all there is: without it they sum to 1.
    fn is_whole(&self, var: Var, finding: &Finding) -> bool {
        let states = self.net.states(var);
        let mut grades = Vec::new();
        finding_grades(Some(finding), states, &mut grades);
        let end = grades.last().map_or(0, |g| g.end);
        end == states && !matches!(finding, Finding::OfKind { .. })
    }

    /// Of a mixture only the product that says nothing is left.
    fn without_mixture(&self, var: Var, finding: &Finding, trial: &mut Trial) -> Option<()> {
        let of = |s: &&Slot| s.var == var.0 && s.kind == Kind::Mixture;
        let k = self.plan.slots.iter().find(of)?.bucket as usize;
        if !self.is_whole(var, finding) || self.numbers.unary_exponent[k] != 0 {
            return None;
        }
        let b = &self.plan.buckets[k];
        let weight = |g: usize| f64::from(u8::from(g + 1 == b.states));
        trial.set.extend((0..b.states).map(|g| (b.unary + g, weight(g))));
        Some(())
    }

    fn without_table(&self, var: Var, finding: &Finding, trial: &mut Trial) -> Option<()> {
        for (part, dense) in self.plan.dense.iter().enumerate() {
            if let Some(f) = dense.findings.iter().position(|f| f.var == var.0) {
                trial.left_out = Some((part, f as u16));
                return Some(());
            }
        }
        // Of a chain it is enough to leave out the last step, if what comes before sums to 1.
        let last = |s: &Slot| match s.kind {
            Kind::Step { after, .. } => after == 1 && self.is_whole(var, finding),
            kind => kind == Kind::Finding,
        };
        let mut slots = self.plan.slots.iter().enumerate();
        let (i, slot) = slots.find(|(_, s)| s.var == var.0 && last(s))?;
        let data = self.numbers.data(&self.plan, &self.net, i);
        if i >= self.plan.single {
            match slot.axes.first() {
                None => {
                    let x = *data.first().filter(|x| **x >= DIVISIBLE)?;
                    trial.constant = trial.constant.times(1.0 / x);
                }
                Some(along) => {
                    let b = &self.plan.buckets[along.bucket as usize];
                    for s in 0..b.states {
                        self.divide(trial, b.unary + s, data[s * along.stride as usize])?;
                    }
                }
            }
            return Some(());
        }
        let k = slot.bucket as usize;
        let mut potential = vec![1.0; self.plan.buckets[k].size];
        let e = self
            .numbers
            .potential_without(&self.plan, &self.net, k, i as u32, &mut potential);
        trial.potential = Some((k, potential, e));
        Some(())
    }
}
