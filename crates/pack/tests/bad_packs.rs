//! Every broken pack is refused with exactly the message kept in `tests/bad/packs`.
//!
//! Each is the pack in `tests/bad/packs/good` with one edit. Run with `BLESS=1` to write the messages anew, then read
//! each of them.
#![allow(
    clippy::expect_used,
    clippy::panic,
    reason = "test code: a broken fixture should stop the test"
)]

use std::fs;
use std::path::{Path, PathBuf};

use wythe_pack::{Pack, PackFile};

/// Name of the broken pack, the file edited, what is taken out of it, and what is put in. An empty `from` is a file of
/// its own; an empty `to` beside `*` takes the file away.
type Edit = (&'static str, &'static str, &'static str, &'static str);

const EDITS: &[Edit] = &[
    // Names.
    ("misspelt-key", "mechanisms/drop.yaml", "picture:", "pitcure:"),
    (
        "key-twice",
        "clues/gap.yaml",
        "zone: inside",
        "zone: inside\nzone: outside",
    ),
    ("id-unlike-file", "clues/gap.yaml", "id: gap", "id: trim_gap"),
    (
        "link-to-unknown",
        "mechanisms/drop.yaml",
        "effect: moved",
        "effect: mooved",
    ),
    (
        "link-to-nothing-near",
        "mechanisms/drop.yaml",
        "effect: gap",
        "effect: roof_sag",
    ),
    (
        "unknown-source",
        "contexts/clay.yaml",
        "source: judgement",
        "source: judgment",
    ),
    (
        "unknown-context",
        "mechanisms/drop.yaml",
        "context: clay",
        "context: caly",
    ),
    ("unknown-kind", "clues/crack.yaml", "at: wall", "at: walls"),
    (
        "unknown-family",
        "mechanisms/drop.yaml",
        "families: [ground]",
        "families: [grounds]",
    ),
    (
        "unknown-consequence",
        "mechanisms/growth.yaml",
        "consequence: light",
        "consequence: lite",
    ),
    (
        "unknown-rival",
        "mechanisms/growth.yaml",
        "rival: ground",
        "rival: grund",
    ),
    (
        "unknown-mark",
        "responses/turned.yaml",
        "marks: {path:",
        "marks: {paths:",
    ),
    ("unknown-support", "pack.yaml", "strong: upkeep", "storng: upkeep"),
    (
        "unknown-action",
        "limits/wide_crack.yaml",
        "at_least: refer",
        "at_least: referral",
    ),
    ("unknown-action-sentence", "wording.yaml", "refer: ask", "reffer: ask"),
    ("unknown-zone", "clues/gap.yaml", "zone: inside", "zone: indoors"),
    (
        "unknown-touching-kind",
        "places.yaml",
        "touches: {wall: 2}",
        "touches: {wal: 2}",
    ),
    // Files.
    ("missing-file", "families.yaml", "*", ""),
    ("stray-file", "cracks/wide.yaml", "", "id: wide\n"),
    ("not-yaml", "words.yaml", "  often: 0.6", "  often 0.6"),
    ("anchor", "sources.yaml", "judgement: {", "judgement: &one {"),
    ("later-format", "pack.yaml", "format: 1", "format: 2"),
    // Numbers.
    (
        "chance-of-one",
        "mechanisms/drop.yaml",
        "how_often: often\n    reason: It",
        "how_often: 1\n    reason: It",
    ),
    ("chance-in-percent", "contexts/clay.yaml", "share: 0.5", "share: 50"),
    (
        "unknown-frequency",
        "clues/crack.yaml",
        "how_often: rarely",
        "how_often: rarly",
    ),
    ("frequency-of-one", "words.yaml", "often: 0.6", "often: 1.0"),
    (
        "unknown-effect",
        "mechanisms/drop.yaml",
        "effect: raises",
        "effect: rises",
    ),
    ("effect-below-nothing", "words.yaml", "raises: 1.8", "raises: -1.8"),
    ("not-finite", "pack.yaml", "misfit: 20", "misfit: .nan"),
    (
        "number-out-of-range",
        "pack.yaml",
        "part_looked: 0.6",
        "part_looked: 60",
    ),
    (
        "prevalence-outside-range",
        "mechanisms/drop.yaml",
        "chance: 0.05",
        "chance: 0.5",
    ),
    (
        "bounds-out-of-order",
        "pack.yaml",
        "fair: 0.5, strong: 0.85",
        "fair: 0.9, strong: 0.85",
    ),
    (
        "shares-do-not-add-up",
        "clues/crack.yaml",
        "joints: 0.8, units: 0.2",
        "joints: 0.8, units: 0.4",
    ),
    (
        "share-missing",
        "responses/turned.yaml",
        "{joints: 0.5, units: 0.5}",
        "{joints: 1}",
    ),
    ("share-negative", "clues/crack.yaml", "wide: 0.1}", "wide: -0.1}"),
    (
        "share-of-unknown-grade",
        "clues/crack.yaml",
        "slight: 0.2, wide",
        "sligth: 0.2, wide",
    ),
    // Grades and measurements.
    ("one-grade", "clues/gap.yaml", "  - {id: open}\n", ""),
    (
        "grade-twice",
        "clues/crack.yaml",
        "{id: slight, up_to: 5 mm}",
        "{id: slight, up_to: 5 mm}\n  - {id: slight, up_to: 7 mm}",
    ),
    (
        "grade-without-bound",
        "clues/crack.yaml",
        "{id: slight, up_to: 5 mm}",
        "{id: slight}",
    ),
    (
        "bound-on-last-grade",
        "clues/crack.yaml",
        "{id: wide}",
        "{id: wide, up_to: 15 mm}",
    ),
    ("bounds-do-not-rise", "clues/crack.yaml", "up_to: 5 mm", "up_to: 0.5 mm"),
    ("bound-in-other-unit", "clues/crack.yaml", "up_to: 5 mm", "up_to: 1/360"),
    ("bound-unreadable", "clues/crack.yaml", "up_to: 5 mm", "up_to: 5 mmm"),
    (
        "limit-on-clue-by-eye",
        "limits/wide_crack.yaml",
        "clue: crack",
        "clue: gap",
    ),
    (
        "limit-over-and-from",
        "limits/wide_crack.yaml",
        "over: 5 mm",
        "over: 5 mm\nfrom: wide",
    ),
    (
        "hazard-from-lowest-grade",
        "hazards/open_gap.yaml",
        "from: open",
        "from: none",
    ),
    (
        "hazard-from-unknown-grade",
        "hazards/open_gap.yaml",
        "from: open",
        "from: opne",
    ),
    (
        "pattern-with-other-grades",
        "clues/gap.yaml",
        "effort: glance",
        "effort: glance\npattern: {of: crack, kind: sideways, at_least: 1}",
    ),
    // Links and graph.
    (
        "links-in-a-circle",
        "responses/turned.yaml",
        "links:",
        "links:\n  - {effect: moved, state: up, reach: here, how_often: rarely, reason: It pulls., source: judgement}",
    ),
    (
        "shortcut",
        "mechanisms/drop.yaml",
        "effect: gap\n    reach: touching",
        "effect: crack\n    reach: here",
    ),
    (
        "reach-that-joins-nothing",
        "mechanisms/drop.yaml",
        "reach: touching",
        "reach: inside",
    ),
    ("direction-missing", "mechanisms/drop.yaml", "    state: down\n", ""),
    (
        "direction-toward-rest",
        "mechanisms/drop.yaml",
        "state: down",
        "state: still",
    ),
    (
        "direction-of-a-clue",
        "mechanisms/drop.yaml",
        "effect: gap\n",
        "effect: gap\n    state: open\n",
    ),
    (
        "when-of-a-mechanism",
        "mechanisms/growth.yaml",
        "effect: gap\n",
        "effect: gap\n    when: down\n",
    ),
    ("when-missing", "responses/moved.yaml", "    when: down\n", ""),
    (
        "response-leads-nowhere",
        "responses/turned.yaml",
        "links:\n",
        "links: []\nnote: |\n",
    ),
    (
        "linked-and-not-expected",
        "mechanisms/growth.yaml",
        "{effect: turned",
        "{effect: gap",
    ),
    (
        "link-twice",
        "mechanisms/growth.yaml",
        "not_expected:",
        "  - {effect: gap, reach: each, how_often: rarely, reason: It pushes., source: judgement}\nnot_expected:",
    ),
    // Sentences.
    (
        "determination",
        "mechanisms/growth.yaml",
        "The wall stays upright.",
        "The wall is structurally sound.",
    ),
    (
        "empty-text",
        "clues/gap.yaml",
        "look_for: at the mitre",
        "look_for: \"\"",
    ),
    (
        "suppression-by-nothing",
        "suppressions/damp.yaml",
        "by_context: clay\n",
        "",
    ),
];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/bad/packs")
}

/// The files of the good pack, by path.
fn good() -> Vec<(String, String)> {
    let top = folder().join("good");
    let mut files = Vec::new();
    let mut folders = vec![top.clone()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).expect("the folder is there") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let inside = path.strip_prefix(&top).expect("inside").components();
                let name: Vec<_> = inside.map(|part| part.as_os_str().to_string_lossy()).collect();
                files.push((name.join("/"), fs::read_to_string(&path).expect("readable")));
            }
        }
    }
    files.sort();
    files
}

fn edited(files: &mut Vec<(String, String)>, (what, path, from, to): Edit) {
    if from.is_empty() {
        return files.push((path.to_owned(), to.to_owned()));
    }
    if from == "*" {
        return files.retain(|(name, _)| name != path);
    }
    let (_, text) = files
        .iter_mut()
        .find(|(name, _)| name == path)
        .unwrap_or_else(|| panic!("{what}: no file {path}"));
    assert!(text.contains(from), "{what}: {path} has no `{from}`");
    *text = text.replacen(from, to, 1);
}

fn read(files: &[(String, String)]) -> Result<Pack, String> {
    let files: Vec<PackFile<'_>> = files.iter().map(|(path, text)| PackFile { path, text }).collect();
    Pack::read(&files).map_err(|problems| problems.to_string())
}

#[test]
fn the_good_pack_reads() {
    read(&good()).unwrap_or_else(|problems| panic!("{problems}"));
}

#[test]
fn bad_packs_are_refused_with_these_messages() {
    let bless = std::env::var_os("BLESS").is_some();
    let mut packs: Vec<(&str, Vec<Edit>)> = EDITS.iter().copied().map(|edit| (edit.0, vec![edit])).collect();
    // Every problem of every file at once, in the order of the files.
    let several = [
        "misspelt-key",
        "unknown-source",
        "chance-of-one",
        "bounds-do-not-rise",
        "empty-text",
        "determination",
    ];
    packs.push((
        "many-at-once",
        EDITS.iter().copied().filter(|edit| several.contains(&edit.0)).collect(),
    ));
    let mut differing = Vec::new();
    for (what, edits) in packs {
        let mut files = good();
        for edit in edits {
            edited(&mut files, edit);
        }
        let Err(said) = read(&files) else {
            panic!("{what} was read without a problem")
        };
        let kept = folder().join(format!("{what}.txt"));
        if bless {
            fs::write(&kept, &said).expect("writable");
        } else if fs::read_to_string(&kept).unwrap_or_default() != said {
            differing.push(format!("{what} says now:\n{said}"));
        }
    }
    assert!(
        differing.is_empty(),
        "{}\nif these are right: BLESS=1 cargo test -p wythe-pack",
        differing.join("\n")
    );
}

#[test]
fn every_message_belongs_to_a_bad_pack_and_says_what_to_do() {
    let mut found = 0;
    for entry in fs::read_dir(folder()).expect("the folder is there") {
        let path = entry.expect("an entry").path();
        if path.extension().is_none_or(|end| end != "txt") {
            continue;
        }
        let what = path.file_stem().expect("a name").to_string_lossy().into_owned();
        assert!(
            what == "many-at-once" || EDITS.iter().any(|edit| edit.0 == what),
            "{what} belongs to no bad pack"
        );
        let text = fs::read_to_string(&path).expect("readable");
        assert!(text.contains("help: "), "{what} gives no help:\n{text}");
        for word in ["f64", "i64", "String", "Option", "Vec<", "enum ", "struct ", "ClueIx"] {
            assert!(!text.contains(word), "{what}: {text}");
        }
        found += 1;
    }
    assert!(found > 25);
}
