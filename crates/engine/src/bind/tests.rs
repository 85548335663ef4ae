use wythe_pack::KindIx;

use super::bind;
use crate::testing::{bound, case, pack, pack_with};

#[test]
fn names_are_resolved() {
    let (pack, case) = (
        pack(),
        case("clay: yes, fill: no", &["clue: gap, at: corner, seen: open"]),
    );
    let bound = bound(&pack, &case);
    let kind = |id| pack.kind(id).unwrap();
    for (name, places) in [
        ("house", &[0][..]),
        ("wall", &[1, 2]),
        ("opening", &[3, 4]),
        ("corner", &[5]),
    ] {
        assert_eq!(bound.places(kind(name)).collect::<Vec<_>>(), places, "{name}");
    }
    assert_eq!(
        [
            bound.context(pack.context("clay").unwrap()),
            bound.context(pack.context("fill").unwrap())
        ],
        [Some(true), Some(false)]
    );
    assert_eq!(bound.readings.len(), 1);
    assert_eq!((bound.readings[0].at, bound.readings[0].grade), (5, 1));
}

/// A house has the usual number of places, unless the case counts them; how many the case names is no count.
#[test]
fn places_are_counted_by_the_pack_or_by_the_case() {
    let pack = pack();
    let mut case = case("", &[]);
    let opening = pack.kind("opening").unwrap();
    assert_eq!(bound(&pack, &case).how_many(opening), 8.0);
    case.how_many = vec![("opening".into(), 2.0)];
    assert_eq!(bound(&pack, &case).how_many(opening), 2.0);
    // No chance is shared over less than one place.
    case.how_many = vec![("opening".into(), 0.5)];
    assert_eq!(bound(&pack, &case).how_many(opening), 1.0);
    assert_eq!(bound(&pack, &case).how_many(KindIx(0)), 1.0);
}

#[test]
fn every_unknown_name_is_told_at_once() {
    let pack = pack();
    let mut case = case(
        "cley: yes",
        &[
            "clue: krack, at: south, seen: fine",
            "clue: gap, at: south, seen: open",
            "clue: dip, at: door, seen: sen",
            "clue: crack, at: west, seen: fine, marks: {path: joint}",
        ],
    );
    case.places[2].kind = "wal".into();
    case.how_many = vec![("doors".into(), 2.0)];
    let problems = bind(&pack, &case).unwrap_err().to_string();
    for said in [
        "`cley`",
        "`krack`",
        "`wal`",
        "`doors`",
        "`sen`",
        "`joint`",
        "looked for at a place of kind `corner`",
    ] {
        assert!(problems.contains(said), "nothing of {said} in:\n{problems}");
    }
}

/// What holds rules out what cannot hold beside it; both at once are refused.
#[test]
fn contexts_exclude_each_other() {
    let pack = pack_with(&[("contexts/fill.yaml", "ask: look", "not_with: clay\nask: look")]);
    let of = |contexts: &str| {
        let bound = bound(&pack, &case(contexts, &[]));
        ["clay", "fill"].map(|id| bound.context(pack.context(id).unwrap()))
    };
    assert_eq!(of("clay: yes"), [Some(true), Some(false)]);
    assert_eq!(of("fill: yes"), [Some(false), Some(true)]);
    assert_eq!(of("clay: no"), [Some(false), None]);
    assert_eq!(of(""), [None, None]);
    let both = bind(&pack, &case("clay: yes, fill: yes", &[]))
        .expect_err("both")
        .to_string();
    assert_eq!(both.matches("`clay` and `fill` cannot both hold").count(), 1, "{both}");
}
