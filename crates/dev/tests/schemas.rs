//! The schemas take every file of the repository, refuse broken ones, and know the very names that the readers know.
#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};
use wythe_dev::schemas;
use wythe_text::Doc;

/// Kinds of broken packs that a schema can see without the rest of the pack.
const SEEN: [&str; 13] = [
    "misspelt-key",
    "unknown-support",
    "unknown-action",
    "unknown-action-sentence",
    "unknown-zone",
    "later-format",
    "chance-of-one",
    "chance-in-percent",
    "frequency-of-one",
    "effect-below-nothing",
    "number-out-of-range",
    "share-negative",
    "one-grade",
];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn schema(name: &str) -> Value {
    let found = schemas(wythe::built_in_pack())
        .into_iter()
        .find(|(known, _)| *known == name);
    found.unwrap_or_else(|| panic!("no schema {name}")).1
}

/// Which schema a file of a pack has.
fn kind(path: &str) -> Option<String> {
    let (folder, file) = path.split_once('/').unwrap_or(("", path));
    Some(match folder {
        "" => format!("{}.schema.json", file.trim_end_matches(".yaml")),
        "population" if file == "figures.yaml" => "figures.schema.json".into(),
        "population" => "case.schema.json".into(),
        "trials" => "trial.schema.json".into(),
        _ => format!("{}.schema.json", folder.trim_end_matches('s')),
    })
}

/// A file as JSON, as the readers take it in.
fn value(name: &str, text: &str) -> Value {
    let doc = Doc::parse(name, text).unwrap_or_else(|problems| panic!("{problems}"));
    serde_json::to_value(doc.root().tree()).unwrap()
}

fn files(folder: &Path, out: &mut Vec<PathBuf>) {
    let mut entries: Vec<PathBuf> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            files(&path, out);
        } else if path.extension().is_some_and(|end| end == "yaml") {
            out.push(path);
        }
    }
}

/// Every file of the pack with its path inside it, and every case of the repository.
fn all() -> Vec<(String, String, Value)> {
    let mut out = Vec::new();
    let pack = root().join("rules/structural");
    let mut paths = Vec::new();
    files(&pack, &mut paths);
    for path in paths {
        let inside = path.strip_prefix(&pack).unwrap().to_string_lossy().replace('\\', "/");
        let text = fs::read_to_string(&path).unwrap();
        out.push((inside.clone(), kind(&inside).unwrap(), value(&inside, &text)));
    }
    for folder in ["examples/cases", "tests/published/cases"] {
        let mut paths = Vec::new();
        files(&root().join(folder), &mut paths);
        for path in paths {
            let name = path.display().to_string();
            out.push((
                name.clone(),
                "case.schema.json".into(),
                value(&name, &fs::read_to_string(&path).unwrap()),
            ));
        }
    }
    out
}

#[test]
fn every_rule_case_and_trial_file_of_the_repository_is_valid() {
    let mut validators: BTreeMap<String, jsonschema::Validator> = BTreeMap::new();
    let (mut count, mut wrong) = (0, Vec::new());
    for (name, kind, value) in all() {
        let validator = validators
            .entry(kind.clone())
            .or_insert_with(|| jsonschema::validator_for(&schema(&kind)).unwrap());
        wrong.extend(
            validator
                .iter_errors(&value)
                .map(|error| format!("{name} {}: {error}", error.instance_path())),
        );
        count += 1;
    }
    assert!(count > 450 && validators.len() >= 16, "{count} {:?}", validators.keys());
    assert!(
        wrong.is_empty(),
        "{}\nmend crates/dev/src/schema, or the file",
        wrong.join("\n")
    );
}

#[test]
fn broken_cases_are_refused() {
    let validator = jsonschema::validator_for(&schema("case.schema.json")).unwrap();
    // What a schema can see: names, kinds of values, choices.
    for name in [
        "misspelt-name",
        "no-format",
        "no-id",
        "later-format",
        "not-a-mapping",
        "not-sure-how",
        "pass-without-name",
        "place-without-kind",
        "context-neither",
    ] {
        let text = fs::read_to_string(root().join(format!("tests/bad/cases/{name}.yaml"))).unwrap();
        assert!(!validator.is_valid(&value(name, &text)), "{name} is taken");
    }
}

#[path = "../../pack/tests/bad_packs/edits.rs"]
mod edits;

#[test]
fn broken_rule_files_are_refused() {
    let mut refused = BTreeSet::new();
    for (what, path, from, to) in edits::EDITS.iter().filter(|edit| SEEN.contains(&edit.0)) {
        let good = fs::read_to_string(root().join("tests/bad/packs/good").join(path)).unwrap();
        let validator = jsonschema::validator_for(&schema(&kind(path).unwrap())).unwrap();
        assert!(validator.is_valid(&value(path, &good)), "{path}");
        if !validator.is_valid(&value(path, &good.replacen(from, to, 1))) {
            refused.insert(*what);
        }
    }
    assert_eq!(refused, BTreeSet::from(SEEN));
}

/// A mapping of a file: the names to reach it, and its schema.
fn mappings<'s>(
    value: &Value,
    schema: &'s Value,
    at: String,
    path: Vec<Value>,
    out: &mut Vec<(String, Vec<Value>, &'s Value)>,
) {
    if let Some(choices) = schema.get("anyOf").and_then(Value::as_array) {
        for choice in choices {
            mappings(value, choice, at.clone(), path.clone(), out);
        }
        return;
    }
    let extended = |key: Value| path.iter().cloned().chain([key]).collect::<Vec<_>>();
    match value {
        Value::Object(entries) => {
            let properties = schema.get("properties");
            if schema.get("additionalProperties") == Some(&json!(false)) {
                out.push((at.clone(), path.clone(), schema));
            }
            for (key, inner) in entries {
                let named = properties.and_then(|all| all.get(key));
                let (next, at) = match named.filter(|_| schema.get("additionalProperties") == Some(&json!(false))) {
                    Some(next) => (Some(next), format!("{at}/{key}")),
                    None => (schema.get("additionalProperties"), format!("{at}/*")),
                };
                if let Some(next) = next {
                    mappings(inner, next, at, extended(json!(key)), out);
                }
            }
        }
        Value::Array(items) => {
            if let Some(next) = schema.get("items") {
                for (index, inner) in items.iter().enumerate() {
                    mappings(inner, next, format!("{at}/-"), extended(json!(index)), out);
                }
            }
        }
        _ => {}
    }
}

fn at_mut<'v>(value: &'v mut Value, path: &[Value]) -> &'v mut Value {
    path.iter().fold(value, |value, step| match step {
        Value::String(key) => &mut value[key.as_str()],
        step => &mut value[usize::try_from(step.as_u64().unwrap()).unwrap()],
    })
}

/// What the readers say of a file that stands for the one of its name.
fn said(name: &str, kind: &str, text: &str) -> String {
    match kind {
        "case.schema.json" => wythe::Case::read("case.json", text)
            .err()
            .map_or_else(String::new, |problems| problems.to_string()),
        "trial.schema.json" => {
            // A trial's own names stand at the start of a line.
            let whole: serde_json::Map<String, Value> = serde_json::from_str(text).unwrap();
            let lines: String = whole.iter().map(|(key, value)| format!("{key}: {value}\n")).collect();
            let lines = if lines.is_empty() { "{}".to_owned() } else { lines };
            wythe::run_trials(wythe::built_in_pack(), &[("trial.yaml", &lines)])
                .iter()
                .map(|result| result.says())
                .collect()
        }
        "figures.schema.json" => {
            let files = [(name, text), ("house.yaml", "format: 1\nid: house\n")];
            wythe::house_shares(wythe::built_in_pack(), &files)
                .err()
                .map_or_else(String::new, |error| error.to_string())
        }
        _ => {
            let texts: Vec<(String, String)> = wythe_rules::structural()
                .into_iter()
                .map(|(path, old)| {
                    (
                        path.to_owned(),
                        if path == name { text.to_owned() } else { old.to_owned() },
                    )
                })
                .collect();
            let files: Vec<wythe_pack::PackFile<'_>> = texts
                .iter()
                .map(|(path, text)| wythe_pack::PackFile { path, text })
                .collect();
            wythe_pack::Pack::read(&files)
                .err()
                .map_or_else(String::new, |problems| problems.to_string())
        }
    }
}

/// For one of each kind of mapping: a name that nobody knows is put in, and the reader lists those it knows; all names are
/// taken out, and it lists those it misses. Both lists are the schema's.
#[test]
fn the_schemas_know_the_names_that_the_readers_know() {
    let all_schemas: BTreeMap<&str, Value> = schemas(wythe::built_in_pack()).into_iter().collect();
    let mut met: BTreeSet<(String, String)> = BTreeSet::new();
    let mut wrong = Vec::new();
    for (name, kind, whole) in all() {
        let mut found = Vec::new();
        mappings(
            &whole,
            &all_schemas[kind.as_str()],
            String::new(),
            Vec::new(),
            &mut found,
        );
        for (at, path, schema) in found {
            if !met.insert((kind.clone(), at.clone())) {
                continue;
            }
            // The reader of cases takes a trial in without these, and speaks first.
            let apart = |name: &String| {
                kind == "trial.schema.json" && at.is_empty() && ["shows", "source", "expect"].contains(&name.as_str())
            };
            let names: BTreeSet<String> = schema["properties"]
                .as_object()
                .unwrap()
                .keys()
                .filter(|name| !apart(name))
                .cloned()
                .collect();
            let needed: BTreeSet<String> = schema["required"]
                .as_array()
                .unwrap()
                .iter()
                .map(|one| one.as_str().unwrap().to_owned())
                .filter(|name| !apart(name))
                .collect();
            let mut with = whole.clone();
            at_mut(&mut with, &path)["qqqqqqqqqqqq"] = json!("x");
            let says = said(&name, &kind, &serde_json::to_string_pretty(&with).unwrap());
            let known = listed(&says);
            // A mapping by support or action is refused by the nearest name, without a list.
            let refused = says.contains("there is no support `qqqqqqqqqqqq`")
                || says.contains("there is no action `qqqqqqqqqqqq`");
            if known.as_ref() != Some(&names) && !refused {
                wrong.push(format!("{kind} {at}: the reader knows {known:?}, the schema {names:?}"));
            }
            let mut without = whole.clone();
            *at_mut(&mut without, &path) = json!({});
            let says = said(&name, &kind, &serde_json::to_string_pretty(&without).unwrap());
            let missing: BTreeSet<String> = names
                .iter()
                .filter(|one| says.contains(&format!("`{one}` is missing here")))
                .cloned()
                .collect();
            if missing != needed {
                wrong.push(format!(
                    "{kind} {at}: the reader misses {missing:?}, the schema {needed:?}"
                ));
            }
        }
    }
    assert!(met.len() > 50, "{}", met.len());
    assert!(
        wrong.is_empty(),
        "{}\nmend crates/dev/src/schema, then run `cargo dev generate`",
        wrong.join("\n")
    );
}

/// The names of the first "names known here" in a message.
fn listed(says: &str) -> Option<BTreeSet<String>> {
    let after = says.split_once("`qqqqqqqqqqqq` is not a name known here")?.1;
    let line = after.split_once("names known here: ")?.1.lines().next()?;
    Some(line.split('`').skip(1).step_by(2).map(str::to_owned).collect())
}
