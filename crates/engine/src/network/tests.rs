//! Chances worked by hand: the tiny pack's walls have each mechanism with 0.5, for 1 − (1 − 0.9375)^(1/4) = 0.5.

use super::{End, base, prior};
use crate::testing::{bound, case, close, pack, pack_with};
use crate::{About, weigh};

/// The chance of a mechanism at a place after the sightings.
fn chance(contexts: &str, sightings: &[&str], name: &str, at: usize) -> f64 {
    let pack = pack();
    let outcome = weigh(&pack, &case(contexts, sightings)).unwrap();
    let about = About::Mechanism {
        mechanism: pack.mechanism(name).unwrap(),
        at,
    };
    outcome
        .conclusions
        .iter()
        .find(|one| one.about == about)
        .unwrap()
        .chance
}

#[test]
fn a_prevalence_counts_houses_and_is_shared_over_places() {
    let pack = pack();
    let mut case = case("", &[]);
    let drop = pack.mechanism("drop").unwrap();
    close(base(&pack, &bound(&pack, &case), drop, End::Best), 0.5);
    // From 0.5: 1 − 0.5^(1/4) = 1 − 0.840896415254 (two square roots).
    close(
        base(&pack, &bound(&pack, &case), drop, End::Low),
        1.0 - 0.840_896_415_253_7,
    );
    // Two walls: 1 − √0.0625 = 0.75.
    case.how_many = vec![("wall".into(), 2.0)];
    close(base(&pack, &bound(&pack, &case), drop, End::Best), 0.75);
}

/// Odds of 1, times 2 for each context that holds, at most 3 (the cap).
#[test]
fn contexts_multiply_odds_up_to_the_cap() {
    let pack = pack();
    let of = |contexts: &str| {
        prior(
            &pack,
            &bound(&pack, &case(contexts, &[])),
            pack.mechanism("grow").unwrap(),
            End::Best,
        )
    };
    close(of("clay: no, fill: no"), 0.5);
    close(of("clay: yes, fill: no"), 2.0 / 3.0);
    close(of("clay: yes, fill: yes"), 0.75);
    // Unstated, at its share: clay 0.5, fill 0.25.
    close(of("fill: no"), 0.5 * 2.0 / 3.0 + 0.5 * 0.5);
    close(of("clay: no"), 0.25 * 2.0 / 3.0 + 0.75 * 0.5);
    close(
        of(""),
        0.5 * (0.25 * 0.75 + 0.75 * 2.0 / 3.0) + 0.5 * (0.25 * 2.0 / 3.0 + 0.75 * 0.5),
    );
}

/// `sag` asks for fill: 0.5 with it, 0 without, 0.25 · 0.5 where nobody knows.
#[test]
fn what_a_mechanism_asks_for_must_hold() {
    let pack = pack();
    let of = |contexts: &str| {
        prior(
            &pack,
            &bound(&pack, &case(contexts, &[])),
            pack.mechanism("sag").unwrap(),
            End::Best,
        )
    };
    close(of("fill: yes"), 0.5);
    close(of("fill: no"), 0.0);
    close(of(""), 0.125);
}

/// A cap works both ways: 0.5 · 0.5 = 1/4 is taken as 1/3, so that odds of 1 come to 1/3 and the chance to 1/4.
#[test]
fn the_cap_holds_downward_too() {
    let pack = pack_with(&[
        ("mechanisms/grow.yaml", "clay, effect: doubles", "clay, effect: halves"),
        ("mechanisms/grow.yaml", "fill, effect: doubles", "fill, effect: halves"),
    ]);
    let bound = bound(&pack, &case("clay: yes, fill: yes", &[]));
    close(prior(&pack, &bound, pack.mechanism("grow").unwrap(), End::Best), 0.25);
}

/// Noisy-OR at the corner (Pearl 1988): background 0.2, drop (0.5) with 0.5, grow (0.5, no context) with 0.25.
#[test]
fn causes_of_one_clue_join_by_noisy_or() {
    let none = ["clue: gap, at: corner, seen: none"];
    // None with the drop 0.8 · 0.5 · 0.875 = 0.35, without 0.8 · 0.875 = 0.7: 0.35 / 1.05.
    close(chance("clay: no, fill: no", &none, "drop", 1), 1.0 / 3.0);
    // For grow: with 0.8 · 0.75 · 0.75 = 0.45, without 0.6.
    close(chance("clay: no, fill: no", &none, "grow", 0), 0.45 / 1.05);
    // The other wall does not touch the corner.
    close(chance("clay: no, fill: no", &none, "drop", 2), 0.5);
}

/// Noisy-MAX (Díez 1993): P(at most open) less P(none), with half of each cause's chance at open.
#[test]
fn grades_join_by_noisy_max() {
    let open = ["clue: gap, at: corner, seen: open"];
    // With the drop 0.9 · 0.75 · 0.9375 − 0.35, without 0.9 · 0.9375 − 0.7.
    let (with, without) = (0.632_812_5 - 0.35, 0.843_75 - 0.7);
    close(chance("clay: no, fill: no", &open, "drop", 1), with / (with + without));
    let gaping = ["clue: gap, at: corner, seen: gaping"];
    let (with, without) = (1.0 - 0.632_812_5, 1.0 - 0.843_75);
    close(
        chance("clay: no, fill: no", &gaping, "drop", 1),
        with / (with + without),
    );
}

/// Pushed down with 1 − 0.9 · 0.5 = 0.55 by the drop, else 0.1; up with 1 − 0.8 · (1 − 0.5 · 0.4) = 0.36. Both at once go
/// either way, so down is left with 1 − 0.36 / 2 = 0.82 of it: 0.451 and 0.082.
#[test]
fn opposed_pushes_make_three_states() {
    let none = ["clue: crack, at: south, seen: none"];
    let (with, without) = (0.9 * (1.0 - 0.5 * 0.451), 0.9 * (1.0 - 0.5 * 0.082));
    close(chance("", &none, "drop", 1), with / (with + without));
    // With the lift, up is 1 − 0.8 · 0.6 = 0.52, else 0.2. Down is 0.5 · (0.55 + 0.1) = 0.325 of 0.74 or of 0.9.
    let (with, without) = (0.9 * (1.0 - 0.5 * 0.325 * 0.74), 0.9 * (1.0 - 0.5 * 0.325 * 0.9));
    close(chance("", &none, "lift", 1), with / (with + without));
}

/// Fine, and every crack there keeps to the joints. The background makes fine in 0.05, of which 0.8 in joints; a wall that
/// went down in 0.25, of which 0.5 in joints. With it (0.9 + 0.05 · 0.8)(0.5 + 0.25 · 0.5) − 0.9 · 0.5 = 0.1375; without
/// 0.05 · 0.8 = 0.04. Unmarked: 0.95 · 0.75 − 0.45 = 0.2625, and 0.05.
#[test]
fn marks_thin_their_cause() {
    let posterior = |down: f64, still: f64| {
        let (with, without) = (0.451 * down + 0.549 * still, 0.082 * down + 0.918 * still);
        with / (with + without)
    };
    let marked = chance(
        "",
        &["clue: crack, at: south, seen: fine, marks: {path: joints}"],
        "drop",
        1,
    );
    close(marked, posterior(0.1375, 0.04));
    let plain = chance("", &["clue: crack, at: south, seen: fine"], "drop", 1);
    close(plain, posterior(0.2625, 0.05));
    // In units instead: (0.9 + 0.05 · 0.2)(0.5 + 0.25 · 0.5) − 0.45 = 0.11875, and 0.01.
    let units = chance(
        "",
        &["clue: crack, at: south, seen: fine, marks: {path: units}"],
        "drop",
        1,
    );
    close(units, posterior(0.118_75, 0.01));
    assert!(marked < plain && plain < units);
    // Either kind is no news.
    close(
        chance(
            "",
            &["clue: crack, at: south, seen: fine, marks: {path: [joints, units]}"],
            "drop",
            1,
        ),
        plain,
    );
}

/// None where part was looked at: likelihood 1 of none and 0.4 of anything. With the drop 0.35 + 0.4 · 0.65 = 0.61,
/// without 0.7 + 0.4 · 0.3 = 0.82.
#[test]
fn soft_evidence_is_weighed_by_its_likelihood() {
    let part = ["clue: gap, at: corner, seen: none, looked: part"];
    close(chance("clay: no, fill: no", &part, "drop", 1), 0.61 / (0.61 + 0.82));
}

/// A family is at least one member anywhere: 1 − 0.5 · 0.5 before anything is seen; with none at the corner
/// 1 − (1 − 1/3) · 0.5.
#[test]
fn a_family_is_at_least_one_of_its_members() {
    let pack = pack();
    let family = |sightings: &[&str]| {
        let outcome = weigh(&pack, &case("clay: no, fill: no", sightings)).unwrap();
        outcome
            .conclusions
            .iter()
            .find(|one| matches!(one.about, About::Family(_)))
            .unwrap()
            .chance
    };
    close(family(&[]), 0.75);
    close(family(&["clue: gap, at: corner, seen: none"]), 2.0 / 3.0);
}
