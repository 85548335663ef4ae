//! What was asked of one conclusion, as sections of the text of its reasons.

use std::collections::BTreeSet;

use super::reasons::{ApartSays, AskedPage, GradeSays, MarginSays, ReadingSays, RivalSays, StorySays};
use crate::number::{odds_in_words, short_chance};
use crate::phrase::{capital, listed, words};
use crate::plain::action_name;
use crate::wrap::Lines;

/// Most sightings told that tell two rivals apart.
const APART: usize = 3;
/// Most numbers of the pack told.
const NUMBERS: usize = 3;
/// Most of everything else.
const MOST: usize = 4;
/// Decibans under which a margin is called small: the odds of one number doubled or halved.
const SMALL: f64 = 3.0;

pub(super) fn put(page: &AskedPage, lines: &mut Lines) {
    rivals(page, lines);
    kept_down(page, lines);
    margins(page, lines);
    story(page, lines);
}

fn chance(value: Option<f64>) -> String {
    value.map_or_else(|| "unknown".into(), short_chance)
}

/// A whole number of decibans with its sign.
fn signed(value: Option<f64>) -> String {
    match value {
        None => "beyond number".into(),
        Some(value) if value.round() == 0.0 => "0".into(),
        Some(value) => format!("{value:+.0}"),
    }
}

fn rivals(page: &AskedPage, lines: &mut Lines) {
    if page.rivals.is_empty() {
        return;
    }
    lines.heading("What else could be behind these signs");
    lines.say(0, "In brackets: its chance if this conclusion does not hold. Then by how much this one is ahead of it, in decibans, and what each sighting adds to that, all others kept; plus is for this conclusion.");
    lines.gap();
    for one in &page.rivals {
        rival(one, lines);
    }
}

fn rival(one: &RivalSays, lines: &mut Lines) {
    let ahead = match one.ahead {
        None => "One of the two is ruled out.".into(),
        Some(ahead) if ahead.round() == 0.0 => "Neither is ahead.".into(),
        Some(ahead) if ahead > 0.0 => format!("This one is ahead by {ahead:.0}."),
        Some(ahead) => format!("It is ahead of this one by {:.0}.", -ahead),
    };
    lines.item(
        0,
        &format!("{} ({}). {ahead}", capital(&one.title), chance(one.without)),
    );
    let some = |apart: &&ApartSays| apart.decibans.is_none_or(|decibans| decibans.abs() >= 0.5);
    let told: Vec<&ApartSays> = one.apart.iter().filter(some).take(APART).collect();
    if told.is_empty() {
        lines.say(2, "No sighting tells them apart by as much as a deciban.");
    }
    for apart in told {
        lines.say(
            4,
            &format!("{}: {} [{}]", signed(apart.decibans), apart.says, apart.sighting),
        );
    }
    if let Some(look) = &one.look {
        let tells = look.decibans.unwrap_or(0.0);
        if tells >= 0.1 {
            lines.say(
                2,
                &format!(
                    "To tell them apart, look for: {} ({}; {tells:.1} decibans on average).",
                    look.title,
                    words(look.effort)
                ),
            );
        }
    }
}

fn kept_down(page: &AskedPage, lines: &mut Lines) {
    let Some(kept) = &page.kept_down else { return };
    if kept.against.is_empty() && kept.taken.is_empty() && kept.missing.is_empty() {
        return;
    }
    lines.heading("What kept it down");
    for one in kept.against.iter().take(MOST) {
        lines.item(
            0,
            &format!(
                "{} speaks against it ({}) [{}].",
                capital(&one.says),
                signed(one.decibans),
                one.sighting
            ),
        );
    }
    for (one, by) in kept.taken.iter().take(MOST) {
        lines.item(
            0,
            &format!(
                "{} could be a sign of it, but {by} accounts for it [{}].",
                capital(&one.says),
                one.sighting
            ),
        );
    }
    // The place where it would tell most stands for a clue.
    let mut told = BTreeSet::new();
    let would = |one: &&super::MissingSays| one.if_found > one.if_none && told.insert(one.clue.clone());
    for one in kept.missing.iter().filter(would).take(MOST) {
        lines.item(
            0,
            &format!(
                "Not looked for yet: {}. If it is there, the chance goes from {} to {}; if not, to {}.",
                one.title,
                chance(page.now.chance),
                chance(one.if_found),
                chance(one.if_none)
            ),
        );
    }
}

/// A grade as it would become, and what it would ask for where that is another thing than now.
fn becomes(page: &AskedPage, grade: &GradeSays) -> String {
    if grade.action == page.now.action {
        format!("{}; what it asks for stays", grade.words)
    } else {
        format!("{}, and it asks for: {}", grade.words, action_name(grade.action))
    }
}

fn margins(page: &AskedPage, lines: &mut Lines) {
    lines.heading("What would change it");
    match page.margins.first() {
        None => lines.say(0, "No single number of the rules, its odds made ten times larger or smaller, changes the support or the action."),
        Some(first) => {
            let small = first.decibans.is_some_and(|decibans| decibans.abs() < SMALL);
            let close = if small { "It is close: hold this conclusion lightly. " } else { "" };
            lines.say(
                0,
                &format!("{close}The numbers of the rules are judgements. These are the smallest moves of any one of them, in decibans of its own odds, that would change the support or the action."),
            );
            lines.gap();
            for one in page.margins.iter().take(NUMBERS) {
                margin(page, one, lines);
            }
        }
    }
    lines.gap();
    for one in page.readings.iter().take(MOST) {
        reading(page, one, lines);
    }
    let more = page.readings.len().saturating_sub(MOST);
    if page.readings.is_empty() {
        lines.say(
            0,
            "No single sighting, taken away or moved by one class, changes the support or the action.",
        );
    } else if more > 0 {
        lines.item(0, &format!("And {more} more changes of one sighting would."));
    }
    lines.gap();
    let [low, high] = &page.ends;
    let same = |grade: &GradeSays| (grade.support, grade.action) == (page.now.support, page.now.action);
    if same(low) && same(high) {
        lines.say(
            0,
            &format!(
                "With every mechanism as rare, or as common, as the rules allow, support and action stay (chance {} to {}).",
                chance(low.chance),
                chance(high.chance)
            ),
        );
    } else {
        lines.say(
            0,
            &format!(
                "With every mechanism as rare as the rules allow: {}.",
                becomes(page, low)
            ),
        );
        lines.say(
            0,
            &format!("With every mechanism as common as they allow: {}.", becomes(page, high)),
        );
    }
}

fn margin(page: &AskedPage, one: &MarginSays, lines: &mut Lines) {
    let by = one.decibans.unwrap_or(0.0);
    lines.item(
        0,
        &format!(
            "{by:+.1}: {}, from {} to {}. Then: {}. [{}]",
            one.says,
            chance(one.from),
            chance(one.to),
            becomes(page, &one.becomes),
            one.rule
        ),
    );
}

fn reading(page: &AskedPage, one: &ReadingSays, lines: &mut Lines) {
    let how = match &one.moved_to {
        None => "Without".to_string(),
        Some(grade) => format!("With the grade \"{}\" instead of", words(grade)),
    };
    lines.item(
        0,
        &format!(
            "{how} {} [{}]: {}.",
            one.says,
            one.sighting,
            becomes(page, &one.becomes)
        ),
    );
}

fn story(page: &AskedPage, lines: &mut Lines) {
    let Some(best) = page.story.first() else { return };
    lines.heading("Taken together");
    lines.say(
        0,
        "Several things can be going on at once. The most probable combinations, each with the chance that just these are there and none of the others that may be:",
    );
    lines.gap();
    for (number, one) in (1..).zip(&page.story) {
        let here = if one.titles.is_empty() {
            "none of them".into()
        } else {
            listed(&one.titles)
        };
        let value = one.chance.unwrap_or(0.0);
        lines.led(
            &format!("{number}. "),
            3,
            &format!(
                "{} ({}; {}).",
                capital(&here),
                odds_in_words(value),
                short_chance(value)
            ),
        );
    }
    lines.gap();
    account(best, lines);
}

/// Which signs each accounts for in the best combination.
fn account(best: &StorySays, lines: &mut Lines) {
    for (title, signs) in best
        .titles
        .iter()
        .zip(&best.accounts)
        .filter(|(_, signs)| !signs.is_empty())
    {
        lines.item(
            0,
            &format!("In the first, {title} would account for [{}].", signs.join(", ")),
        );
    }
    if !best.ordinary.is_empty() {
        lines.item(0, &format!("Left to ordinary causes: [{}].", best.ordinary.join(", ")));
    }
}
