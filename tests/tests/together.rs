//! All that is asked at once of the example houses, against the same asked one by one.
#![allow(missing_docs)]
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "test code: a broken fixture should stop the test"
)]

use approx::assert_relative_eq;
use wythe::{About, Case, Weighed};

const HOUSES: [(&str, &str); 4] = [
    ("quiet-corner", include_str!("../../examples/cases/quiet-corner.yaml")),
    ("second-pass", include_str!("../../examples/cases/second-pass.yaml")),
    ("short-seat", include_str!("../../examples/cases/short-seat.yaml")),
    (
        "dropped-corner",
        include_str!("../../examples/cases/dropped-corner.yaml"),
    ),
];

fn same(a: f64, b: f64) {
    assert!(a.is_nan() == b.is_nan(), "{a} {b}");
    if !a.is_nan() {
        assert_relative_eq!(a, b, epsilon = 1e-8, max_relative = 1e-8);
    }
}

/// Every so manyth conclusion of a case.
fn every(weighed: &Weighed<'_>, nth: usize) -> Vec<About> {
    let all = weighed.outcome().conclusions.iter().map(|one| one.about);
    all.step_by(nth).collect()
}

fn margins(one: &wythe::Margins, other: &wythe::Margins) {
    let graded = |one: &wythe::Graded, other: &wythe::Graded| {
        assert!(one.same(other), "{one:?} {other:?}");
        same(one.chance, other.chance);
    };
    graded(&one.now, &other.now);
    graded(&one.ends.0, &other.ends.0);
    graded(&one.ends.1, &other.ends.1);
    assert_eq!(one.numbers.len(), other.numbers.len());
    for (one, other) in one.numbers.iter().zip(&other.numbers) {
        assert_eq!(one.number, other.number);
        same(one.decibans, other.decibans);
        graded(&one.becomes, &other.becomes);
    }
    let regraded = one.without.iter().chain(&one.classes);
    let others = other.without.iter().chain(&other.classes);
    assert_eq!(regraded.clone().count(), others.clone().count());
    for (one, other) in regraded.zip(others) {
        assert_eq!((one.reading, one.grade), (other.reading, other.grade));
        graded(&one.becomes, &other.becomes);
    }
}

/// The parts of what is asked together, worked out in any order or not at all, come to the same, bit for bit.
#[test]
fn parts_are_the_same_in_any_order() {
    let pack = wythe::built_in_pack();
    let (name, text) = HOUSES[1];
    let case = Case::read(name, text).unwrap_or_else(|problems| panic!("{problems}"));
    let weighed = Weighed::new(pack, &case).unwrap();
    let abouts = every(&weighed, 9);
    let whole = wythe_engine::besides_margins(&weighed, &abouts).unwrap();
    let open = wythe_engine::besides_in_parts(&weighed, &abouts).unwrap();
    assert!(open.parts() > 5, "{}", open.parts());
    (0..open.parts()).rev().step_by(2).for_each(|part| open.answer(part));
    // One that there is not is nothing.
    open.answer(open.parts() + 7);
    let other = open.whole().unwrap();
    // Not a number is no equal of itself, but is written alike.
    assert_eq!(format!("{whole:?}"), format!("{other:?}"));
}

/// Families and single conclusions, what they share with each other or not: each as it is by itself, in a case kept for it
/// alone, whatever way round it was worked out.
#[test]
fn everything_is_what_each_is_alone() {
    let pack = wythe::built_in_pack();
    let (mut families, mut rivals, mut missing, mut taken) = (0, 0, 0, 0);
    for (name, text) in HOUSES {
        let case = Case::read(name, text).unwrap_or_else(|problems| panic!("{problems}"));
        let weighed = Weighed::new(pack, &case).unwrap();
        // Some that nothing speaks for as well.
        let abouts = every(&weighed, 5);
        let families_too = weighed.outcome().conclusions.iter().map(|one| one.about);
        let families_too = families_too.filter(|about| matches!(about, About::Family(_)));
        let mut abouts: Vec<About> = abouts.into_iter().chain(families_too).collect();
        abouts.sort();
        abouts.dedup();
        families += abouts.iter().filter(|about| matches!(about, About::Family(_))).count();
        let all = wythe::everything(&weighed, &abouts).unwrap();
        assert_eq!(all.rivals.len(), abouts.len());
        for (at, about) in abouts.iter().enumerate() {
            let alone = wythe::ask(&Weighed::new(pack, &case).unwrap(), *about).unwrap();
            margins(&all.margins[at], &alone.margins);
            assert_eq!(all.story, alone.story, "{name}");
            let pairs = all.rivals[at].rivals.iter().zip(&alone.rivals.rivals);
            assert_eq!(all.rivals[at].rivals.len(), alone.rivals.rivals.len());
            for (one, other) in pairs {
                assert_eq!((one.instead, &one.shared), (other.instead, &other.shared), "{name}");
                same(one.without, other.without);
                same(one.ahead, other.ahead);
                same(one.weight, other.weight);
                let worth = |contender: &wythe::Contender| contender.look.as_ref().map_or(0.0, |look| look.decibans);
                same(worth(one), worth(other));
                let by_reading = |contender: &wythe::Contender| {
                    let mut apart = contender.apart.clone();
                    apart.sort_by_key(|(reading, _)| *reading);
                    apart
                };
                for ((reading, a), (other, b)) in by_reading(one).into_iter().zip(by_reading(other)) {
                    assert_eq!(reading, other);
                    same(a, b);
                }
                rivals += 1;
            }
            let (one, other) = (&all.unsupported[at], &alone.unsupported);
            let readings =
                |of: &wythe::Unsupported| of.taken.iter().map(|one| (one.reading, one.by)).collect::<Vec<_>>();
            assert_eq!(readings(one), readings(other), "{name}");
            assert_eq!(one.missing.len(), other.missing.len());
            let sorted = |of: &wythe::Unsupported| {
                let mut missing = of.missing.clone();
                missing.sort_by_key(|one| (one.clue, one.at));
                missing
            };
            for (a, b) in sorted(one).iter().zip(&sorted(other)) {
                assert_eq!((a.clue, a.at), (b.clue, b.at));
                same(a.if_found, b.if_found);
                same(a.if_none, b.if_none);
            }
            missing += one.missing.len();
            taken += one.taken.len();
        }
        let looks = wythe::looks(&Weighed::new(pack, &case).unwrap()).unwrap();
        same(all.looks.loss, looks.loss);
        assert_eq!(all.looks.looks.len(), looks.looks.len());
        for (one, other) in all.looks.looks.iter().zip(&looks.looks).take(20) {
            assert_eq!((one.clue, one.at), (other.clue, other.at), "{name}");
            same(one.worth, other.worth);
        }
    }
    assert!(
        families > 6 && rivals > 20 && missing > 300 && taken > 0,
        "{families} {rivals} {missing} {taken}"
    );
}
