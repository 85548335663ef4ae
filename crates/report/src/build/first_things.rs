//! What comes first: where an engineer is asked for, nothing is repaired before the visit.

use std::collections::BTreeSet;

use wythe_case::{Case, HOUSE};
use wythe_engine::Outcome;
use wythe_pack::Action;

use crate::page::Matter;

/// What is said to a trade at a place where an engineer is asked for.
const NO_REPAIR: &str = "Do not have anything repaired, filled or covered there before the engineer has seen it.";

/// Whether an action by this name is an engineer's.
fn asks_engineer(action: &str) -> bool {
    [Action::Refer, Action::Promptly].iter().any(|one| one.name() == action)
}

/// Where a matter is about: its own places and those of what was seen of it, the house as a whole left out.
fn places(matter: &Matter, case: &Case, outcome: &Outcome) -> BTreeSet<String> {
    let of_signs = outcome
        .readings
        .iter()
        .filter(|reading| matter.seen.contains(&reading.sighting))
        .filter_map(|reading| case.places.get(reading.at))
        .map(|place| place.id.clone());
    let mut places: BTreeSet<String> = matter.places.iter().cloned().chain(of_signs).collect();
    places.remove(HOUSE);
    places
}

/// The first matter, counted from 1, that asks for an engineer and is about a place or rests on a sighting.
pub(crate) fn engineer_at(
    matters: &[Matter],
    case: &Case,
    outcome: &Outcome,
    place: &str,
    sighting: &str,
) -> Option<usize> {
    (1..)
        .zip(matters)
        .filter(|(_, matter)| asks_engineer(matter.action))
        .find(|(_, matter)| {
            matter.seen.iter().any(|id| id == sighting) || places(matter, case, outcome).contains(place)
        })
        .map(|(number, _)| number)
}

/// The matters, each that asks for upkeep or a trade where another asks for an engineer told to wait for that visit.
pub(crate) fn ordered(mut matters: Vec<Matter>, case: &Case, outcome: &Outcome) -> Vec<Matter> {
    let first: BTreeSet<String> = matters
        .iter()
        .filter(|matter| asks_engineer(matter.action))
        .flat_map(|matter| places(matter, case, outcome))
        .collect();
    for matter in &mut matters {
        let repairs = [Action::Upkeep, Action::Trade]
            .iter()
            .any(|one| one.name() == matter.action);
        let here = places(matter, case, outcome);
        if repairs && !first.is_disjoint(&here) {
            matter.todo.insert(0, waits());
        }
    }
    matters
}

/// `An engineer's visit is asked for at the same place. Wait for that visit. Do not …`
pub(crate) fn waits() -> String {
    format!("An engineer's visit is asked for at the same place. Wait for that visit. {NO_REPAIR}")
}
