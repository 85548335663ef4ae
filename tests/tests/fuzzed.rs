//! The corpus of the fuzz targets, replayed: every input that fuzzing kept or found goes through its target's body again.
//! The bodies, and how to fuzz, stand in `tests/fuzz`.
#![allow(missing_docs)]
#![allow(
    dead_code,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "test code: a finding is a panic"
)]

#[path = "../fuzz/bodies.rs"]
mod bodies;

use std::fs;

use wythe_tests::root;

/// Every file under `corpus/<target>` and `found/<target>`: how many there were.
fn replay(target: &str, body: fn(&[u8])) {
    let mut count = 0;
    for folder in ["corpus", "found"] {
        let folder = root().join("tests/fuzz").join(folder).join(target);
        let Ok(entries) = fs::read_dir(folder) else { continue };
        let mut paths: Vec<_> = entries.map(|entry| entry.unwrap().path()).collect();
        paths.sort();
        for path in paths {
            // Told of by the harness where the body panics.
            println!("{}", path.display());
            body(&fs::read(&path).unwrap());
            count += 1;
        }
    }
    assert!(count > 0, "no input is kept for {target}");
}

#[test]
fn lengths() {
    replay("lengths", bodies::lengths);
}

#[test]
fn notes() {
    replay("notes", bodies::notes);
}

#[test]
fn case() {
    replay("case", bodies::case);
}

#[test]
fn survey() {
    replay("survey", bodies::survey);
}

#[test]
fn pack() {
    replay("pack", bodies::pack);
}

#[test]
fn weigh() {
    replay("weigh", bodies::weigh);
}
