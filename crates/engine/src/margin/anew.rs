//! What the margins of all conclusions of one case share: the case solved anew, once for each change.

use std::collections::BTreeMap;
use std::sync::Arc;

use wythe_infer::{Evidence, Finding, Limits, Row, SolveError, Solved, Solver, Uses, Var};
use wythe_pack::{Node, Pack};

use super::place::Placed;
use crate::kept::tangled;
use crate::network::{End, prior};
use crate::{Number, StepKind, Used, WeighError, Weighed};

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

/// The rows that a change moves, worked out where they are needed.
type Rows<'r> = &'r dyn Fn() -> Vec<(Row, Vec<f64>)>;

/// A stage, and the family, by its place among the conclusions, of which no member is there; none where any may be.
type Under = (usize, Option<usize>);

/// A case solved anew, and what came of it.
#[derive(Default)]
pub(crate) struct Anew {
    /// The pack, for numbers to be moved in and set back.
    pub(super) scratch: Option<Pack>,
    pub(super) placed: Option<Arc<Vec<Placed>>>,
    stages: Stages,
    /// Of each conclusion the variables that are at rest where it does not hold.
    vars: Vec<Vec<Var>>,
    /// The mechanisms that are read of each solution, by their place among the conclusions.
    read: Vec<usize>,
    /// What is entered stays, so that no more is worked out than a change asks for.
    solvers: BTreeMap<Under, Changed>,
    evidence: BTreeMap<Under, Arc<Evidence>>,
    stands: BTreeMap<(Change, usize), Arc<Stand>>,
    doings: BTreeMap<usize, Doings>,
}

/// A solver, whose numbers it has, and what puts them back.
#[derive(Clone)]
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
        if self.single(own).is_some() && !self.read.contains(&own) {
            self.read.push(own);
        }
    }

    fn start(&mut self, weighed: &Weighed<'_>) {
        let all = &weighed.weighing.about;
        self.vars = all.iter().map(|about| weighed.vars(*about)).collect();
        // The mechanisms that are likely to be asked about; any other is read from when it is.
        for one in &weighed.outcome().conclusions {
            let at = all.iter().position(|about| *about == one.about);
            let asks = one.action > wythe_pack::Action::Record || one.support >= wythe_pack::Support::Some;
            self.read.extend(at.filter(|at| asks && self.single(*at).is_some()));
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

    /// The one variable of a conclusion, if it is no family.
    fn single(&self, at: usize) -> Option<Var> {
        match self.vars.get(at)?.as_slice() {
            [one] => Some(*one),
            _ => None,
        }
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
    fn seen(&self, weighed: &Weighed<'_>, change: Change, stage: usize) -> Evidence {
        let weighing = &weighed.weighing;
        let all = &weighing.bound.readings;
        let changed = |at: usize| {
            let mut list = all.clone();
            if let Some(slot) = list.get_mut(at) {
                match change {
                    Change::Moved(_, up) => *slot = super::shifted(slot, up),
                    _ => slot.used = Used::NotReached,
                }
            }
            list
        };
        let other = match change {
            Change::Without(at) | Change::Moved(at, _) => Some(changed(at)),
            _ => None,
        };
        let readings = other.as_ref().unwrap_or(all);
        let mut entered = vec![false; readings.len()];
        for (_, group) in self.stages.iter().take(stage + 1) {
            for at in group {
                if let Some(slot) = entered.get_mut(*at) {
                    *slot = true;
                }
            }
        }
        weighing.model.evidence(weighed.pack(), readings, |index| {
            entered.get(index).copied().unwrap_or(false)
        })
    }

    /// The same, with no member of a family there. What no change of the readings touches is kept.
    fn evidence(&mut self, weighed: &Weighed<'_>, change: Change, (stage, family): Under) -> Arc<Evidence> {
        let stays = !matches!(change, Change::Without(_) | Change::Moved(..));
        if let Some(found) = self.evidence.get(&(stage, family)).filter(|_| stays) {
            return found.clone();
        }
        let mut evidence = self.seen(weighed, change, stage);
        for var in family.and_then(|at| self.vars.get(at)).into_iter().flatten() {
            evidence.insert(*var, Finding::Likelihood(vec![1.0, 0.0]));
        }
        let evidence = Arc::new(evidence);
        if stays {
            self.evidence.insert((stage, family), evidence.clone());
        }
        evidence
    }

    /// Where some conclusions stand at a stage under a change; of a number, with these rows of the network.
    pub(super) fn stand(
        &mut self,
        weighed: &Weighed<'_>,
        change: Change,
        rows: Rows<'_>,
        stage: usize,
        of: &[usize],
    ) -> Result<Arc<Stand>, WeighError> {
        // Before a reading is entered, it is no matter what becomes of it.
        let change = match change {
            Change::Without(at) | Change::Moved(at, _) if !self.entered(at, stage) => Change::Nothing,
            change => change,
        };
        let found = self.stands.get(&(change, stage)).cloned();
        let known = |at: &usize| found.as_ref().is_some_and(|stand| stand.chances.contains_key(at));
        let of = of.iter().copied().filter(|at| *at < self.vars.len() && !known(at));
        let (singles, families): (Vec<usize>, Vec<usize>) = of.partition(|at| self.single(*at).is_some());
        if let Some(found) = found.as_ref().filter(|_| singles.is_empty() && families.is_empty()) {
            return Ok(found.clone());
        }
        let mut stand = found.as_deref().cloned().unwrap_or_default();
        if found.is_none() || !singles.is_empty() {
            let read = self.read.iter().chain(&singles);
            let read: Vec<(usize, Var)> = read.filter_map(|at| Some((*at, self.single(*at)?))).collect();
            let vars: Vec<Var> = read.iter().map(|(_, var)| *var).collect();
            let (ln, solver) = self.solved(weighed, change, rows, (stage, None), &vars)?;
            stand.ln = ln;
            for (at, var) in read {
                let chance = solver.posterior(var).and_then(|mut p| p.nth(1));
                stand.chances.insert(at, chance.unwrap_or(0.0));
            }
        }
        for at in families {
            let (none, _) = self.solved(weighed, change, rows, (stage, Some(at)), &[])?;
            // A family's chance is that not every member is absent.
            let chance = -libm::expm1((none - stand.ln).min(0.0));
            stand.chances.insert(at, chance);
        }
        let stand = Arc::new(stand);
        self.stands.insert((change, stage), stand.clone());
        Ok(stand)
    }

    /// ln P(evidence) under a change, and the solver, of which these can be read.
    fn solved(
        &mut self,
        weighed: &Weighed<'_>,
        change: Change,
        rows: Rows<'_>,
        under: Under,
        read: &[Var],
    ) -> Result<(f64, &Solver), WeighError> {
        let evidence = self.evidence(weighed, change, under);
        let mut changed = match self.solvers.remove(&under) {
            Some(changed) => changed,
            None => self.solver(weighed, under)?,
        };
        match change {
            Change::Low => changed.put(weighed, change, &|| prevalences(weighed, End::Low)),
            Change::High => changed.put(weighed, change, &|| prevalences(weighed, End::High)),
            Change::Number(..) => changed.put(weighed, change, rows),
            _ => changed.put(weighed, Change::Nothing, &Vec::new),
        }
        changed.solver.reading(read);
        let ln = match changed.solver.solve_again(&evidence) {
            // That no member is there may be impossible.
            Err(SolveError::Impossible) if under.1.is_some() => f64::NEG_INFINITY,
            ln => ln.map_err(tangled)?,
        };
        Ok((ln, &self.solvers.entry(under).or_insert(changed).solver))
    }

    /// A solver for a stage, planned for all that is entered by then; for a family as well, which only adds to that.
    fn solver(&mut self, weighed: &Weighed<'_>, (stage, family): Under) -> Result<Changed, WeighError> {
        if family.is_some()
            && let Some(changed) = self.solvers.get(&(stage, None))
        {
            return Ok(changed.clone());
        }
        let singles = self.vars.iter().filter(|vars| vars.len() == 1).flatten();
        let kept: Vec<Var> = singles.copied().collect();
        let mut solver = Solver::new(&weighed.weighing.model.net, &Limits::default()).keeping(&kept);
        solver.reading(&[]);
        let all = self.evidence(weighed, Change::Nothing, (stage, None));
        solver.solve_again(&all).map_err(tangled)?;
        Ok(Changed {
            solver,
            has: Change::Nothing,
            undo: Vec::new(),
        })
    }

    fn entered(&self, reading: usize, stage: usize) -> bool {
        let mut groups = self.stages.iter().take(stage + 1);
        groups.any(|(_, group)| group.contains(&reading))
    }
}

impl Changed {
    /// Back to the case's own numbers, then on to those of a change.
    fn put(&mut self, weighed: &Weighed<'_>, change: Change, rows: Rows<'_>) {
        if change == self.has {
            return;
        }
        let net = &weighed.weighing.model.net;
        let mut put = std::mem::take(&mut self.undo);
        let rows = rows();
        let back = |(row, _): &(Row, Vec<f64>)| Some((*row, net.row(*row)?.to_vec()));
        self.undo = rows.iter().filter_map(back).collect();
        put.extend(rows);
        self.solver.change(&put);
        self.has = change;
    }
}

/// Every prevalence at one end of its range, in the rows of the network.
fn prevalences(weighed: &Weighed<'_>, end: End) -> Vec<(Row, Vec<f64>)> {
    let weighing = &weighed.weighing;
    let own = weighing.model.own.iter();
    own.filter_map(|((node, _), var)| match node {
        Node::Mechanism(at) => {
            let p = prior(weighed.pack(), &weighing.bound, *at, end);
            Some((Row::Prior(*var), vec![1.0 - p, p]))
        }
        _ => None,
    })
    .collect()
}
