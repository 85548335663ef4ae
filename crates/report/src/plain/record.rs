//! The record, as text: what asks for nothing, what was not there, what was not seen, the cautions.

use super::Sheet;
use super::matter::{brief, in_full, look, reasons};
use crate::number::short_chance;
use crate::page::{Conclusion, Sighting};
use crate::phrase::capital;
use crate::wrap::Lines;

/// Most kinds of sign that nobody has looked for, named.
const MOST_LOOKS: usize = 8;

pub(super) fn record(sheet: &Sheet<'_>, lines: &mut Lines) {
    recorded(sheet, lines);
    against(sheet, lines);
    seen(sheet, lines);
    not_there(sheet, lines);
    not_seen(sheet, lines);
    facts(sheet, lines);
    cautions(sheet, lines);
}

/// Conclusions in no matter, of a support.
fn of<'p>(sheet: &Sheet<'p>, supports: &[&str]) -> Vec<&'p Conclusion> {
    let in_matter = |one: &Conclusion| sheet.page.matters.iter().any(|matter| matter.conclusions.contains(&one.id));
    sheet.page.conclusions.iter().filter(|one| supports.contains(&one.support) && !in_matter(one)).collect()
}

fn recorded(sheet: &Sheet<'_>, lines: &mut Lines) {
    let mut some = of(sheet, &["some", "fair", "strong"]);
    some.retain(|one| one.kind == "mechanism");
    some.sort_by(|a, b| b.chance.unwrap_or(0.0).total_cmp(&a.chance.unwrap_or(0.0)));
    if some.is_empty() {
        return;
    }
    lines.heading("Also likely enough to record");
    for one in some {
        let ordinary = if one.ordinary { "an ordinary cause; " } else { "" };
        lines.item(0, &format!("{}: {ordinary}{} support.", capital(&brief(sheet, one)), one.support));
    }
}

fn against(sheet: &Sheet<'_>, lines: &mut Lines) {
    let says = [
        ("spoken_against", "Spoken against by what was seen and what was not there"),
        ("slight", "Slight support, nothing to do"),
        ("cannot_tell", "Cannot tell from this visit"),
        ("not_moved", "Not moved: as likely as on any house like this"),
    ];
    let found: Vec<(&str, Vec<String>)> =
        says.iter().map(|(support, title)| (*title, collapsed(&of(sheet, &[support])))).filter(|(_, all)| !all.is_empty()).collect();
    if found.is_empty() {
        return;
    }
    lines.heading("Weighed too");
    for (title, all) in found {
        lines.gap();
        lines.say(0, &format!("{title}: {}.", all.join("; ")));
    }
}

/// One entry per mechanism: `edge lift (4 places; 0.01 to 0.02)`.
fn collapsed(all: &[&Conclusion]) -> Vec<String> {
    let mut groups: Vec<(&str, Vec<f64>)> = Vec::new();
    for one in all {
        let chance = one.chance.unwrap_or(0.0);
        match groups.iter_mut().find(|(title, _)| *title == one.title) {
            Some((_, chances)) => chances.push(chance),
            None => groups.push((&one.title, vec![chance])),
        }
    }
    let range = |chances: &[f64]| {
        let low = short_chance(chances.iter().copied().fold(f64::INFINITY, f64::min));
        let high = short_chance(chances.iter().copied().fold(0.0, f64::max));
        if low == high { low } else { format!("{low} to {high}") }
    };
    groups
        .into_iter()
        .map(|(title, chances)| match chances.len() {
            1 => format!("{title} ({})", range(&chances)),
            many => format!("{title} ({many} places; {})", range(&chances)),
        })
        .collect()
}

fn seen(sheet: &Sheet<'_>, lines: &mut Lines) {
    let rest: Vec<&Sighting> =
        sheet.page.sightings.iter().filter(|one| one.shows && !sheet.said.contains_key(one.id.as_str())).collect();
    if rest.is_empty() {
        return;
    }
    lines.heading("Also seen, and recorded");
    for sighting in rest {
        lines.item(0, &in_full(sighting));
    }
}

fn not_there(sheet: &Sheet<'_>, lines: &mut Lines) {
    let mut groups: Vec<(&str, Vec<String>)> = Vec::new();
    for one in sheet.page.sightings.iter().filter(|one| !one.shows && one.used != "not_reached" && one.used != "hidden") {
        let detail: Vec<&str> = [one.detail.as_str(), one.note.as_deref().unwrap_or("")].into_iter().filter(|part| !part.is_empty()).collect();
        let detail = if detail.is_empty() { String::new() } else { format!(" ({})", detail.join("; ")) };
        let entry = format!("{}{detail}", sheet.label(&one.place));
        match groups.iter_mut().find(|(says, _)| *says == one.says) {
            Some((_, places)) => places.push(entry),
            None => groups.push((&one.says, vec![entry])),
        }
    }
    if groups.is_empty() {
        return;
    }
    lines.heading("Looked for and not there");
    for (says, places) in groups {
        lines.item(0, &format!("{}: {}.", capital(says), places.join("; ")));
    }
}

fn not_seen(sheet: &Sheet<'_>, lines: &mut Lines) {
    let ids: Vec<String> =
        sheet.page.sightings.iter().filter(|one| one.used == "not_reached" || one.used == "hidden").map(|one| one.id.clone()).collect();
    if !ids.is_empty() {
        lines.heading("Could not be seen");
        for reason in reasons(sheet, &ids) {
            lines.item(0, &format!("{}.", capital(&reason)));
        }
    }
    let looks = &sheet.page.not_looked;
    if !looks.is_empty() {
        lines.heading("Nobody has looked yet");
        for one in looks.iter().take(MOST_LOOKS) {
            lines.item(0, &format!("{}.", capital(&look(one))));
        }
        let more = looks.len().saturating_sub(MOST_LOOKS);
        if more > 0 {
            lines.item(0, &format!("And {more} other kinds of sign that would tell less."));
        }
    }
}

fn facts(sheet: &Sheet<'_>, lines: &mut Lines) {
    let titles = |holds: bool| -> Vec<String> {
        let note = |note: &Option<String>| note.as_ref().map(|note| format!(" ({note})")).unwrap_or_default();
        sheet.page.contexts.iter().filter(|fact| fact.holds == holds).map(|fact| format!("{}{}", fact.title, note(&fact.note))).collect()
    };
    let (yes, no) = (titles(true), titles(false));
    if yes.is_empty() && no.is_empty() {
        return;
    }
    lines.heading("Facts taken in");
    if !yes.is_empty() {
        lines.say(0, &format!("Yes: {}.", yes.join("; ")));
    }
    if !no.is_empty() {
        lines.say(0, &format!("No: {}.", no.join("; ")));
    }
}

fn cautions(sheet: &Sheet<'_>, lines: &mut Lines) {
    let page = sheet.page;
    lines.heading("Please note");
    for caution in &page.cautions {
        lines.item(0, caution);
    }
    let [some, fair, strong] = page.policy.some_fair_strong;
    lines.item(
        0,
        &format!(
            "Support is slight under {some}, some from {some}, fair from {fair}, strong over {strong}. The numbers rest on published opinion and common practice, and are no surer than that."
        ),
    );
    lines.item(0, &format!("Weighed with the pack {}, version {}: {}; {}.", page.pack.id, page.pack.version, page.pack.title, page.pack.region));
}
