//! `wythe look --ask`: each answer is saved before the next question.
#![allow(clippy::unwrap_used, reason = "tests")]

use std::fs;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};

use wythe::{Case, Seen};

/// A folder of this test's own with an example house in it.
fn house(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("ask-{name}"));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    let file = folder.join("a.yaml");
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/cases/dropped-corner.yaml");
    fs::copy(example, &file).unwrap();
    file
}

fn started(file: &Path, args: &[&str]) -> (Child, ChildStdin) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_wythe"));
    command.arg("look").arg(file).arg("--ask").args(args);
    command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    let input = child.stdin.take().unwrap();
    (child, input)
}

/// The exit code, what was printed and what was complained of, given all answers at once.
fn asked(file: &Path, args: &[&str], answers: &str) -> (Option<i32>, String, String) {
    let (child, mut input) = started(file, args);
    // Whoever refuses the options reads no input.
    let _ = input.write_all(answers.as_bytes());
    drop(input);
    let output = child.wait_with_output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

fn read(file: &Path) -> Case {
    wythe::read_case(file).unwrap()
}

#[test]
fn answers_are_saved_one_by_one_and_what_is_not_understood_is_asked_again() {
    let file = house("talk");
    let before = fs::read_to_string(&file).unwrap();
    let args = ["--pass", "third", "--date", "2026-10-01", "--by", "A. N. Other"];
    let answers = "perhaps\nnone, fairly sure (with a torch)\nback\nhairline\nnot reached: locked\nskip\n\nstop\n";
    let (code, said, error) = asked(&file, &args, answers);
    assert_eq!(code, Some(0), "{error}");
    assert!(said.contains("`perhaps` is not understood"), "{said}");
    assert!(
        said.contains("Saved as third.1.") && said.contains("The new answer puts third.1 right"),
        "{said}"
    );
    assert!(said.contains("Moved: ") || said.contains("WHAT CHANGED"), "{said}");
    assert!(said.contains("2 answers were saved in "), "{said}");
    let paths = |line: &&str| !line.contains("understood") && !line.contains("a.yaml");
    assert!(
        said.lines().filter(paths).all(|line| line.chars().count() <= 80),
        "{said}"
    );
    let after = fs::read_to_string(&file).unwrap();
    let mut lines = after.lines();
    assert!(
        before.lines().all(|old| lines.any(|line| line == old)),
        "nothing that was there is changed: {after}"
    );
    let case = read(&file);
    let pass = case.passes.last().unwrap();
    assert_eq!((pass.id.as_str(), pass.by.as_deref()), ("third", Some("A. N. Other")));
    let [first, again, locked] = pass.sightings.as_slice() else {
        unreachable!("{after}")
    };
    assert_eq!(first.note.as_deref(), Some("none, fairly sure (with a torch)"));
    assert_eq!(
        (again.corrects.as_deref(), &again.clue, again.at),
        (Some("third.1"), &first.clue, first.at)
    );
    assert!(matches!(again.seen, Seen::Grade(_)) && matches!(locked.seen, Seen::NotReached { .. }));
}

/// Answers until it stops by itself: no question comes twice, and none is worth less than its time.
#[test]
fn it_stops_when_no_look_pays() {
    let file = house("stops");
    let (code, said, error) = asked(&file, &["--at", "study"], &"none\n".repeat(20));
    assert_eq!(code, Some(0), "{error}");
    assert!(said.contains("No look that is left would pay for its time"), "{said}");
    let plain = said.split_whitespace().collect::<Vec<&str>>().join(" ");
    assert!(plain.contains("The next look would be, at the study:"), "{said}");
    assert!(plain.contains("It is not worth its time:"), "{said}");
    let mut questions: Vec<&str> = said.lines().filter(|line| line.starts_with("Look next")).collect();
    let all = questions.len();
    assert!(all >= 1, "{said}");
    questions.sort_unstable();
    questions.dedup();
    assert_eq!(questions.len(), all, "{said}");
    let pack = wythe::built_in_pack();
    let case = read(&file);
    let study = case.place("study").unwrap();
    let weighed = wythe::Weighed::new(pack, &case).unwrap();
    let looks = wythe::looks(&weighed).unwrap().looks;
    assert!(looks.iter().any(|look| look.at == study));
    for look in looks.iter().filter(|look| look.at == study) {
        assert!(look.worth < pack.policy.look_costs(look.effort));
    }
}

#[test]
fn a_pass_that_the_file_would_not_take_is_told_of_before_the_first_question() {
    let file = house("pass");
    let before = fs::read_to_string(&file).unwrap();
    let (code, said, error) = asked(&file, &["--pass", "early", "--date", "2020-01-01"], "none\n");
    assert_eq!(code, Some(1));
    assert!(
        said.is_empty() && error.contains("is dated before the one above it"),
        "{said}{error}"
    );
    assert_eq!(fs::read_to_string(&file).unwrap(), before);
}

/// Killed while it waits for an answer: all that was answered is there.
#[test]
fn killed_between_answers_nothing_is_lost() {
    let file = house("killed");
    let before = read(&file).passes.last().unwrap().sightings.len();
    let (mut child, mut input) = started(&file, &[]);
    let mut output = child.stdout.take().unwrap();
    let mut said = String::new();
    let mut byte = [0; 1];
    let mut until = |count: usize| {
        while said.matches("Look next").count() < count || !said.ends_with("> ") {
            assert_eq!(output.read(&mut byte).unwrap(), 1, "{said}");
            said.push(char::from(byte[0]));
        }
    };
    for answered in 1..=2 {
        until(answered);
        input.write_all(b"none\n").unwrap();
    }
    until(3);
    child.kill().unwrap();
    child.wait().unwrap();
    assert_eq!(read(&file).passes.last().unwrap().sightings.len(), before + 2);
    let left: Vec<_> = fs::read_dir(file.parent().unwrap()).unwrap().collect();
    assert_eq!(left.len(), 1, "no lock and no part is left");
}

/// On a terminal, with `script` to stand for one: answers are not shown twice, and Ctrl-C ends it with all answers saved.
#[cfg(target_os = "linux")]
#[test]
fn on_a_terminal_interrupted_nothing_is_lost() {
    let file = house("terminal");
    let before = read(&file).passes.last().unwrap().sightings.len();
    let talk = format!("{} look {} --ask", env!("CARGO_BIN_EXE_wythe"), file.display());
    let mut command = Command::new("script");
    command.args(["-qec", &talk, "/dev/null"]);
    command.stdin(Stdio::piped()).stdout(Stdio::piped());
    let mut child = command.spawn().unwrap();
    let (mut input, mut output) = (child.stdin.take().unwrap(), child.stdout.take().unwrap());
    let mut said = String::new();
    let mut byte = [0; 1];
    let mut until = |count: usize, said: &mut String| {
        while said.matches("Look next").count() < count || !said.ends_with("> ") {
            assert_eq!(output.read(&mut byte).unwrap(), 1, "{said}");
            said.push(char::from(byte[0]));
        }
    };
    until(1, &mut said);
    input.write_all(b"none\n").unwrap();
    until(2, &mut said);
    assert_eq!(said.matches("> none").count(), 1, "{said}");
    // Ctrl-C, as a terminal sends it.
    input.write_all(&[3]).unwrap();
    child.wait().unwrap();
    assert_eq!(read(&file).passes.last().unwrap().sightings.len(), before + 1);
}
