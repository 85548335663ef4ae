//! What the margins of all conclusions of one case share: the case solved anew, once for each change.

use std::collections::BTreeMap;
use std::sync::Arc;

use wythe_infer::{Limits, Row, Solved, Solver, Uses, Var};
use wythe_pack::Pack;

use super::place::Placed;
use crate::kept::{tangled, vars};
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
    /// A number of the pack, at one of so many points of its curve.
    Number(Number, usize, usize),
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
    solver: Option<Solver>,
    /// Whose numbers the solver has, and what puts them back.
    has: Change,
    undo: Vec<(Row, Vec<f64>)>,
    stands: BTreeMap<(Change, usize), Arc<Stand>>,
    doings: BTreeMap<usize, Doings>,
}

impl Anew {
    /// Makes room for a case.
    pub(super) fn fit(&mut self, weighed: &Weighed<'_>) {
        if self.scratch.is_some() {
            return;
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
        let last = self.last();
        let fresh = match &self.solver {
            Some(_) => None,
            None => Some(self.evidence(&weighing.model, weighed, all, last)),
        };
        let solver = self.solver.get_or_insert_with(|| {
            let (mut kept, mut absent) = (Vec::new(), Vec::new());
            for about in &weighing.about {
                let vars = weighed.vars(*about);
                match (about, vars.as_slice()) {
                    (_, [one]) => kept.push(*one),
                    _ => absent.push(vars.iter().map(|var| (*var, 0)).collect::<Vec<(Var, usize)>>()),
                }
            }
            let solver = Solver::new(&weighing.model.net, &Limits::default());
            solver.keeping(&kept).watching(&absent)
        });
        if let Some(all) = fresh {
            // Planned for everything, so that the plan serves every part of it.
            solver.solve(&all).map_err(tangled)?;
        }
        let has = match change {
            Change::Low | Change::High | Change::Number(..) => change,
            _ => Change::Nothing,
        };
        if has != self.has {
            // Back to the case's own numbers, then on.
            let mut put = std::mem::take(&mut self.undo);
            if matches!(self.has, Change::Low | Change::High) {
                solver.renumber(&weighing.model.net);
            }
            if moved.is_some() {
                solver.renumber(&own.net);
                put.clear();
            } else if has != Change::Nothing {
                let rows = rows();
                let back = |(row, _): &(Row, Vec<f64>)| Some((*row, weighing.model.net.row(*row)?.to_vec()));
                self.undo = rows.iter().filter_map(back).collect();
                put.extend(rows);
            }
            solver.change(&put);
            self.has = has;
        }
        let stand = Arc::new(stand(solver, weighed, &evidence)?);
        self.stands.insert((change, stage), stand.clone());
        Ok(stand)
    }

    fn entered(&self, reading: usize, stage: usize) -> bool {
        let mut groups = self.stages.iter().take(stage + 1);
        groups.any(|(_, group)| group.contains(&reading))
    }
}

fn stand(solver: &mut Solver, weighed: &Weighed<'_>, evidence: &wythe_infer::Evidence) -> Result<Stand, WeighError> {
    let weighing = &weighed.weighing;
    let ln = solver.solve(evidence).map_err(tangled)?;
    let mut none = solver.ln_watched().unwrap_or_default().into_iter();
    let mut chances = Vec::with_capacity(weighing.about.len());
    for about in &weighing.about {
        chances.push(match vars(weighing, &weighing.model, *about).as_slice() {
            [one] => solver.posterior(*one).and_then(|mut p| p.nth(1)).unwrap_or(0.0),
            // A family's chance is that not every member is absent.
            _ => -libm::expm1((none.next().unwrap_or(ln) - ln).min(0.0)),
        });
    }
    Ok(Stand { chances, ln })
}
