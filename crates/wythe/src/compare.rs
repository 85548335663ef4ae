//! Two visits, two passes, or two inspectors on one house: from the one outcome to the other, a difference at a time.

use wythe_case::{Case, Pass, Place, Sighting};
use wythe_engine::{Outcome, weigh, with_computed};
use wythe_pack::Pack;
use wythe_report::{Comparison, Difference, Leg};

use crate::Error;

/// Compares two cases of one house, whose places go by the same ids.
///
/// The way from the one outcome to the other takes each difference in turn, in a fixed order: facts of the house, then
/// sign by sign as the first has them, then those of the second alone. The legs add up exactly; what a difference did
/// depends on what stood before it, as with any evidence.
///
/// # Errors
/// As [`weigh`].
pub fn compare(pack: &Pack, names: [String; 2], first: &Case, second: &Case) -> Result<Comparison, Error> {
    let outcomes = [weigh(pack, first)?, weigh(pack, second)?];
    let mut legs: Vec<Leg> = Vec::new();
    let mut on_the_way = flat(pack, first, "first");
    take_places(&mut on_the_way, second);
    leg(&mut legs, Difference::Places, weigh(pack, &on_the_way)?);
    if facts(first) != facts(second) || first.how_many != second.how_many {
        on_the_way.contexts = second.contexts.clone();
        on_the_way.how_many = second.how_many.clone();
        leg(&mut legs, Difference::Facts, weigh(pack, &on_the_way)?);
    }
    let theirs = flat(pack, second, "second");
    for (clue, place) in signs(&on_the_way, &theirs) {
        let of = |case: &Case| sighting(case, &clue, &place).cloned();
        let (here, there) = (of(&on_the_way), of(&theirs));
        if same(here.as_ref(), there.as_ref()) {
            continue;
        }
        put(&mut on_the_way, &clue, &place, there);
        leg(&mut legs, Difference::Sign { clue, place }, weigh(pack, &on_the_way)?);
    }
    leg(&mut legs, Difference::Rest, outcomes[1].clone());
    Ok(Comparison {
        names,
        cases: [first.clone(), second.clone()],
        outcomes,
        legs,
    })
}

fn leg(legs: &mut Vec<Leg>, what: Difference, outcome: Outcome) {
    legs.push(Leg { what, outcome });
}

/// Facts without their notes and their places in the file.
fn facts(case: &Case) -> Vec<(&str, bool)> {
    let mut facts: Vec<(&str, bool)> = case
        .contexts
        .iter()
        .map(|fact| (fact.id.as_str(), fact.holds))
        .collect();
    facts.sort_unstable();
    facts
}

/// The case with one pass, of what stands, computed sightings too; repairs have had their say.
fn flat(pack: &Pack, case: &Case, name: &str) -> Case {
    let case = &*with_computed(pack, case);
    let mut flat = case.clone();
    let sightings: Vec<Sighting> = case
        .standing()
        .iter()
        .map(|one| Sighting {
            id: format!("{name}:{}", one.sighting.id),
            corrects: None,
            marks: one
                .marks
                .iter()
                .map(|(mark, kinds)| ((*mark).to_owned(), kinds.to_vec()))
                .collect(),
            ..one.sighting.clone()
        })
        .collect();
    flat.repairs.clear();
    flat.passes = case
        .passes
        .last()
        .map(|pass| Pass {
            sightings,
            ..pass.clone()
        })
        .into_iter()
        .collect();
    flat
}

/// Adds the places that only the other case has.
fn take_places(case: &mut Case, other: &Case) {
    let known = case.places.len();
    for place in &other.places {
        if case.place(&place.id).is_none() {
            case.places.push(Place {
                within: None,
                touches: Vec::new(),
                ..place.clone()
            });
        }
    }
    let mut joins: Vec<(usize, Option<usize>, Vec<usize>)> = Vec::new();
    for at in known..case.places.len() {
        let theirs = case.places.get(at).and_then(|place| other.place(&place.id));
        let Some(theirs) = theirs.and_then(|at| other.places.get(at)) else {
            continue;
        };
        let here = |at: &usize| other.places.get(*at).and_then(|place| case.place(&place.id));
        let within = theirs.within.as_ref().and_then(here).or(Some(0));
        joins.push((at, within, theirs.touches.iter().filter_map(here).collect()));
    }
    for (at, within, touches) in joins {
        for other in &touches {
            if let Some(place) = case.places.get_mut(*other)
                && let Err(gap) = place.touches.binary_search(&at)
            {
                place.touches.insert(gap, at);
            }
        }
        if let Some(place) = case.places.get_mut(at) {
            place.within = within;
            place.touches = touches;
            place.touches.sort_unstable();
        }
    }
}

/// Every clue at every place that either case has a sighting of.
fn signs(first: &Case, second: &Case) -> Vec<(String, String)> {
    let mut signs: Vec<(String, String)> = Vec::new();
    let mut known = std::collections::BTreeSet::new();
    for case in [first, second] {
        for one in case.passes.iter().flat_map(|pass| &pass.sightings) {
            let place = case
                .places
                .get(one.at)
                .map(|place| place.id.clone())
                .unwrap_or_default();
            let sign = (one.clue.clone(), place);
            if known.insert(sign.clone()) {
                signs.push(sign);
            }
        }
    }
    signs
}

fn sighting<'c>(case: &'c Case, clue: &str, place: &str) -> Option<&'c Sighting> {
    let at = case.place(place)?;
    let mut all = case.passes.iter().flat_map(|pass| &pass.sightings);
    all.find(|one| one.clue == clue && one.at == at)
}

/// Whether two sightings say the same: what was found, its marks, how sure.
fn same(one: Option<&Sighting>, other: Option<&Sighting>) -> bool {
    match (one, other) {
        (None, None) => true,
        (Some(one), Some(other)) => one.seen == other.seen && one.marks == other.marks && one.sure == other.sure,
        _ => false,
    }
}

/// Puts the other case's sighting in the stead of this one's.
fn put(case: &mut Case, clue: &str, place: &str, theirs: Option<Sighting>) {
    let Some(at) = case.place(place) else { return };
    if case.passes.is_empty() {
        case.passes.push(Pass {
            id: "compared".into(),
            title: None,
            date: None,
            by: None,
            sightings: Vec::new(),
            locus: wythe_text::Locus::default(),
        });
    }
    let Some(pass) = case.passes.last_mut() else { return };
    let slot = pass.sightings.iter().position(|one| one.clue == clue && one.at == at);
    match (slot, theirs) {
        (Some(slot), Some(theirs)) => {
            if let Some(one) = pass.sightings.get_mut(slot) {
                *one = Sighting { at, ..theirs };
            }
        }
        (Some(slot), None) => {
            pass.sightings.remove(slot);
        }
        (None, Some(theirs)) => pass.sightings.push(Sighting { at, ..theirs }),
        (None, None) => {}
    }
}

#[cfg(test)]
#[allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic,
    reason = "test code: a broken fixture should stop the test"
)]
mod tests {
    use super::*;
    use wythe_report::{Form, compared};

    fn example(name: &str) -> Case {
        let path = format!("{}/../../examples/cases/{name}.yaml", env!("CARGO_MANIFEST_DIR"));
        crate::read_case(path).unwrap()
    }

    fn between(first: &Case, second: &Case) -> Comparison {
        compare(crate::built_in_pack(), ["one".into(), "other".into()], first, second).unwrap()
    }

    fn chances(outcome: &Outcome) -> Vec<f64> {
        outcome.conclusions.iter().map(|one| one.chance).collect()
    }

    #[test]
    fn a_case_against_itself_differs_in_nothing() {
        let case = example("dropped-corner");
        let it = between(&case, &case);
        assert!(
            it.legs
                .iter()
                .all(|leg| matches!(leg.what, Difference::Places | Difference::Rest))
        );
        let text = compared(crate::built_in_pack(), &it, Form::Text).unwrap();
        assert!(text.contains("No conclusion moved"), "{text}");
    }

    #[test]
    fn once_every_sign_is_taken_over_the_second_outcome_is_reached() {
        let case = example("second-pass");
        let [first, second] = ["first", "second"].map(|pass| case.as_of(pass).unwrap());
        for (one, other) in [(&first, &second), (&second, &first)] {
            let it = between(one, other);
            let [.., before, last] = it.legs.as_slice() else {
                panic!()
            };
            for (way, end) in chances(&before.outcome).iter().zip(chances(&last.outcome)) {
                assert!((way - end).abs() < 1e-12, "{way} {end}");
            }
            for (way, start) in chances(&it.legs[0].outcome).iter().zip(chances(&it.outcomes[0])) {
                assert!((way - start).abs() < 1e-12, "{way} {start}");
            }
        }
    }

    #[test]
    fn inspectors_who_disagree_are_told_apart_sign_by_sign() {
        let text = std::fs::read_to_string(format!(
            "{}/../../examples/cases/dropped-corner.yaml",
            env!("CARGO_MANIFEST_DIR")
        ))
        .unwrap();
        let other = text
            .replace(
                "floor_corner_low, at: back-left, measured: 10 mm ± 2 mm",
                "floor_corner_low, at: back-left, measured: 1 mm ± 1 mm",
            )
            .replace(
                "door_binds, at: corner-bedroom-door, seen: will_not_latch",
                "door_binds, at: corner-bedroom-door, seen: rubs",
            )
            .replace("recent_drought: {holds: yes", "recent_drought: {holds: no");
        let it = between(
            &Case::read("a.yaml", &text).unwrap(),
            &Case::read("b.yaml", &other).unwrap(),
        );
        let said = compared(crate::built_in_pack(), &it, Form::Text).unwrap();
        let joined = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(said.lines().all(|line| line.chars().count() <= 80));
        let at = |what: &str| joined.find(what).unwrap_or_else(|| panic!("{what}: {said}"));
        assert!(at("SEEN BY ONE, AND NOT THERE") < at("Floor low in one corner at the back left corner: seen"));
        assert!(
            at("SEEN BY BOTH, IN ANOTHER GRADE")
                < at("Door sticks or will not latch at the corner bedroom door: seen (will not latch")
        );
        assert!(joined.contains("Months of dry weather before the visit: so to not so."));
    }
}
