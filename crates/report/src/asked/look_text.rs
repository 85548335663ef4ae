//! What to look at next, as a walking list.

use std::collections::BTreeSet;

use super::look::{LookPage, LookPlace, LookSays, LookTells};
use crate::number::{odds_in_words, short_chance};
use crate::phrase::{capital, sentence, words};
use crate::wrap::Lines;

/// Most places told.
const PLACES: usize = 8;
/// Most looks told at one place.
const LOOKS: usize = 4;
/// Most conclusions told of one look.
const TELLS: usize = 2;

pub(super) fn text(page: &LookPage) -> Lines {
    let mut lines = Lines::default();
    lines.title(&format!("Where to look next: {}", page.title));
    let as_of = page.as_of.as_ref().filter(|pass| **pass != page.case);
    let as_of = as_of
        .map(|pass| format!(", as of the pass \"{pass}\""))
        .unwrap_or_default();
    lines.say(0, &format!("Case {}{as_of}.", page.case));
    lines.gap();
    if page.places.is_empty() {
        lines.say(
            0,
            "Nothing that was not looked at yet, and that can be reached, would tell more.",
        );
    } else {
        intro(page, &mut lines);
        let mut told = BTreeSet::new();
        for (number, place) in (1..).zip(page.places.iter().take(PLACES)) {
            put(number, place, &mut told, &mut lines);
        }
        let more = page.places.len().saturating_sub(PLACES);
        if more > 0 {
            lines.gap();
            lines.say(
                0,
                &format!("{more} more places would tell less; name one with --at, or see --json."),
            );
        }
    }
    if page.left_out > 0 {
        lines.gap();
        lines.say(
            0,
            &format!(
                "{} more looks would tell next to nothing and are left out.",
                page.left_out
            ),
        );
    }
    lines.heading("Please note");
    for caution in &page.cautions {
        lines.item(0, caution);
    }
    lines
}

fn intro(page: &LookPage, lines: &mut Lines) {
    lines.say(
        0,
        "Signs that nobody has looked for yet, place by place, in the order in which they help most for the time they take. In brackets: the time, a guess; the chance that the sign is there; what the look is worth; what it tells, in bits. Each look is told by itself: two that tell of the same thing tell less together than their sum.",
    );
    lines.gap();
    let any = page
        .places
        .iter()
        .any(|place| place.worth.is_some_and(|worth| worth > 0.0));
    lines.say(
        0,
        &format!(
            "Worth is how far the look lowers, on average, the cost of referring for nothing or of missing something: a needless visit by an engineer counts 1 and a miss {}, which is this pack's policy. {}",
            page.miss_costs,
            if any {
                "A look worth 0 would not change by itself whether to refer."
            } else {
                "No single look here would change by itself whether to refer; these tell most."
            }
        ),
    );
}

/// One place. How to look is told once for each clue.
fn put<'p>(number: usize, place: &'p LookPlace, told: &mut BTreeSet<&'p str>, lines: &mut Lines) {
    lines.heading(&format!("{number}. {}", place.label));
    for look in place.looks.iter().take(LOOKS) {
        one(look, told.insert(&look.clue), lines);
    }
    let more = place.looks.len().saturating_sub(LOOKS);
    if more > 0 {
        let names: Vec<String> = place.looks.iter().skip(LOOKS).map(|look| look.title.clone()).collect();
        lines.item(0, &format!("And {more} more that tell less: {}.", names.join("; ")));
    }
}

fn one(look: &LookSays, new: bool, lines: &mut Lines) {
    let shows = look.shows.unwrap_or(0.0);
    let minutes = look.minutes.unwrap_or(0.0);
    let how = if new {
        sentence(&look.look_for)
    } else {
        "As above.".into()
    };
    lines.item(0, &format!("{}. {how}", capital(&look.title)));
    lines.say(
        2,
        &format!(
            "[{}, {minutes:.0} min; there in {} ({}); worth {}; {} bits; {}]",
            words(look.effort),
            odds_in_words(shows),
            short_chance(shows),
            worth(look.worth.unwrap_or(0.0)),
            bits(look.bits.unwrap_or(0.0)),
            look.clue,
        ),
    );
    for tells in look.tells.iter().take(TELLS) {
        lines.say(2, &moves(tells));
    }
    if let Some(wait) = &look.wait {
        let days = if wait.days == 1.0 {
            "1 day".into()
        } else {
            format!("{} days", wait.days)
        };
        lines.say(
            2,
            &format!(
                "Leave it to the end: other looks wait {days} after it. {}",
                sentence(&wait.reason)
            ),
        );
    }
}

/// What a look would do to one conclusion, as a sentence.
pub(super) fn moves(tells: &LookTells) -> String {
    let chance = |value: Option<f64>| value.map_or_else(|| "can't be".to_string(), short_chance);
    format!(
        "If it is there, {} goes from {} to {}; if not, to {}.",
        tells.title,
        chance(tells.now),
        chance(tells.if_found),
        chance(tells.given.first().copied().flatten()),
    )
}

fn worth(value: f64) -> String {
    if value <= 1e-9 {
        "0".into()
    } else if value < 0.001 {
        "under 0.001".into()
    } else {
        format!("{value:.3}")
    }
}

fn bits(value: f64) -> String {
    if value < 0.005 {
        "under 0.01".into()
    } else {
        format!("{value:.2}")
    }
}
