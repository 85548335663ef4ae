//! The transcript in examples/README.md is true: every command is run in turn, and what is printed is held against what
//! stands there.
#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// A part of the README between fences: its heading, and its lines.
fn blocks(text: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut open: Option<(String, String)> = None;
    for line in text.lines() {
        match (line.strip_prefix("```"), &mut open) {
            (Some(head), None) => open = Some((head.to_owned(), String::new())),
            (Some(_), Some(_)) => found.extend(open.take()),
            (None, Some((_, body))) => {
                body.push_str(line);
                body.push('\n');
            }
            (None, None) => {}
        }
    }
    found
}

/// Runs a command in a folder, with the program on the path. What it prints and what it complains of, as on a terminal.
fn run(folder: &Path, command: &str) -> String {
    let program = PathBuf::from(env!("CARGO_BIN_EXE_wythe"));
    let path = format!(
        "{}:{}",
        program.parent().unwrap().display(),
        std::env::var("PATH").unwrap()
    );
    let script = format!("{command} 2>&1");
    let output = Command::new("sh")
        .current_dir(folder)
        .env("PATH", path)
        .args(["-c", &script])
        .output()
        .unwrap();
    String::from_utf8(output.stdout).unwrap()
}

/// Whether a line is as told; `…` in it stands for anything.
fn line_as_told(told: &str, line: &str) -> bool {
    let mut parts = told.split('…');
    let first = parts.next().unwrap_or_default();
    let Some(mut rest) = line.strip_prefix(first) else {
        return false;
    };
    for part in parts {
        let Some(at) = rest.find(part) else { return false };
        rest = &rest[at + part.len()..];
    }
    rest.is_empty() || told.ends_with('…')
}

/// Whether lines are as told; a line of `…` stands for any number of them.
fn as_told(told: &[&str], lines: &[&str]) -> bool {
    match told.split_first() {
        None => lines.is_empty(),
        Some((&"…", rest)) => {
            (0..=lines.len()).any(|skip| lines.get(skip..).is_some_and(|lines| as_told(rest, lines)))
        }
        Some((first, rest)) => lines
            .split_first()
            .is_some_and(|(line, more)| line_as_told(first, line) && as_told(rest, more)),
    }
}

#[test]
fn the_transcript_is_true() {
    let readme = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/README.md");
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("first-minutes");
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    let mut commands = 0;
    for (head, body) in blocks(&fs::read_to_string(readme).unwrap()) {
        if let Some(name) = head.strip_prefix("text ") {
            fs::write(folder.join(name), &body).unwrap();
        }
        if head != "console" {
            continue;
        }
        for part in format!("\n{body}").split("\n$ ").skip(1) {
            let mut lines = part.lines();
            let mut command = lines.next().unwrap().to_owned();
            while command.ends_with('\\') {
                command.push('\n');
                command.push_str(lines.next().unwrap());
            }
            let told: Vec<&str> = lines.collect();
            let printed = run(&folder, &command);
            let printed: Vec<&str> = printed.lines().collect();
            assert!(as_told(&told, &printed), "$ {command}\n{}", printed.join("\n"));
            commands += 1;
        }
    }
    assert!(commands >= 8, "the transcript holds {commands} commands");
}
