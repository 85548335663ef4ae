//! A case says where its house stands, and every command takes the numbers that hold there.
#![allow(clippy::unwrap_used, reason = "tests")]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn wythe(folder: &Path, args: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_wythe"));
    command.current_dir(folder).args(args).output().unwrap()
}

fn folder(name: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("wythe-regions-{name}-{}", std::process::id()));
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

fn said(output: &Output) -> String {
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8_lossy(&output.stdout).into_owned()
}

const SEEN: &str =
    "[{clue: step_crack_veneer, at: south, measured: 3 mm}, {clue: frieze_gap, at: south, seen: slight}]";

fn case(id: &str, head: &str) -> String {
    format!(
        "format: 1\nid: {id}\n{head}places: [{{id: south, kind: exterior_wall}}]\npasses:\n  - pass: first\n    sightings: {SEEN}\n"
    )
}

/// What the case says and what an option says come to the same, in every form; and to another than clay country.
#[test]
fn every_form_takes_the_numbers_of_the_region() {
    let folder = folder("forms");
    for (name, head) in [("clay", ""), ("north", "region: frost\n")] {
        std::fs::write(folder.join(format!("{name}.yaml")), case("house", head)).unwrap();
    }
    for form in [
        &["weigh"][..],
        &["weigh", "--json"],
        &["client"],
        &["engineer"],
        &["steps"],
        &["look", "--json"],
    ] {
        let of = |file: &str, more: &[&str]| said(&wythe(&folder, &[form, &[file], more].concat()));
        let told = of("north.yaml", &[]);
        assert_eq!(told, of("clay.yaml", &["--region", "frost"]), "{form:?}");
        assert_eq!(told, of("north.yaml", &["--region", "frost"]), "{form:?}");
        if form != ["engineer"] {
            assert_ne!(told, of("clay.yaml", &[]), "{form:?}");
        }
    }
    let reasons = |file: &str| said(&wythe(&folder, &["reasons", file, "perimeter_edge_drop"]));
    assert_ne!(reasons("north.yaml"), reasons("clay.yaml"));
    std::fs::remove_dir_all(&folder).unwrap();
}

/// Of many cases each has the numbers of where it stands.
#[test]
fn many_cases_each_by_its_own() {
    let folder = folder("many");
    for (name, head) in [("a", ""), ("b", "region: frost\n"), ("c", "")] {
        std::fs::write(folder.join(format!("{name}.yaml")), case(name, head)).unwrap();
    }
    let all = said(&wythe(&folder, &["weigh", ".", "--json"]));
    let region = |line: &str| line.contains("ground that freezes");
    assert_eq!(all.lines().map(region).collect::<Vec<_>>(), [false, true, false]);
    std::fs::remove_dir_all(&folder).unwrap();
}

/// A case begun with a region says so, and what is added to it is held against the pack with that region's numbers.
#[test]
fn a_case_begun_there_stays_there() {
    let folder = folder("start");
    said(&wythe(
        &folder,
        &["start", "north.yaml", "--region", "frost", "--date", "2026-10-02"],
    ));
    let file = std::fs::read_to_string(folder.join("north.yaml")).unwrap();
    assert!(file.contains("region: frost"), "{file}");
    said(&wythe(
        &folder,
        &["add", "north.yaml", "--seen", "step_crack_veneer at south = 3 mm"],
    ));
    assert!(said(&wythe(&folder, &["weigh", "north.yaml"])).contains("ground that freezes"));
    let wrong = wythe(&folder, &["start", "other.yaml", "--region", "forst"]);
    assert_eq!(wrong.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&wrong.stderr).contains("`frost`"));
    assert!(!folder.join("other.yaml").exists());
    std::fs::remove_dir_all(&folder).unwrap();
}
