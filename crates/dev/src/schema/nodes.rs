//! Clues, responses and mechanisms, with their links.

use serde_json::{Value, json};

use super::pack::*;
use super::{chance, choice, flag, list, map, number, object, one_or_list, text, text_or_number};

pub(super) fn clue() -> Value {
    let grade = object(
        &[("id", text())],
        &[
            ("up_to", text_or_number()),
            ("down_to", text_or_number()),
            ("title", text()),
        ],
    );
    let quantities = ["length", "ratio", "angle", "rate", "number"];
    let measured = object(
        &[
            ("quantity", choice(&quantities)),
            ("error", text_or_number()),
            ("how", text()),
            ("source", sources()),
        ],
        &[("worse", choice(&["more", "less"]))],
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
        &[("sheet", one_or_list(text())), ("value", text())],
        &[
            ("marks", map(map(one_or_list(text())))),
            ("up_to", list(text_or_number())),
            ("weighed", flag()),
            ("stands_aside_for", one_or_list(text())),
            ("none_said_by", one_or_list(text())),
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
            ("also_called", one_or_list(text())),
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

pub(super) fn response() -> Value {
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

pub(super) fn mechanism() -> Value {
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
    let tied = object(
        &[
            ("says", text()),
            ("clue", text()),
            ("seen", json!({"enum": ["some", "none"]})),
        ],
        &[],
    );
    let mind_changer = json!({"anyOf": [text(), tied]});
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
            ("mind_changers", one_or_list(mind_changer)),
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
            ("also_called", one_or_list(text())),
            ("harm_if_wrong", harm),
            ("not_expected", list(absent)),
            ("basis", basis()),
            ("note", text()),
        ],
    )
}

pub(super) fn prevalence() -> Value {
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
