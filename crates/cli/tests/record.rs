//! `wythe start` and `wythe add` as a person runs them, and as a crash or another program meets them.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::thread::sleep;
use std::time::Duration;

fn program() -> Command {
    Command::new(env!("CARGO_BIN_EXE_wythe"))
}

/// A folder of this test's own, empty.
fn folder(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

fn wythe(folder: &Path, args: &[&str], input: &str) -> Output {
    let mut command = program();
    command.current_dir(folder).args(args);
    command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    // Whoever refuses the options reads no input.
    let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
    child.wait_with_output().unwrap()
}

fn says(folder: &Path, args: &[&str], input: &str) -> String {
    let output = wythe(folder, args, input);
    let error = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(0), "{args:?}: {error}");
    String::from_utf8(output.stdout).unwrap()
}

fn refuses(folder: &Path, args: &[&str], input: &str, code: i32) -> String {
    let output = wythe(folder, args, input);
    let error = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(code), "{args:?}: {error}");
    assert!(output.stdout.is_empty());
    error
}

/// A case with a wall for each of many writers.
fn walls(folder: &Path, count: usize) -> PathBuf {
    let names: Vec<String> = (0..count).map(|at| format!("w{at}")).collect();
    says(folder, &["start", "house.yaml", "--round", &names.join(",")], "");
    folder.join("house.yaml")
}

#[test]
fn a_new_case_reads_and_is_never_written_over() {
    let folder = folder("start");
    let args = [
        "start",
        "elm 4.yaml",
        "--title",
        "a: {b} # \"c\"",
        "--date",
        "2026-03-14",
        "--fact",
        "fill_lot=no",
    ];
    assert!(says(&folder, &args, "").contains("Made elm 4.yaml"));
    let text = fs::read_to_string(folder.join("elm 4.yaml")).unwrap();
    assert!(
        text.contains("fill_lot: no  #") && text.contains("{id: north, kind: exterior_wall"),
        "{text}"
    );
    assert!(refuses(&folder, &args, "", 1).contains("is there already"));
    assert_eq!(fs::read_to_string(folder.join("elm 4.yaml")).unwrap(), text);
    assert!(says(&folder, &["weigh", "elm 4.yaml"], "").contains("keep on record"));
    for (args, says) in [
        (
            ["start", "b.yaml", "--place", "opning: door, in south"],
            "did you mean `opening`?",
        ),
        (["start", "b.yaml", "--place", "opening: door"], "in PLACE"),
        (["start", "b.yaml", "--fact", "fill_lott"], "did you mean `fill_lot`?"),
        (["start", "b.yaml", "--round", "a,a,b"], "two places are named `a`"),
        (["start", "b.yaml", "--date", "14/3/2026"], "write it as in 2026-03-14"),
        (
            ["start", "b.yaml", "--title", "the failed foundation"],
            "makes a determination",
        ),
    ] {
        let error = refuses(&folder, &args, "", 2);
        assert!(error.contains(says), "{args:?}: {error}");
    }
    assert!(!folder.join("b.yaml").exists());
}

#[test]
fn notes_are_saved_whole_or_not_at_all() {
    let folder = folder("notes");
    says(
        &folder,
        &["start", "a.yaml", "--place", "opening: kitchen window, in south"],
        "",
    );
    let file = folder.join("a.yaml");
    let before = fs::read_to_string(&file).unwrap();
    let error = refuses(
        &folder,
        &["add", "a.yaml"],
        "south: no frieze gap\nsouth: step crack slihgt\n",
        1,
    );
    assert!(
        error.contains("notes:2:19: `slihgt` is not understood") && error.contains("`slight`"),
        "{error}"
    );
    assert_eq!(fs::read_to_string(&file).unwrap(), before);
    let text = says(
        &folder,
        &["add", "a.yaml"],
        "south wall: step crack 1/16 in, joints; no frieze gap\n",
    );
    assert!(
        text.contains("first.1  south wall: stepped crack through the veneer: 1/16 in, path joints"),
        "{text}"
    );
    let after = fs::read_to_string(&file).unwrap();
    assert!(after.starts_with(&before), "nothing that was there is changed");
    assert!(
        after.contains("note: \"south wall: step crack 1/16 in, joints\""),
        "{after}"
    );
    let error = refuses(
        &folder,
        &["add", "a.yaml", "--none", "step_crack_veneer at south"],
        "",
        2,
    );
    assert!(error.contains("--correct first.1"), "{error}");
    let fix = [
        "add",
        "a.yaml",
        "--correct",
        "first.1",
        "--seen",
        "step_crack_veneer at south = 3/16 in",
    ];
    assert!(says(&folder, &fix, "").contains("corrects first.1"));
    assert!(refuses(&folder, &fix, "", 1).contains("corrected twice"));
    let second = [
        "add",
        "a.yaml",
        "--pass",
        "second",
        "--date",
        "2026-05-01",
        "--none",
        "step_crack_veneer at south",
    ];
    says(&folder, &second, "");
    let weighed = says(&folder, &["weigh", "a.yaml", "--as-of", "first"], "");
    assert!(weighed.contains("3/16 in") && !weighed.contains("1/16 in"), "{weighed}");
    assert!(!says(&folder, &["weigh", "a.yaml"], "").contains("3/16 in"));
    let early = refuses(&folder, &["weigh", "a.yaml", "--as-of", "2026-04-01"], "", 2);
    assert!(early.contains("see the dates in the case"), "{early}");
}

#[test]
fn facts_and_repairs_are_kept() {
    let folder = folder("facts");
    says(&folder, &["start", "a.yaml", "--date", "2026-03-14"], "");
    let notes = "facts: recent drought (radio); no fill lot\nwest: step crack size unknown, joints\nrepair west wall: joints repointed, on 2025-08-01\n";
    let text = says(&folder, &["add", "a.yaml"], notes);
    for line in [
        "  fact months of dry weather before the visit: yes\n",
        "  repair at west wall: joints repointed, on 2025-08-01\n",
        "there, size not noted, path joints",
    ] {
        assert!(text.contains(line), "{text}");
    }
    let file = fs::read_to_string(folder.join("a.yaml")).unwrap();
    assert!(
        file.contains("  recent_drought: {holds: yes, note: radio}  # ") && file.contains("  fill_lot: no  # "),
        "{file}"
    );
    assert!(
        file.contains("seen: present") && file.contains("repairs:\n  - {date: 2025-08-01, at: [west]"),
        "{file}"
    );
    let text = says(
        &folder,
        &[
            "add",
            "a.yaml",
            "--fact",
            "fill_lot",
            "--note",
            "county map",
            "--repair",
            "south and east: sealed",
        ],
        "",
    );
    assert!(text.starts_with("Added to a.yaml:\n  fact "), "{text}");
    let file = fs::read_to_string(folder.join("a.yaml")).unwrap();
    assert!(
        file.contains("fill_lot: {holds: yes, note: \"county map; before: no\"}  # "),
        "{file}"
    );
    for (args, says) in [
        (["--fact", "fill_lott"], "did you mean `fill_lot`?"),
        (["--repair", "sout: x"], "did you mean `south`?"),
        (
            ["--repair", "south: the failed lintel, on 2025-01-01"],
            "makes a determination",
        ),
    ] {
        let output = wythe(&folder, &["add", "a.yaml", args[0], args[1]], "");
        let error = String::from_utf8(output.stderr).unwrap();
        assert!(
            output.status.code() != Some(0) && error.contains(says),
            "{args:?}: {error}"
        );
    }
    assert_eq!(fs::read_to_string(folder.join("a.yaml")).unwrap(), file);
}

#[test]
fn words_that_no_report_would_print_are_not_saved() {
    let folder = folder("words");
    says(&folder, &["start", "a.yaml"], "");
    let before = fs::read(folder.join("a.yaml")).unwrap();
    let error = refuses(
        &folder,
        &["add", "a.yaml"],
        "south: no frieze gap (the foundation has failed)\n",
        1,
    );
    assert!(error.contains("makes a determination"), "{error}");
    assert_eq!(fs::read(folder.join("a.yaml")).unwrap(), before);
}

#[test]
fn a_file_that_is_no_case_is_left_as_it_is() {
    let folder = folder("no-case");
    for text in ["format: 1\nid: a\nplaces: 3\n", "not: [a case", "", "\u{0}"] {
        fs::write(folder.join("a.yaml"), text).unwrap();
        refuses(&folder, &["add", "a.yaml", "--none", "frieze_gap at south"], "", 1);
        assert_eq!(fs::read_to_string(folder.join("a.yaml")).unwrap(), text);
    }
    refuses(&folder, &["add", "b.yaml", "--none", "frieze_gap at south"], "", 1);
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 1, "no lock and no part is left");
}

/// Programs that add to one case at once: every sighting is there, once.
#[test]
fn eight_programs_at_once_lose_nothing() {
    let folder = folder("at-once");
    let file = walls(&folder, 32);
    let args = |at: usize| {
        [
            "add".to_owned(),
            "house.yaml".into(),
            "--none".into(),
            format!("frieze_gap at w{at}"),
        ]
    };
    for round in 0..4 {
        let children: Vec<_> = (0..8)
            .map(|at| {
                program()
                    .current_dir(&folder)
                    .args(args(round * 8 + at))
                    .stdout(Stdio::null())
                    .spawn()
                    .unwrap()
            })
            .collect();
        for mut child in children {
            assert!(child.wait().unwrap().success());
        }
    }
    let text = fs::read_to_string(&file).unwrap();
    for at in 0..32 {
        assert_eq!(
            text.matches(&format!("clue: frieze_gap, at: w{at}, seen: none"))
                .count(),
            1,
            "w{at}"
        );
    }
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 1, "no lock and no part is left");
}

/// Programs killed while they add, at every moment of a run: the file is always one that was whole, what was told of as
/// saved is there, and the next program gets on.
#[cfg(unix)]
#[test]
fn killed_at_any_moment_the_file_is_old_or_new() {
    let folder = folder("killed");
    let file = walls(&folder, 40);
    let mut saved = 0;
    let mut killed = 0;
    for at in 0..40_usize {
        let before = fs::read_to_string(&file).unwrap();
        let sighting = format!("frieze_gap at w{at}");
        let mut child = program()
            .current_dir(&folder)
            .args(["add", "house.yaml", "--none", &sighting])
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        sleep(Duration::from_millis(at as u64 * 3));
        // SIGKILL: nothing of the program runs after it.
        child.kill().unwrap();
        let told = child.wait().unwrap().success();
        let after = fs::read_to_string(&file).unwrap();
        let there = after.contains(&format!("clue: frieze_gap, at: w{at}, seen: none"));
        assert!(there || after == before, "neither the old file nor the new one");
        assert!(there || !told);
        wythe::Case::read("house.yaml", &after).unwrap();
        saved += usize::from(there);
        killed += usize::from(!told);
    }
    assert!(killed > 0, "none was killed in time");
    says(&folder, &["add", "house.yaml", "--none", "step_crack_veneer at w0"], "");
    let text = fs::read_to_string(&file).unwrap();
    assert_eq!(text.matches("frieze_gap").count(), saved);
    assert_eq!(
        fs::read_dir(&folder).unwrap().count(),
        1,
        "what the killed ones left is cleared"
    );
}
