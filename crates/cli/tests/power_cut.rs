//! The power goes while a case is saved: the file is the old one or the new one, whole.
//!
//! Why it holds: the new text is written to a file beside the old one, in the same folder and so on the same disk; it is
//! written through to the disk (fsync) before it takes the old one's name; the name is changed in one step (rename), which
//! file systems keep whole; then the folder is written through too. At whatever step the power goes, the name leads to the
//! old text or to the new one, and what it leads to is on the disk. The first test holds that order by the system calls;
//! the others break each of them in turn. They need `strace`, and say so where it is not installed.
#![cfg(target_os = "linux")]
#![allow(clippy::unwrap_used, reason = "tests")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A folder with a case in it.
fn house(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("power-{name}"));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    let mut start = Command::new(env!("CARGO_BIN_EXE_wythe"));
    let made = start.current_dir(&folder).args(["start", "a.yaml"]).output().unwrap();
    assert!(made.status.success());
    folder
}

const ADD: [&str; 4] = ["add", "a.yaml", "--none", "frieze_gap at south"];
const ADDED: &str = "clue: frieze_gap, at: south, seen: none";

/// Adds under `strace` with those options; none where there is no `strace`, or where it may not trace.
fn traced(folder: &Path, options: &[&str]) -> Option<Output> {
    let trace = folder.with_extension("trace");
    let may = Command::new("strace").args(["-o", "/dev/null", "true"]).output();
    if !may.is_ok_and(|output| output.status.success()) {
        eprintln!("no strace that may trace: not tried");
        return None;
    }
    let mut command = Command::new("strace");
    command
        .current_dir(folder)
        .arg("-f")
        .arg("-o")
        .arg(&trace)
        .args(options);
    Some(command.arg(env!("CARGO_BIN_EXE_wythe")).args(ADD).output().unwrap())
}

#[test]
fn written_through_before_it_takes_the_name() {
    let folder = house("order");
    let Some(output) = traced(&folder, &["-e", "trace=openat,write,fsync,rename,renameat,renameat2"]) else {
        return;
    };
    assert!(output.status.success());
    let trace = fs::read_to_string(folder.with_extension("trace")).unwrap();
    let calls: Vec<&str> = trace
        .lines()
        .filter_map(|line| {
            let part = line.contains(".part\"");
            match line {
                _ if line.contains("openat") && part => Some("make the part"),
                _ if line.contains("write(") && line.contains("# A case for wythe") => Some("write"),
                _ if line.contains("fsync(") && line.contains("= 0") => Some("write through"),
                _ if line.contains("rename") && part => Some("take the name"),
                _ => None,
            }
        })
        .collect();
    assert_eq!(
        calls,
        [
            "make the part",
            "write",
            "write through",
            "take the name",
            "write through"
        ],
        "{trace}"
    );
}

/// Each call fails with an error of the disk, or the program is killed at it; then the next program gets on.
#[test]
fn each_step_broken_in_turn() {
    let steps = [
        ("write", 1, true),
        ("fsync", 1, true),
        ("fsync", 2, false),
        ("rename,renameat,renameat2", 1, true),
    ];
    for (at, (call, when, old)) in steps.into_iter().enumerate() {
        for fault in ["error=EIO", "error=ENOSPC", "signal=SIGKILL"] {
            let folder = house(&format!("{at}-{}", fault.replace('=', "-")));
            let before = fs::read_to_string(folder.join("a.yaml")).unwrap();
            let inject = format!("inject={call}:{fault}:when={when}");
            let Some(output) = traced(&folder, &["-e", &format!("trace={call}"), "-e", &inject]) else {
                return;
            };
            let after = fs::read_to_string(folder.join("a.yaml")).unwrap();
            let saved = after.contains(ADDED);
            assert!(
                saved || after == before,
                "{inject}: neither the old file nor the new one"
            );
            let said = String::from_utf8(output.stderr).unwrap();
            if fault.starts_with("error") && old {
                assert_eq!(output.status.code(), Some(1), "{inject}: {said}");
                assert!(
                    said.contains("could not be saved, and is as it was"),
                    "{inject}: {said}"
                );
                assert!(!saved);
            }
            assert!(
                saved || !output.status.success(),
                "{inject}: told of as saved, and it is not"
            );
            let mut again = Command::new(env!("CARGO_BIN_EXE_wythe"));
            let again = again
                .current_dir(&folder)
                .args(["add", "a.yaml", "--none", "frieze_gap at north"]);
            assert!(again.output().unwrap().status.success(), "{inject}");
            let left: Vec<_> = fs::read_dir(&folder).unwrap().collect();
            assert_eq!(left.len(), 1, "{inject}: what was left is cleared");
        }
    }
}

/// The system stops the program in the middle of its writing: no room for so large a file.
#[test]
fn stopped_in_the_middle_of_writing() {
    let folder = house("room");
    let before = fs::read_to_string(folder.join("a.yaml")).unwrap();
    assert!(before.len() > 4096);
    // Four blocks of 512 bytes.
    let script = format!("ulimit -f 4; exec \"$0\" {} {} {} '{}'", ADD[0], ADD[1], ADD[2], ADD[3]);
    let output = Command::new("sh")
        .current_dir(&folder)
        .args(["-c", &script, env!("CARGO_BIN_EXE_wythe")])
        .output()
        .unwrap();
    assert!(!output.status.success());
    assert_eq!(fs::read_to_string(folder.join("a.yaml")).unwrap(), before);
}
