//! `wythe weigh` of a folder and of JSON lines.
#![allow(clippy::unwrap_used, reason = "tests")]

use std::fs;
use std::io::Write;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};

fn wythe(args: &[&str], input: &[u8]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_wythe"));
    command
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    let mut stdin = child.stdin.take().unwrap();
    let input = input.to_vec();
    let writer = std::thread::spawn(move || {
        let _ = stdin.write_all(&input);
    });
    let output = child.wait_with_output().unwrap();
    writer.join().unwrap();
    output
}

fn case(id: usize) -> String {
    let seen = if id.is_multiple_of(2) { "cracked" } else { "none" };
    format!(
        "{{\"format\": 1, \"id\": \"c{id}\", \"places\": [{{\"id\": \"sw\", \"kind\": \"outside_corner\"}}], \
         \"passes\": [{{\"pass\": \"first\", \"sightings\": [{{\"clue\": \"corner_pop_wedge\", \"at\": \"sw\", \"seen\": \"{seen}\"}}]}}]}}\n"
    )
}

#[test]
fn lines_come_out_in_order_and_a_bad_one_stops_none() {
    let mut input: Vec<u8> = Vec::new();
    for id in 1..=300 {
        match id {
            7 => input.extend(b"{\"format\": 1, \"id\": \"c7\", \"passes\": 3}\n"),
            130 => input.extend(b"\xff\xfe\n"),
            131 => input.extend(b"\n"),
            200 => input.extend(b"{\"format\"\n"),
            _ => input.extend(case(id).bytes()),
        }
    }
    let output = wythe(&["weigh", "-"], &input);
    let text = String::from_utf8(output.stdout).unwrap();
    let error = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(1), "{error}");
    let names: Vec<&str> = text.lines().map(|line| line.split(':').next().unwrap()).collect();
    let expected: Vec<String> = (1..=300)
        .filter(|id| *id != 131)
        .map(|id| format!("line-{id}.json"))
        .collect();
    assert_eq!(names, expected);
    let line = |id: usize| {
        text.lines()
            .find(|line| line.starts_with(&format!("line-{id}.json:")))
            .unwrap()
    };
    assert_eq!(
        line(8),
        "line-8.json: ordinary upkeep, for signs consistent with: Corner pop at the sw"
    );
    assert_eq!(line(9), "line-9.json: keep on record");
    assert!(
        line(7).contains("not weighed: ")
            && line(130).contains("not text in UTF-8")
            && line(200).contains("not weighed")
    );
    assert!(
        error.contains("line-7.json:1:") && error.ends_with("3 of 299 cases could not be weighed; the others were\n"),
        "{error}"
    );
}

#[test]
fn json_gives_a_line_of_json_for_each() {
    let input = format!("{}{{\"format\": 2}}\n{}", case(2), case(3));
    let output = wythe(&["weigh", "--json", "-"], input.as_bytes());
    assert_eq!(output.status.code(), Some(1));
    let text = String::from_utf8(output.stdout).unwrap();
    let values: Vec<serde_json::Value> = text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(values.len(), 3);
    assert_eq!(values[0]["answer"]["case"]["id"], "c2");
    assert!(
        values[1]["problem"]
            .as_str()
            .unwrap()
            .contains("format 2 is not known here")
    );
    // The same as the answer to the case alone.
    let alone = folder("alone").join("line-1.json");
    fs::write(&alone, case(2)).unwrap();
    let one = wythe(&["weigh", "--json", alone.to_str().unwrap()], b"");
    assert_eq!(
        values[0]["answer"],
        serde_json::from_slice::<serde_json::Value>(&one.stdout).unwrap()
    );
}

fn folder(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("many-{name}"));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

#[test]
fn a_folder_in_the_order_of_its_names() {
    let folder = folder("folder");
    for (name, text) in [
        ("b.json", case(2)),
        ("a.json", case(3)),
        (".c.json", case(4)),
        ("d.txt", case(5)),
        ("z.yaml", "id: 3".into()),
    ] {
        fs::write(folder.join(name), text).unwrap();
    }
    let output = wythe(&["weigh", folder.to_str().unwrap()], b"");
    assert_eq!(output.status.code(), Some(1));
    let text = String::from_utf8(output.stdout).unwrap();
    let names: Vec<&str> = text
        .lines()
        .filter_map(|line| line.split(": ").next()?.rsplit('/').next())
        .collect();
    assert_eq!(names, ["a.json", "b.json", "z.yaml"]);
    fs::remove_file(folder.join("z.yaml")).unwrap();
    assert_eq!(wythe(&["weigh", folder.to_str().unwrap()], b"").status.code(), Some(0));
    let none = wythe(&["weigh", self::folder("empty").to_str().unwrap()], b"");
    assert_eq!(none.status.code(), Some(1));
}

#[test]
fn a_line_too_long_is_passed_over() {
    let mut input = vec![b'x'; 9 << 20];
    input.push(b'\n');
    input.extend(case(2).bytes());
    let output = wythe(&["weigh", "-"], &input);
    let text = String::from_utf8(output.stdout).unwrap();
    assert_eq!(text.lines().count(), 2, "{text}");
    assert!(
        text.contains("line-1.json: not weighed: the line is longer") && text.contains("line-2.json: ordinary upkeep"),
        "{text}"
    );
    assert_eq!(output.status.code(), Some(1));
}
