//! From chances to support and action.

use wythe_pack::{Action, Bounds, ClueIx, Pack, Support, Zone};

use crate::{Corroborated, Decided, Reading, Step, StepKind, Used};

/// The odds of a chance.
fn odds(chance: f64) -> f64 {
    chance / (1.0 - chance)
}

/// The support of a conclusion, before asking whether it can be told at all.
pub(crate) fn support(bounds: &Bounds, prior: f64, chance: f64) -> Support {
    let factor = odds(chance) / odds(prior);
    let little = chance < bounds.spoken_against || (chance < bounds.weakly && chance < bounds.share_of_prior * prior);
    if factor <= bounds.halved && little {
        Support::SpokenAgainst
    } else if factor < bounds.not_moved && factor > 1.0 / bounds.not_moved {
        Support::NotMoved
    } else if chance < bounds.some {
        Support::Slight
    } else if chance < bounds.fair {
        Support::Some
    } else if chance <= bounds.strong {
        Support::Fair
    } else {
        Support::Strong
    }
}

/// What a conclusion's clues would tell, and how much of it was looked at.
#[derive(Clone, Debug, Default)]
pub(crate) struct Coverage {
    /// Share looked at, by expected weight, 0–1.
    pub share: f64,
    /// Clues not looked at and not known to be out of reach, most telling first: clue, place, weight.
    pub unlooked: Vec<(ClueIx, usize, f64)>,
    /// Largest factor on the odds that seeing one of them could have.
    pub factor: f64,
}

/// The coverage of a mechanism at a place that reaches these clues at places, each with a chance.
pub(crate) fn coverage(
    pack: &Pack,
    readings: &[Reading],
    reached: impl IntoIterator<Item = ((ClueIx, usize), f64)>,
) -> Coverage {
    let mut out = Coverage {
        factor: 1.0,
        ..Coverage::default()
    };
    let (mut looked, mut all) = (0.0, 0.0);
    for ((clue, at), chance) in reached {
        if pack[clue].pattern.is_some() {
            continue;
        }
        let weight = crate::paths::telling(pack, clue, chance);
        all += weight;
        let reading = readings.iter().find(|reading| (reading.clue, reading.at) == (clue, at));
        match reading.map(|reading| &reading.used) {
            Some(Used::Weighed | Used::SetAside { .. }) => looked += weight,
            Some(Used::NotReached) => {}
            Some(Used::Hidden { .. }) => {}
            None => {
                let without = pack[clue].background.value;
                out.factor = out.factor.max((1.0 - (1.0 - without) * (1.0 - chance)) / without);
                out.unlooked.push((clue, at, weight));
            }
        }
    }
    out.unlooked
        .sort_by(|a, b| b.2.total_cmp(&a.2).then((a.0, a.1).cmp(&(b.0, b.1))));
    out.share = if all > 0.0 { looked / all } else { 1.0 };
    out
}

/// Cannot tell: nothing moved it, too little was looked at, and one look could carry it over a bound.
pub(crate) fn cannot_tell(bounds: &Bounds, chance: f64, coverage: &Coverage) -> bool {
    let could = odds(chance) * coverage.factor;
    coverage.share < bounds.cannot_tell && chance < bounds.some && could / (1.0 + could) >= bounds.some
}

/// The independent groups that speak for a conclusion.
pub(crate) fn corroborated(pack: &Pack, readings: &[Reading], steps: &[Step]) -> Corroborated {
    let need = pack.policy.referral.corroborate;
    let mut out = Corroborated::default();
    for step in steps
        .iter()
        .filter(|step| step.kind == StepKind::Seen && step.weight >= need.at_least)
    {
        out.groups += 1;
        let zones = step
            .readings
            .iter()
            .filter_map(|at| readings.get(*at))
            .map(|reading| pack[reading.clue].zone);
        out.zones.extend(zones);
    }
    out.zones.sort();
    out.zones.dedup();
    out.enough = out.groups >= need.groups && out.zones.len() >= need.zones;
    out
}

/// What to do about a conclusion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Act {
    pub action: Action,
    pub decided: Decided,
    /// The look that a referral still wants.
    pub wants_look: Option<(ClueIx, usize)>,
}

/// The action of a conclusion, and what decided it. A referral that still wants a look waits for it, unless support is
/// strong or people are to be kept clear: then it is made, and the look asked for beside it.
pub(crate) fn act(
    pack: &Pack,
    row: &dyn Fn(Support) -> Action,
    support: Support,
    chance: f64,
    corroborated: &Corroborated,
    coverage: &Coverage,
) -> Act {
    let mut out = Act {
        action: row(support),
        decided: Decided::Support,
        wants_look: None,
    };
    // The bound is for what the table itself refers once it is likelier than not.
    let of_concern = row(Support::Fair) >= Action::Refer;
    let over = support >= Support::Slight && chance >= pack.policy.referral.bound();
    if of_concern && over && out.action < Action::Refer {
        (out.action, out.decided) = (Action::Refer, Decided::CostRatio);
    }
    if out.action < Action::Refer || corroborated.enough {
        return out;
    }
    out.wants_look = look(pack, corroborated, coverage);
    if out.wants_look.is_none() {
        out.decided = Decided::NoLookLeft;
    } else if support < Support::Strong && out.action < Action::Promptly {
        (out.action, out.decided) = (Action::Monitor, Decided::WantsLook);
    }
    out
}

/// The look that would supply what corroboration still lacks: another zone first, then anything.
fn look(pack: &Pack, corroborated: &Corroborated, coverage: &Coverage) -> Option<(ClueIx, usize)> {
    let zones_lack = corroborated.zones.len() < pack.policy.referral.corroborate.zones;
    let new = |zone: Zone| !corroborated.zones.contains(&zone);
    coverage
        .unlooked
        .iter()
        .find(|(clue, _, weight)| {
            *weight >= pack.policy.referral.corroborate.at_least && (!zones_lack || new(pack[*clue].zone))
        })
        .map(|(clue, at, _)| (*clue, *at))
}

#[cfg(test)]
mod tests;
