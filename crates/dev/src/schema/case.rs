//! Cases, trials, and figures in print.

use serde_json::{Value, json};
use wythe::{Action, Pack, Support};

use super::{choice, flag, list, map, number, object, offered, one_or_list, text, text_or_number};

pub(super) fn schemas(pack: &Pack) -> Vec<(&'static str, Value)> {
    let (required, optional) = case(pack);
    let trial: Vec<(&str, Value)> = required
        .iter()
        .cloned()
        .chain([("shows", text()), ("source", text()), ("expect", expect(pack))])
        .collect();
    vec![
        ("case.schema.json", object(&required, &optional)),
        ("trial.schema.json", object(&trial, &optional)),
        ("figures.schema.json", figures(pack)),
    ]
}

fn clues(pack: &Pack) -> Value {
    offered(pack.clues.iter().map(|one| one.id.clone()))
}

fn conclusions(pack: &Pack) -> Value {
    let mechanisms = pack.mechanisms.iter().map(|one| one.id.clone());
    offered(mechanisms.chain(pack.families.iter().map(|one| one.id.clone())))
}

type Named = Vec<(&'static str, Value)>;

/// What a case must have, and what it may have.
fn case(pack: &Pack) -> (Named, Named) {
    let name = text_or_number;
    let kinds = offered(pack.kinds.iter().map(|one| one.id.clone()));
    let place = object(
        &[("id", name()), ("kind", kinds)],
        &[
            ("label", text()),
            ("in", name()),
            ("touches", one_or_list(name())),
            ("note", text()),
        ],
    );
    let known = json!({"enum": [true, false, "yes", "no", "unknown"]});
    let fact = json!({"anyOf": [known.clone(), object(&[("holds", known)], &[("note", text())])]});
    let offered_facts: serde_json::Map<String, Value> =
        pack.contexts.iter().map(|one| (one.id.clone(), fact.clone())).collect();
    let facts = json!({"type": "object", "properties": offered_facts, "additionalProperties": fact});
    let pass = object(
        &[("pass", name())],
        &[
            ("title", text()),
            ("date", text()),
            ("by", text()),
            ("sightings", list(sighting(pack))),
        ],
    );
    let repair = object(
        &[("at", one_or_list(name())), ("what", text())],
        &[("date", text()), ("clues", one_or_list(clues(pack)))],
    );
    // Sheets of readings have readers of their own.
    let sheets = || json!({"type": ["array", "object", "string"]});
    (
        vec![("format", json!({"const": 1})), ("id", name())],
        vec![
            ("title", text()),
            ("visited", text()),
            ("region", offered(pack.regions.iter().map(|one| one.id.clone()))),
            ("how_many", map(number(0.0, 10_000.0))),
            ("places", list(place)),
            ("contexts", facts),
            ("passes", list(pass)),
            ("repairs", list(repair)),
            ("surveys", sheets()),
            ("lintels", sheets()),
            ("trends", sheets()),
            ("walls", sheets()),
            ("openings", sheets()),
            ("cracks", sheets()),
            ("sites", sheets()),
        ],
    )
}

fn sighting(pack: &Pack) -> Value {
    let looked = json!({"type": ["string", "number"]});
    let mut sighting = object(
        &[("clue", clues(pack)), ("at", text_or_number())],
        &[
            ("id", text_or_number()),
            ("seen", text_or_number()),
            ("measured", json!({"type": ["string", "number"]})),
            ("not_reached", text()),
            ("with", text()),
            ("from_photo", flag()),
            ("looked", looked),
            ("ask_access", flag()),
            ("marks", map(one_or_list(text_or_number()))),
            ("sure", choice(&["sure", "fairly", "unsure"])),
            ("corrects", text_or_number()),
            ("note", text()),
            ("photos", one_or_list(text_or_number())),
        ],
    );
    let one_of = ["seen", "measured", "not_reached"].map(|key| json!({"required": [key]}));
    if let Some(top) = sighting.as_object_mut() {
        top.insert("oneOf".into(), json!(one_of));
    }
    sighting
}

/// One of the names, or the least and the most.
fn span(names: &[&str]) -> Value {
    json!({"anyOf": [{"enum": names}, {"type": "array", "minItems": 2, "maxItems": 2, "items": {"enum": names}}]})
}

fn expect(pack: &Pack) -> Value {
    let actions = span(&Action::ALL.map(Action::name));
    let supports = span(&Support::ALL.map(Support::name));
    let bounds = |from: f64, to: f64| object(&[], &[("from", number(from, to)), ("to", number(from, to))]);
    let why = text;
    let conclusion = object(
        &[("of", conclusions(pack))],
        &[
            ("at", text_or_number()),
            ("support", supports),
            ("chance", bounds(0.0, 1.0)),
            ("weight", bounds(-1e6, 1e6)),
            ("action", actions.clone()),
            ("because", one_or_list(clues(pack))),
            ("despite", one_or_list(clues(pack))),
            ("held_back", flag()),
            ("known_disagreement", why()),
        ],
    );
    let ordered =
        json!({"anyOf": [conclusions(pack), object(&[("of", conclusions(pack))], &[("at", text_or_number())])]});
    let disagreements = object(
        &[],
        &[
            ("action", why()),
            ("order", why()),
            ("notices", why()),
            ("no_notices", why()),
        ],
    );
    object(
        &[],
        &[
            ("conclusions", list(conclusion)),
            ("order", list(ordered)),
            ("action", actions),
            ("notices", one_or_list(text())),
            ("no_notices", one_or_list(text())),
            ("known_disagreement", disagreements),
        ],
    )
}

fn figures(pack: &Pack) -> Value {
    let mechanisms = pack.mechanisms.iter().map(|one| one.id.clone());
    let names = mechanisms.chain(pack.families.iter().map(|one| one.id.clone()));
    let of = offered(names.chain(pack.clues.iter().map(|one| one.id.clone())));
    let percent = number(0.0, 100.0);
    let span = object(&[("from", percent.clone()), ("to", percent.clone())], &[]);
    let published = object(
        &[
            ("of", of.clone()),
            ("percent", json!({"anyOf": [percent.clone(), span]})),
            ("among", text()),
            ("source", text()),
            ("grade", choice(&["A", "B", "C", "D"])),
        ],
        &[("from", text())],
    );
    let most = object(
        &[("of", of), ("percent", percent), ("because", text())],
        &[("from", text())],
    );
    object(&[], &[("published", list(published)), ("at_most", list(most))])
}
