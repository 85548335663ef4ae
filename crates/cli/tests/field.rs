//! `wythe survey`, `wythe trend` and `wythe lintel`, as a person runs them.
#![allow(clippy::unwrap_used)]

use std::path::PathBuf;
use std::process::{Command, Output};

fn wythe(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_wythe")).args(args).output().unwrap()
}

fn example(name: &str) -> String {
    format!("{}/../../examples/surveys/{name}", env!("CARGO_MANIFEST_DIR"))
}

/// A file of this test's own.
fn file(name: &str, text: &str) -> String {
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&path, text).unwrap();
    path.display().to_string()
}

/// What is printed, with its lines made one; every line fits 80 columns and none makes a determination.
fn says(args: &[&str]) -> String {
    let out = wythe(args);
    let text = String::from_utf8(out.stdout).unwrap();
    assert!(
        out.status.success(),
        "{args:?}: {}",
        String::from_utf8_lossy(&out.stderr)
    );
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
    assert_eq!(wythe::refused(&text), None);
    for word in ["pass", "passes", "acceptable floor", "OK"] {
        assert!(!text.split_whitespace().any(|one| one == word), "{word}");
    }
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What is complained of, with exit code 1.
fn complains(args: &[&str]) -> String {
    let out = wythe(args);
    assert_eq!(out.status.code(), Some(1), "{args:?}");
    assert!(out.stdout.is_empty());
    String::from_utf8(out.stderr).unwrap()
}

#[test]
fn an_alarming_high_low_that_is_plain_tilt() {
    let text = says(&["survey", &example("plain-tilt.csv")]);
    for part in [
        "High to low 2 13/16 in (71.4 mm)",
        "Plain tilt: no bend above the noise",
        "down toward the east",
        "under the mark",
        "it leans as one piece",
        "can't tell construction from movement",
    ] {
        assert!(text.contains(part), "{part}\n{text}");
    }
}

#[test]
fn a_mild_high_low_that_bends_past_the_mark_at_a_corner() {
    let text = says(&["survey", &example("low-corner.yaml")]);
    for part in [
        "High to low 1 11/16 in (42.9 mm)",
        "One corner is down, toward the south-west",
        "more information is needed",
        "A1, B2, C3",
        "Closing error",
        "Texas Section ASCE",
        "Allowing too for how level it may have been built",
    ] {
        assert!(text.contains(part), "{part}\n{text}");
    }
}

#[test]
fn two_surveys_show_what_moved() {
    let text = says(&["survey", &example("low-corner.yaml"), &example("low-corner-later.yaml")]);
    for part in [
        "from 2026-03-16 to 2027-03-12",
        "A1: down",
        "compare visits in the same season",
    ] {
        assert!(text.contains(part), "{part}\n{text}");
    }
    assert!(!text.contains("A single survey"));
    let backwards = says(&["survey", &example("low-corner-later.yaml"), &example("low-corner.yaml")]);
    assert!(backwards.contains("do not run forward"));
    let mark = complains(&[
        "survey",
        &example("low-corner.yaml"),
        &example("low-corner-later.yaml"),
        "--benchmark",
        "Z9",
    ]);
    assert!(
        mark.contains("the bench mark `Z9` is not a point of this survey"),
        "{mark}"
    );
    let (one, two) = (example("low-corner.yaml"), example("low-corner-later.yaml"));
    let both = says(&["survey", &one, &two, "--benchmark", "A2", "--benchmark", "A3"]);
    assert!(both.contains("Only 2 unmoved points are shared"), "{both}");
}

#[test]
fn cracks_over_a_year_and_under() {
    let text = says(&["trend", &example("cracks-14-months.csv")]);
    assert!(
        text.contains("with the seasons, and one way too") && text.contains("opening,"),
        "{text}"
    );
    let text = says(&["trend", &example("cracks-5-months.csv")]);
    assert!(
        text.contains("cannot separate seasonal from one-way") && !text.contains("opening,"),
        "{text}"
    );
}

#[test]
fn a_lintel_from_a_file_and_from_options() {
    let text = says(&["lintel", &example("kitchen-lintel.yaml")]);
    for part in [
        "more than expected, beyond both errors",
        "3 in (76.2 mm): against 4 in",
        "34 % of its bed",
    ] {
        assert!(text.contains(part), "{part}\n{text}");
    }
    let text = says(&[
        "lintel",
        "--angle",
        "4 x 3 x 1/4",
        "--span",
        "6 ft",
        "--brick",
        "2 ft",
        "--dip",
        "1/8 in",
    ]);
    assert!(text.contains("its full height: less brick above"), "{text}");
    let wide = complains(&["lintel", "--angle", "4 x 3 x 1/4", "--span", "16 ft", "--brick", "2 ft"]);
    assert!(wide.contains("does not apply here"), "{wide}");
    assert!(
        complains(&["lintel", "--angle", "4 by 3", "--span", "16 ft", "--brick", "2 ft"])
            .contains("an angle has two legs")
    );
}

#[test]
fn pictures_and_json() {
    for (command, name) in [("survey", "low-corner.yaml"), ("trend", "cracks-14-months.csv")] {
        let path = file(&format!("{command}.svg"), "");
        says(&[command, &example(name), "--svg", &path]);
        let drawn = std::fs::read_to_string(&path).unwrap();
        assert!(drawn.starts_with("<svg ") && drawn.trim_end().ends_with("</svg>"));
        assert_eq!(wythe::refused(&drawn), None);
    }
    for (command, name) in [
        ("survey", "low-corner.yaml"),
        ("trend", "cracks-5-months.csv"),
        ("survey", "plain-tilt.csv"),
    ] {
        let out = wythe(&[command, &example(name), "--json"]);
        let text = String::from_utf8(out.stdout).unwrap();
        assert!(
            text.contains("\"readings\"") && text.contains("sd_mm\"") && text.contains("no determination"),
            "{text}"
        );
    }
    let text = String::from_utf8(wythe(&["lintel", &example("kitchen-lintel.yaml"), "--json"]).stdout).unwrap();
    assert!(text.contains("lintel-dip-excess"), "{text}");
}

#[test]
fn bad_surveys_are_told_of_by_line() {
    let head = "# error: 1/16 in\n# units: {plan: ft, readings: in}\npoint,x,y,reading\n";
    let of = |name: &str, rows: &str| complains(&["survey", &file(name, &format!("{head}{rows}"))]);
    assert!(of("nan.csv", "A,0,0,NaN\nB,inf,0,1\n").contains("nan.csv:4:7: `NaN` is not a finite number"));
    assert!(of("two.csv", "A,0,0,1\nB,9,0,1\n").contains("2 points"));
    assert!(of("line.csv", "A,0,0,1\nB,9,0,1\nC,18,0,1\nD,27,0,2\n").contains("in one line"));
    assert!(
        of("units.csv", "A,0,0,1\nB,9,0,1\nC,9,9,3 furlongs\nD,0,2000 m,1\n").contains("units.csv:6:7: `3 furlongs`")
    );
    assert!(of("far.csv", "A,0,0,1\nB,9,0,1\nC,9,4000,3\n").contains("far.csv:6:1: point `C`"));
    assert!(of("stations.csv", "A,0,0,1\nB,9,0,1\nC,9,9\n").contains("stations.csv:6:1: `reading` is missing"));
}

#[test]
fn downgrades_are_said() {
    let mut rows = String::from("point,x,y,reading\n");
    for (at, name) in (0..16).zip('A'..) {
        // A foot misread at F.
        let reading = if name == 'F' { "13 in" } else { "1 in" };
        rows += &format!("{name},{} ft,{} ft,{reading}\n", 6 * (at % 4), 6 * (at / 4));
    }
    let text = says(&["survey", &file("foot.csv", &rows)]);
    for part in [
        "The reading at F stands",
        "No instrument error is stated",
        "one station",
    ] {
        assert!(text.contains(part), "{part}\n{text}");
    }
    let mut rows = String::from("# error: 0.1 mm\n# units: mm\npoint,date,width\nstudy,2025-01-10,2.0\n");
    rows += "study,2025-01-10,2.1\nstudy,2025-02-10,2.1\nstudy,2025-03-10,2.1\n";
    assert!(says(&["trend", &file("twice.csv", &rows)]).contains("Readings of one date were averaged"));
    assert!(
        complains(&["trend", &file("few.csv", "point,date,width\na,2025-01-10,2 mm\n")])
            .contains("point `a`: 1 dates given")
    );
}

#[test]
fn a_title_that_makes_a_determination_is_not_printed() {
    let text = "# title: the failed corner\n# error: 1 mm\npoint,x,y,reading\nA,0 m,0 m,1 mm\nB,3 m,0 m,1 mm\nC,0 m,3 m,1 mm\n";
    assert!(complains(&["survey", &file("title.csv", text)]).contains("makes a determination"));
}
