//! The commands for client, engineer and trainer, as they are used.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

use std::path::Path;
use std::process::{Command, Output};

fn wythe(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_wythe"))
        .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("../.."))
        .args(args)
        .output()
        .unwrap()
}

fn printed(args: &[&str]) -> String {
    let output = wythe(args);
    assert!(
        output.status.success(),
        "{args:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).unwrap()
}

/// The exit code and what it says.
fn refused(args: &[&str]) -> (i32, String) {
    let output = wythe(args);
    assert!(output.stdout.is_empty(), "{args:?}");
    (output.status.code().unwrap(), String::from_utf8(output.stderr).unwrap())
}

const CORNER: &str = "examples/cases/dropped-corner.yaml";
const TWICE: &str = "examples/cases/second-pass.yaml";

#[test]
fn every_text_is_had_as_markdown() {
    for args in [
        vec!["weigh", CORNER],
        vec!["reasons", CORNER, "corner_drop"],
        vec!["steps", CORNER, "corner_drop", "--at", "back-left"],
        vec!["client", CORNER],
        vec!["engineer", CORNER],
        vec!["compare", TWICE, "--pass", "first", "--pass", "second"],
    ] {
        let text = printed(&args);
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{args:?}");
        let markdown = printed(&[args.as_slice(), &["--markdown"]].concat());
        assert!(markdown.starts_with("# ") && markdown.contains("\n## "), "{args:?}");
    }
}

#[test]
fn surveys_and_trends_go_with_the_engineers_packet() {
    let text = printed(&[
        "engineer",
        CORNER,
        "--survey",
        "examples/surveys/low-corner.yaml",
        "--trend",
        "examples/surveys/cracks-14-months.csv",
    ]);
    for what in ["LEVEL SURVEY", "CRACKS OVER TIME", "95 %"] {
        assert!(text.contains(what), "{what}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 80));
}

#[test]
fn a_drawing_is_written_or_printed() {
    let path = std::env::temp_dir().join(format!("wythe-draw-{}.svg", std::process::id()));
    let said = printed(&["draw", CORNER, "--plan", "--svg", path.to_str().unwrap()]);
    let file = std::fs::read_to_string(&path).unwrap();
    std::fs::remove_file(&path).unwrap();
    assert!(said.starts_with("The house was drawn"));
    assert_eq!(file, printed(&["draw", CORNER, "--plan", "--svg", "-"]));
    assert!(printed(&["draw", CORNER, "corner_drop", "--svg", "-"]).starts_with("<svg "));
    assert_eq!(refused(&["draw", CORNER, "--svg", "-"]).0, 2);
}

/// A number of a JSON value.
fn number(value: &serde_json::Value) -> f64 {
    value.as_f64().unwrap()
}

#[test]
fn steps_and_compare_as_json_have_the_same_numbers() {
    let odds = |p: f64| 10.0 * (p / (1.0 - p)).log10();
    let walk: serde_json::Value = serde_json::from_str(&printed(&["steps", TWICE, "--json"])).unwrap();
    let mut moved = 0;
    for one in walk["steps"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|step| step["moved"].as_array().unwrap())
    {
        let (before, after) = (number(&one["before"]), number(&one["after"]));
        // Chances are rounded to six digits.
        if before > 0.01 && after < 0.99 && after > 0.01 && before < 0.99 {
            assert!(
                (odds(after) - odds(before) - number(&one["decibans"])).abs() < 0.01,
                "{one}"
            );
            moved += 1;
        }
    }
    assert!(moved > 20, "{moved}");
    let compared = printed(&["compare", TWICE, "--pass", "first", "--pass", "second", "--json"]);
    let compared: serde_json::Value = serde_json::from_str(&compared).unwrap();
    let pairs = compared["conclusions"].as_array().unwrap();
    assert!(pairs.len() > 5 && !compared["signs"].as_array().unwrap().is_empty());
    for one in pairs.iter().filter(|one| one["decibans"].is_number()) {
        let parts: f64 = one["parts"]
            .as_array()
            .unwrap()
            .iter()
            .map(|part| number(&part["decibans"]))
            .sum();
        assert!((parts - number(&one["decibans"])).abs() < 0.001, "{one}");
    }
}

#[test]
fn wrong_use_of_compare_says_what_to_do() {
    let (code, says) = refused(&["compare", TWICE, "--pass", "first"]);
    assert!(code == 2 && says.contains("give --pass twice"), "{says}");
    let (code, says) = refused(&["compare", TWICE, "--pass", "first", "--pass", "secnd"]);
    assert!(code == 2 && says.contains("did you mean `second`?"), "{says}");
    let other = std::env::temp_dir().join(format!("wythe-other-{}.yaml", std::process::id()));
    std::fs::write(
        &other,
        "format: 1\nid: other\nplaces: [{id: attic, kind: roof}]\npasses: []\n",
    )
    .unwrap();
    let (code, says) = refused(&["compare", CORNER, other.to_str().unwrap()]);
    std::fs::remove_file(&other).unwrap();
    assert!(code == 2 && says.contains("same ids"), "{says}");
}
