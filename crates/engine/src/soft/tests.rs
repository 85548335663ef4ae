use crate::testing::{bound, case, close, pack, pack_with};
use crate::{Reading, Used};

fn read(sighting: &str) -> Reading {
    let (pack, case) = (pack(), case("", &[sighting]));
    bound(&pack, &case).readings.remove(0)
}

#[track_caller]
fn says(sighting: &str, expected: &[f64]) {
    let found = read(sighting).likelihood;
    assert_eq!(found.len(), expected.len());
    for (one, other) in found.iter().zip(expected) {
        close(*one, *other);
    }
}

#[test]
fn a_grade_seen_is_that_grade() {
    says("clue: crack, at: south, seen: slight", &[0.0, 0.0, 1.0, 0.0]);
}

/// Its size was not noted: every grade above none fits as well as another, and none does not fit.
#[test]
fn present_is_any_grade_above_none() {
    says("clue: crack, at: south, seen: present", &[0.0, 1.0, 1.0, 1.0]);
}

/// What is there is noticed in 0.6 of cases where part was looked at (the pack), so none seen leaves 0.4 of each grade.
#[test]
fn part_looked_softens_absence() {
    says("clue: crack, at: south, seen: none", &[1.0, 0.0, 0.0, 0.0]);
    says(
        "clue: crack, at: south, seen: none, looked: part",
        &[1.0, 0.4, 0.4, 0.4],
    );
    says(
        "clue: crack, at: south, seen: none, looked: 30 %",
        &[1.0, 0.7, 0.7, 0.7],
    );
}

/// A neighbour at distance d has x^d: 0.1 when fairly sure, 0.3 when unsure (the pack).
#[test]
fn unsureness_spreads_over_neighbours() {
    says(
        "clue: crack, at: south, seen: fine, sure: fairly",
        &[0.1, 1.0, 0.1, 0.01],
    );
    says(
        "clue: crack, at: south, seen: wide, sure: unsure",
        &[0.027, 0.09, 0.3, 1.0],
    );
}

/// Φ(1) = 0.841344746068543 (standard normal table; Abramowitz and Stegun, table 26.1). The instrument's error of 1.96 mm
/// either way is one of 1 mm standard deviation; none ends at 0 mm, fine at 1 mm, slight at 5 mm.
const BELOW: f64 = 0.841_344_746_068_543;

#[test]
fn a_measurement_is_shared_over_classes() {
    // Lengths are kept to the nanometre, so errors are too.
    let share = |found: &[f64]| {
        let odds = found[3] / (found[0] + found[1] + found[2]);
        assert!((odds - (1.0 - BELOW) / BELOW).abs() < 1e-6, "{found:?}");
    };
    // At 4 mm: wide is one deviation away, fine and none are three and four away.
    let found = read("clue: crack, at: south, measured: 4 mm").likelihood;
    share(&found);
    // From a photo the error doubles: at 3 mm wide is one deviation of 2 mm away.
    let found = read("clue: crack, at: south, measured: 3 mm, from_photo: yes").likelihood;
    share(&found);
    // A stated error stands before the instrument's: 0.5 mm of deviation at 4.5 mm.
    let found = read("clue: crack, at: south, measured: 4.5 mm ± 0.97998199227 mm").likelihood;
    share(&found);
}

/// On the edge each class has half; the others are 4 deviations of 1 mm and more away.
#[test]
fn on_a_class_edge_two_classes_share() {
    let found = read("clue: crack, at: south, measured: 5 mm");
    assert!(
        (found.likelihood[2] - found.likelihood[3]).abs() < 1e-4,
        "{:?}",
        found.likelihood
    );
    assert!(found.likelihood[1] < 1e-4 && found.likelihood[0] < 1e-6);
}

#[test]
fn what_was_not_reached_says_nothing() {
    let found = read("clue: crack, at: south, not_reached: a fence");
    assert_eq!((found.used, found.grade), (Used::NotReached, 0));
    assert_eq!(found.likelihood, [1.0; 4]);
}

#[test]
fn the_first_of_equals_is_the_likeliest() {
    assert_eq!(super::likeliest(&[0.5, 1.0, 1.0], &Used::Weighed), 1);
    assert_eq!(super::likeliest(&[1.0, 1.0], &Used::Weighed), 0);
}

/// A measure that is worse the less it is: grades rise as it falls.
#[test]
fn less_is_worse() {
    let pack = pack_with(&[
        ("clues/crack.yaml", "how: rule", "how: rule, worse: less"),
        (
            "clues/crack.yaml",
            "{id: none}, {id: fine, up_to: 1 mm}, {id: slight, up_to: 5 mm}, {id: wide}",
            "{id: none, down_to: 100 mm}, {id: fine, down_to: 50 mm}, {id: slight, down_to: 10 mm}, {id: wide}",
        ),
    ]);
    let grade = |size: &str| {
        let seen = format!("clue: crack, at: south, measured: {size}");
        bound(&pack, &case("", &[&seen])).readings[0].grade
    };
    assert_eq!(["200 mm", "75 mm", "20 mm", "2 mm"].map(grade), [0, 1, 2, 3]);
    // On a bound the two classes share it: half each (one standard deviation is 1 mm there).
    let likelihood = bound(&pack, &case("", &["clue: crack, at: south, measured: 50 mm"]));
    let likelihood = &likelihood.readings[0].likelihood;
    assert!((likelihood[1] - likelihood[2]).abs() < 1e-9, "{likelihood:?}");
}
