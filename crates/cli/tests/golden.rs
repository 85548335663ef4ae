//! What the program prints for the example houses is what was last read by eye.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

const CURE: &str = "run `cargo dev golden`, and read what changed by eye";

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn names(dir: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(dir)
        .unwrap_or_else(|error| panic!("{}: {error}; {CURE}", dir.display()))
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn every_example_has_its_golden_outputs() {
    let cases: Vec<String> = names(&root().join("examples/cases"))
        .iter()
        .filter_map(|name| Some(name.strip_suffix(".yaml")?.to_owned()))
        .collect();
    assert!(cases.len() >= 4, "{cases:?}");
    assert_eq!(names(&root().join("tests/golden")), cases, "{CURE}");
    for case in cases {
        let files = names(&root().join("tests/golden").join(&case));
        assert!(
            files.contains(&"weigh.txt".into()) && files.contains(&"weigh.json".into()),
            "{case}: {CURE}"
        );
        assert!(
            files.iter().filter(|name| name.starts_with("reasons-")).count() >= 2,
            "{case}: {CURE}"
        );
    }
}

/// What the program is asked for a golden file.
fn asked<'a>(file: &'a str, name: &'a str) -> Option<Vec<&'a str>> {
    Some(match name {
        "weigh.txt" => vec!["weigh", file],
        "weigh.json" => vec!["weigh", file, "--json"],
        "look.txt" => vec!["look", file],
        "client.txt" => vec!["client", file],
        "client.md" => vec!["client", file, "--markdown"],
        "engineer.txt" => vec!["engineer", file],
        "steps.txt" => vec!["steps", file],
        "plan.svg" => vec!["draw", file, "--plan", "--svg", "-"],
        "compare.txt" => vec!["compare", file, "--pass", "first", "--pass", "second"],
        _ => match name.strip_prefix("draw-") {
            Some(about) => vec!["draw", file, about.strip_suffix(".svg")?, "--svg", "-"],
            None => vec!["reasons", file, name.strip_prefix("reasons-")?.strip_suffix(".txt")?],
        },
    })
}

#[test]
fn outputs_are_as_they_were_read() {
    for case in names(&root().join("tests/golden")) {
        let file = format!("examples/cases/{case}.yaml");
        for name in names(&root().join("tests/golden").join(&case)) {
            let args = asked(&file, &name).unwrap_or_else(|| panic!("{case}/{name} is no golden output; {CURE}"));
            let output = Command::new(env!("CARGO_BIN_EXE_wythe"))
                .current_dir(root())
                .args(&args)
                .output()
                .unwrap();
            assert!(
                output.status.success(),
                "{args:?}: {}",
                String::from_utf8_lossy(&output.stderr)
            );
            let golden = fs::read_to_string(root().join("tests/golden").join(&case).join(&name)).unwrap();
            let printed = String::from_utf8(output.stdout).unwrap();
            if printed != golden {
                let differs = printed
                    .lines()
                    .zip(golden.lines())
                    .position(|(now, then)| now != then)
                    .unwrap_or(0);
                panic!(
                    "tests/golden/{case}/{name} differs from line {} on:\n  was: {}\n  now: {}\n{CURE}",
                    differs + 1,
                    golden.lines().nth(differs).unwrap_or_default(),
                    printed.lines().nth(differs).unwrap_or_default(),
                );
            }
        }
    }
}

#[test]
fn no_output_makes_a_determination() {
    for case in names(&root().join("tests/golden")) {
        for name in names(&root().join("tests/golden").join(&case)) {
            let text = fs::read_to_string(root().join("tests/golden").join(&case).join(&name)).unwrap();
            assert_eq!(wythe::refused(&text), None, "{case}/{name}");
        }
    }
}
