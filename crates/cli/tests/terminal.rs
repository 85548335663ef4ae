//! On a terminal, with `script` (util-linux) to stand for one: questions are asked, and a bar and nothing else is drawn.
#![cfg(target_os = "linux")]
#![allow(clippy::unwrap_used, reason = "tests")]

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

fn folder(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("terminal-{name}"));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

/// What a terminal shows of the program with those arguments, when that is typed.
fn shown(folder: &Path, args: &str, typed: &str) -> String {
    let command = format!("{} {args}", env!("CARGO_BIN_EXE_wythe"));
    let mut script = Command::new("script");
    script.current_dir(folder).args(["-qec", &command, "/dev/null"]);
    script.stdin(Stdio::piped()).stdout(Stdio::piped());
    let mut child = script.spawn().unwrap();
    child.stdin.take().unwrap().write_all(typed.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    String::from_utf8(output.stdout).unwrap().replace('\r', "")
}

#[test]
fn start_asks_and_asks_again() {
    let folder = folder("start");
    let typed = "Brick by the pond\n14 March\n2026-03-14\nfront, right, back, left\nkitchen window, in frnt\nkitchen window, in front\n\nstudy, touching front\n\nstudy door, in study\n\n\n\n\n";
    let said = shown(&folder, "start house.yaml", typed);
    assert!(said.contains("write it as in 2026-03-14"), "{said}");
    assert!(
        said.contains("there is no place `frnt`") && said.contains("did you mean `front`?"),
        "{said}"
    );
    assert!(said.contains("Made house.yaml: 14 places"), "{said}");
    let text = fs::read_to_string(folder.join("house.yaml")).unwrap();
    for part in [
        "title: \"Brick by the pond\"",
        "visited: 2026-03-14",
        "{id: back-left, kind: outside_corner",
        "{id: kitchen-window, kind: opening, label: \"kitchen window\", in: front}",
        "{id: study-door, kind: door",
    ] {
        assert!(text.contains(part), "{part}\n{text}");
    }
}

#[test]
fn nothing_is_asked_where_nobody_can_answer() {
    let folder = folder("nobody");
    let mut command = Command::new(env!("CARGO_BIN_EXE_wythe"));
    let output = command
        .current_dir(&folder)
        .args(["start", "a.yaml"])
        .stdin(Stdio::null())
        .output()
        .unwrap();
    assert!(output.status.success() && output.stderr.is_empty());
}

#[test]
fn notes_are_typed_until_the_input_ends() {
    let folder = folder("notes");
    shown(&folder, "start a.yaml --date 2026-03-14", "");
    let said = shown(&folder, "add a.yaml", "south: no frieze gap\n\u{4}");
    assert!(
        said.contains("Type notes") && said.contains("End with Ctrl-D"),
        "{said}"
    );
    assert!(said.contains("Added to a.yaml, pass \"first\":"), "{said}");
}

/// A bar while it weighs, on a terminal; none in a pipe. No colour in either, and none where NO_COLOR asks for none.
#[test]
fn a_bar_on_a_terminal_only() {
    let folder = folder("bar");
    let cases = folder.join("cases");
    fs::create_dir(&cases).unwrap();
    for at in 0..400 {
        fs::write(cases.join(format!("c{at:03}.yaml")), format!("format: 1\nid: c{at}\n")).unwrap();
    }
    let said = shown(&folder, "weigh cases", "");
    assert!(said.contains(" of 400 cases"), "{said}");
    let colours = |text: &str| text.contains("\u{1b}[3") || text.contains("\u{1b}[9") || text.contains("\u{1b}[1;");
    assert!(!colours(&said), "{said:?}");
    let piped = Command::new(env!("CARGO_BIN_EXE_wythe"))
        .current_dir(&folder)
        .args(["weigh", "cases"])
        .output()
        .unwrap();
    assert!(piped.status.success() && piped.stderr.is_empty() && !piped.stdout.contains(&0x1b));
    assert_eq!(String::from_utf8(piped.stdout).unwrap().lines().count(), 400);
}

/// Help is coloured on a terminal by the library that makes it, and plain with NO_COLOR and in a pipe.
#[test]
fn no_color_is_honoured() {
    let folder = folder("color");
    let plain = |text: &str| !text.contains('\u{1b}');
    let command = format!(
        "-c 'NO_COLOR=1 {} --help; NO_COLOR=1 {} wiegh'",
        env!("CARGO_BIN_EXE_wythe"),
        env!("CARGO_BIN_EXE_wythe")
    );
    let mut script = Command::new("script");
    script
        .current_dir(&folder)
        .args(["-qe"])
        .arg(command.replacen("-c '", "-c", 1).trim_end_matches('\''))
        .arg("/dev/null");
    let output = script.stdin(Stdio::null()).output().unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(
        said.contains("Weighs the structural clues") && said.contains("weigh"),
        "{said}"
    );
    assert!(plain(&said), "{said:?}");
    let piped = Command::new(env!("CARGO_BIN_EXE_wythe"))
        .arg("--help")
        .output()
        .unwrap();
    assert!(plain(&String::from_utf8(piped.stdout).unwrap()));
}
