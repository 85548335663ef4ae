//! The crate asks nothing of the machine it runs on: no clock, thread, file, environment, chance or
//! library of another language. So it can be built for a browser (`wasm32-unknown-unknown`) and
//! gives the same bits there.

#![allow(clippy::unwrap_used, missing_docs)]

use std::fs;
use std::path::{Path, PathBuf};

const NEVER: [&str; 17] = [
    "std::time",
    "std::thread",
    "std::fs",
    "std::io",
    "std::env",
    "std::net",
    "std::process",
    "std::os",
    "std::arch",
    "Instant",
    "SystemTime",
    "HashMap",
    "HashSet",
    "RandomState",
    "extern \"C\"",
    "unsafe",
    "mul_add",
];

/// Functions of `f64` whose last bits are the platform's own; `libm` has them in plain code.
const PLATFORM: [&str; 7] = [
    "f64::ln",
    "f64::exp",
    ".exp()",
    ".exp_m1()",
    ".ln_1p()",
    ".log2()",
    ".powf(",
];

fn sources(folder: &Path, out: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() && path.file_name().is_some_and(|n| n != "tests") {
            sources(&path, out);
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push(path);
        }
    }
}

#[test]
fn the_crate_asks_nothing_of_the_machine() {
    let mut files = Vec::new();
    sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut files);
    assert!(files.len() > 20, "{}", files.len());
    for file in files {
        let text = fs::read_to_string(&file).unwrap();
        let code = text.lines().map(|l| l.split("//").next().unwrap_or_default());
        for (number, line) in code.enumerate() {
            for word in NEVER.iter().chain(&PLATFORM) {
                assert!(!line.contains(word), "{}:{}: {word}", file.display(), number + 1);
            }
        }
    }
}

#[test]
fn it_rests_on_three_crates_in_plain_rust() {
    let manifest = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml")).unwrap();
    let dependencies = manifest
        .split("[dependencies]")
        .nth(1)
        .unwrap()
        .split("\n[")
        .next()
        .unwrap();
    let names: Vec<&str> = dependencies
        .lines()
        .filter_map(|line| line.split(['.', ' ', '=']).next().filter(|name| !name.is_empty()))
        .collect();
    assert_eq!(names, ["libm", "smallvec", "thiserror"]);
}
