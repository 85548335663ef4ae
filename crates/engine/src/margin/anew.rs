//! What the margins of all conclusions of one case share: the case solved anew, once for each change.

use std::collections::BTreeMap;
use std::sync::Arc;

use wythe_infer::{Limits, Row, Solved, Solver, Uses, Var};
use wythe_pack::Pack;

use super::place::Placed;
use crate::kept::tangled;
use crate::network::{End, Model};
use crate::{Number, Reading, StepKind, Used, WeighError, Weighed};

/// A case as it would be with one thing changed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Change {
    /// As it is.
    #[default]
    Nothing,
    /// A reading taken away.
    Without(usize),
    /// A reading moved by one class, up or down.
    Moved(usize, bool),
    /// Every prevalence at the low end of its range.
    Low,
    /// Every prevalence at the high end of its range.
    High,
    /// A number of the pack, at a point of its curve.
    Number(Number, usize),
}

/// The stages of a ledger: what kind, and which readings it enters.
pub(super) type Stages = Vec<(StepKind, Vec<usize>)>;

/// Where all conclusions stand at a stage.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Stand {
    /// The chance of each conclusion, in the order of the weighing.
    pub chances: Vec<f64>,
    /// ln P(evidence so far).
    pub ln: f64,
}

/// What each number did at a stage, and ln P(evidence so far).
#[derive(Clone, Debug)]
pub(super) struct Doings {
    pub solved: Arc<Solved>,
    pub uses: Arc<Uses>,
}

/// A case solved anew, and what came of it.
#[derive(Default)]
pub(crate) struct Anew {
    /// The pack, for numbers to be moved in and set back.
    pub(super) scratch: Option<Pack>,
    pub(super) placed: Option<Arc<Vec<Placed>>>,
    stages: Stages,
    /// Of each conclusion the variables that are at rest where it does not hold.
    vars: Vec<Vec<Var>>,
    /// The families whose chances are worked out, by their place among the conclusions.
    watched: Vec<usize>,
    /// One for each stage: what is entered stays, so that no more is worked out than a change asks for.
    solvers: BTreeMap<usize, Changed>,
    stands: BTreeMap<(Change, usize), Arc<Stand>>,
    doings: BTreeMap<usize, Doings>,
}

/// A solver, whose numbers it has, and what puts them back.
struct Changed {
    solver: Solver,
    has: Change,
    undo: Vec<(Row, Vec<f64>)>,
}

impl Anew {
    /// Makes room for a case, and for a conclusion by its place among all.
    pub(super) fn fit(&mut self, weighed: &Weighed<'_>, own: usize) {
        if self.scratch.is_none() {
            self.start(weighed);
        }
        let family = self.vars.get(own).is_some_and(|vars| vars.len() != 1);
        if family && !self.watched.contains(&own) {
            self.watched.push(own);
            self.solvers.clear();
            self.stands.clear();
        }
    }

    fn start(&mut self, weighed: &Weighed<'_>) {
        self.vars = weighed
            .weighing
            .about
            .iter()
            .map(|about| weighed.vars(*about))
            .collect();
        // The families that are likely to be asked about; any other is watched from when it is.
        for one in &weighed.outcome().conclusions {
            let at = weighed.weighing.about.iter().position(|about| *about == one.about);
            let asks = one.action > wythe_pack::Action::Record || one.support >= wythe_pack::Support::Some;
            let family = |at: &usize| self.vars.get(*at).is_some_and(|vars| vars.len() != 1);
            self.watched.extend(at.filter(|at| asks && family(at)));
        }
        self.scratch = Some(weighed.pack().clone());
        let (none, groups) = weighed.weighing.groups();
        let none = (!none.is_empty()).then_some((StepKind::NoneThere, none));
        let seen = groups.into_iter().map(|group| (StepKind::Seen, group));
        self.stages = std::iter::once((StepKind::Context, Vec::new()))
            .chain(none)
            .chain(seen)
            .collect();
    }

    /// Before any sighting, then after each group; the last has all.
    pub(super) fn stages(&self) -> &Stages {
        &self.stages
    }

    pub(super) fn last(&self) -> usize {
        self.stages.len().saturating_sub(1)
    }

    /// What each number did at a stage of the case as it is.
    pub(super) fn doings(&mut self, weighed: &Weighed<'_>, stage: usize) -> Result<Doings, WeighError> {
        if let Some(found) = self.doings.get(&stage) {
            return Ok(found.clone());
        }
        let weighing = &weighed.weighing;
        let solved = if stage == self.last() {
            weighed.solved.clone()
        } else if stage == 0 {
            weighed.before()?.clone()
        } else {
            let mut evidence = self.evidence(&weighing.model, weighed, &weighing.bound.readings, stage);
            crate::kept::quiet(&weighing.model, &mut evidence);
            wythe_infer::solve_seen(&weighing.model.net, &evidence, &Limits::default()).map_err(tangled)?
        };
        let uses = Arc::new(solved.uses(&[]).map_err(tangled)?);
        let solved = Arc::new(solved);
        let found = Doings { solved, uses };
        self.doings.insert(stage, found.clone());
        Ok(found)
    }

    /// The evidence at a stage.
    fn evidence(
        &self,
        model: &Model,
        weighed: &Weighed<'_>,
        readings: &[Reading],
        stage: usize,
    ) -> wythe_infer::Evidence {
        let mut entered = vec![false; readings.len()];
        for (_, group) in self.stages.iter().take(stage + 1) {
            for at in group {
                if let Some(slot) = entered.get_mut(*at) {
                    *slot = true;
                }
            }
        }
        model.evidence(weighed.pack(), readings, |index| {
            entered.get(index).copied().unwrap_or(false)
        })
    }

    /// Where all conclusions stand at a stage under a change; of a number, with these rows of the network.
    pub(super) fn stand(
        &mut self,
        weighed: &Weighed<'_>,
        change: Change,
        rows: &dyn Fn() -> Vec<(Row, Vec<f64>)>,
        stage: usize,
    ) -> Result<Arc<Stand>, WeighError> {
        // Before a reading is entered, it is no matter what becomes of it.
        let change = match change {
            Change::Without(at) | Change::Moved(at, _) if !self.entered(at, stage) => Change::Nothing,
            change => change,
        };
        if let Some(found) = self.stands.get(&(change, stage)) {
            return Ok(found.clone());
        }
        let weighing = &weighed.weighing;
        let all = &weighing.bound.readings;
        let other;
        let readings: &[Reading] = match change {
            Change::Without(at) => {
                let mut list = all.clone();
                if let Some(slot) = list.get_mut(at) {
                    slot.used = Used::NotReached;
                }
                other = list;
                &other
            }
            Change::Moved(at, up) => {
                let mut list = all.clone();
                if let Some(slot) = list.get_mut(at) {
                    *slot = super::shifted(slot, up);
                }
                other = list;
                &other
            }
            _ => all,
        };
        let end = match change {
            Change::Low => Some(End::Low),
            Change::High => Some(End::High),
            _ => None,
        };
        let moved = match end {
            Some(end) => Some(Model::of(weighed.pack(), &weighing.bound, &weighing.grounded, end)?),
            None => None,
        };
        let own = moved.as_ref().unwrap_or(&weighing.model);
        let evidence = self.evidence(own, weighed, readings, stage);
        let has = match change {
            Change::Low | Change::High | Change::Number(..) => change,
            _ => Change::Nothing,
        };
        let mut changed = match self.solvers.remove(&stage) {
            Some(changed) => changed,
            None => self.solver(weighed, stage)?,
        };
        if has != changed.has {
            // Back to the case's own numbers, then on.
            let mut put = std::mem::take(&mut changed.undo);
            if matches!(changed.has, Change::Low | Change::High) {
                changed.solver.renumber(&weighing.model.net);
            }
            if moved.is_some() {
                changed.solver.renumber(&own.net);
                put.clear();
            } else if has != Change::Nothing {
                let rows = rows();
                let back = |(row, _): &(Row, Vec<f64>)| Some((*row, weighing.model.net.row(*row)?.to_vec()));
                changed.undo = rows.iter().filter_map(back).collect();
                put.extend(rows);
            }
            changed.solver.change(&put);
            changed.has = has;
        }
        let stand = Arc::new(self.solved(&mut changed.solver, &evidence)?);
        self.solvers.insert(stage, changed);
        self.stands.insert((change, stage), stand.clone());
        Ok(stand)
    }

    /// A solver for a stage, planned for all that is entered by then.
    fn solver(&self, weighed: &Weighed<'_>, stage: usize) -> Result<Changed, WeighError> {
        let weighing = &weighed.weighing;
        let singles = self.vars.iter().filter(|vars| vars.len() == 1).flatten();
        let kept: Vec<Var> = singles.copied().collect();
        let family = |at: &usize| self.vars.get(*at).map_or(&[][..], Vec::as_slice);
        let absent = |at| family(at).iter().map(|var| (*var, 0)).collect::<Vec<(Var, usize)>>();
        let absent: Vec<_> = self.watched.iter().map(absent).collect();
        let solver = Solver::new(&weighing.model.net, &Limits::default());
        let mut solver = solver.keeping(&kept).watching(&absent);
        let all = self.evidence(&weighing.model, weighed, &weighing.bound.readings, stage);
        solver.solve(&all).map_err(tangled)?;
        Ok(Changed {
            solver,
            has: Change::Nothing,
            undo: Vec::new(),
        })
    }

    /// Where all conclusions stand by this evidence; of families, those that are watched.
    fn solved(&self, solver: &mut Solver, evidence: &wythe_infer::Evidence) -> Result<Stand, WeighError> {
        let ln = solver.solve(evidence).map_err(tangled)?;
        let one = |vars: &Vec<Var>| match vars.as_slice() {
            [one] => solver.posterior(*one).and_then(|mut p| p.nth(1)).unwrap_or(0.0),
            _ => f64::NAN,
        };
        let mut chances: Vec<f64> = self.vars.iter().map(one).collect();
        let none = solver.ln_watched().unwrap_or_default();
        for (at, none) in self.watched.iter().zip(none) {
            if let Some(slot) = chances.get_mut(*at) {
                // A family's chance is that not every member is absent.
                *slot = -libm::expm1((none - ln).min(0.0));
            }
        }
        Ok(Stand { chances, ln })
    }

    fn entered(&self, reading: usize, stage: usize) -> bool {
        let mut groups = self.stages.iter().take(stage + 1);
        groups.any(|(_, group)| group.contains(&reading))
    }
}
