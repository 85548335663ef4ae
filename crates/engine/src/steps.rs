//! The chances of all conclusions after each group of readings, and from them a conclusion's steps.

use wythe_infer::Evidence;

use crate::weigh::{Chances, Weighing};
use crate::{Step, StepKind, WeighError, decibans};

/// All chances, from those that the pack has to those after the last group.
pub(crate) struct Stages {
    /// Before any context of this house is known.
    pub bases: Chances,
    /// After the contexts and before any reading.
    pub prior: Chances,
    /// After all.
    pub last: Chances,
    /// Each group, and the chances after it; the contexts first.
    groups: Vec<(StepKind, Vec<usize>, Chances)>,
}

/// All readings as evidence, the chances given them, and ln P of them.
pub(crate) struct All {
    pub evidence: Evidence,
    pub chances: Chances,
    pub ln: f64,
}

impl All {
    /// Solved first, so that its plan serves every part of it.
    pub fn of(weighing: &mut Weighing<'_>) -> Result<All, WeighError> {
        let evidence = weighing.evidence(|_| true);
        let (chances, ln) = weighing.chances(&evidence)?;
        Ok(All { evidence, chances, ln })
    }
}

/// Refuses a ledger that would be too large or take too long, before it is begun.
fn in_time(weighing: &Weighing<'_>, groups: usize) -> Result<(), WeighError> {
    let conclusions = weighing.about.len();
    let steps = groups.saturating_mul(conclusions);
    let sums = groups.saturating_mul(weighing.solver.entries());
    if crate::effort::bearable(steps, sums) {
        return Ok(());
    }
    Err(WeighError::TooLarge {
        groups,
        conclusions,
        sums,
    })
}

impl Stages {
    /// The chances after each group: the contexts, what was not there, then what was seen.
    pub fn of(weighing: &mut Weighing<'_>, all: All) -> Result<Stages, WeighError> {
        let (none, seen) = weighing.groups();
        in_time(weighing, seen.len())?;
        let none = (StepKind::NoneThere, none);
        let seen = seen.into_iter().map(|group| (StepKind::Seen, group));
        let left = std::iter::once(none).chain(seen).filter(|(_, group)| !group.is_empty());
        let mut left = left.peekable();
        let mut entered = Evidence::new();
        let prior = match left.peek() {
            Some(_) => weighing.prior()?,
            None => all.chances.clone(),
        };
        let mut groups = vec![(StepKind::Context, Vec::new(), prior.clone())];
        while let Some((kind, group)) = left.next() {
            weighing.enter(&mut entered, group.iter().copied());
            let chances = match left.peek() {
                Some(_) => weighing.chances(&entered)?.0,
                None => all.chances.clone(),
            };
            groups.push((kind, group, chances));
        }
        Ok(Stages {
            bases: weighing.bases(),
            prior,
            last: all.chances,
            groups,
        })
    }

    /// The steps of one conclusion.
    pub fn steps(&self, at: usize) -> Vec<Step> {
        let pick = |chances: &Chances| chances.get(at).copied().unwrap_or(0.0);
        let mut before = decibans(pick(&self.bases));
        let mut steps = Vec::with_capacity(self.groups.len());
        for (kind, readings, chances) in &self.groups {
            let after = pick(chances);
            let now = decibans(after);
            steps.push(Step {
                kind: *kind,
                readings: readings.clone(),
                weight: now - before,
                after,
            });
            before = now;
        }
        steps
    }
}
