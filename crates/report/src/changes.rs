//! What differs between two outcomes of one case, and which sightings did it.

use std::collections::BTreeSet;

use wythe_case::Case;
use wythe_engine::{About, Conclusion, Outcome};
use wythe_pack::{Action, Pack, Support};

use crate::build::{bearing, conclusions, sightings};
use crate::number::rounded;
use crate::page::{Changes, Moved, Standing};

/// Most sightings named for one conclusion.
const MOST: usize = 4;

pub(crate) fn changes(pack: &Pack, case: &Case, before: &Outcome, after: &Outcome) -> Changes {
    let known: BTreeSet<&str> = before
        .readings
        .iter()
        .map(|reading| reading.sighting.as_str())
        .collect();
    let new: Vec<usize> = (0..after.readings.len())
        .filter(|at| {
            after
                .readings
                .get(*at)
                .is_some_and(|reading| !known.contains(reading.sighting.as_str()))
        })
        .collect();
    let ids = |shows: bool| {
        new.iter()
            .filter_map(|at| after.readings.get(*at))
            .filter(|reading| reading.shows() == shows && reading.used != wythe_engine::Used::NotReached)
            .map(|reading| reading.sighting.clone())
            .collect()
    };
    let mut moved: Vec<((Action, f64), Moved)> = Vec::new();
    for now in &after.conclusions {
        if let Some(then) = before.conclusions.iter().find(|then| then.about == now.about)
            && matters(pack, then, now)
        {
            let shift = (log_odds(now.chance) - log_odds(then.chance)).abs();
            moved.push((
                (now.action.max(then.action), shift),
                one(pack, case, after, &new, then, now),
            ));
        }
    }
    // What asks or asked for most comes first; then what moved most.
    moved.sort_by(|((a, a_shift), _), ((b, b_shift), _)| b.cmp(a).then(b_shift.total_cmp(a_shift)));
    Changes {
        since: before.as_of.clone(),
        moved: moved.into_iter().map(|(_, moved)| moved).collect(),
        seen: ids(true),
        not_there: ids(false),
    }
}

/// Whether a change is worth telling: of action; or of support, where one of the two is more than slight. A family that
/// asks for nothing by itself speaks through its members.
fn matters(pack: &Pack, then: &Conclusion, now: &Conclusion) -> bool {
    let told = |support: Support| support >= Support::Some;
    let asks = !matches!(now.about, About::Family(family) if pack[family].consequence.is_none());
    then.action != now.action || (asks && then.support != now.support && (told(then.support) || told(now.support)))
}

fn log_odds(chance: f64) -> f64 {
    libm::log(chance.clamp(1e-12, 1.0 - 1e-12)) - libm::log1p(-chance.clamp(1e-12, 1.0 - 1e-12))
}

fn one(pack: &Pack, case: &Case, after: &Outcome, new: &[usize], then: &Conclusion, now: &Conclusion) -> Moved {
    let rose = now.chance > then.chance;
    // Groups that pull the way the conclusion went, the heaviest first; of each, the new sightings that bear on it.
    let mut steps: Vec<_> = now
        .steps
        .iter()
        .filter(|step| (step.weight > 0.0) == rose && !step.readings.is_empty())
        .collect();
    steps.sort_by(|a, b| b.weight.abs().total_cmp(&a.weight.abs()));
    let pulled: Vec<usize> = steps
        .into_iter()
        .flat_map(|step| step.readings.iter().copied())
        .filter(|at| new.contains(at))
        .collect();
    let bears = bearing::of(pack, case, after, now.about);
    let bearing = |at: &usize| {
        after
            .readings
            .get(*at)
            .is_some_and(|reading| bears.contains_key(&(reading.clue, reading.at)))
    };
    let mut by: Vec<usize> = pulled.iter().copied().filter(bearing).take(MOST).collect();
    let elsewhere = by.is_empty() && !pulled.is_empty();
    if elsewhere {
        // Signs of something else did it: they account for what spoke for this.
        by = pulled.into_iter().take(MOST).collect();
    }
    let readings: Vec<_> = by.iter().filter_map(|at| after.readings.get(*at)).collect();
    let standing = |one: &Conclusion| Standing {
        support: one.support.name(),
        chance: rounded(one.chance),
        words: conclusions::firm(pack, one),
        action: one.action.name(),
    };
    Moved {
        conclusion: conclusions::id(pack, case, now.about),
        title: match now.about {
            About::Mechanism { .. } => conclusions::title_and_place(pack, case, now.about),
            About::Family(_) => conclusions::title(pack, now.about).into(),
        },
        before: standing(then),
        after: standing(now),
        decibans: rounded((log_odds(now.chance) - log_odds(then.chance)) * 10.0 / std::f64::consts::LN_10),
        elsewhere,
        by: readings.iter().map(|reading| reading.sighting.clone()).collect(),
        by_words: sightings::by_clue(pack, case, &readings),
    }
}
