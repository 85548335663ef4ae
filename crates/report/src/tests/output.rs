//! The text: 80 columns, the guard, both units, what must be said.

use proptest::prelude::*;
use unicode_width::UnicodeWidthStr;
use wythe_pack::guard::{REFUSED, refused};

use super::{house, pack, weighed};
use crate::build::conclusions;
use crate::{ReportError, changes, json, page, page_since, reasons_text, text};

#[test]
fn a_determination_in_a_note_is_never_printed() {
    let pack = pack();
    let case = house("The wall is\nperfectly SAFE.");
    let outcome = weighed(&pack, &case);
    for said in [text(&pack, &case, &outcome), json(&pack, &case, &outcome)] {
        assert!(
            matches!(said, Err(ReportError::Determination { phrase: "safe", .. })),
            "{said:?}"
        );
    }
    let error = text(&pack, &case, &outcome).unwrap_err().to_string();
    assert!(
        error.contains("perfectly SAFE"),
        "the message shows the sentence: {error}"
    );
}

#[test]
fn two_lines_that_make_a_determination_together_are_refused() {
    assert!(crate::checked("this crack is\n\nstructural".into()).is_err());
    assert!(crate::checked("this crack is wide".into()).is_ok());
}

#[test]
fn every_refused_phrase_is_refused_in_a_title_too() {
    let pack = pack();
    let mut case = house("a note");
    let outcome = weighed(&pack, &case);
    for phrase in REFUSED {
        case.title = format!("House, {phrase}");
        assert!(text(&pack, &case, &outcome).is_err(), "{phrase}");
    }
}

#[test]
fn what_must_be_said_is_said() {
    let pack = pack();
    let case = house("rises to the left");
    let outcome = weighed(&pack, &case);
    let text = text(&pack, &case, &outcome).unwrap();
    // As wrapped lines break anywhere, words are compared.
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let version = format!("version {}", pack.version);
    for said in [
        "It is not engineering",
        "visual look on 2026-02-03",
        "3 mm ± 0.5 mm (about 1/8 in ± 1/64 in)",
        "1/8 in ± 1/64 in (3.2 mm ± 0.4 mm)",
        "path mixed, taper wide at top",
        "Rises to the left. Photo P-1. [one.1]",
        "a licensed professional engineer",
        "Ground movement of concern",
        "What would change this",
        "LOOKED FOR AND NOT THERE",
        "NOT NOTED YET",
        &version,
    ] {
        assert!(words.contains(said), "{said}\n{text}");
    }
    assert_eq!(refused(&text), None);
}

#[test]
fn what_could_not_be_reached_is_said_with_its_reason() {
    let pack = pack();
    let case = house("a note").as_of("one").unwrap();
    let text = text(&pack, &case, &weighed(&pack, &case)).unwrap();
    assert!(
        text.split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
            .contains("(locked gate; ask for access) [one.3]"),
        "{text}"
    );
}

#[test]
fn changes_name_the_sightings_that_did_it() {
    let pack = pack();
    let case = house("a note");
    let earlier = case.as_of("one").unwrap();
    let (before, after) = (weighed(&pack, &earlier), weighed(&pack, &case));
    let page = page_since(&pack, &case, &before, &after).unwrap();
    let changes_of = page.changes.as_ref().unwrap();
    let moved = changes_of
        .moved
        .iter()
        .find(|moved| moved.conclusion == "corner_drop@corner")
        .unwrap();
    assert!(moved.before.chance < moved.after.chance);
    assert!(
        !moved.by.is_empty() && moved.by.iter().all(|id| id.starts_with("two.")),
        "{:?}",
        moved.by
    );
    let text = changes(&pack, &case, &before, &after).unwrap();
    assert!(
        text.starts_with("WHAT CHANGED\n\nSince the pass \"one\" (10 decibans make"),
        "{text}"
    );
    // The same words of support as everywhere else.
    let mut stood = before.conclusions.iter();
    let stood = stood.find(|one| conclusions::id(&pack, &case, one.about) == moved.conclusion);
    let words = conclusions::firm(&pack, stood.unwrap());
    assert!(
        text.replace("\n  ", " ").contains(&format!("from {words} to ")),
        "{words}: {text}"
    );
    let same = changes(&pack, &case, &after, &after).unwrap();
    assert!(same.contains("nothing moved"), "{same}");
}

#[test]
fn same_input_same_bytes() {
    let pack = pack();
    let case = house("a note");
    assert_eq!(
        json(&pack, &case, &weighed(&pack, &case)),
        json(&pack, &case, &weighed(&pack, &case))
    );
}

#[test]
fn the_printed_ledger_adds_up() {
    let pack = pack();
    let case = house("a note");
    let outcome = weighed(&pack, &case);
    for conclusion in outcome.conclusions.iter().filter(|one| one.chance > 0.3) {
        let reasons = wythe_engine::reasons(&pack, &case, conclusion.about).unwrap();
        let text = reasons_text(&pack, &case, &outcome, &reasons).unwrap();
        let ledger = text
            .split("Adds  Chance\n")
            .nth(1)
            .unwrap()
            .split("\n\n")
            .next()
            .unwrap();
        let adds: Vec<i64> = ledger
            .lines()
            .filter_map(|line| line.get(..5)?.trim().parse().ok())
            .collect();
        let (total, parts) = adds.split_last().unwrap();
        assert_eq!(parts.iter().sum::<i64>(), *total, "{text}");
        assert!(text.lines().all(|line| line.width() <= 80), "{text}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    /// Whatever stands in a note, no line is wider than 80 columns, and no control character comes out.
    #[test]
    fn lines_fit_80_columns(note in "(\\PC|[a-z ]|\u{1b}|\n){1,200}") {
        let pack = pack();
        let mut case = house("a note");
        case.passes[0].sightings[0].note = Some(note.clone());
        case.places[1].label = note.chars().take(90).collect();
        if let Ok(page) = page(&pack, &case, &weighed(&pack, &case)) {
            let text = page.plain().unwrap_or_default();
            for line in text.lines() {
                prop_assert!(line.width() <= 80, "{}: {line}", line.width());
            }
            prop_assert!(text.chars().all(|c| c == '\n' || !c.is_control()));
        }
    }
}
