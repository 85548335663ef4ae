//! What each fuzz target does with its bytes. `tests/tests/fuzzed.rs` does the same with the corpus that is kept, so a plain
//! `cargo test` replays it.
//!
//! A target fails by a panic: of the product's, or of an assertion here.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "test code: a finding is a panic"
)]

use std::fs;
use std::path::Path;
use std::sync::OnceLock;

use wythe::field::{LintelReport, SurveyReport, TrendReport};
use wythe::{Case, Lintel, More, Pack, Pass, Seen, Sighting, Weighed, built_in_pack, report};
use wythe_case::{CrackReadings, Survey};
use wythe_measure::{Length, Quantity, parse_measured, parse_measured_as};
use wythe_pack::PackFile;
use wythe_testing::{Dice, random_case, random_pack};

/// Text typed as a measurement: what is read is finite, and reads the same again.
pub fn lengths(data: &[u8]) {
    let Ok(text) = str::from_utf8(data) else { return };
    let kinds = [
        Quantity::Length,
        Quantity::Ratio,
        Quantity::Angle,
        Quantity::Rate,
        Quantity::Number,
    ];
    let any = parse_measured(text);
    for wanted in kinds {
        if let Ok(read) = parse_measured_as(text, wanted) {
            assert_eq!(read.quantity, wanted);
        }
    }
    match any {
        Err(error) => told(&error.to_string()),
        Ok(read) => {
            assert!(read.value.is_finite());
            assert!(read.sd.is_none_or(|sd| sd.is_finite() && sd >= 0.0));
            assert_eq!(parse_measured(&read.text).as_ref(), Ok(&read), "{text:?}");
            if let Some(length) = read.length() {
                let written = length.both();
                let feet = Length::parse(&length.feet_inches()).unwrap_or_else(|error| panic!("{written}: {error}"));
                // Written to the nearest 1/16 in from 1/4 in up, below that to the nearest 1/32 in.
                let rounding = if length.as_inches().abs() < 0.25 {
                    1.0 / 63.0
                } else {
                    1.0 / 31.0
                };
                assert!((feet.as_inches() - length.as_inches()).abs() <= rounding, "{written}");
            }
        }
    }
}

/// Field notes about a house: what is taken fits the case.
pub fn notes(data: &[u8]) {
    let Ok(text) = str::from_utf8(data) else { return };
    let (pack, case) = (built_in_pack(), a_house());
    match wythe::read_notes(pack, case, "second", "notes", text) {
        Err(problems) => told(&problems.to_string()),
        Ok(noted) => {
            let more = More {
                places: noted.places,
                contexts: noted.contexts,
                repairs: noted.repairs,
                pass: pass("second", noted.sightings),
            };
            let (text, whole) = case.with_more(&more).unwrap_or_else(|problems| panic!("{problems}"));
            assert_eq!(Case::read("a.yaml", &text).unwrap(), whole);
            // Without a sighting no pass is made.
            let made = whole.passes.get(1).map_or(0, |pass| pass.sightings.len());
            assert_eq!(made, more.pass.sightings.len());
        }
    }
    let _ = wythe::read_place(pack, case, "place", text);
    let _ = wythe::find_place(pack, case, "place", text);
}

/// A case file, YAML or JSON: what is read is written, and read again as the same; it can be added to.
pub fn case(data: &[u8]) {
    let Ok(text) = str::from_utf8(data) else { return };
    let name = if text.starts_with('{') { "a.json" } else { "a.yaml" };
    match Case::read(name, text) {
        Err(problems) => told(&problems.to_string()),
        Ok(case) => {
            let written = case.to_yaml();
            let again = Case::read("b.yaml", &written).unwrap_or_else(|problems| panic!("{problems}\n{written}"));
            assert_eq!(again.to_yaml(), written);
            let _ = case.standing();
            for one in &case.passes {
                assert!(case.as_of(&one.id).is_some());
            }
            let house = vec![none_there("a-new-clue", 0)];
            let more = More {
                places: Vec::new(),
                contexts: Vec::new(),
                repairs: Vec::new(),
                pass: pass("a-new-pass", house),
            };
            if let Ok((text, whole)) = case.with_more(&more) {
                assert_eq!(Case::read(name, &text).unwrap(), whole);
                assert_eq!(whole.passes.len(), case.passes.len() + 1);
                assert_eq!(whole.places, case.places);
                let ids = |case: &Case, at: usize| -> Vec<String> {
                    case.passes[at].sightings.iter().map(|one| one.id.clone()).collect()
                };
                assert!((0..case.passes.len()).all(|at| ids(&case, at) == ids(&whole, at)));
            }
        }
    }
}

/// A survey (CSV, YAML or JSON), readings of cracks or a lintel, by the first letter: what is read is reckoned and told of.
pub fn survey(data: &[u8]) {
    let Ok(text) = str::from_utf8(data) else { return };
    let Some((kind, text)) = text.split_once('\n') else {
        return;
    };
    let end = match kind {
        "survey csv" | "cracks csv" => "a.csv",
        "survey json" | "cracks json" | "lintel json" => "a.json",
        _ => "a.yaml",
    };
    match kind.split(' ').next() {
        Some("survey") => match Survey::read(end, text) {
            Err(problems) => told(&problems.to_string()),
            Ok(read) => match SurveyReport::new(&read) {
                Err(error) => told(&error.to_string()),
                Ok(made) => [made.text(), made.json(), made.svg()].into_iter().for_each(outcome),
            },
        },
        Some("cracks") => match CrackReadings::read(end, text) {
            Err(problems) => told(&problems.to_string()),
            Ok(read) => match TrendReport::new(&read) {
                Err(error) => told(&error.to_string()),
                Ok(made) => {
                    [made.text(), made.json()].into_iter().for_each(outcome);
                    let _ = made.svg(None);
                }
            },
        },
        Some("lintel") => match Lintel::read(end, text) {
            Err(problems) => told(&problems.to_string()),
            Ok(read) => match LintelReport::new(&read) {
                Err(error) => told(&error.to_string()),
                Ok(made) => [made.text(), made.json()].into_iter().for_each(outcome),
            },
        },
        _ => {}
    }
}

/// Files of a pack, each after a line `== path`, in place of those of a small one; `== case` is a case to weigh by it.
pub fn pack(data: &[u8]) {
    let Ok(text) = str::from_utf8(data) else { return };
    let mut files: Vec<(String, String)> = small_pack().to_vec();
    let mut to_weigh = None;
    let text = format!("\n{text}");
    for part in text.split("\n== ").skip(1) {
        let (path, text) = part.split_once('\n').unwrap_or((part, ""));
        match files.iter_mut().find(|(name, _)| name == path) {
            Some((_, old)) => *old = text.to_owned(),
            None if path == "case" => to_weigh = Some(text),
            None => files.push((path.to_owned(), text.to_owned())),
        }
    }
    let files: Vec<PackFile<'_>> = files.iter().map(|(path, text)| PackFile { path, text }).collect();
    if let Err(problems) = Pack::check(&files) {
        told(&problems.to_string());
    }
    match Pack::read(&files) {
        Err(problems) => told(&problems.to_string()),
        Ok(pack) => {
            if let Some(Ok(case)) = to_weigh.map(|text| Case::read("a.yaml", text)) {
                weighed(&pack, &case, true);
            }
        }
    }
}

/// Rolls of dice: a pack and a case for it, or (first byte odd) sightings of the built-in pack's clues in a house; weighed,
/// asked of and told of in every way.
pub fn weigh(data: &[u8]) {
    let Some((first, rest)) = data.split_first() else {
        return;
    };
    let rolls: Vec<u16> = rest
        .chunks(2)
        .map(|two| u16::from_le_bytes([two[0], *two.get(1).unwrap_or(&0)]))
        .collect();
    if first.is_multiple_of(2) {
        let mut dice = Dice::new(rolls);
        let (pack, _) = random_pack(&mut dice);
        let case = random_case(&mut dice, &pack);
        weighed(&pack, &case, true);
    } else {
        // What is asked of so large a pack takes a tenth of a second and more: only now and then.
        let pack = built_in_pack();
        weighed(pack, &drawn_house(pack, rolls), *first == 255);
    }
}

/// Everything that is asked and told of a case: it comes, or is refused by a typed problem; chances are chances.
fn weighed(pack: &Pack, case: &Case, asked: bool) {
    let kept = match Weighed::new(pack, case) {
        Ok(kept) => kept,
        Err(error) => return told(&error.to_string()),
    };
    let found = kept.outcome();
    for one in &found.conclusions {
        assert!(
            (0.0..=1.0).contains(&one.chance) && one.range.0 <= one.chance + 1e-9 && one.chance <= one.range.1 + 1e-9
        );
    }
    outcome(report::text(pack, case, found).map_err(wythe::Error::from));
    outcome(report::json(pack, case, found).map_err(wythe::Error::from));
    for form in [report::Form::Text, report::Form::Markdown] {
        outcome(report::client(pack, case, found, form).map_err(wythe::Error::from));
        outcome(report::engineer(pack, case, found, &[], form).map_err(wythe::Error::from));
    }
    if !asked {
        return;
    }
    let looks = wythe::looks(&kept).unwrap_or_else(|error| panic!("{error}"));
    for look in &looks.looks {
        assert!(look.worth.is_finite() && look.worth >= -1e-9, "{}", look.worth);
    }
    if let Some(first) = found.conclusions.first() {
        let asked = wythe::ask(&kept, first.about);
        let reasons = wythe::reasons(pack, case, first.about);
        if let (Ok(asked), Ok(reasons)) = (asked, reasons) {
            let form = report::Form::Text;
            let text = report::reasons_and_asked_text(pack, case, found, &reasons, &asked, form);
            outcome(text.map_err(wythe::Error::from));
        }
    }
}

/// The house of [`a_house`] with sightings of the built-in pack's clues, as dice have it.
fn drawn_house(pack: &Pack, rolls: Vec<u16>) -> Case {
    let count = rolls.len().min(64) / 2;
    let mut dice = Dice::new(rolls);
    let mut case = a_house().clone();
    let clues: Vec<_> = pack.clues.iter().filter(|clue| clue.pattern.is_none()).collect();
    let mut sightings: Vec<Sighting> = Vec::new();
    for _ in 0..count {
        let clue = clues[dice.roll(clues.len())];
        let places: Vec<usize> = (0..case.places.len())
            .filter(|at| case.places[*at].kind == pack[clue.at].id)
            .collect();
        if places.is_empty() {
            continue;
        }
        let at = places[dice.roll(places.len())];
        let grade = dice.roll(clue.grades.len());
        if sightings.iter().any(|one| one.clue == clue.id && one.at == at) {
            continue;
        }
        let mut one = none_there(&clue.id, at);
        if grade > 0 {
            one.seen = Seen::Grade(clue.grades[grade].id.clone());
        }
        sightings.push(one);
    }
    case.passes.push(pass("drawn", sightings));
    case
}

fn none_there(clue: &str, at: usize) -> Sighting {
    Sighting {
        id: String::new(),
        clue: clue.into(),
        at,
        seen: Seen::NoneThere {
            looked: wythe::Looked::All,
        },
        marks: Vec::new(),
        sure: wythe::Sure::Sure,
        corrects: None,
        note: None,
        photos: Vec::new(),
        computed: None,
        locus: Default::default(),
    }
}

fn pass(id: &str, sightings: Vec<Sighting>) -> Pass {
    Pass {
        id: id.into(),
        title: None,
        date: None,
        by: None,
        sightings,
        locus: Default::default(),
    }
}

/// A message holds no character that a terminal would obey.
fn told(message: &str) {
    assert_eq!(wythe::misleading(message), None, "{message:?}");
    assert!(!message.is_empty() && message.len() < 200_000);
}

fn outcome(made: Result<String, wythe::Error>) {
    match made {
        Ok(text) => assert!(!text.is_empty()),
        Err(error) => told(&error.to_string()),
    }
}

fn a_house() -> &'static Case {
    static HOUSE: OnceLock<Case> = OnceLock::new();
    HOUSE.get_or_init(|| {
        let text = "format: 1\nid: a\nplaces:\n  - {id: south, kind: exterior_wall, label: south wall}\n  - {id: west, kind: exterior_wall, label: west wall}\n  - {id: south-west, kind: outside_corner, touches: [south, west]}\n  - {id: kitchen-window, kind: opening, in: south, label: kitchen window}\n  - {id: slab, kind: slab_area}\n  - {id: study, kind: room, touches: [south, slab]}\n  - {id: study-door, kind: door, in: study}\npasses:\n  - pass: first\n    date: 2026-03-14\n    sightings:\n      - {clue: step_crack_veneer, at: south, measured: 1/16 in}\n";
        Case::read("a.yaml", text).unwrap()
    })
}

/// The files of the small pack that has nothing to mend.
fn small_pack() -> &'static [(String, String)] {
    static FILES: OnceLock<Vec<(String, String)>> = OnceLock::new();
    FILES.get_or_init(|| {
        let here = Path::new(env!("CARGO_MANIFEST_DIR")).ancestors();
        let good = here
            .map(|folder| folder.join("bad/packs/good"))
            .find(|folder| folder.is_dir());
        let good = good.expect("the small pack is there");
        let mut files = Vec::new();
        let mut folders = vec![good.clone()];
        while let Some(folder) = folders.pop() {
            for entry in fs::read_dir(&folder).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    folders.push(path);
                } else {
                    let name = path.strip_prefix(&good).unwrap().to_string_lossy().replace('\\', "/");
                    files.push((name, fs::read_to_string(&path).unwrap()));
                }
            }
        }
        files.sort();
        files
    })
}
