//! A case graded anew under other numbers or readings: only what one conclusion's grade hangs on.

use wythe_infer::{Evidence, Limits, Solver, Var};
use wythe_pack::{Action, Pack, Support};

use super::{Graded, likeliest};
use crate::grade::{Coverage, act, cannot_tell, corroborated, coverage, support};
use crate::kept::{quiet, row, tangled};
use crate::network::{End, Model};
use crate::paths::reached;
use crate::{About, Reading, Step, StepKind, Used, WeighError, Weighed, decibans};

/// Where a conclusion stands after some of the evidence: its chance, and each member's.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Stand {
    pub chance: f64,
    pub members: Vec<f64>,
}

/// The stages of a ledger: what kind, and which readings it enters.
pub(super) type Stages = Vec<(StepKind, Vec<usize>)>;

/// Grades conclusions of a kept case anew.
pub(super) struct Ledger<'w, 'a> {
    pub weighed: &'w Weighed<'a>,
    /// The pack, for numbers to be moved in and set back.
    pub scratch: Pack,
    solver: Solver,
    /// Whether the solver has the case's own numbers.
    own: bool,
    stages: Stages,
    base: Vec<Option<(About, Stand)>>,
}

impl<'w, 'a> Ledger<'w, 'a> {
    pub fn of(weighed: &'w Weighed<'a>) -> Self {
        let (none, groups) = weighed.weighing.groups();
        let none = (!none.is_empty()).then_some((StepKind::NoneThere, none));
        let seen = groups.into_iter().map(|group| (StepKind::Seen, group));
        let stages: Stages = std::iter::once((StepKind::Context, Vec::new()))
            .chain(none)
            .chain(seen)
            .collect();
        Ledger {
            weighed,
            scratch: weighed.pack().clone(),
            solver: Solver::new(&weighed.weighing.model.net, &Limits::default()),
            own: true,
            base: vec![None; stages.len()],
            stages,
        }
    }

    /// Before any sighting, then after each group; the last has all.
    pub fn stages(&self) -> Stages {
        self.stages.clone()
    }

    /// The evidence at a stage.
    pub fn evidence(&self, model: &Model, readings: &[Reading], stage: usize) -> Evidence {
        let entered: Vec<usize> = self
            .stages
            .iter()
            .take(stage + 1)
            .flat_map(|(_, group)| group.clone())
            .collect();
        let mut evidence = model.evidence(self.weighed.pack(), readings, |index| entered.contains(&index));
        quiet(model, &mut evidence);
        evidence
    }

    /// Where a conclusion stands at a stage with the case's own numbers and readings.
    pub fn base(&mut self, stage: usize, about: About) -> Result<Stand, WeighError> {
        if let Some(Some((of, stand))) = self.base.get(stage)
            && *of == about
        {
            return Ok(stand.clone());
        }
        let (stand, _) = self.stand(None, None, stage, about)?;
        if let Some(slot) = self.base.get_mut(stage) {
            *slot = Some((about, stand.clone()));
        }
        Ok(stand)
    }

    /// Where a conclusion stands at a stage under other numbers or readings, and ln P(evidence so far).
    pub fn stand(
        &mut self,
        model: Option<&Model>,
        readings: Option<&[Reading]>,
        stage: usize,
        about: About,
    ) -> Result<(Stand, f64), WeighError> {
        let weighing = &self.weighed.weighing;
        let readings = readings.unwrap_or(&weighing.bound.readings);
        let evidence = self.evidence(model.unwrap_or(&weighing.model), readings, stage);
        match model {
            Some(model) => self.solver.renumber(&model.net),
            None if !self.own => self.solver.renumber(&weighing.model.net),
            None => {}
        }
        self.own = model.is_none();
        let ln = self.solver.solve(&evidence).map_err(tangled)?;
        let vars = self.weighed.vars(about);
        let members: Vec<f64> = vars
            .iter()
            .map(|var| self.solver.posterior(*var).and_then(|mut p| p.nth(1)).unwrap_or(0.0))
            .collect();
        let chance = match members.as_slice() {
            [one] => *one,
            _ => {
                let absent: Vec<(Var, usize)> = vars.iter().map(|var| (*var, 0)).collect();
                let none = self.solver.ln_with(&[absent]).and_then(|none| none.first().copied());
                -libm::expm1((none.unwrap_or(ln) - ln).min(0.0))
            }
        };
        Ok((Stand { chance, members }, ln))
    }

    /// A conclusion's grade with one reading taken away, or another in its place.
    pub fn grade_with(&mut self, index: usize, other: Option<Reading>, about: About) -> Result<Graded, WeighError> {
        let weighed = self.weighed;
        let mut readings = weighed.weighing.bound.readings.clone();
        let mut looked = readings.clone();
        match other {
            Some(other) => {
                for list in [&mut readings, &mut looked] {
                    if let Some(slot) = list.get_mut(index) {
                        *slot = other.clone();
                    }
                }
            }
            None => {
                if let Some(slot) = readings.get_mut(index) {
                    slot.used = Used::NotReached;
                }
                looked.remove(index);
            }
        }
        let kept = |at: &usize| readings.get(*at).is_some_and(|reading| reading.used == Used::Weighed);
        self.regrade(None, &readings, &looked, &kept, about)
    }

    /// A conclusion's grade with every prevalence at one end.
    pub fn grade_at(&mut self, end: End, about: About) -> Result<Graded, WeighError> {
        let weighed = self.weighed;
        let weighing = &weighed.weighing;
        let model = Model::of(weighing.pack, &weighing.bound, &weighing.grounded, end)?;
        let readings = &weighing.bound.readings;
        self.regrade(Some(&model), readings, readings, &|_| true, about)
    }

    fn regrade(
        &mut self,
        model: Option<&Model>,
        readings: &[Reading],
        looked: &[Reading],
        kept: &dyn Fn(&usize) -> bool,
        about: About,
    ) -> Result<Graded, WeighError> {
        let weighed = self.weighed;
        let end = self.stages.len().saturating_sub(1);
        let last = self.stand(model, Some(readings), end, about)?.0;
        let prior = match model {
            None => self.base(0, about)?,
            model => self.stand(model, Some(readings), 0, about)?.0,
        };
        let needs = needs(weighed, about, prior.chance, last.chance);
        let mut steps = Vec::new();
        if needs.steps {
            let mut before = prior.chance;
            for (stage, (kind, group)) in self.stages().into_iter().enumerate() {
                let after = if stage == end {
                    last.chance
                } else {
                    self.stand(model, Some(readings), stage, about)?.0.chance
                };
                steps.push(Step {
                    kind,
                    readings: group.into_iter().filter(|at| kept(at)).collect(),
                    weight: decibans(after) - decibans(before),
                    after,
                });
                before = after;
            }
        }
        let covered = if needs.coverage {
            let sites = weighed.sites(about);
            let from = likeliest(&sites, |index| last.members.get(index).copied().unwrap_or(0.0));
            let (pack, case, bound) = (weighed.pack(), weighed.case(), &weighed.weighing.bound);
            let found =
                from.map(|(mechanism, at)| reached(pack, case, bound, (wythe_pack::Node::Mechanism(mechanism), at)));
            coverage(pack, looked, &found.unwrap_or_default())
        } else {
            Coverage::default()
        };
        Ok(graded(weighed, about, (prior.chance, last.chance), &steps, &covered))
    }
}

/// What a grade hangs on beside the chances.
#[derive(Clone, Copy, Debug)]
pub(super) struct Needs {
    /// The steps that count for corroboration: a referral is in question.
    pub steps: bool,
    /// Coverage, and the looks still to be had.
    pub coverage: bool,
}

pub(super) fn needs(weighed: &Weighed<'_>, about: About, prior: f64, chance: f64) -> Needs {
    let policy = &weighed.pack().policy;
    let given = support(&policy.bounds, prior, chance);
    let table = |support| row(weighed.pack(), about, support);
    let untold = given == Support::NotMoved && table(Support::CannotTell) >= Action::Refer;
    let steps = untold || refers(&table, given, chance, policy.referral.bound());
    Needs {
        steps,
        coverage: steps || given == Support::NotMoved,
    }
}

/// Whether corroboration has a say: the table, or the cost ratio, asks for a referral.
fn refers(row: &dyn Fn(Support) -> Action, given: Support, chance: f64, bound: f64) -> bool {
    row(given) >= Action::Refer || (row(Support::Fair) >= Action::Refer && given >= Support::Slight && chance >= bound)
}

/// The grade of a conclusion from what it hangs on.
pub(super) fn graded(
    weighed: &Weighed<'_>,
    about: About,
    (prior, chance): (f64, f64),
    steps: &[Step],
    covered: &Coverage,
) -> Graded {
    let pack = weighed.pack();
    let bounds = &pack.policy.bounds;
    let mut given = support(bounds, prior, chance);
    if given == Support::NotMoved && cannot_tell(bounds, chance, covered) {
        given = Support::CannotTell;
    }
    let table = |support| row(pack, about, support);
    let corroboration = corroborated(pack, &weighed.outcome().readings, steps);
    Graded {
        support: given,
        action: act(pack, &table, given, chance, &corroboration, covered).action,
        chance,
    }
}
