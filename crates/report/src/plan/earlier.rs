//! Sightings that a later one replaced: in a drawing that is stepped through, each stands in the place of the one that
//! came after it, until that one is made.

use std::collections::BTreeMap;

use wythe_case::{Case, Sighting};
use wythe_engine::Walk;
use wythe_pack::Pack;

use super::marks::{Mark, of_sighting};
use crate::build::sightings;

/// Puts a mark for each sighting of the walk that was replaced under the mark of the one that stands at the end.
pub(super) fn put(pack: &Pack, case: &Case, walk: &Walk, marks: &mut BTreeMap<usize, Vec<Mark>>) {
    let all: Vec<&Sighting> = case.passes.iter().flat_map(|pass| &pass.sightings).collect();
    let same = |a: &Sighting, b: &Sighting| (&a.clue, a.at) == (&b.clue, b.at);
    for (at, (one, step)) in all.iter().zip(&walk.steps).enumerate() {
        let turn = at.saturating_add(1);
        let mut after = all.iter().skip(turn).filter(|other| same(one, other));
        let Some(next) = after.next() else { continue };
        let last = after.next_back().unwrap_or(next);
        let Some(reading) = step.outcome.readings.iter().find(|reading| reading.sighting == one.id) else {
            continue;
        };
        let stands = marks
            .get_mut(&one.at)
            .and_then(|there| there.iter_mut().find(|mark| mark.sighting.as_ref() == Some(&last.id)));
        if let Some(stands) = stands {
            let then = case.first(turn);
            for sighting in sightings::sightings(pack, &then, std::slice::from_ref(reading)) {
                let mut mark = of_sighting(pack, &then, &sighting, Some((turn, one)), turn);
                mark.until = Some(next.id.clone());
                stands.earlier.push(mark);
            }
        }
    }
}
