use super::*;

/// A row per standing: clue, place, sighting that stands, the others.
fn rows(case: &Case) -> Vec<String> {
    let row = |standing: Standing<'_>| {
        let place = &case.places[standing.at].id;
        let history: Vec<&str> = standing.history.iter().map(|sighting| sighting.id.as_str()).collect();
        format!(
            "{} {place}: {} [{}]",
            standing.clue,
            standing.sighting.id,
            history.join(" ")
        )
    };
    case.standing().into_iter().map(row).collect()
}

const THREE: &str = "passes:
  - pass: a
    date: 2026-01-01
    sightings:
      - {clue: crack, at: south, seen: wide, marks: {path: joints, taper: uniform}}
      - {clue: gap, at: south, not_reached: snow}
      - {clue: crack, at: west, seen: fine, marks: {path: units}}
      - {clue: crack, at: window, not_reached: blind}
  - pass: b
    date: 2026-02-01
    sightings:
      - {clue: gap, at: south, seen: none}
      - {clue: crack, at: south, measured: 3 mm, marks: {taper: [wide_at_top]}}
      - {clue: crack, at: window, not_reached: curtain}
  - pass: c
    date: 2026-03-01
    sightings:
      - {clue: crack, at: south, not_reached: gate}
      - {clue: crack, at: west, seen: none}
      - {clue: gap, at: west, seen: open}
";

#[test]
fn the_latest_that_reached_the_place_stands() {
    let expected = [
        "crack south: b.2 [a.1 c.1]",
        "gap south: b.1 [a.2]",
        "crack west: c.2 [a.3]",
        "crack window: b.3 [a.4]",
        "gap west: c.3 []",
    ];
    assert_eq!(rows(&house(THREE)), expected);
}

#[test]
fn marks_hold_until_restated_or_none() {
    let case = house(THREE);
    let standing = case.standing();
    let joints = ["joints".to_owned()];
    let wide = ["wide_at_top".to_owned()];
    assert_eq!(
        standing[0].marks,
        [("path", joints.as_slice()), ("taper", wide.as_slice())]
    );
    assert!(standing[2].marks.is_empty());
    assert_eq!(standing[0].pass.id, "b");
}

#[test]
fn a_case_as_it_stood() {
    let case = house(THREE);
    let expected = [
        "crack south: a.1 []",
        "gap south: a.2 []",
        "crack west: a.3 []",
        "crack window: a.4 []",
    ];
    assert_eq!(rows(&case.as_of("a").expect("is there")), expected);
    assert_eq!(case.as_of("c").as_ref(), Some(&case));
    assert_eq!(case.as_of("d"), None);
}

#[test]
fn a_repair_resets_what_it_covers() {
    let repaired = |repair: &str| house(&format!("{THREE}repairs:\n  - {repair}\n"));
    let case = repaired("{date: 2026-02-15, at: south, clues: crack, what: repointed}");
    // The window lies in the south wall. After the repair the crack at the south wall could not be looked at.
    let expected = [
        "crack south: c.1 [a.1 b.2]",
        "gap south: b.1 [a.2]",
        "crack west: c.2 [a.3]",
        "gap west: c.3 []",
    ];
    assert_eq!(rows(&case), expected);
    assert!(case.standing()[0].marks.is_empty());
    assert!(case.as_of("b").expect("is there").repairs.is_empty());
    assert_eq!(case.as_of("c").expect("is there").repairs.len(), 1);

    let case = repaired("{date: 2026-03-15, at: house, what: painted}");
    assert!(rows(&case).is_empty());
    assert_eq!(rows(&case.as_of("c").expect("is there")).len(), 5);

    let case = repaired("{at: house, what: 'painted, no telling when'}");
    assert_eq!(rows(&case).len(), 5);

    let case = repaired("{date: 2026-01-15, at: [south, west], clues: gap, what: sealed}");
    assert_eq!(rows(&case)[0], "crack south: b.2 [a.1 c.1]");
    assert_eq!(case.standing()[0].marks.len(), 2);
}
