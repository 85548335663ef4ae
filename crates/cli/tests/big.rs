//! The largest things that may be asked: each ends soon, within a bound on memory, with an answer or a typed refusal.
//!
//! Memory is bounded for real: the program runs under a limit of the system on all it may map.
#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "tests")]

use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::time::{Duration, Instant};

/// Most memory that the program may map, in KiB: 1.5 GiB, its own code and stacks included.
const MEMORY: usize = 1_500_000;
/// Longest run. Most take under a second where nothing else runs; this is for a busy machine and a debug build.
const TIME: Duration = Duration::from_secs(120);

fn folder(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("big-{name}"));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

fn bounded(folder: &Path, args: &str) -> (i32, String, String) {
    let start = Instant::now();
    let script = format!("ulimit -v {MEMORY}; exec \"$0\" {args}");
    let mut shell = Command::new("sh");
    shell
        .current_dir(folder)
        .args(["-c", &script, env!("CARGO_BIN_EXE_wythe")]);
    let Output { status, stdout, stderr } = shell.output().unwrap();
    assert!(start.elapsed() < TIME, "{args}: {:?}", start.elapsed());
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (status.code().unwrap_or(-1), text(stdout), text(stderr))
}

/// So many walls round a house, with a corner, openings and rooms to each, seen on so many passes.
fn case(walls: usize, passes: usize, sightings: usize) -> String {
    let mut text = String::from("format: 1\nid: big\nplaces:\n  - {id: s, kind: slab_area}\n");
    for at in 0..walls {
        let next = (at + 1) % walls;
        writeln!(
            text,
            "  - {{id: w{at}, kind: exterior_wall}}\n  - {{id: c{at}, kind: outside_corner, touches: [w{at}, w{next}]}}"
        )
        .unwrap();
        writeln!(
            text,
            "  - {{id: o{at}, kind: opening, in: w{at}}}\n  - {{id: r{at}, kind: room, touches: [w{at}, s]}}"
        )
        .unwrap();
        writeln!(text, "  - {{id: d{at}, kind: door, in: r{at}}}").unwrap();
    }
    text.push_str("passes:\n");
    let signs = [
        ("step_crack_veneer", "w", "slight"),
        ("corner_pop_wedge", "c", "cracked"),
        ("crack_at_opening_corner", "o", "slight"),
        ("drywall_diagonal_at_opening", "r", "hairline"),
        ("door_binds", "d", "rubs"),
        ("frieze_gap", "w", "none"),
    ];
    for pass in 0..passes {
        writeln!(text, "  - pass: p{pass}\n    sightings:").unwrap();
        for number in 0..sightings / passes {
            let (clue, place, grade) = signs[number % signs.len()];
            let at = (number / signs.len() + pass * 7) % walls;
            writeln!(text, "      - {{clue: {clue}, at: {place}{at}, seen: {grade}}}").unwrap();
        }
    }
    text
}

#[test]
fn ten_thousand_sightings_at_two_thousand_places_over_two_hundred_passes() {
    let folder = folder("case");
    fs::write(folder.join("a.yaml"), case(399, 200, 10_000)).unwrap();
    let (code, out, error) = bounded(&folder, "weigh a.yaml");
    assert!(
        code == 0 || (code == 3 && error.contains("too tangled to weigh exactly")),
        "{code} {out} {error}"
    );
    // What can't be weighed can still be added to.
    let (code, _, error) = bounded(&folder, "add a.yaml --pass p199 --none 'frieze_gap at w398'");
    assert_eq!(code, 0, "{error}");
}

/// Every reading enters the ledger by itself, over all conclusions: refused by what it would take, before it is begun.
#[test]
fn sixteen_hundred_corners_all_looked_at() {
    let folder = folder("corners");
    let places: String = (0..1600)
        .map(|at| format!("  - {{id: c{at}, kind: outside_corner}}\n"))
        .collect();
    for (seen, code) in [(40, 0), (1600, 3)] {
        let sightings: String = (0..seen)
            .map(|at| format!("      - {{clue: corner_pop_wedge, at: c{at}, seen: cracked}}\n"))
            .collect();
        let text =
            format!("format: 1\nid: corners\nplaces:\n{places}passes:\n  - pass: first\n    sightings:\n{sightings}");
        fs::write(folder.join("a.yaml"), text).unwrap();
        let (found, _, error) = bounded(&folder, "weigh a.yaml");
        assert_eq!(found, code, "{seen}: {error}");
        assert!(
            code == 0 || error.contains("too large to weigh step by step"),
            "{error}"
        );
    }
}

/// What was not looked at is too much to be worked out look by look: refused by what it would take; a lesson does without.
#[test]
fn looks_at_sixteen_hundred_rooms() {
    let folder = folder("rooms");
    let places: String = (0..1600).map(|at| format!("  - {{id: r{at}, kind: room}}\n")).collect();
    let seen = "{clue: nail_pops, at: r0, seen: many}";
    let text = format!("format: 1\nid: rooms\nplaces:\n{places}passes: [{{pass: first, sightings: [{seen}]}}]\n");
    fs::write(folder.join("a.yaml"), text).unwrap();
    let (code, _, error) = bounded(&folder, "look a.yaml");
    assert!(
        code == 3 && error.contains("too large to work out every look"),
        "{code} {error}"
    );
    let (code, out, error) = bounded(&folder, "lesson a.yaml --page a.html");
    assert!(code == 0 && out.contains("1 house"), "{code} {out} {error}");
}

#[test]
fn past_each_bound_a_message_says_which() {
    let folder = folder("past");
    for (text, says) in [
        (case(401, 1, 6), "more than 2000 places"),
        (case(2, 201, 201), "more than 200 passes"),
        (format!("{}{}", case(4, 1, 6), "# ".repeat(3 << 20)), "larger than"),
        (
            format!("format: 1\nid: a\npasses: {}{}", "[".repeat(5000), "]".repeat(5000)),
            "levels deep",
        ),
    ] {
        fs::write(folder.join("a.yaml"), text).unwrap();
        let (code, _, error) = bounded(&folder, "weigh a.yaml");
        assert!(code == 1 && error.contains(says), "{says}: {code} {error}");
        assert!(error.len() < 100_000);
    }
    let many: String = (0..25_000)
        .map(|_| "      - {clue: frieze_gap, at: house, not_reached: x}\n")
        .collect();
    fs::write(
        folder.join("a.yaml"),
        format!("format: 1\nid: a\npasses:\n  - pass: first\n    sightings:\n{many}"),
    )
    .unwrap();
    let (code, _, error) = bounded(&folder, "weigh a.yaml");
    assert!(
        code == 1 && error.contains("more than 20000 sightings"),
        "{code} {error}"
    );
}

/// A pack of the tests, with mechanisms, responses and clues at the house added, and `links` from each to each.
fn pack(folder: &Path, mechanisms: usize, responses: usize, clues: usize) {
    let good = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/bad/packs/good");
    for inside in [
        "",
        "clues",
        "contexts",
        "hazards",
        "limits",
        "mechanisms",
        "responses",
        "suppressions",
    ] {
        fs::create_dir_all(folder.join(inside)).unwrap();
        for entry in fs::read_dir(good.join(inside)).unwrap() {
            let path = entry.unwrap().path();
            if path.is_file() {
                fs::copy(&path, folder.join(inside).join(path.file_name().unwrap())).unwrap();
            }
        }
    }
    let link = |effect: String| {
        format!("  - {{effect: {effect}, reach: here, how_often: often, reason: It may., source: judgement}}\n")
    };
    let to_clues: String = (0..clues).map(|at| link(format!("c{at}"))).collect();
    let to_responses: String = (0..responses).map(|at| link(format!("r{at}"))).collect();
    for at in 0..mechanisms {
        let links = if responses > 0 { &to_responses } else { &to_clues };
        let text = format!(
            "id: m{at}\ntitle: cause {at}\nsince: 0.1.0\nat: house\nwhat: A cause.\npicture: signs\nprevalence: {{chance: 0.1, from: 0.05, to: 0.2, source: judgement}}\nconsequence: light\nmind_changers: []\nsource: judgement\nlinks:\n{links}"
        );
        fs::write(folder.join(format!("mechanisms/m{at}.yaml")), text).unwrap();
    }
    for at in 0..responses {
        let text = format!(
            "id: r{at}\ntitle: step {at}\nat: house\nstates: [no, little, much]\nbackground: {{how_often: 0.001}}\nsource: judgement\nlinks:\n{to_clues}"
        );
        fs::write(folder.join(format!("responses/r{at}.yaml")), text).unwrap();
    }
    for at in 0..clues {
        let text = format!(
            "id: c{at}\ntitle: sign {at}\nsince: 0.1.0\nat: house\nzone: inside\ngrades: [{{id: none}}, {{id: open}}]\nusual_grades: {{open: 1}}\nbackground: {{how_often: rarely, source: judgement}}\nordinary_causes: [use]\nlook_for: anywhere in the house\neffort: glance\nsays: a sign\nsource: judgement\n"
        );
        fs::write(folder.join(format!("clues/c{at}.yaml")), text).unwrap();
    }
}

/// Every clue of such a pack seen.
fn all_seen(folder: &Path, clues: usize) {
    let seen: String = (0..clues)
        .map(|at| format!("      - {{clue: c{at}, at: house, seen: open}}\n"))
        .collect();
    fs::write(
        folder.join("case.yaml"),
        format!("format: 1\nid: a\npasses:\n  - pass: first\n    sightings:\n{seen}"),
    )
    .unwrap();
}

/// Every cause with every sign: as tangled as two layers can be.
#[test]
fn five_thousand_links_all_to_all() {
    let folder = folder("all-to-all");
    pack(&folder.join("pack"), 100, 0, 50);
    all_seen(&folder, 50);
    let (code, out, error) = bounded(&folder, "check pack");
    assert!(code == 0 && out.contains("500"), "{out} {error}");
    let (code, _, error) = bounded(&folder, "weigh case.yaml --pack pack");
    assert!(
        code == 3 && error.contains("too tangled to weigh exactly"),
        "{code} {error}"
    );
}

/// Causes, hidden steps and signs, each layer all to all.
#[test]
fn layers_all_to_all() {
    for (causes, steps, signs) in [(12, 3, 20), (30, 30, 30), (60, 40, 60)] {
        let folder = folder(&format!("layers-{causes}"));
        pack(&folder.join("pack"), causes, steps, signs);
        all_seen(&folder, signs);
        let (code, _, error) = bounded(&folder, "weigh case.yaml --pack pack");
        assert!(
            code == 0 || (code == 3 && error.contains("too tangled")),
            "{causes}: {code} {error}"
        );
    }
}
