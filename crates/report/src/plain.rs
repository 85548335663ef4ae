//! A page as plain text: hazards first, then matters to act on, then the record.

mod matter;
mod readings;
mod record;

pub(crate) use matter::{in_full, not_reached};
pub(crate) use readings::not_weighed;
pub(crate) use record::rests_on;

use std::collections::BTreeMap;

use wythe_pack::Action;

use crate::number::DECIBANS;
use crate::page::{Changes, Conclusion, Moved, Page, Sighting};
use crate::phrase::{capital, headed, sentence};
use crate::wrap::Lines;

/// A page, and what is looked up in it by id.
pub(crate) struct Sheet<'p> {
    pub page: &'p Page,
    pub sightings: BTreeMap<&'p str, &'p Sighting>,
    pub conclusions: BTreeMap<&'p str, &'p Conclusion>,
    labels: BTreeMap<&'p str, &'p str>,
    /// Sightings said in full, and the number of the matter that said them.
    said: BTreeMap<&'p str, usize>,
}

impl<'p> Sheet<'p> {
    pub fn of(page: &'p Page) -> Self {
        Sheet {
            page,
            sightings: page.sightings.iter().map(|one| (one.id.as_str(), one)).collect(),
            conclusions: page.conclusions.iter().map(|one| (one.id.as_str(), one)).collect(),
            labels: page
                .case
                .places
                .iter()
                .map(|one| (one.id.as_str(), one.label.as_str()))
                .collect(),
            said: BTreeMap::new(),
        }
    }

    pub fn label(&self, place: &str) -> String {
        self.labels.get(place).map_or(place, |label| label).to_string()
    }
}

/// The whole text.
pub(crate) fn page(page: &Page) -> Lines {
    let mut sheet = Sheet::of(page);
    let mut lines = Lines::default();
    head(page, &mut lines);
    notices(page, &mut lines);
    if let Some(changes) = &page.changes {
        self::changes(changes, &since(changes), &mut lines);
    }
    matter::matters(&mut sheet, &mut lines);
    readings::readings(&sheet, &mut lines);
    record::record(&sheet, &mut lines);
    lines
}

/// The section of changes by itself; and what made them, where that is not the passes since another.
pub(crate) fn changes_alone(page: &Page, made_by: Option<&str>) -> String {
    let mut lines = Lines::default();
    if let Some(changes) = &page.changes {
        let made_by = made_by.map_or_else(|| since(changes), str::to_string);
        self::changes(changes, &made_by, &mut lines);
    }
    lines.finish()
}

fn since(changes: &Changes) -> String {
    changes.since.as_ref().map_or_else(
        || "Since before".to_string(),
        |pass| format!("Since the pass \"{pass}\""),
    )
}

fn head(page: &Page, lines: &mut Lines) {
    lines.title(&page.case.title);
    let visited = page
        .case
        .visited
        .as_ref()
        .map(|day| format!(", visited {day}"))
        .unwrap_or_default();
    // A case made for one question has a pass of its own name.
    let pass = page.case.as_of.as_ref().filter(|pass| **pass != page.case.id);
    let as_of = pass
        .map(|pass| format!(", as of the pass \"{pass}\""))
        .unwrap_or_default();
    lines.say(0, &format!("Case {}{visited}{as_of}.", page.case.id));
    lines.gap();
    lines.say(0, &page.about.join(" "));
    lines.gap();
    if !page.sightings.iter().any(|one| one.shows) {
        lines.say(0, "No such signs were seen in the areas viewed.");
    }
    lines.say(
        0,
        &format!("The most that anything here asks for: {}.", action_name(page.action)),
    );
    lines.say(0, &ladder());
    if page.matters.len() > 1 {
        for (number, matter) in (1..).zip(&page.matters) {
            lines.led(
                &format!("  {number}. "),
                5,
                &format!("{}. Asks for: {}.", headed(&matter.title), action_name(matter.action)),
            );
        }
    }
}

/// What can be asked for.
pub(crate) fn ladder() -> String {
    let all: Vec<&str> = Action::ALL.iter().map(|one| action_name(one.name())).collect();
    format!("From least to most, that is one of: {}.", all.join("; "))
}

/// An action in a few words.
pub(crate) fn action_name(action: &str) -> &'static str {
    match action {
        "upkeep" => "ordinary upkeep",
        "trade" => "repair by a qualified trade",
        "monitor" => "measure again over time",
        "refer" => "a licensed professional engineer's visit",
        "promptly" => "a licensed professional engineer now, and keep people clear",
        _ => "keep on record",
    }
}

fn notices(page: &Page, lines: &mut Lines) {
    if page.notices.is_empty() {
        return;
    }
    lines.heading("Notices");
    for notice in &page.notices {
        let kind = match notice.kind {
            "hazard" => "HAZARD. ",
            "limit" if notice.says.iter().any(|line| line.starts_with("It reads ")) => "Limit passed as read. ",
            "limit" => "Limit passed. ",
            _ => "",
        };
        let id = notice
            .sighting
            .as_ref()
            .map(|id| format!(" [{id}]"))
            .unwrap_or_default();
        lines.item(
            0,
            &format!("{kind}{} {}{id}", sentence(&notice.title), notice.says.join(" ")),
        );
    }
}

fn changes(changes: &Changes, made_by: &str, lines: &mut Lines) {
    lines.heading("What changed");
    if changes.moved.is_empty() {
        lines.say(0, &format!("{made_by}, nothing moved to another support or action."));
        return;
    }
    lines.say(0, &format!("{made_by} ({DECIBANS}):"));
    for moved in &changes.moved {
        lines.item(0, &moved_text(moved));
    }
}

/// What moved since an earlier pass, in one paragraph.
pub(crate) fn moved_text(moved: &Moved) -> String {
    moved_by(moved, &|ids| format!(" [{}]", ids.join(", ")))
}

/// The same with words for the sightings that did it.
pub(crate) fn moved_by(moved: &Moved, named: &dyn Fn(&[String]) -> String) -> String {
    let mut text = format!(
        "{}: from {} to {}.",
        capital(&moved.title),
        moved.before.words,
        moved.after.words
    );
    if let Some(decibans) = moved.decibans {
        text.push_str(&format!(
            " That is {decibans:+.0} decibans: {}.",
            crate::number::times(decibans)
        ));
    }
    if moved.before.action != moved.after.action {
        text.push_str(&format!(
            " It asked for: {}. Now: {}.",
            action_name(moved.before.action),
            action_name(moved.after.action)
        ));
    }
    if !moved.by_words.is_empty() {
        let how = if moved.elsewhere {
            "no sign of its own, but signs of something else, which change how much is left for it to account for: "
        } else {
            ""
        };
        text.push_str(&format!(
            " What did it: {how}{}{}.",
            moved.by_words.join("; "),
            named(&moved.by)
        ));
    }
    text
}
