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

#[path = "bad_packs/edits.rs"]
mod edits;

use edits::{EDITS, Edit};

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
    Pack::check(&files).map_err(|problems| problems.to_string())
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
