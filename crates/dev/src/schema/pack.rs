//! Rule files.

use serde_json::{Value, json};

use super::{chance, choice, flag, map, nodes, number, object, one_or_list, text, text_or_number};

const ACTIONS: [&str; 6] = ["record", "upkeep", "trade", "monitor", "refer", "promptly"];
const SUPPORTS: [&str; 7] = [
    "cannot_tell",
    "spoken_against",
    "not_moved",
    "slight",
    "some",
    "fair",
    "strong",
];

pub(super) fn schemas() -> Vec<(&'static str, Value)> {
    vec![
        ("pack.schema.json", head()),
        ("words.schema.json", words()),
        ("sources.schema.json", map(source())),
        ("places.schema.json", map(place())),
        (
            "families.schema.json",
            map(object(
                &[("title", text())],
                &[("what", text()), ("consequence", text()), ("note", text())],
            )),
        ),
        ("wording.schema.json", wording()),
        ("context.schema.json", context()),
        ("clue.schema.json", nodes::clue()),
        ("response.schema.json", nodes::response()),
        ("mechanism.schema.json", nodes::mechanism()),
        ("limit.schema.json", limit()),
        ("region.schema.json", region()),
        (
            "retired.schema.json",
            map(object(
                &[("since", text_or_number()), ("why", text())],
                &[("now", text())],
            )),
        ),
        ("hazard.schema.json", hazard()),
        ("suppression.schema.json", suppression()),
    ]
}

pub(super) fn named(keys: &[(&'static str, f64, f64)]) -> Value {
    let required: Vec<(&str, Value)> = keys.iter().map(|(key, from, to)| (*key, number(*from, *to))).collect();
    object(&required, &[("reason", text())])
}

pub(super) fn basis() -> Value {
    choice(&["measured", "published_opinion", "common_practice", "our_judgement"])
}

pub(super) fn sources() -> Value {
    one_or_list(text())
}

pub(super) fn shares() -> Value {
    map(json!({"anyOf": [{"type": "string"}, {"type": "number", "minimum": 0}]}))
}

pub(super) fn by_support() -> Value {
    let all: Vec<(&str, Value)> = SUPPORTS.iter().map(|support| (*support, choice(&ACTIONS))).collect();
    object(&[], &all)
}

fn head() -> Value {
    let unit = |key: &'static str| (key, 0.0, 1.0);
    let support = named(&[
        unit("spoken_against"),
        unit("weakly"),
        unit("share_of_prior"),
        unit("halved"),
        ("not_moved", 1.0, 100.0),
        unit("some"),
        unit("fair"),
        unit("strong"),
        unit("cannot_tell"),
    ]);
    let corroborate = named(&[("groups", 1.0, 10.0), ("zones", 1.0, 5.0), ("at_least", 0.0, 100.0)]);
    let referral = object(
        &[
            ("miss_costs", number(0.1, 1000.0)),
            ("reason", text()),
            ("corroborate", corroborate),
        ],
        &[],
    );
    let minutes = |key: &'static str| (key, 0.1, 100_000.0);
    object(
        &[
            ("format", json!({"const": 1})),
            ("id", text()),
            ("title", text()),
            ("version", text()),
            ("region", text()),
            ("reference_population", text()),
            ("support", support),
            ("referral", referral),
            ("context_cap", number(1.0, 1e6)),
            ("part_looked", number(0.01, 0.99)),
            ("unsure", named(&[unit("fairly"), unit("unsure")])),
            ("photo_error", number(1.0, 100.0)),
            ("misfit", number(0.0, 1000.0)),
            ("monitor", named(&[("months", 1.0, 120.0)])),
            ("consequences", map(by_support())),
        ],
        &[
            (
                "look_minutes",
                named(&[
                    minutes("glance"),
                    minutes("closer_look"),
                    minutes("tool"),
                    minutes("second_visit"),
                ]),
            ),
            ("look_hour", named(&[("costs", 0.0, 1000.0)])),
            ("note", text()),
        ],
    )
}

fn words() -> Value {
    let over = json!({"type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 1});
    object(
        &[
            ("frequencies", map(over)),
            ("effects", map(json!({"type": "number", "minimum": 0}))),
        ],
        &[],
    )
}

fn source() -> Value {
    let kinds = [
        "standard",
        "agency",
        "university",
        "paper",
        "textbook",
        "guideline",
        "common_practice",
        "judgement",
    ];
    object(
        &[("title", text()), ("kind", choice(&kinds))],
        &[
            ("by", text()),
            ("year", json!({"type": "integer"})),
            ("seen", choice(&["in_print", "from_memory"])),
            ("address", text()),
        ],
    )
}

fn place() -> Value {
    object(
        &[("title", text()), ("usual", number(1.0, 1000.0))],
        &[
            ("in", text()),
            ("touches", map(number(0.01, 1000.0))),
            ("drawn", text()),
            ("names", one_or_list(text())),
        ],
    )
}

fn wording() -> Value {
    let supports: Vec<(&str, Value)> = SUPPORTS.iter().map(|support| (*support, text())).collect();
    let actions: Vec<(&str, Value)> = ACTIONS.iter().map(|action| (*action, text())).collect();
    object(
        &[
            ("cautions", one_or_list(text())),
            ("supports", object(&[], &supports)),
            ("actions", object(&[], &actions)),
        ],
        &[
            ("by_when", object(&[], &actions)),
            (
                "client",
                object(
                    &[],
                    &[
                        ("about", one_or_list(text())),
                        ("supports", object(&[], &supports)),
                        ("words", map(text())),
                    ],
                ),
            ),
            (
                "engineer",
                object(
                    &[],
                    &[("about", one_or_list(text())), ("questions", one_or_list(text()))],
                ),
            ),
        ],
    )
}

fn context() -> Value {
    let bound = || json!({"type": ["string", "number"]});
    let from = object(
        &[("sheet", one_or_list(text())), ("value", text())],
        &[("over", bound()), ("under", bound()), ("denies", flag())],
    );
    object(
        &[
            ("id", text()),
            ("title", text()),
            ("ask", text()),
            ("share", chance()),
            ("source", sources()),
        ],
        &[
            ("not_with", one_or_list(text())),
            ("basis", basis()),
            ("computed_from", one_or_list(from)),
        ],
    )
}

fn region() -> Value {
    object(
        &[
            ("id", text()),
            ("title", text()),
            ("reference_population", text()),
            ("source", sources()),
        ],
        &[
            ("shares", map(chance())),
            ("prevalences", map(nodes::prevalence())),
            ("note", text()),
        ],
    )
}

fn limit() -> Value {
    object(
        &[
            ("id", text()),
            ("title", text()),
            ("clue", text()),
            ("at_least", choice(&ACTIONS)),
            ("for", text()),
            ("source", sources()),
        ],
        &[
            ("since", text_or_number()),
            ("also", one_or_list(text())),
            ("over", text_or_number()),
            ("under", text_or_number()),
            ("from", text()),
            ("marks", map(text())),
            ("number", number(1.0, 20.0)),
            ("basis", basis()),
            ("note", text()),
        ],
    )
}

fn hazard() -> Value {
    object(
        &[
            ("id", text()),
            ("title", text()),
            ("clue", text()),
            ("from", text()),
            ("at_least", choice(&ACTIONS)),
            ("notice", text()),
            ("source", sources()),
        ],
        &[("since", text_or_number()), ("basis", basis()), ("note", text())],
    )
}

fn suppression() -> Value {
    object(
        &[
            ("id", text()),
            ("hides", one_or_list(text())),
            ("reason", text()),
            ("source", sources()),
        ],
        &[
            ("since", text_or_number()),
            ("by_context", text()),
            ("by_clue", text()),
            ("by_test", text()),
            ("from", text()),
            ("basis", basis()),
            ("note", text()),
        ],
    )
}
