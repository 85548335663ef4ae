//! A case that is too tangled says what ties it, where, and what to do; whoever does that has an answer.
#![allow(missing_docs)]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "test code: a broken fixture should stop the test"
)]

use wythe::{Case, WeighError, built_in_pack, weigh};
use wythe_case::{Looked, Seen};
use wythe_tests::{HOUSES, house, none_there, sighting, sites};

/// The house with every sign looked for in part at every place, and none found.
fn looked_in_part(name: &str) -> Case {
    let pack = built_in_pack();
    let mut case = house(name);
    case.readings.clear();
    case.passes.truncate(1);
    let partly = || Seen::NoneThere { looked: Looked::Part };
    case.passes[0].sightings = sites(pack, &case)
        .into_iter()
        .map(|site| sighting(pack, site, partly()))
        .collect();
    case
}

/// The clues and places that the message names.
fn named(case: &Case, places: &[String]) -> Vec<(String, usize)> {
    let mut all = Vec::new();
    for line in places {
        let (places, clues) = line.split_once(": ").unwrap_or_else(|| panic!("{line}"));
        for place in places.split(", ") {
            let at = case.place(place).unwrap_or_else(|| panic!("{place} is no place"));
            all.extend(clues.split(", ").map(|clue| (clue.to_owned(), at)));
        }
    }
    all
}

#[test]
fn who_follows_the_help_has_an_answer() {
    for name in HOUSES {
        let case = looked_in_part(name);
        let Err(WeighError::TooTangled { places, help, .. }) = weigh(built_in_pack(), &case) else {
            panic!("{name} is not tangled");
        };
        let named = named(&case, &places);
        assert!(
            help.contains(&format!("without these {} of the", named.len())),
            "{name}: {help}"
        );
        let is_named = |clue: &str, at: usize| named.iter().any(|(one, place)| one == clue && *place == at);
        let mut left_out = case.clone();
        left_out.passes[0].sightings.retain(|one| !is_named(&one.clue, one.at));
        assert_eq!(
            left_out.passes[0].sightings.len() + named.len(),
            case.passes[0].sightings.len()
        );
        weigh(built_in_pack(), &left_out).unwrap_or_else(|error| panic!("{name}: {error}"));
        let mut looked_again = case.clone();
        for one in &mut looked_again.passes[0].sightings {
            if is_named(&one.clue, one.at) {
                one.seen = none_there();
            }
        }
        weigh(built_in_pack(), &looked_again).unwrap_or_else(|error| panic!("{name}: {error}"));
    }
}

/// What was seen can't be looked at again to be rid of it: the way out is to weigh in parts.
#[test]
fn what_was_seen_everywhere_is_to_be_weighed_in_parts() {
    let pack = built_in_pack();
    let mut case = looked_in_part("dropped-corner");
    for one in &mut case.passes[0].sightings {
        one.seen = Seen::Present;
    }
    let error = weigh(pack, &case).unwrap_err();
    let WeighError::TooTangled { places, .. } = &error else {
        panic!("{error}");
    };
    assert!(!places.is_empty());
    let says = error.to_string();
    assert!(
        says.contains("what ties most together:\n  front, back, left, right: "),
        "{says}"
    );
    assert!(
        says.ends_with("help: weigh the house in parts, each with its own places, in a case of its own"),
        "{says}"
    );
}
