//! What the margins of all conclusions of one case share: the case solved anew, once for each change.

use std::collections::BTreeMap;
use std::sync::Arc;

use wythe_infer::{AbreastRoom, Evidence, Finding, Limits, Rows, SolveError, Solved, Solver, Uses, Var};
use wythe_pack::Pack;

use super::change::{Change, MovedTo};
use super::place::Placed;
use crate::kept::tangled;
use crate::{About, Reading, StepKind, WeighError, Weighed};

/// The stages of a ledger: what kind, and which readings it enters.
pub(super) type Stages = Vec<(StepKind, Vec<usize>)>;

/// Where conclusions stand at a stage.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Stand {
    /// The chances that were asked for, by the place of the conclusion in the weighing.
    pub chances: BTreeMap<usize, f64>,
    /// ln P(evidence so far).
    pub ln: f64,
}

/// What each number did at a stage, and ln P(evidence so far).
#[derive(Clone, Debug)]
pub(super) struct Doings {
    pub solved: Arc<Solved>,
    pub uses: Arc<Uses>,
}

/// A stage, and the family, by its place among the conclusions, of which no member is there; none where any may be.
type Under = (usize, Option<usize>);

/// A case solved anew, and what came of it.
#[derive(Default)]
pub(crate) struct Anew {
    /// The pack, for numbers to be moved in and set back, where that was ever needed.
    pub(super) scratch: Option<Pack>,
    pub(super) placed: Option<Arc<Vec<Placed>>>,
    stages: Stages,
    /// Of each conclusion the variables that are at rest where it does not hold.
    vars: Vec<Vec<Var>>,
    /// The conclusions that are asked about or likely to be, by their places: what is known of any of them is read of each solution.
    asked: Vec<usize>,
    /// What is entered stays, so that no more is worked out than a change asks for.
    solvers: BTreeMap<Under, Solver>,
    /// Which families are watched at a stage.
    watched: BTreeMap<usize, Vec<usize>>,
    room: AbreastRoom,
    evidence: BTreeMap<(Change, Under), Arc<Evidence>>,
    stands: BTreeMap<(Change, usize), Arc<Stand>>,
    doings: BTreeMap<usize, Doings>,
}

/// What came of one solution.
struct Found {
    /// ln P(evidence).
    ln: f64,
    /// The chances of what is read.
    chances: Vec<f64>,
    /// The same with no member of a family there, for each that is watched.
    none: Vec<f64>,
}

impl Found {
    fn impossible() -> Self {
        Found {
            ln: f64::NEG_INFINITY,
            chances: Vec::new(),
            none: Vec::new(),
        }
    }
}

/// A family's chance is that not every member is absent.
fn some(none: f64, all: f64) -> f64 {
    -libm::expm1((none - all).min(0.0))
}

impl Anew {
    /// Makes room for a case, and for some conclusions.
    pub(super) fn expect(&mut self, weighed: &Weighed<'_>, abouts: &[About]) {
        let all = &weighed.weighing.about;
        if self.vars.is_empty() {
            self.start(weighed);
        }
        let places = abouts
            .iter()
            .filter_map(|about| all.iter().position(|other| other == about));
        for at in places {
            if !self.asked.contains(&at) {
                self.asked.push(at);
            }
        }
    }

    fn start(&mut self, weighed: &Weighed<'_>) {
        let all = &weighed.weighing.about;
        self.vars = all.iter().map(|about| weighed.vars(*about)).collect();
        // The mechanisms that are likely to be asked about next.
        for one in &weighed.outcome().conclusions {
            let at = all.iter().position(|about| *about == one.about);
            let asks = one.action > wythe_pack::Action::Record || one.support >= wythe_pack::Support::Some;
            self.asked.extend(at.filter(|at| asks && self.single(*at).is_some()));
        }
        let (none, groups) = weighed.weighing.groups();
        let none = (!none.is_empty()).then_some((StepKind::NoneThere, none));
        let seen = groups.into_iter().map(|group| (StepKind::Seen, group));
        self.stages = std::iter::once((StepKind::Context, Vec::new()))
            .chain(none)
            .chain(seen)
            .collect();
    }

    /// The one variable of a conclusion, if it is no family.
    fn single(&self, at: usize) -> Option<Var> {
        match self.vars.get(at)?.as_slice() {
            [one] => Some(*one),
            _ => None,
        }
    }

    /// The families that are asked about.
    fn families(&self) -> impl Iterator<Item = usize> {
        self.asked.iter().copied().filter(|at| self.single(*at).is_none())
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
            let mut evidence = self.seen(weighed, Change::Nothing, stage);
            crate::kept::quiet(&weighing.model, &mut evidence);
            wythe_infer::solve_seen(&weighing.model.net, &evidence, &Limits::default()).map_err(tangled)?
        };
        let uses = Arc::new(solved.uses(&[]).map_err(tangled)?);
        let solved = Arc::new(solved);
        let found = Doings { solved, uses };
        self.doings.insert(stage, found.clone());
        Ok(found)
    }

    /// The evidence at a stage, under a change.
    fn seen(&mut self, weighed: &Weighed<'_>, change: Change, stage: usize) -> Evidence {
        let (model, readings) = (&weighed.weighing.model, &weighed.weighing.bound.readings);
        let finding = |reading: &Reading| model.finding(weighed.pack(), reading);
        let (at, shifted) = match change {
            Change::Without(at) => (at, None),
            Change::Moved(at, up) => (at, readings.get(at).map(|reading| super::shifted(reading, up))),
            _ => {
                let mut entered = vec![false; readings.len()];
                for at in self.stages.iter().take(stage + 1).flat_map(|(_, group)| group) {
                    if let Some(slot) = entered.get_mut(*at) {
                        *slot = true;
                    }
                }
                return model.evidence(weighed.pack(), readings, |index| {
                    entered.get(index).copied().unwrap_or(false)
                });
            }
        };
        // As it is but for one.
        let mut evidence = (*self.evidence(weighed, Change::Nothing, (stage, None))).clone();
        let own = readings.get(at).filter(|_| self.entered(at, stage)).and_then(finding);
        if let Some((var, _)) = own {
            match shifted.as_ref().and_then(finding) {
                Some((_, other)) => evidence.insert(var, other),
                None => evidence.remove(var),
            };
        }
        evidence
    }

    /// The same, with no member of a family there; the same in memory for the same.
    fn evidence(&mut self, weighed: &Weighed<'_>, change: Change, (stage, family): Under) -> Arc<Evidence> {
        let change = if change.moves_rows() { Change::Nothing } else { change };
        if let Some(found) = self.evidence.get(&(change, (stage, family))) {
            return found.clone();
        }
        let evidence = match family.and_then(|at| self.vars.get(at)) {
            None => self.seen(weighed, change, stage),
            Some(vars) => {
                let absent: Vec<Var> = vars.clone();
                let mut evidence = (*self.evidence(weighed, change, (stage, None))).clone();
                for var in absent {
                    evidence.insert(var, Finding::Likelihood(vec![1.0, 0.0]));
                }
                evidence
            }
        };
        let evidence = Arc::new(evidence);
        self.evidence.insert((change, (stage, family)), evidence.clone());
        evidence
    }

    /// Where some conclusions stand at a stage under each of some changes; a number's have these rows of the network.
    pub(super) fn stands(
        &mut self,
        weighed: &Weighed<'_>,
        changes: &[Change],
        rows: MovedTo<'_>,
        stage: usize,
        of: &[usize],
    ) -> Result<Vec<Arc<Stand>>, WeighError> {
        // Before a reading is entered, it is no matter what becomes of it.
        let as_is = |change: Change| match change {
            Change::Without(at) | Change::Moved(at, _) => !self.entered(at, stage),
            _ => false,
        };
        let changes = changes.iter();
        let changes: Vec<Change> = changes
            .map(|change| if as_is(*change) { Change::Nothing } else { *change })
            .collect();
        let of = of.iter().copied().filter(|at| *at < self.vars.len());
        let (singles, families): (Vec<usize>, Vec<usize>) = of.partition(|at| self.single(*at).is_some());
        let due = self.without(&changes, stage, &singles);
        if !due.is_empty() {
            let read = self.asked.iter().chain(&singles);
            let read: Vec<(usize, Var)> = read.filter_map(|at| Some((*at, self.single(*at)?))).collect();
            let vars: Vec<Var> = read.iter().map(|(_, var)| *var).collect();
            let found = self.solved(weighed, &due, rows, (stage, None), &vars)?;
            let families_asked: Vec<usize> = self.families().collect();
            for (change, found) in due.into_iter().zip(found) {
                let stand = Arc::make_mut(self.stands.entry((change, stage)).or_default());
                stand.ln = found.ln;
                let read = read.iter().map(|(at, _)| *at);
                stand.chances.extend(read.zip(found.chances));
                let chance = |none: f64| some(none, found.ln);
                stand
                    .chances
                    .extend(families_asked.iter().copied().zip(found.none.into_iter().map(chance)));
            }
        }
        for at in families {
            let due = self.without(&changes, stage, &[at]);
            let found = self.solved(weighed, &due, rows, (stage, Some(at)), &[])?;
            for (change, found) in due.into_iter().zip(found) {
                let stand = Arc::make_mut(self.stands.entry((change, stage)).or_default());
                let chance = some(found.ln, stand.ln);
                stand.chances.insert(at, chance);
            }
        }
        let stand = |change: &Change| self.stands.get(&(*change, stage)).cloned().unwrap_or_default();
        Ok(changes.iter().map(stand).collect())
    }

    /// Those changes under which it is not yet known at a stage where all of these conclusions stand.
    fn without(&self, changes: &[Change], stage: usize, of: &[usize]) -> Vec<Change> {
        let lacks = |change: &&Change| match self.stands.get(&(**change, stage)) {
            Some(stand) => of.iter().any(|at| !stand.chances.contains_key(at)),
            None => true,
        };
        changes.iter().filter(lacks).copied().collect()
    }

    /// What comes of each change. Where only readings change, every family that is asked about is followed as well.
    fn solved(
        &mut self,
        weighed: &Weighed<'_>,
        changes: &[Change],
        rows: MovedTo<'_>,
        under: Under,
        read: &[Var],
    ) -> Result<Vec<Found>, WeighError> {
        let mut out = Vec::with_capacity(changes.len());
        if changes.is_empty() {
            return Ok(out);
        }
        let mut solver = match self.solvers.remove(&under) {
            Some(solver) => solver,
            None => self.solver(weighed, under)?,
        };
        // Those asked about are watched where they can be.
        let families: Vec<usize> = match under.1 {
            None if changes.iter().any(|change| !change.moves_rows()) => self.families().collect(),
            _ => Vec::new(),
        };
        if !families.is_empty() && self.watched.get(&under.0) != Some(&families) {
            let absent = |at: &usize| self.vars.get(*at).into_iter().flatten().map(|var| (*var, 0)).collect();
            let absent: Vec<Vec<(Var, usize)>> = families.iter().map(absent).collect();
            solver = solver.watching(&absent);
            self.watched.insert(under.0, families.clone());
        }
        let families = !families.is_empty();
        // That no member of a family is there may be impossible.
        let impossible = || match under.1 {
            Some(_) => Ok(Found::impossible()),
            None => Err(tangled(SolveError::Impossible)),
        };
        let second = |p: Option<f64>| p.unwrap_or(0.0);
        for group in changes.chunk_by(|a, b| a.moves_rows() && b.moves_rows()) {
            let change = group.first().copied().unwrap_or_default();
            let evidence = self.evidence(weighed, change, under);
            if !change.moves_rows() {
                // The case itself was solved for this by now, and has a plan for it.
                if under.1.is_some() && !solver.fits(&evidence) {
                    solver = self.solver(weighed, under)?;
                }
                solver.reading(read);
                out.push(match solver.solve_again(&evidence) {
                    Err(SolveError::Impossible) => impossible()?,
                    ln => {
                        let chance = |var: &Var| second(solver.posterior(*var).and_then(|mut p| p.nth(1)));
                        Found {
                            ln: ln.map_err(tangled)?,
                            chances: read.iter().map(chance).collect(),
                            none: if families {
                                solver.ln_watched().unwrap_or_default()
                            } else {
                                Vec::new()
                            },
                        }
                    }
                });
                continue;
            }
            let sets: Vec<Rows> = group.iter().map(|change| change.rows(weighed, rows)).collect();
            match solver.solve_abreast(&evidence, &sets, read, &mut self.room) {
                Err(SolveError::Impossible) => {
                    out.extend(group.iter().map(|_| impossible()).collect::<Result<Vec<_>, _>>()?)
                }
                found => {
                    for one in found.map_err(tangled)? {
                        let chance = |p: &Option<Vec<f64>>| second(p.as_ref().and_then(|p| p.get(1).copied()));
                        match one.ln == f64::NEG_INFINITY {
                            true => out.push(impossible()?),
                            false => out.push(Found {
                                ln: one.ln,
                                chances: one.posteriors.iter().map(chance).collect(),
                                none: Vec::new(),
                            }),
                        }
                    }
                }
            }
        }
        self.solvers.insert(under, solver);
        Ok(out)
    }

    /// A solver for a stage, planned for all that is entered by then; for a family as well, which only adds to that.
    fn solver(&mut self, weighed: &Weighed<'_>, (stage, family): Under) -> Result<Solver, WeighError> {
        if family.is_some()
            && let Some(solver) = self.solvers.get(&(stage, None))
        {
            return Ok(solver.clone());
        }
        let singles = self.vars.iter().filter(|vars| vars.len() == 1).flatten();
        let kept: Vec<Var> = singles.copied().collect();
        let mut solver = Solver::new(&weighed.weighing.model.net, &Limits::default()).keeping(&kept);
        solver.reading(&[]);
        let all = self.evidence(weighed, Change::Nothing, (stage, None));
        solver.solve_again(&all).map_err(tangled)?;
        Ok(solver)
    }

    fn entered(&self, reading: usize, stage: usize) -> bool {
        let mut groups = self.stages.iter().take(stage + 1);
        groups.any(|(_, group)| group.contains(&reading))
    }
}
