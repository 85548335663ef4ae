//! Rule files.

use serde_json::{Value, json};

use super::{chance, choice, flag, list, map, number, object, one_or_list, text, text_or_number};

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
                &[("consequence", text()), ("note", text())],
            )),
        ),
        ("wording.schema.json", wording()),
        ("context.schema.json", context()),
        ("clue.schema.json", clue()),
        ("response.schema.json", response()),
        ("mechanism.schema.json", mechanism()),
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

fn named(keys: &[(&'static str, f64, f64)]) -> Value {
    let required: Vec<(&str, Value)> = keys.iter().map(|(key, from, to)| (*key, number(*from, *to))).collect();
    object(&required, &[("reason", text())])
}

fn basis() -> Value {
    choice(&["measured", "published_opinion", "common_practice", "our_judgement"])
}

fn sources() -> Value {
    one_or_list(text())
}

fn shares() -> Value {
    map(json!({"anyOf": [{"type": "string"}, {"type": "number", "minimum": 0}]}))
}

fn by_support() -> Value {
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
                    &[("about", one_or_list(text())), ("supports", object(&[], &supports))],
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
    object(
        &[
            ("id", text()),
            ("title", text()),
            ("ask", text()),
            ("share", chance()),
            ("source", sources()),
        ],
        &[("basis", basis())],
    )
}

fn clue() -> Value {
    let grade = object(&[("id", text())], &[("up_to", text_or_number()), ("title", text())]);
    let quantities = ["length", "ratio", "angle", "rate", "number"];
    let measured = object(
        &[
            ("quantity", choice(&quantities)),
            ("error", text_or_number()),
            ("how", text()),
            ("source", sources()),
        ],
        &[],
    );
    let background = object(
        &[("how_often", chance())],
        &[("grades", shares()), ("basis", basis()), ("source", sources())],
    );
    let mark = object(
        &[("title", text()), ("of", shares())],
        &[("source", sources()), ("basis", basis()), ("how", text())],
    );
    let kinds = ["all_alike", "one_only", "one_wall_only", "worst_to_one_side"];
    let computed = object(
        &[("sheet", text()), ("value", text())],
        &[
            ("up_to", list(text_or_number())),
            ("stands_aside_for", one_or_list(text())),
        ],
    );
    let wait = object(&[("days", number(0.0, 3660.0)), ("reason", text())], &[]);
    let pattern = object(
        &[
            ("of", text()),
            ("kind", choice(&kinds)),
            ("at_least", number(2.0, 1000.0)),
        ],
        &[],
    );
    object(
        &[
            ("id", text()),
            ("title", text()),
            ("since", text_or_number()),
            ("at", text()),
            ("zone", choice(&["outside", "inside", "roof", "site", "under"])),
            ("grades", json!({"type": "array", "minItems": 2, "items": grade})),
            ("usual_grades", shares()),
            ("background", background),
            ("ordinary_causes", one_or_list(text())),
            ("look_for", text()),
            ("effort", choice(&["glance", "closer_look", "tool", "second_visit"])),
            ("says", text()),
            ("source", sources()),
        ],
        &[
            ("measured_by", measured),
            ("marks", map(mark)),
            ("direct", flag()),
            ("none_says", text()),
            ("basis", basis()),
            ("pattern", pattern),
            ("computed_from", computed),
            ("wait", wait),
            ("note", text()),
        ],
    )
}

fn link() -> Value {
    object(
        &[
            ("effect", text()),
            (
                "reach",
                choice(&["here", "inside", "around", "touching", "anywhere", "each"]),
            ),
            ("how_often", chance()),
            ("reason", text()),
            ("source", sources()),
        ],
        &[
            ("state", text()),
            ("when", text()),
            ("grades", shares()),
            ("marks", map(shares())),
            ("only_if", text()),
            ("basis", basis()),
            ("note", text()),
        ],
    )
}

fn response() -> Value {
    let opposed = object(&[("still", text()), ("one", text()), ("other", text())], &[]);
    object(
        &[
            ("id", text()),
            ("title", text()),
            ("at", text()),
            ("background", json!({"type": "object"})),
            ("source", sources()),
            ("links", list(link())),
        ],
        &[
            ("since", text_or_number()),
            ("states", one_or_list(text())),
            ("opposed", opposed),
            ("basis", basis()),
            ("note", text()),
        ],
    )
}

fn mechanism() -> Value {
    let times = json!({"anyOf": [{"type": "string"}, {"type": "number", "minimum": 0, "maximum": 1000}]});
    let effect = object(
        &[("context", text()), ("effect", times), ("source", sources())],
        &[("reason", text()), ("basis", basis())],
    );
    let plan = object(&[("points", text()), ("method", text()), ("call_if", text())], &[]);
    let advice = object(
        &[],
        &[
            ("upkeep", text()),
            ("trade", text()),
            ("monitor", plan),
            ("refer", text()),
        ],
    );
    let harm = object(
        &[
            ("what", text()),
            ("hides", text()),
            ("rival", text()),
            ("over", number(0.001, 0.999)),
            ("check_first", text()),
        ],
        &[],
    );
    let absent = object(&[("effect", text()), ("reason", text()), ("source", sources())], &[]);
    object(
        &[
            ("id", text()),
            ("title", text()),
            ("since", text_or_number()),
            ("at", text()),
            ("what", text()),
            ("picture", text()),
            ("prevalence", prevalence()),
            ("consequence", text()),
            ("mind_changers", one_or_list(text())),
            ("source", sources()),
            ("links", list(link())),
        ],
        &[
            ("families", one_or_list(text())),
            ("ordinary", flag()),
            ("applies_if", one_or_list(text())),
            ("contexts", list(effect)),
            ("actions", by_support()),
            ("trade", text()),
            ("advice", advice),
            ("harm_if_wrong", harm),
            ("not_expected", list(absent)),
            ("basis", basis()),
            ("note", text()),
        ],
    )
}

fn prevalence() -> Value {
    object(
        &[
            ("chance", chance()),
            ("from", chance()),
            ("to", chance()),
            ("source", sources()),
        ],
        &[("basis", basis())],
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
            ("prevalences", map(prevalence())),
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
            ("from", text()),
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
            ("from", text()),
            ("basis", basis()),
            ("note", text()),
        ],
    )
}
