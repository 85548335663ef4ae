//! A conclusion graded anew: only what its grade hangs on.

use std::collections::BTreeMap;
use std::sync::Arc;

use wythe_pack::{Action, MechanismIx, Node, Pack, Support};

use super::anew::{Anew, Stand};
use super::change::Change;
use super::{Graded, likeliest};
use crate::grade::{Coverage, act, cannot_tell, corroborated, coverage, support};
use crate::kept::row;
use crate::paths::{chances, reached};
use crate::{About, Reading, Step, StepKind, WeighError, Weighed, decibans};

/// A mechanism at a place.
pub(super) type Member = (MechanismIx, usize);

/// Grades one conclusion of a kept case anew.
pub(super) struct Ledger<'w, 'a> {
    pub weighed: &'w Weighed<'a>,
    pub about: About,
    pub anew: Anew,
    /// Where the conclusion stands among all, and where its members do.
    own: usize,
    members: Vec<usize>,
    sites: Vec<Member>,
    covered: BTreeMap<Member, Coverage>,
}

/// Whose chances are asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum What {
    /// The conclusion's.
    Own,
    /// Those of its members.
    Members,
}

/// What a grade is made of, each part asked for only where the grade hangs on it.
pub(super) trait Parts {
    /// The conclusion's chance at a stage.
    fn chance(&mut self, ledger: &mut Ledger<'_, '_>, stage: usize) -> Result<f64, WeighError>;
    /// The chance of each member with all evidence.
    fn members(&mut self, ledger: &mut Ledger<'_, '_>) -> Result<Vec<f64>, WeighError>;
    /// What a mechanism's clues would tell, and how much of it was looked at.
    fn coverage(&mut self, ledger: &mut Ledger<'_, '_>, from: Member) -> Coverage;
    /// Whether a reading counts.
    fn keeps(&self, reading: usize) -> bool;
}

impl<'w, 'a> Ledger<'w, 'a> {
    pub fn of(weighed: &'w Weighed<'a>, anew: Anew, about: About) -> Self {
        let all = &weighed.weighing.about;
        let place = |about: About| all.iter().position(|other| *other == about);
        let own = place(about).unwrap_or(usize::MAX);
        let sites = weighed.sites(about);
        let members = sites.iter().filter_map(|(mechanism, at)| {
            place(About::Mechanism {
                mechanism: *mechanism,
                at: *at,
            })
        });
        Ledger {
            weighed,
            about,
            own,
            members: members.collect(),
            sites,
            anew,
            covered: BTreeMap::new(),
        }
    }

    /// Where the conclusion stands.
    pub fn own(&self, stand: &Stand) -> f64 {
        stand.chances.get(&self.own).copied().unwrap_or(0.0)
    }

    /// Where a conclusion stands, or each of its members: by their places among all.
    pub fn places(&self, what: What) -> &[usize] {
        match what {
            What::Own => std::slice::from_ref(&self.own),
            What::Members => &self.members,
        }
    }

    /// Where each member stands.
    pub fn all_members(&self, stand: &Stand) -> Vec<f64> {
        let at = |at: &usize| stand.chances.get(at).copied().unwrap_or(0.0);
        self.members.iter().map(at).collect()
    }

    /// The members.
    pub fn sites(&self) -> &[Member] {
        &self.sites
    }

    /// The grade under a change of the readings, or with every prevalence at one end.
    pub fn grade_under(&mut self, change: Change) -> Result<Graded, WeighError> {
        self.grade(&mut Under(change))
    }

    /// The grade of the conclusion from its parts.
    pub fn grade(&mut self, parts: &mut dyn Parts) -> Result<Graded, WeighError> {
        let end = self.anew.last();
        let (prior, chance) = (parts.chance(self, 0)?, parts.chance(self, end)?);
        let (pack, about) = (self.weighed.pack(), self.about);
        let bounds = &pack.policy.bounds;
        let mut given = support(bounds, prior, chance);
        let mut covered = None;
        if given == Support::NotMoved {
            let found = self.covered(parts)?;
            if cannot_tell(bounds, chance, &found) {
                given = Support::CannotTell;
            }
            covered = Some(found);
        }
        let table = |support| row(pack, about, support);
        let mut corroboration = crate::Corroborated::default();
        if hangs_on_steps(pack, about, given, chance) {
            let stages = self.anew.stages().clone();
            let mut steps = Vec::new();
            let mut before = prior;
            for (stage, (kind, group)) in stages.into_iter().enumerate().skip(1) {
                let after = parts.chance(self, stage)?;
                if kind == StepKind::Seen {
                    steps.push(Step {
                        kind,
                        readings: group.into_iter().filter(|at| parts.keeps(*at)).collect(),
                        weight: decibans(after) - decibans(before),
                        after,
                    });
                    corroboration = corroborated(pack, &self.weighed.outcome().readings, &steps);
                }
                if corroboration.enough {
                    break;
                }
                before = after;
            }
            if !corroboration.enough && covered.is_none() {
                covered = Some(self.covered(parts)?);
            }
        }
        let covered = covered.unwrap_or_default();
        Ok(Graded {
            support: given,
            action: act(pack, &table, given, chance, &corroboration, &covered).action,
            chance,
        })
    }

    fn covered(&mut self, parts: &mut dyn Parts) -> Result<Coverage, WeighError> {
        let member = match self.sites.as_slice() {
            [one] => Some(*one),
            _ => {
                let chances = parts.members(self)?;
                likeliest(&self.sites, |index| chances.get(index).copied().unwrap_or(0.0))
            }
        };
        Ok(member.map_or_else(Coverage::default, |member| parts.coverage(self, member)))
    }

    /// A member's coverage as things are.
    pub fn coverage(&mut self, member: Member) -> Coverage {
        if let Some(found) = self.covered.get(&member) {
            return found.clone();
        }
        let weighed = self.weighed;
        let found = self.coverage_of(member, &weighed.weighing.bound.readings);
        self.covered.insert(member, found.clone());
        found
    }

    /// A member's coverage had these been the readings.
    fn coverage_of(&mut self, member: Member, readings: &[Reading]) -> Coverage {
        let weighed = self.weighed;
        coverage(weighed.pack(), readings, chances(&weighed.reach(member)))
    }

    /// A member's coverage by another pack.
    pub fn coverage_by(weighed: &Weighed<'_>, pack: &Pack, member: Member) -> Coverage {
        let (case, bound) = (weighed.case(), &weighed.weighing.bound);
        let found = reached(pack, case, bound, (Node::Mechanism(member.0), member.1));
        coverage(pack, &bound.readings, chances(&found))
    }
}

/// A change of the readings, or of all prevalences.
struct Under(Change);

impl Under {
    fn stand(&self, ledger: &mut Ledger<'_, '_>, stage: usize, what: What) -> Result<Arc<Stand>, WeighError> {
        let (weighed, of) = (ledger.weighed, ledger.places(what).to_vec());
        let found = ledger.anew.stands(weighed, &[self.0], &|_| Vec::new(), stage, &of)?;
        Ok(found.into_iter().next().unwrap_or_default())
    }
}

impl Parts for Under {
    fn chance(&mut self, ledger: &mut Ledger<'_, '_>, stage: usize) -> Result<f64, WeighError> {
        let stand = self.stand(ledger, stage, What::Own)?;
        Ok(ledger.own(&stand))
    }

    fn members(&mut self, ledger: &mut Ledger<'_, '_>) -> Result<Vec<f64>, WeighError> {
        let stand = self.stand(ledger, ledger.anew.last(), What::Members)?;
        Ok(ledger.all_members(&stand))
    }

    fn coverage(&mut self, ledger: &mut Ledger<'_, '_>, from: Member) -> Coverage {
        let weighed = ledger.weighed;
        match self.0 {
            Change::Without(at) => {
                let mut looked = weighed.weighing.bound.readings.clone();
                looked.remove(at);
                ledger.coverage_of(from, &looked)
            }
            Change::Moved(at, up) => {
                let mut looked = weighed.weighing.bound.readings.clone();
                if let Some(slot) = looked.get_mut(at) {
                    *slot = super::shifted(slot, up);
                }
                ledger.coverage_of(from, &looked)
            }
            _ => ledger.coverage(from),
        }
    }

    fn keeps(&self, reading: usize) -> bool {
        !matches!(self.0, Change::Without(at) if at == reading)
    }
}

/// Whether what speaks for a conclusion, step by step, has a say in its action: a referral is in question that is neither
/// of strong support nor a prompt one.
pub(super) fn hangs_on_steps(pack: &Pack, about: About, given: Support, chance: f64) -> bool {
    let table = |support| row(pack, about, support);
    let refers = table(given) >= Action::Refer
        || (table(Support::Fair) >= Action::Refer
            && given >= Support::Slight
            && chance >= pack.policy.referral.bound());
    refers && given < Support::Strong && table(given) < Action::Promptly
}
