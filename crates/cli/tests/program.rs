//! The program as a user meets it: exit codes, quick questions, closed pipes.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

use std::io::Read;
use std::process::{Command, Output, Stdio};

fn wythe(args: &[&str]) -> Output {
    program().args(args).output().unwrap()
}

fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_wythe"));
    command.current_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."));
    command
}

fn code(args: &[&str]) -> i32 {
    wythe(args).status.code().unwrap()
}

fn said(output: &[u8]) -> String {
    String::from_utf8_lossy(output)
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

const QUIET: &str = "examples/cases/quiet-corner.yaml";

#[test]
fn zero_when_done() {
    for args in [
        &["weigh", QUIET][..],
        &["weigh", QUIET, "--json"],
        &["reasons", QUIET, "corner_pop"],
        &["check", "rules/structural"],
        &["check", "rules/structural", "--shares"],
        &["study", "frieze_gap"],
        &["study", "corner_drop", "--pack", "rules/structural"],
        &["--help"],
        &["weigh", "--help"],
    ] {
        let output = wythe(args);
        assert_eq!(output.status.code(), Some(0), "{args:?} {}", said(&output.stderr));
        assert!(!output.stdout.is_empty() && output.stderr.is_empty(), "{args:?}");
    }
}

#[test]
fn one_when_a_file_has_problems_and_they_are_printed() {
    let folder = std::env::temp_dir().join(format!("wythe-program-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join("bad.yaml");
    std::fs::write(&file, "format: 1\nid: bad\npasses:\n  - {pass: first, sightings: [{clue: step_crack_vener, at: house, seen: fine}]}\n").unwrap();
    let output = wythe(&["weigh", file.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(1));
    assert!(output.stdout.is_empty());
    assert!(
        said(&output.stderr).contains("`step_crack_veneer`"),
        "the nearest name: {}",
        said(&output.stderr)
    );
    std::fs::write(&file, [b'f', 0xff]).unwrap();
    assert_eq!(code(&["weigh", file.to_str().unwrap()]), 1);
    assert_eq!(code(&["weigh", folder.join("none.yaml").to_str().unwrap()]), 1);
    assert_eq!(code(&["check", folder.to_str().unwrap()]), 1);
    std::fs::remove_dir_all(&folder).unwrap();
}

#[test]
fn two_when_used_wrongly() {
    for (args, says) in [
        (&["weigh"][..], "Usage"),
        (
            &["weigh", QUIET, "--seen", "corner_pop_wedge = cracked"],
            "cannot be used with",
        ),
        (&["weigh", QUIET, "--as-of", "frist"], "did you mean `first`"),
        (&["reasons", QUIET, "corner_pip"], "did you mean `corner_pop`"),
        (
            &["reasons", QUIET, "corner_pop", "--at", "south-wset"],
            "did you mean `south-west`",
        ),
        (&["reasons", QUIET, "corner_pop", "--at", "south"], "outside corner"),
        (
            &["reasons", QUIET, "ground_movement", "--at", "south"],
            "leave out --at",
        ),
        (
            &["weigh", "--seen", "corner_pop_wedg = cracked"],
            "did you mean `corner_pop_wedge`",
        ),
        (&["weigh", "--seen", "corner_pop_wedge"], "say what was found"),
        (
            &["weigh", "--seen", "step_crack_veneer at south = 1/16 inn"],
            "step_crack_veneer at south",
        ),
        (&["weigh", "--none", "frieze_gap at south = slight"], "--seen"),
        (&["weigh", "--none", "frieze_gap at south, west"], "its own option"),
        (
            &["weigh", "--fact", "soil_plasticity_hihg"],
            "did you mean `soil_plasticity_high`",
        ),
        (
            &[
                "weigh",
                "--seen",
                "frieze_gap at a = slight",
                "--seen",
                "corner_pop_wedge at a = cracked",
            ],
            "another name",
        ),
    ] {
        let output = wythe(args);
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        assert!(
            said(&output.stderr).contains(says),
            "{args:?}: {}",
            said(&output.stderr)
        );
    }
}

#[test]
fn a_quick_question_needs_no_file() {
    let output = wythe(&[
        "weigh",
        "--seen",
        "step_crack_veneer at south = 1/16 in, path joints",
        "--none",
        "frieze_gap at south",
        "--not-reached",
        "floor_edge_low at south = furniture",
        "--fact",
        "soil_plasticity_high",
        "--fact",
        "fill_lot=no",
    ]);
    let text = said(&output.stdout);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output.stderr));
    assert!(
        text.contains("stepped crack in the brick at the south wall: slight, 1/16 in (1.6 mm), path joints"),
        "{text}"
    );
    assert!(text.contains("at the south wall (furniture)"), "{text}");
}

#[test]
fn a_place_can_be_left_without_a_name() {
    let output = wythe(&["weigh", "--seen", "corner_pop_wedge=cracked"]);
    assert!(
        said(&output.stdout).contains("at the outside corner"),
        "{}",
        said(&output.stdout)
    );
}

#[test]
fn a_pass_can_be_chosen_and_changes_are_told() {
    let case = "examples/cases/second-pass.yaml";
    let whole = said(&wythe(&["weigh", case]).stdout);
    let first = said(&wythe(&["weigh", case, "--as-of", "first"]).stdout);
    assert!(whole.contains("WHAT CHANGED Since the pass \"first\" (10 decibans"));
    assert!(!first.contains("WHAT CHANGED"));
    assert_ne!(whole, first);
}

#[test]
fn a_closed_pipe_is_no_error() {
    let mut child = program()
        .args(["weigh", QUIET, "--json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let mut says = String::new();
    child.stderr.take().unwrap().read_to_string(&mut says).unwrap();
    assert_eq!(child.wait().unwrap().code(), Some(0), "{says}");
    assert_eq!(says, "");
}

/// Colour only on a terminal, and never under NO_COLOR (no-color.org), whatever else asks for it.
#[test]
fn colour_is_for_terminals_and_can_be_turned_off() {
    let coloured = |ask: &[(&str, &str)]| {
        let mut command = program();
        for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE"] {
            command.env_remove(name);
        }
        let output = command.arg("--help").envs(ask.iter().copied()).output().unwrap();
        assert!(output.status.success());
        output.stdout.contains(&0x1b)
    };
    assert!(!coloured(&[]));
    assert!(coloured(&[("CLICOLOR_FORCE", "1")]));
    assert!(!coloured(&[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")]));
}

/// Man pages and completions name every command and option of the help.
#[test]
fn help_files_come_from_the_same_definition() {
    let folder = std::env::temp_dir().join(format!("wythe-help-{}", std::process::id()));
    let output = wythe(&["help-files", folder.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output.stderr));
    let read =
        |name: &str| std::fs::read_to_string(folder.join(name)).unwrap_or_else(|error| panic!("{name}: {error}"));
    let help = said(&wythe(&["--help"]).stdout);
    for command in ["weigh", "reasons", "study", "check"] {
        assert!(help.contains(command) && read("wythe.1").contains(command) && read("wythe.bash").contains(command));
        assert!(read(&format!("wythe-{command}.1")).contains(".TH"));
    }
    assert!(
        read("wythe-check.1").contains("shares")
            && read("_wythe").contains("--shares")
            && read("wythe.fish").contains("shares")
    );
    std::fs::remove_dir_all(&folder).unwrap();
}
