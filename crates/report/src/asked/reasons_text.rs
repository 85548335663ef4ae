//! What was asked of one conclusion, as sections of the text of its reasons.

use super::says;
use super::values::{AskedPage, StorySays};
use crate::number::{odds_in_words, short_chance};
use crate::phrase::{capital, listed};
use crate::wrap::Lines;

pub(super) fn put(page: &AskedPage, lines: &mut Lines) {
    rivals(page, lines);
    kept_down(page, lines);
    change(page, lines);
    story(page, lines);
}

/// A sighting by its id.
fn by_id(id: &str) -> String {
    format!(" [{id}]")
}

fn rivals(page: &AskedPage, lines: &mut Lines) {
    if page.rivals.is_empty() {
        return;
    }
    lines.heading("What else could be behind these signs");
    lines.say(0, says::RIVALS);
    lines.gap();
    for one in &page.rivals {
        let told = says::rival(one, &by_id);
        lines.item(0, &told.head);
        if told.apart.is_empty() {
            lines.say(2, says::NONE_APART);
        }
        for apart in told.apart {
            lines.say(4, &apart);
        }
        if let Some(look) = told.look {
            lines.say(2, &look);
        }
    }
}

fn kept_down(page: &AskedPage, lines: &mut Lines) {
    let Some(kept) = &page.kept_down else { return };
    if kept.against.is_empty() && kept.taken.is_empty() && kept.missing.is_empty() {
        return;
    }
    lines.heading("What kept it down");
    let all = [
        says::against(kept, &by_id),
        says::taken(kept, &by_id),
        says::missing(&kept.missing, page.now.chance),
    ];
    for one in all.iter().flatten() {
        lines.item(0, one);
    }
}

fn change(page: &AskedPage, lines: &mut Lines) {
    let told = says::change(page, &by_id);
    lines.heading("What would change it");
    lines.say(0, &told.head);
    if !told.numbers.is_empty() {
        lines.gap();
    }
    for one in &told.numbers {
        lines.item(0, one);
    }
    lines.gap();
    for (_, one) in &told.readings {
        lines.item(0, one);
    }
    if told.readings.is_empty() {
        lines.say(0, says::NO_SIGHTING);
    } else if told.more > 0 {
        lines.item(0, &format!("And {} more changes of one sighting would.", told.more));
    }
    lines.gap();
    for one in &told.ends {
        lines.say(0, one);
    }
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
