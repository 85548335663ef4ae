//! A case that names what the pack has not: every such name at once, at its place, with the nearest one.
#![allow(missing_docs)]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "test code: a broken fixture should stop the test"
)]

use wythe::{Case, WeighError, built_in_pack, weigh};

fn said(name: &str, text: &str) -> String {
    let case = Case::read(name, text).unwrap_or_else(|problems| panic!("{problems}"));
    match weigh(built_in_pack(), &case) {
        Err(WeighError::Mismatch(problems)) => problems.to_string(),
        other => panic!("{name}: {other:?}"),
    }
}

/// Compares with the message kept in `tests/bad/mismatch`; `BLESS=1` writes it anew.
fn kept(name: &str, text: &str) {
    let path = wythe_tests::root().join(format!("tests/bad/mismatch/{name}.txt"));
    let said = said(&format!("{name}.yaml"), text);
    if std::env::var_os("BLESS").is_some() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, &said).unwrap();
    }
    assert_eq!(
        std::fs::read_to_string(&path).unwrap_or_default(),
        said,
        "if this is right: BLESS=1 cargo test -p wythe-tests"
    );
    assert!(
        said.lines()
            .all(|line| !line.contains("ClueIx") && !line.contains("f64")),
        "{said}"
    );
}

fn case(places: &str, rest: &str, sightings: &str) -> String {
    format!("format: 1\nid: mismatch\nplaces:\n{places}\n{rest}passes:\n  - pass: first\n    sightings:\n{sightings}\n")
}

const WALL: &str = "  - {id: south, kind: exterior_wall}";

#[test]
fn unknown_clue() {
    kept(
        "unknown-clue",
        &case(WALL, "", "      - {clue: step_crack_vener, at: south, seen: none}"),
    );
}

#[test]
fn unknown_kind_of_place() {
    kept(
        "unknown-kind",
        &case(
            "  - {id: south, kind: outside_wall}\n  - {id: sky, kind: zzz}",
            "",
            "      []",
        ),
    );
}

#[test]
fn unknown_context() {
    kept(
        "unknown-context",
        &case(WALL, "contexts: {recent_drout: yes, martian: no}\n", "      []"),
    );
}

#[test]
fn unknown_region() {
    kept("unknown-region", &case(WALL, "region: forst\n", "      []"));
}

#[test]
fn numbers_of_another_region() {
    kept("another-region", &case(WALL, "region: frost\n", "      []"));
}

#[test]
fn unknown_kind_counted() {
    kept(
        "unknown-kind-counted",
        &case(WALL, "how_many: {openings: 9}\n", "      []"),
    );
}

#[test]
fn unknown_grade() {
    kept(
        "unknown-grade",
        &case(
            WALL,
            "",
            "      - {clue: step_crack_veneer, at: south, seen: moderat}\n      - {clue: frieze_gap, at: south, seen: enormous}",
        ),
    );
}

#[test]
fn unknown_mark_and_kind_of_mark() {
    kept(
        "unknown-mark",
        &case(
            WALL,
            "",
            "      - {clue: step_crack_veneer, at: south, seen: fine, marks: {paths: joints, taper: wide_at_tpo}}\n      - {clue: frieze_gap, at: south, seen: slight, marks: {colour: red}}",
        ),
    );
}

#[test]
fn clue_at_another_kind_of_place() {
    kept(
        "other-kind-of-place",
        &case(WALL, "", "      - {clue: door_binds, at: south, seen: none}"),
    );
}

#[test]
fn measured_where_graded_by_eye() {
    kept(
        "measured-by-eye",
        &case(
            "  - {id: d, kind: door}",
            "",
            "      - {clue: door_binds, at: d, measured: 3 mm}",
        ),
    );
}

#[test]
fn measured_in_another_quantity() {
    kept(
        "other-quantity",
        &case(
            WALL,
            "",
            "      - {clue: step_crack_veneer, at: south, measured: 1/360}",
        ),
    );
}

#[test]
fn all_at_once() {
    kept(
        "all-at-once",
        &case(
            "  - {id: south, kind: exterior_wal}\n  - {id: west, kind: exterior_wall}",
            "contexts: {recent_drout: yes}\nhow_many: {openings: 9}\n",
            "      - {clue: step_crack_vener, at: west, seen: none}\n      - {clue: frieze_gap, at: west, seen: enormous}\n      - {clue: door_binds, at: west, measured: 3 mm}",
        ),
    );
}
