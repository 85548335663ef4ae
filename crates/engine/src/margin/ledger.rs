//! A case graded anew under other numbers or readings: only what one conclusion's grade hangs on.

use wythe_infer::{Evidence, Limits, Solver, Var};
use wythe_pack::{Action, Support};

use super::{Graded, likeliest};
use crate::grade::{Coverage, act, cannot_tell, corroborated, coverage, support};
use crate::kept::{quiet, row, tangled};
use crate::network::{End, Model};
use crate::paths::reached;
use crate::{About, Reading, Step, StepKind, WeighError, Weighed, decibans};

/// Where a conclusion stands after some of the evidence: its chance, and each member's.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Stand {
    pub chance: f64,
    pub members: Vec<f64>,
}

/// Grades conclusions of a kept case anew.
pub(super) struct Ledger<'w, 'a> {
    pub weighed: &'w Weighed<'a>,
    solver: Solver,
    none: Vec<usize>,
    groups: Vec<Vec<usize>>,
}

impl<'w, 'a> Ledger<'w, 'a> {
    pub fn of(weighed: &'w Weighed<'a>) -> Self {
        let (none, groups) = weighed.weighing.groups();
        Ledger {
            weighed,
            solver: Solver::new(&weighed.weighing.model.net, &Limits::default()),
            none,
            groups,
        }
    }

    /// The stages of the ledger: before any sighting, then after each group; the last has all.
    pub fn stages(&self) -> Vec<(StepKind, Vec<usize>)> {
        let none = (!self.none.is_empty()).then(|| (StepKind::NoneThere, self.none.clone()));
        let seen = self.groups.iter().map(|group| (StepKind::Seen, group.clone()));
        std::iter::once((StepKind::Context, Vec::new()))
            .chain(none)
            .chain(seen)
            .collect()
    }

    /// Where a conclusion stands after the first stages under some numbers, and ln P(evidence so far).
    pub fn stand(
        &mut self,
        model: &Model,
        readings: &[Reading],
        stages: usize,
        about: About,
    ) -> Result<(Stand, f64), WeighError> {
        let entered: Vec<usize> = self
            .stages()
            .into_iter()
            .take(stages)
            .flat_map(|(_, group)| group)
            .collect();
        let pack = self.weighed.pack();
        let mut evidence: Evidence = model.evidence(pack, readings, |index| entered.contains(&index));
        quiet(model, &mut evidence);
        self.solver.renumber(&model.net);
        let ln = self.solver.solve(&evidence).map_err(tangled)?;
        let vars = crate::kept::vars(&self.weighed.weighing, model, about);
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

    /// A conclusion's grade with other readings, each at the index that it has in the outcome, or left out; and with every
    /// prevalence at one end.
    pub fn grade(&mut self, readings: &[Reading], end: End, about: About) -> Result<Graded, WeighError> {
        let weighed = self.weighed;
        let weighing = &weighed.weighing;
        let model = match end {
            End::Best => weighing.model.clone(),
            end => Model::of(weighing.pack, &weighing.bound, &weighing.grounded, end)?,
        };
        // A reading that was taken away is found by what is missing.
        let all = &weighing.bound.readings;
        let kept: Vec<Option<usize>> = all
            .iter()
            .map(|one| {
                readings
                    .iter()
                    .position(|other| (other.clue, other.at, &other.sighting) == (one.clue, one.at, &one.sighting))
            })
            .collect();
        let mut full = all.clone();
        for (slot, at) in full.iter_mut().zip(&kept) {
            match at.and_then(|at| readings.get(at)) {
                Some(other) => *slot = other.clone(),
                None => slot.used = crate::Used::NotReached,
            }
        }
        let count = self.stages().len();
        let last = self.stand(&model, &full, count, about)?.0;
        let prior = self.stand(&model, &full, 1, about)?.0;
        let pack = self.weighed.pack();
        let sites = self.weighed.sites(about);
        let from = likeliest(&sites, |index| last.members.get(index).copied().unwrap_or(0.0));
        let covered = from.map(|(mechanism, at)| {
            let site = (wythe_pack::Node::Mechanism(mechanism), at);
            coverage(
                pack,
                readings,
                &reached(pack, self.weighed.case(), &weighing.bound, site),
            )
        });
        let covered = covered.unwrap_or_default();
        let stages = self.stages();
        let mut steps = || -> Result<Vec<Step>, WeighError> {
            let mut before = prior.chance;
            let mut steps = Vec::with_capacity(count);
            for (stage, (kind, group)) in stages.iter().enumerate() {
                let after = if stage + 1 == count {
                    last.chance
                } else {
                    self.stand(&model, &full, stage + 1, about)?.0.chance
                };
                steps.push(Step {
                    kind: *kind,
                    readings: group
                        .iter()
                        .copied()
                        .filter(|at| kept.get(*at).is_some_and(Option::is_some))
                        .collect(),
                    weight: decibans(after) - decibans(before),
                    after,
                });
                before = after;
            }
            Ok(steps)
        };
        graded(weighed, about, (prior.chance, last.chance), &mut steps, &mut || {
            covered.clone()
        })
    }
}

/// Whether corroboration has a say: the table, or the cost ratio, asks for a referral.
pub(super) fn refers(row: &dyn Fn(Support) -> Action, given: Support, chance: f64, bound: f64) -> bool {
    row(given) >= Action::Refer || (row(Support::Fair) >= Action::Refer && given >= Support::Slight && chance >= bound)
}

/// The grade of a conclusion from what it hangs on.
pub(super) fn graded(
    weighed: &Weighed<'_>,
    about: About,
    (prior, chance): (f64, f64),
    steps: &mut dyn FnMut() -> Result<Vec<Step>, WeighError>,
    covered: &mut dyn FnMut() -> Coverage,
) -> Result<Graded, WeighError> {
    let pack = weighed.pack();
    let bounds = &pack.policy.bounds;
    let mut given = support(bounds, prior, chance);
    if given == Support::NotMoved && cannot_tell(bounds, chance, &covered()) {
        given = Support::CannotTell;
    }
    let table = |support| row(pack, about, support);
    let (corroboration, covered) = if refers(&table, given, chance, pack.policy.referral.bound()) {
        let corroboration = corroborated(pack, &weighed.outcome().readings, &steps()?);
        let covered = if corroboration.enough {
            Coverage::default()
        } else {
            covered()
        };
        (corroboration, covered)
    } else {
        Default::default()
    };
    let action = act(pack, &table, given, chance, &corroboration, &covered).action;
    Ok(Graded {
        support: given,
        action,
        chance,
    })
}
