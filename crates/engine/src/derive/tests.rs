use wythe_case::Case;
use wythe_pack::{ClueIx, Pattern, PatternKind};

use super::holds;
use crate::Used;
use crate::testing::{bound, case, pack_with};

const ALIKE: &str = "id: alike\ntitle: alike\nsince: 0.1.0\nat: house\nzone: outside\ngrades: [{id: none}, {id: seen}]\nusual_grades: {seen: 1}\nbackground: {how_often: 0.1}\nordinary_causes: [a test]\nlook_for: look\neffort: glance\nsays: alike\nsource: test\npattern: {of: dip, kind: all_alike, at_least: 2}\n";
const LIMIT: &str = "id: alike\ntitle: alike\nclue: alike\nfrom: seen\nat_least: monitor\nfor: a test\nsource: test\n";

#[test]
fn a_context_hides_only_what_was_not_there() {
    let pack = pack_with(&[(
        "suppressions/fill.yaml",
        "",
        "id: fill\nhides: [dip, gap]\nby_context: fill\nreason: a test\nsource: test\n",
    )]);
    let seen = [
        "clue: dip, at: door, seen: none",
        "clue: dip, at: window, seen: seen",
        "clue: gap, at: corner, not_reached: a fence",
    ];
    let used = |contexts: &str| -> Vec<Used> {
        bound(&pack, &case(contexts, &seen))
            .readings
            .into_iter()
            .map(|reading| reading.used)
            .collect()
    };
    assert_eq!(
        used("fill: yes"),
        [Used::Hidden { by: 0 }, Used::Weighed, Used::NotReached]
    );
    assert_eq!(used("fill: no"), [Used::Weighed, Used::Weighed, Used::NotReached]);
    assert_eq!(used(""), [Used::Weighed, Used::Weighed, Used::NotReached]);
}

/// From the grade up that the rule names, at the same place, at one around it or at one inside it.
#[test]
fn a_clue_hides_another_near_it() {
    let pack = pack_with(&[(
        "suppressions/crack.yaml",
        "",
        "id: crack\nhides: [dip]\nby_clue: crack\nfrom: slight\nreason: a test\nsource: test\n",
    )]);
    let hidden = |crack: &str| {
        let bound = bound(&pack, &case("", &[crack, "clue: dip, at: door, seen: none"]));
        bound.readings[1].used == Used::Hidden { by: 0 }
    };
    assert!(hidden("clue: crack, at: south, seen: slight"));
    assert!(hidden("clue: crack, at: south, seen: wide"));
    assert!(!hidden("clue: crack, at: south, seen: fine"));
    assert!(!hidden("clue: crack, at: west, seen: wide"));
}

#[test]
fn a_pattern_stands_for_its_members() {
    let pack = pack_with(&[("clues/alike.yaml", "", ALIKE), ("limits/alike.yaml", "", LIMIT)]);
    let both = bound(
        &pack,
        &case(
            "",
            &["clue: dip, at: door, seen: seen", "clue: dip, at: window, seen: seen"],
        ),
    );
    let by = pack.clue("alike").unwrap();
    assert_eq!(
        [&both.readings[0].used, &both.readings[1].used],
        [&Used::SetAside { by }; 2]
    );
    assert_eq!(
        (both.readings[2].clue, both.readings[2].at, both.readings[2].grade),
        (by, 0, 1)
    );
    assert_eq!(both.readings[2].made_from, ["first.1", "first.2"]);
    let one = bound(
        &pack,
        &case(
            "",
            &["clue: dip, at: door, seen: seen", "clue: dip, at: window, seen: none"],
        ),
    );
    assert_eq!(one.readings.len(), 2);
    assert!(one.readings.iter().all(|reading| reading.used == Used::Weighed));
}

/// Two walls and four corners: south touches 3 and 4, west touches 3 and 5, and 6 touches neither.
fn corners() -> Case {
    let text = "format: 1
id: corners
places:
  - {id: south, kind: wall}
  - {id: west, kind: wall}
  - {id: south-west, kind: corner, touches: [south, west]}
  - {id: south-east, kind: corner, touches: [south]}
  - {id: north-west, kind: corner, touches: [west]}
  - {id: north-east, kind: corner}
passes: []
";
    Case::read("corners.yaml", text).unwrap_or_else(|problems| panic!("{problems}"))
}

#[test]
fn patterns_hold_where_they_should() {
    use PatternKind::{AllAlike, OneOnly, OneWallOnly, WorstToOneSide};
    let case = corners();
    for (kind, at_least, read, expected) in [
        (AllAlike, 2, vec![(3, 1), (4, 2)], true),
        (AllAlike, 2, vec![(3, 1), (4, 0)], false),
        (AllAlike, 3, vec![(3, 1), (4, 2)], false),
        (OneOnly, 2, vec![(3, 1), (4, 0), (5, 0)], true),
        (OneOnly, 2, vec![(3, 1), (4, 1), (5, 0)], false),
        (OneOnly, 2, vec![(3, 0), (4, 0)], false),
        // Both corners of the south wall and no other.
        (OneWallOnly, 3, vec![(3, 1), (4, 1), (5, 0)], true),
        (OneWallOnly, 3, vec![(3, 1), (4, 0), (5, 1)], true),
        // No wall touches these two.
        (OneWallOnly, 3, vec![(3, 0), (4, 1), (5, 1)], false),
        (OneWallOnly, 3, vec![(3, 1), (4, 0), (5, 0), (6, 1)], false),
        // One corner is no wall; all of them are no one wall.
        (OneWallOnly, 3, vec![(3, 1), (4, 0), (5, 0)], false),
        (OneWallOnly, 3, vec![(3, 1), (4, 1), (5, 1)], false),
        (WorstToOneSide, 3, vec![(3, 2), (4, 2), (5, 1)], true),
        (WorstToOneSide, 3, vec![(3, 2), (4, 1), (5, 2)], true),
        (WorstToOneSide, 3, vec![(3, 1), (4, 2), (5, 2)], false),
        (WorstToOneSide, 3, vec![(3, 1), (4, 1), (5, 1)], false),
        (WorstToOneSide, 3, vec![(3, 2), (4, 0), (5, 0)], false),
    ] {
        let pattern = Pattern {
            of: ClueIx(0),
            kind,
            at_least,
        };
        assert_eq!(holds(&case, pattern, &read), expected, "{kind:?} of {read:?}");
    }
}

/// What is seen after a test and before its wait is over counts as not looked, whatever it shows.
#[test]
fn a_test_spoils_what_is_seen_too_soon() {
    let pack = pack_with(&[
        (
            "clues/crack.yaml",
            "effort: glance",
            "effort: glance\nwait: {days: 2, reason: a test}",
        ),
        (
            "suppressions/crack.yaml",
            "",
            "id: crack\nhides: [dip]\nby_test: crack\nreason: a test\nsource: test\n",
        ),
    ]);
    let test = "clue: crack, at: south, seen: none";
    let look = "clue: dip, at: door, seen: seen";
    let used = |case: &Case| {
        let dip = pack.clue("dip").unwrap();
        let readings = bound(&pack, case).readings;
        readings.into_iter().find(|one| one.clue == dip).unwrap().used
    };
    assert_eq!(used(&case("", &[test, look])), Used::Hidden { by: 0 });
    assert_eq!(used(&case("", &[look, test])), Used::Weighed);
    assert_eq!(
        used(&case("", &["clue: crack, at: west, seen: none", look])),
        Used::Weighed
    );
    let later = |dates: [&str; 2]| {
        let [first, then] = dates.map(|date| {
            if date.is_empty() {
                String::new()
            } else {
                format!(", date: {date}")
            }
        });
        let text = format!(
            "format: 1
id: tiny
places:
  - {{id: south, kind: wall}}
  - {{id: door, kind: opening, in: south}}
passes:
  - {{pass: first{first}, sightings: [{{{test}}}]}}
  - {{pass: then{then}, sightings: [{{{look}}}]}}
"
        );
        used(&Case::read("tiny.yaml", &text).unwrap())
    };
    assert_eq!(later(["2026-02-27", "2026-02-28"]), Used::Hidden { by: 0 });
    assert_eq!(later(["2026-02-27", "2026-03-01"]), Used::Weighed);
    // No dates, no telling.
    assert_eq!(later(["2026-02-27", ""]), Used::Hidden { by: 0 });
}
