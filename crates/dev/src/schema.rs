//! JSON Schemas for editors: one for each kind of rule file, for cases, trials and figures in print.
//!
//! They say less than the readers do: which names a mapping has, which of them it must have, and what kind of value each
//! takes. A test holds the names against those that the readers themselves know (`crates/dev/tests/schemas.rs`).

mod case;
mod nodes;
mod pack;

use serde_json::{Map, Value, json};
use wythe::Pack;

/// File name and schema of each kind of file; names of the built-in pack are offered, and others are taken.
pub fn schemas(pack: &Pack) -> Vec<(&'static str, Value)> {
    let mut all = pack::schemas();
    all.extend(case::schemas(pack));
    let titled = |(name, mut schema): (&'static str, Value)| {
        if let Some(top) = schema.as_object_mut() {
            top.insert("$schema".into(), json!("https://json-schema.org/draft/2020-12/schema"));
            top.insert(
                "title".into(),
                json!(format!("Wythe: {}", name.trim_end_matches(".schema.json"))),
            );
        }
        (name, schema)
    };
    all.into_iter().map(titled).collect()
}

type Entries<'a> = &'a [(&'a str, Value)];

/// A mapping with these names and no others.
fn object(required: Entries<'_>, optional: Entries<'_>) -> Value {
    let all: Map<String, Value> = required
        .iter()
        .chain(optional)
        .map(|(name, value)| ((*name).to_owned(), value.clone()))
        .collect();
    let names: Vec<&str> = required.iter().map(|(name, _)| *name).collect();
    json!({"type": "object", "additionalProperties": false, "required": names, "properties": all})
}

/// A mapping with any names.
fn map(of: Value) -> Value {
    json!({"type": "object", "additionalProperties": of})
}

fn list(of: Value) -> Value {
    json!({"type": "array", "items": of})
}

fn one_or_list(of: Value) -> Value {
    json!({"anyOf": [of, {"type": "array", "items": of}]})
}

fn text() -> Value {
    json!({"type": "string", "minLength": 1})
}

fn text_or_number() -> Value {
    json!({"type": ["string", "integer"]})
}

fn number(from: f64, to: f64) -> Value {
    json!({"type": "number", "minimum": from, "maximum": to})
}

fn flag() -> Value {
    json!({"enum": [true, false, "yes", "no"]})
}

fn choice(names: &[&str]) -> Value {
    json!({"enum": names})
}

/// Any name; these are offered.
fn offered(names: impl IntoIterator<Item = String>) -> Value {
    let names: Vec<String> = names.into_iter().collect();
    json!({"anyOf": [{"enum": names}, text_or_number()]})
}

/// A frequency word or a number over 0 and under 1.
fn chance() -> Value {
    json!({"anyOf": [{"type": "string"}, {"type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 1}]})
}
