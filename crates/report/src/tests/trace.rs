//! Every number of the JSON stands beside ids that exist; the JSON reads back.

use std::collections::BTreeSet;

use serde_json::Value;

use super::{house, pack, weighed};
use crate::{json, page_since};

fn value() -> Value {
    let pack = pack();
    let case = house("a note");
    let before = weighed(&pack, &case.as_of("one").unwrap());
    let page = page_since(&pack, &case, &before, &weighed(&pack, &case)).unwrap();
    serde_json::from_str(&page.json().unwrap()).unwrap()
}

fn ids(value: &Value, list: &str, key: &str) -> BTreeSet<String> {
    value[list]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one[key].as_str().unwrap().to_owned())
        .collect()
}

/// Calls `see` on every member of every object, with the path of keys that leads to it.
fn walk(value: &Value, path: &mut Vec<String>, see: &mut impl FnMut(&[String], &Value)) {
    see(path, value);
    match value {
        Value::Array(items) => items.iter().for_each(|item| walk(item, path, see)),
        Value::Object(members) => {
            for (key, member) in members {
                path.push(key.clone());
                walk(member, path, see);
                path.pop();
            }
        }
        _ => {}
    }
}

#[test]
fn every_id_exists() {
    let (pack, value) = (pack(), value());
    let sightings = ids(&value, "sightings", "id");
    let conclusions = ids(&value, "conclusions", "id");
    let sources = ids(&value, "sources", "id");
    let places: BTreeSet<String> = value["case"]["places"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["id"].as_str().unwrap().to_owned())
        .collect();
    let rules: BTreeSet<&str> = pack
        .mechanisms
        .iter()
        .map(|one| one.id.as_str())
        .chain(pack.families.iter().map(|one| one.id.as_str()))
        .collect();
    let (mut seen_sightings, mut seen_sources) = (0, 0);
    walk(&value, &mut Vec::new(), &mut |path, one| {
        let Some(id) = one.as_str() else { return };
        match path.last().map(String::as_str) {
            Some("sightings" | "sighting" | "seen" | "not_there" | "not_reached" | "by") => {
                seen_sightings += 1;
                assert!(sightings.contains(id), "{path:?} {id}");
            }
            Some("sources") => {
                seen_sources += 1;
                assert!(sources.contains(id), "{path:?} {id}");
            }
            Some("conclusions" | "conclusion") => assert!(conclusions.contains(id), "{path:?} {id}"),
            Some("place" | "places") => assert!(places.contains(id), "{path:?} {id}"),
            Some("clue") => assert!(pack.clue(id).is_some(), "{path:?} {id}"),
            Some("rule") if path[0] == "conclusions" => assert!(rules.contains(id), "{path:?} {id}"),
            _ => {}
        }
    });
    assert!(
        seen_sightings > 30 && seen_sources > 30,
        "{seen_sightings} {seen_sources}"
    );
}

/// A number that came from weighing stands in an object that names its rule, its sightings, or both.
#[test]
fn every_weighed_number_has_a_rule_or_sightings() {
    let value = value();
    let mut numbers = 0;
    walk(&value, &mut Vec::new(), &mut |path, one| {
        let Value::Object(members) = one else { return };
        for key in ["chance", "prior", "base", "weight", "after", "coverage"] {
            if members.get(key).is_some_and(Value::is_number) {
                numbers += 1;
                let traced = ["rule", "rival", "sightings"]
                    .iter()
                    .any(|id| members.contains_key(*id));
                // Before and after of a change stand inside an object that names the conclusion.
                let inside = matches!(path.last().map(String::as_str), Some("before" | "after"));
                assert!(traced || inside, "{path:?} {key}");
            }
        }
    });
    assert!(numbers > 100, "{numbers}");
    for conclusion in value["conclusions"].as_array().unwrap() {
        let steps = conclusion["steps"].as_array().unwrap();
        let sum: f64 = steps.iter().map(|step| step["weight"].as_f64().unwrap()).sum();
        let odds = |chance: &Value| 10.0 * (chance.as_f64().unwrap() / (1.0 - chance.as_f64().unwrap())).log10();
        let moved = odds(&conclusion["chance"]) - odds(&conclusion["base"]);
        assert!((sum - moved).abs() < 0.02, "{}: {sum} {moved}", conclusion["id"]);
    }
}

#[test]
fn json_reads_back_as_it_was_and_keeps_its_order() {
    let pack = pack();
    let case = house("a note");
    let text = json(&pack, &case, &weighed(&pack, &case)).unwrap();
    let value: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(crate::jsontext::written(&value), text);
    let keys: Vec<&str> = value.as_object().unwrap().keys().map(String::as_str).collect();
    assert_eq!(keys[..6], ["format", "pack", "case", "about", "action", "notices"]);
    let measured = &value["sightings"][0]["measured"];
    assert_eq!(
        (
            measured["value"].as_f64(),
            measured["metric"].as_str(),
            measured["us"].as_str()
        ),
        (Some(3.0), Some("3 mm"), Some("1/8 in"))
    );
}
