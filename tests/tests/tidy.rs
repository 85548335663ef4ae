//! The rules of the house.
#![allow(missing_docs)]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "test code: a broken fixture should stop the test"
)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use petgraph::algo::toposort;
use petgraph::graphmap::DiGraphMap;
use wythe::built_in_pack;
use wythe_pack::SourceKind;
use wythe_tests::root;

/// Longest Rust file, in lines: one idea a file.
const LONGEST: usize = 420;

/// All that may stand at the top, beside dotfiles and what the build makes.
const TOP: [&str; 12] = [
    "Cargo.toml",
    "Cargo.lock",
    "README.md",
    "DEVELOPERS.md",
    "LICENSE-MIT",
    "LICENSE-APACHE",
    "CHANGELOG.md",
    "crates",
    "rules",
    "tests",
    "examples",
    "benches",
];

/// Every file of the repository with its path from the top, in order: those that git keeps, or all where there is no git.
fn files() -> Vec<(String, PathBuf)> {
    let top = root();
    let listed = Command::new("git").args(["ls-files", "-z"]).current_dir(&top).output();
    if let Some(listed) = listed.ok().filter(|listed| listed.status.success()) {
        let names = String::from_utf8(listed.stdout).unwrap();
        let kept = names
            .split('\0')
            .filter(|name| !name.is_empty())
            .map(|name| (name.to_owned(), top.join(name)));
        return kept.filter(|(_, path)| path.is_file()).collect();
    }
    let mut found = Vec::new();
    let mut folders = vec![top.clone()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            let name = path.strip_prefix(&top).unwrap().to_string_lossy().replace('\\', "/");
            if name == ".git" || name.ends_with("target") {
                continue;
            }
            if path.is_dir() {
                folders.push(path);
            } else {
                found.push((name, path));
            }
        }
    }
    found.sort();
    found
}

fn texts(endings: &[&str]) -> Vec<(String, String)> {
    let wanted = |name: &str| endings.iter().any(|ending| name.ends_with(ending));
    files()
        .into_iter()
        .filter(|(name, _)| wanted(name))
        .filter_map(|(name, path)| Some((name, fs::read_to_string(path).ok()?)))
        .collect()
}

#[test]
fn the_top_holds_what_it_should_and_nothing_else() {
    let mut found = BTreeSet::new();
    for entry in fs::read_dir(root()).unwrap() {
        let name = entry.unwrap().file_name().to_string_lossy().into_owned();
        if !name.starts_with('.') && name != "target" {
            assert!(TOP.contains(&name.as_str()), "{name} does not belong at the top");
            found.insert(name);
        }
    }
    for name in TOP.into_iter().filter(|name| *name != "CHANGELOG.md") {
        assert!(found.contains(name), "{name} is missing at the top");
    }
}

#[test]
fn no_file_is_long() {
    let long: Vec<_> = texts(&[".rs"])
        .into_iter()
        .map(|(name, text)| (text.lines().count(), name))
        .filter(|(lines, _)| *lines > LONGEST)
        .collect();
    assert!(long.is_empty(), "over {LONGEST} lines: {long:?}; one idea a file");
}

/// The YAML library stands behind one file, so that it can be changed for another.
#[test]
fn one_file_names_the_yaml_library() {
    let library = ["serde", "yaml"].join("_");
    let named: Vec<_> = texts(&[".rs"])
        .into_iter()
        .filter(|(_, text)| text.contains(&library))
        .map(|(name, _)| name)
        .collect();
    assert_eq!(named, ["crates/text/src/yaml.rs"]);
}

/// The crates that a Cargo.toml depends on, tests apart, without the prefix of the house.
fn depends(manifest: &str) -> BTreeSet<String> {
    let mut section = "";
    let mut found = BTreeSet::new();
    for line in manifest.lines().map(str::trim) {
        if line.starts_with('[') {
            section = line;
        } else if section == "[dependencies]" || section == "[build-dependencies]" {
            let name = line.split(['.', '=', ' ']).next().unwrap_or_default();
            if name.starts_with("wythe") {
                found.insert(short(name));
            }
        }
    }
    found
}

fn short(name: &str) -> String {
    name.strip_prefix("wythe-").unwrap_or(name).to_owned()
}

fn manifests() -> BTreeMap<String, String> {
    let named = |text: &str| {
        text.lines()
            .find_map(|line| Some(line.strip_prefix("name = \"")?.trim_end_matches('"').to_owned()))
    };
    // The fuzz targets are a workspace of their own.
    let all = texts(&["/Cargo.toml"])
        .into_iter()
        .filter(|(name, _)| name != "tests/fuzz/Cargo.toml")
        .filter_map(|(_, text)| Some((short(&named(&text)?), text)));
    all.collect()
}

/// The arrows drawn in DEVELOPERS.md are those of the Cargo.toml files, and they run in no circle.
#[test]
fn the_arrows_are_as_drawn() {
    let text = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let block = text
        .split("```arrows\n")
        .nth(1)
        .and_then(|rest| rest.split("```").next())
        .expect("a block ```arrows in DEVELOPERS.md");
    let mut drawn = DiGraphMap::<&str, ()>::new();
    for line in block.lines() {
        let (from, to) = line.split_once("->").unwrap_or_else(|| panic!("no arrow in `{line}`"));
        drawn.add_node(from.trim());
        for to in to.split_whitespace() {
            drawn.add_edge(from.trim(), to, ());
        }
    }
    let manifests = manifests();
    // What nothing is built upon may depend on anything, and need not be drawn.
    let free = ["dev", "tests", "examples", "benches", "fuzz"];
    for (name, manifest) in manifests.iter().filter(|(name, _)| !free.contains(&name.as_str())) {
        assert!(drawn.contains_node(name), "{name} is not drawn in DEVELOPERS.md");
        let arrows: BTreeSet<String> = drawn.neighbors(name).map(str::to_owned).collect();
        assert_eq!(
            arrows,
            depends(manifest),
            "of {name}: drawn in DEVELOPERS.md, then in its Cargo.toml"
        );
    }
    for name in drawn.nodes() {
        assert!(
            manifests.contains_key(name),
            "{name} is drawn in DEVELOPERS.md and is no crate"
        );
    }
    assert!(toposort(&drawn, None).is_ok(), "the arrows run in a circle");
}

#[test]
fn the_leaves_know_nothing_of_the_house() {
    let manifests = manifests();
    for leaf in ["infer", "measure", "text", "rules"] {
        assert_eq!(depends(&manifests[leaf]), BTreeSet::new(), "{leaf} is a leaf");
    }
    let knows = |name: &str, other: &str| depends(&manifests[name]).contains(other);
    assert!(!knows("case", "pack") && !knows("pack", "case") && !knows("cli", "infer") && !knows("report", "infer"));
}

#[test]
fn every_crate_keeps_the_lints_of_the_workspace() {
    for (name, manifest) in manifests() {
        assert!(
            manifest.contains("[lints]\nworkspace = true"),
            "{name} does not take the lints of the workspace"
        );
    }
    let workspace = fs::read_to_string(root().join("Cargo.toml")).unwrap();
    for lint in [
        "unsafe_code = \"forbid\"",
        "missing_docs = \"deny\"",
        "unwrap_used = \"deny\"",
        "panic = \"deny\"",
    ] {
        assert!(workspace.contains(lint), "the workspace lacks {lint}");
    }
}

/// Core crates take clock, files and chance from whoever calls them.
#[test]
fn core_crates_touch_neither_clock_nor_disk() {
    for (name, text) in texts(&[".rs"]) {
        let core = ["text", "measure", "infer", "pack", "case", "notes", "engine", "report"];
        if core.iter().any(|one| name.starts_with(&format!("crates/{one}/src/"))) && !name.contains("tests") {
            for word in ["std::time", "std::fs", "std::thread", "HashMap", "unsafe {"] {
                assert!(!text.contains(word), "{name} names {word}");
            }
        }
    }
}

#[test]
fn every_source_is_well_formed_and_used() {
    let pack = built_in_pack();
    for source in &pack.sources {
        let id = &source.id;
        let ours = matches!(source.kind, SourceKind::Judgement | SourceKind::CommonPractice);
        assert!(source.title.len() > 5, "{id}: a title");
        assert!(!source.title.ends_with('.'), "{id}: a title ends without a point");
        assert!(
            source.by.is_some() || ours || source.kind == SourceKind::University,
            "{id}: who published it"
        );
        assert!(
            source.year.is_none_or(|year| (1900..=2026).contains(&year)),
            "{id}: {:?}",
            source.year
        );
        assert!(
            !(source.seen_in_print && ours),
            "{id}: nobody saw our own judgement in print"
        );
        assert!(
            !source.seen_in_print || source.by.is_some(),
            "{id}: seen in print, and nobody's"
        );
        assert!(
            source
                .address
                .as_deref()
                .is_none_or(|address| address.starts_with("https://")),
            "{id}: an address begins with https"
        );
        let same = pack.sources.iter().filter(|other| other.title == source.title).count();
        assert_eq!(same, 1, "{id}: two sources of one title");
        let word = |text: &str| {
            text.split(|c: char| !c.is_alphanumeric() && c != '_')
                .any(|word| word == id)
        };
        let used = wythe_rules::structural()
            .iter()
            .any(|(path, text)| *path != "sources.yaml" && word(text));
        assert!(used, "{id} is the source of nothing");
    }
}

/// Nothing of the machine that this was written on, and no registry by address.
#[test]
fn no_file_names_a_machine() {
    // In pieces, so that this file does not name them either.
    let refused: Vec<String> = ["work", "tmp", "root", "home"]
        .iter()
        .map(|folder| format!("/{folder}/"))
        .collect();
    let hosts: Vec<String> = [
        ("static.crates", "io"),
        ("index.crates", "io"),
        ("files.pythonhosted", "org"),
    ]
    .iter()
    .map(|(host, end)| format!("{host}.{end}"))
    .collect();
    for (name, text) in texts(&[
        ".rs", ".md", ".toml", ".yaml", ".json", ".txt", ".py", ".sh", ".csv", ".svg", "run",
    ]) {
        for word in refused.iter().chain(&hosts) {
            let found = text
                .match_indices(word.as_str())
                .find(|(at, _)| !text[..*at].ends_with(|c: char| c.is_alphanumeric() || ".-_".contains(c)));
            assert!(found.is_none(), "{name} names {word}");
        }
    }
}

/// Old expert-system shells' command words are no commands of ours, and neither are traffic lights.
#[test]
fn the_program_has_verbs_of_its_own() {
    let args = fs::read_to_string(root().join("crates/cli/src/args.rs")).unwrap();
    for word in ["Why", "How", "Assert", "Retract", "Agenda", "Facts", "Salience"] {
        assert!(
            !args.lines().any(|line| line.trim() == format!("{word},")
                || line.trim().starts_with(&format!("{word} "))
                || line.trim().starts_with(&format!("{word}("))),
            "{word}"
        );
    }
}

/// Every test that this folder's README tells of exists, and it tells of every file of tests.
#[test]
fn the_readme_of_the_tests_tells_of_each() {
    let readme = fs::read_to_string(root().join("tests/README.md")).unwrap();
    for entry in fs::read_dir(root().join("tests/tests")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|end| end == "rs") {
            let stem = path.file_stem().map(Path::new).unwrap().display().to_string();
            assert!(
                readme.contains(&format!("`{stem}`")),
                "tests/README.md does not tell of {stem}"
            );
        }
    }
}

#[test]
fn the_result_in_the_readme_is_what_the_program_says() {
    let readme = fs::read_to_string(root().join("README.md")).unwrap();
    let golden = fs::read_to_string(root().join("tests/golden/second-pass/weigh.txt")).unwrap();
    let shown = readme
        .split("```text\n")
        .nth(1)
        .and_then(|rest| rest.split("```").next())
        .unwrap();
    let matters: Vec<&str> = shown.split("\n- ").skip(1).collect();
    assert_eq!(matters.len(), 2);
    for matter in matters {
        assert!(
            golden.contains(&format!("\n- {}\n", matter.trim_end())),
            "not said: {matter}"
        );
    }
}
