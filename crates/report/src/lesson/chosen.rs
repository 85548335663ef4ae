//! Which conclusions the end of a lesson tells of.

use std::collections::BTreeMap;

use wythe_case::Case;
use wythe_engine::{About, Conclusion, Outcome, StepKind};
use wythe_pack::{Pack, Support};

use super::end::MOST;
use crate::build::{self, conclusions};
use crate::page::Matter;

/// Decibans from which something seen raised a cause so that it is told.
const RAISED: f64 = 3.0;

/// Most causes told of where nothing is to be acted on.
const MOST_RECORDED: usize = 3;

/// The conclusions that a lesson's end tells of: the leading one of each matter to act on, and of a group the cause in it that
/// stands out most; where there is none, those that
/// what was seen speaks for most. What is asked of them, for [`Weighings::asked`](super::Weighings::asked).
pub fn told(pack: &Pack, case: &Case, outcome: &Outcome) -> Vec<About> {
    let all = build::matters_in_order(pack, case, outcome);
    let by_id = by_id(pack, case, outcome);
    let leads: Vec<About> = all
        .iter()
        .filter_map(|matter| by_id.get(matter.conclusions.first()?))
        .copied()
        .collect();
    if leads.is_empty() {
        return recorded(outcome).iter().map(|one| one.about).collect();
    }
    // Of a group also the cause in it that stands out most.
    let member = |matter: &Matter| match by_id.get(matter.conclusions.first()?)? {
        About::Family(_) => by_id.get(matter.conclusions.get(1)?).copied(),
        About::Mechanism { .. } => None,
    };
    let members = all.iter().filter_map(member);
    leads.into_iter().chain(members).collect()
}

/// The conclusions whose steps a lesson's end tells of, and what counted in them: those of its matters, of the record, and
/// the groups.
pub fn reckoned_of(pack: &Pack, case: &Case, outcome: &Outcome) -> Vec<About> {
    let by_id = by_id(pack, case, outcome);
    let of = |matter: &Matter| -> Vec<About> {
        let own = matter.conclusions.iter().filter_map(|id| by_id.get(id));
        own.copied().take(MOST.saturating_add(2)).collect()
    };
    let matters = build::matters_in_order(pack, case, outcome);
    let mut all: Vec<About> = matters.iter().flat_map(of).collect();
    all.extend(recorded(outcome).iter().map(|one| one.about));
    let groups = outcome.conclusions.iter().map(|one| one.about);
    all.extend(groups.filter(|about| matches!(about, About::Family(_))));
    all.sort();
    all.dedup();
    all
}

pub(super) fn by_id(pack: &Pack, case: &Case, outcome: &Outcome) -> BTreeMap<String, About> {
    outcome
        .conclusions
        .iter()
        .map(|one| (conclusions::id(pack, case, one.about), one.about))
        .collect()
}

/// The causes that what was seen speaks for most, which ask for no more than to be kept on record.
pub(super) fn recorded(outcome: &Outcome) -> Vec<&Conclusion> {
    let mut all: Vec<&Conclusion> = outcome.conclusions.iter().collect();
    // Supported, or raised by something seen though the rest took it back.
    let raised = |one: &Conclusion| {
        let mut steps = one.steps.iter();
        steps.any(|step| step.kind == StepKind::Seen && step.weight >= RAISED)
    };
    all.retain(|one| matches!(one.about, About::Mechanism { .. }));
    all.retain(|one| (one.support >= Support::Some && one.weight > 0.0) || raised(one));
    all.sort_by(|a, b| b.chance.total_cmp(&a.chance));
    all.truncate(MOST_RECORDED);
    all
}
