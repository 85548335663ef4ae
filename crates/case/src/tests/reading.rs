use wythe_measure::Quantity;

use super::*;

const PASSES: &str = "
title: One storey, brick veneer on a slab
visited: 2026-03-14
how_many: {outside_corner: 6}
contexts: {soil_plasticity_high: yes, recent_drought: {holds: no, note: rain record}, large_tree_near: unknown, fill: true}
passes:
  - pass: first
    title: round the outside
    date: 2026-03-14
    by: J. Trainee
    sightings:
      - {clue: corner_pop_wedge, at: south-west, seen: cracked, photos: [P-0103, P-0104], note: below the weep}
      - {clue: step_crack_veneer, at: south, measured: 1/16 in ± 1/64 in, with: crack gauge, marks: {path: joints, taper: [uniform, wide_at_top]}, sure: fairly}
      - {clue: frieze_gap, at: south, seen: none}
      - {clue: frieze_gap, at: west, seen: none, looked: part}
      - {clue: frieze_gap, at: house, not_reached: locked gate, ask_access: yes}
      - {clue: brick_dip, at: window, seen: none, looked: 60 %, photos: P-7, sure: unsure}
      - {clue: door_binds, at: back-door, measured: 2 mm, from_photo: yes, id: door}
      - {clue: door_binds, at: kitchen, seen: none, looked: 0.25}
  - {pass: 2}
repairs:
  - {date: 2025-06-01, at: [window, south], clues: [step_crack_veneer], what: repointed}
  - {date: 2026-03-15, at: house, what: painted}
  - {at: west, what: patched}
";

#[test]
fn every_entry_is_read() {
    let case = house(PASSES);
    assert_eq!(case.title, "One storey, brick veneer on a slab");
    assert_eq!(case.visited, Date::new(2026, 3, 14).ok());
    assert_eq!(case.how_many, [("outside_corner".to_owned(), 6.0)]);
    assert_eq!(case.places[1].label, "south wall");
    assert_eq!(case.places[2].label, "west");
    let facts: Vec<_> = case
        .contexts
        .iter()
        .map(|fact| (fact.id.as_str(), fact.holds, fact.note.as_deref()))
        .collect();
    let expected = [
        ("soil_plasticity_high", true, None),
        ("recent_drought", false, Some("rain record")),
        ("fill", true, None),
    ];
    assert_eq!(facts, expected);
    let passes: Vec<_> = case
        .passes
        .iter()
        .map(|pass| (pass.id.as_str(), pass.sightings.len(), pass.by.as_deref()))
        .collect();
    assert_eq!(passes, [("first", 8, Some("J. Trainee")), ("2", 0, None)]);
    let sightings = &case.passes[0].sightings;
    let ids: Vec<_> = sightings.iter().map(|sighting| sighting.id.as_str()).collect();
    assert_eq!(
        ids,
        [
            "first.1", "first.2", "first.3", "first.4", "first.5", "first.6", "door", "first.8"
        ]
    );
    assert_eq!(sightings[0].seen, Seen::Grade("cracked".into()));
    assert_eq!(
        (sightings[0].photos.len(), sightings[0].note.as_deref()),
        (2, Some("below the weep"))
    );
    let Seen::Measured {
        reading,
        with,
        from_photo,
    } = &sightings[1].seen
    else {
        panic!("measured")
    };
    assert_eq!(
        (reading.value, reading.quantity, with.as_deref(), *from_photo),
        (1.5875, Quantity::Length, Some("crack gauge"), false)
    );
    assert!(reading.sd.is_some());
    let marks = [("path", vec!["joints"]), ("taper", vec!["uniform", "wide_at_top"])];
    let read: Vec<_> = sightings[1]
        .marks
        .iter()
        .map(|(mark, kinds)| (mark.as_str(), kinds.iter().map(String::as_str).collect()))
        .collect();
    assert_eq!(read, marks);
    assert_eq!(sightings[1].sure, Sure::Fairly);
    let looked = |index: usize| match sightings[index].seen {
        Seen::NoneThere { looked } => looked,
        _ => panic!("none there"),
    };
    assert_eq!(
        [looked(2), looked(3), looked(5), looked(7)],
        [Looked::All, Looked::Part, Looked::Share(0.6), Looked::Share(0.25)]
    );
    assert_eq!(
        sightings[4].seen,
        Seen::NotReached {
            why: "locked gate".into(),
            ask_access: true
        }
    );
    assert!(matches!(sightings[6].seen, Seen::Measured { from_photo: true, .. }));
    assert_eq!(
        case.repairs.iter().map(|repair| repair.before_pass).collect::<Vec<_>>(),
        [0, 2, 0]
    );
    assert_eq!(case.repairs[0].at, [1, 4]);
}

#[test]
fn repairs_come_before_the_first_pass_dated_on_or_after_them() {
    let case = house(
        "passes:
  - {pass: a, date: 2026-01-01}
  - {pass: b}
  - {pass: c, date: 2026-03-01}
repairs:
  - {date: 2026-01-01, at: south, what: on the day of a}
  - {date: 2026-01-02, at: south, what: b has the day of a}
  - {date: 2026-03-02, at: south, what: after all}
",
    );
    assert_eq!(
        case.repairs.iter().map(|repair| repair.before_pass).collect::<Vec<_>>(),
        [0, 2, 3]
    );
}

#[test]
fn the_same_case_is_read_from_json() {
    let yaml = Case::read("a.yaml", "format: 1\nid: a\nplaces: [{id: south, kind: wall}]\n").expect("reads");
    let json = r#"{"format": 1, "id": "a", "places": [{"id": "south", "kind": "wall"}]}"#;
    assert_eq!(plain(&Case::read("a.json", json).expect("reads")), plain(&yaml));
}

#[test]
fn problems_found_later_still_point_at_the_file() {
    let case = house(PASSES);
    let spot = |problem: Problem| problem.spot.map(|spot| (spot.line, spot.column, spot.length));
    let sighting = &case.passes[0].sightings[1];
    assert_eq!(spot(case.problem_at(&sighting.locus, "x", None)), Some((22, 10, 4)));
    assert_eq!(
        spot(case.problem_in(&sighting.locus, &["clue"], "x", None)),
        Some((22, 16, 17))
    );
    assert_eq!(
        spot(case.problem_in(&sighting.locus, &["marks", "path"], "x", None)),
        Some((22, 108, 6))
    );
    assert_eq!(
        spot(case.problem_in(&Locus::default(), &["how_many", "outside_corner"], "x", None)),
        Some((13, 28, 1))
    );
    assert_eq!(
        spot(case.problem_at_name(&case.contexts[0].locus, "x", None)),
        Some((14, 12, 20))
    );
    let made = Case::new("made", "made");
    assert_eq!(made.problem_at(&Locus::default(), "x", None).to_string(), "made: x\n");
}

#[test]
fn days_of_the_calendar() {
    for (text, expected) in [
        ("2024-02-29", Date::new(2024, 2, 29)),
        ("1900-02-29", Err(DateError::Day)),
        ("2000-02-29", Date::new(2000, 2, 29)),
        ("2026-13-01", Err(DateError::Day)),
        ("2026-00-01", Err(DateError::Day)),
        ("2026-04-31", Err(DateError::Day)),
        ("0026-04-30", Err(DateError::Year)),
        ("2026-4-30", Err(DateError::Form)),
        ("2026-04-30 ", Err(DateError::Form)),
        ("+026-04-30", Err(DateError::Form)),
        ("", Err(DateError::Form)),
    ] {
        assert_eq!(Date::parse(text), expected, "{text}");
    }
    assert!(Date::parse("2025-12-31").ok() < Date::parse("2026-01-01").ok());
    assert_eq!(
        Date::parse("2026-03-04").map(|date| date.to_string()),
        Ok("2026-03-04".into())
    );
}
