//! The record, as text: what asks for nothing, what was not there, what was not seen, the cautions.

use super::Sheet;
use super::matter::{in_full, look, reasons, title_and_place};
use crate::number::short_chance;
use crate::page::{Conclusion, Policy, Sighting};
use crate::phrase::capital;
use crate::wrap::Lines;

/// A weight that counts as some.
const ONE_DECIBAN: f64 = 1.0;
/// Under this chance a cause that nothing moved is counted and not named.
const RARE: f64 = 0.05;
/// Most kinds of sign that nobody has looked for, named.
const MOST_LOOKS: usize = 8;
/// Slight, and lowered to it.
const LOWERED: &str = "lowered";
/// Most causes named under one heading of those that ask for nothing.
const MOST_NAMED: usize = 6;

pub(super) fn record(sheet: &Sheet<'_>, lines: &mut Lines) {
    seen(sheet, lines);
    recorded(sheet, lines);
    against(sheet, lines);
    not_there(sheet, lines);
    not_seen(sheet, lines);
    facts(sheet, lines);
    cautions(sheet, lines);
}

/// Conclusions in no matter, of a support.
fn of<'p>(sheet: &Sheet<'p>, supports: &[&str]) -> Vec<&'p Conclusion> {
    let in_matter = |one: &Conclusion| {
        sheet
            .page
            .matters
            .iter()
            .any(|matter| matter.conclusions.contains(&one.id))
    };
    sheet
        .page
        .conclusions
        .iter()
        .filter(|one| supports.contains(&one.support) && !in_matter(one))
        .collect()
}

fn recorded(sheet: &Sheet<'_>, lines: &mut Lines) {
    let mut some = of(sheet, &["some", "fair", "strong"]);
    some.retain(|one| one.kind == "mechanism");
    some.sort_by(|a, b| b.chance.unwrap_or(0.0).total_cmp(&a.chance.unwrap_or(0.0)));
    if some.is_empty() {
        return;
    }
    lines.heading("Likely enough to record");
    for one in some {
        let chance = one.chance.map(short_chance).unwrap_or_default();
        let signs: Vec<&str> = one
            .steps
            .iter()
            .filter(|step| step.kind == "seen" && step.weight.is_some_and(|weight| weight > ONE_DECIBAN))
            .flat_map(|step| step.sightings.iter().map(String::as_str))
            .collect();
        let signs = if signs.is_empty() {
            String::new()
        } else {
            format!(" [{}]", signs.join(", "))
        };
        lines.item(
            0,
            &format!(
                "{}: {} ({}; {chance}).{signs}",
                capital(&title_and_place(sheet, one)),
                support(one),
                one.words
            ),
        );
    }
}

/// The word of support; none from clues that lowered it.
fn support(one: &Conclusion) -> String {
    match (one.prior, one.chance) {
        (Some(before), Some(chance)) if chance < before => {
            format!(
                "less likely than the {} before anything was seen, still possible",
                short_chance(before)
            )
        }
        _ => format!("{} support", one.support),
    }
}

fn against(sheet: &Sheet<'_>, lines: &mut Lines) {
    let says = [
        (
            "spoken_against",
            "Spoken against by what was seen, or looked for and not there",
            0.0,
        ),
        ("slight", "Slight support, kept on record", 0.0),
        (
            LOWERED,
            "Less likely than before anything was seen, and left slight",
            0.0,
        ),
        ("cannot_tell", "Cannot tell from this visit", RARE),
        (
            "not_moved",
            "About where it began: what was seen, for and against, hardly moved it",
            RARE,
        ),
    ];
    let mut begun = false;
    for (support, title, least) in says {
        let wanted = if support == LOWERED { "slight" } else { support };
        let mut found = of(sheet, &[wanted]);
        if wanted == "slight" {
            found.retain(|one| (one.chance < one.prior) == (support == LOWERED));
        }
        let all = collapsed(sheet, &found, least);
        if all.is_empty() {
            continue;
        }
        if !begun {
            lines.heading("Weighed too");
            begun = true;
        }
        lines.gap();
        lines.say(0, &format!("{title}:"));
        for one in all {
            lines.item(0, &format!("{}.", capital(&one)));
        }
    }
}

/// One entry per mechanism, families first, then those that were likeliest before the visit:
/// `edge lift: 4 places, at most 0.02, at the front wall`. Those never over `least`, and all past the first few, are
/// counted only.
fn collapsed(sheet: &Sheet<'_>, all: &[&Conclusion], least: f64) -> Vec<String> {
    let mut groups: Vec<(&Conclusion, usize, f64)> = Vec::new();
    for one in all {
        let chance = one.chance.unwrap_or(0.0);
        match groups.iter_mut().find(|(known, ..)| known.rule == one.rule) {
            Some((first, count, most)) => {
                *count += 1;
                if chance > *most {
                    (*first, *most) = (one, chance);
                }
            }
            None => groups.push((one, 1, chance)),
        }
    }
    let before = |one: &Conclusion| one.prior.unwrap_or(0.0);
    groups.sort_by(|(a, ..), (b, ..)| {
        (b.kind == "family")
            .cmp(&(a.kind == "family"))
            .then(before(b).total_cmp(&before(a)))
    });
    let all = groups.len();
    groups.retain(|(.., most)| *most >= least);
    groups.truncate(MOST_NAMED);
    let rest = all.saturating_sub(groups.len());
    let mut entries: Vec<String> = groups
        .into_iter()
        .map(|(one, count, most)| match count {
            1 => format!("{}: {}", title_and_place(sheet, one), short_chance(most)),
            _ => {
                let at = one.place.as_deref().map(|place| sheet.label(place)).unwrap_or_default();
                format!("{}: {count} places, at most {} ({at})", one.title, short_chance(most))
            }
        })
        .collect();
    if rest > 0 {
        entries.push(format!(
            "and {rest} {}",
            if entries.is_empty() { "causes" } else { "more" }
        ));
    }
    entries
}

fn seen(sheet: &Sheet<'_>, lines: &mut Lines) {
    let rest: Vec<&Sighting> = sheet
        .page
        .sightings
        .iter()
        .filter(|one| one.shows && !sheet.said.contains_key(one.id.as_str()))
        .collect();
    if rest.is_empty() {
        return;
    }
    lines.heading("Also seen, and recorded");
    for sighting in rest {
        lines.item(0, &in_full(sighting));
    }
}

fn not_there(sheet: &Sheet<'_>, lines: &mut Lines) {
    let mut groups: Vec<(&str, Vec<(String, String)>)> = Vec::new();
    for one in sheet
        .page
        .sightings
        .iter()
        .filter(|one| !one.shows && one.used != "not_reached" && one.used != "hidden")
    {
        let detail: Vec<&str> = [one.detail.as_str(), one.note.as_deref().unwrap_or("")]
            .into_iter()
            .filter(|part| !part.is_empty())
            .collect();
        let detail = if detail.is_empty() {
            String::new()
        } else {
            format!(" ({})", detail.join("; "))
        };
        let entry = (sheet.label(&one.place).to_string(), detail);
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
        lines.item(0, &format!("{}: {}.", capital(says), listed(&places)));
    }
}

/// Places one after another, with what stands behind several in a row said once, after the last: `left wall, right wall
/// (by the survey floors); back wall`.
fn listed(places: &[(String, String)]) -> String {
    let mut said = String::new();
    for (at, (place, detail)) in places.iter().enumerate() {
        said.push_str(place);
        match places.get(at.saturating_add(1)) {
            Some((_, next)) if next == detail && !detail.is_empty() => said.push_str(", "),
            Some(_) => said.push_str(&format!("{detail}; ")),
            None => said.push_str(detail),
        }
    }
    said
}

fn not_seen(sheet: &Sheet<'_>, lines: &mut Lines) {
    let ids: Vec<String> = sheet
        .page
        .sightings
        .iter()
        .filter(|one| one.used == "not_reached" || one.used == "hidden")
        .map(|one| one.id.clone())
        .collect();
    if !ids.is_empty() {
        lines.heading("Could not be seen");
        for reason in reasons(sheet, &ids) {
            lines.item(0, &format!("{}.", capital(&reason)));
        }
    }
    let looks = &sheet.page.not_looked;
    if !looks.is_empty() {
        lines.heading("Not noted yet");
        lines.say(0, "No note of this visit says whether anyone looked for these:");
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
    let contexts = &sheet.page.contexts;
    if contexts.is_empty() {
        return;
    }
    lines.heading("Facts of the house taken in");
    let note = |note: &Option<String>| note.as_ref().map(|note| format!(" ({note})")).unwrap_or_default();
    let yes: Vec<String> = contexts
        .iter()
        .filter(|fact| fact.holds)
        .map(|fact| format!("{}{}", fact.title, note(&fact.note)))
        .collect();
    let no = contexts.len().saturating_sub(yes.len());
    if !yes.is_empty() {
        lines.say(0, &format!("{}.", capital(&yes.join("; "))));
    }
    if no > 0 {
        lines.say(0, &format!("And {no} that were asked about and do not hold."));
    }
}

fn cautions(sheet: &Sheet<'_>, lines: &mut Lines) {
    let page = sheet.page;
    lines.heading("Please note");
    for caution in &page.cautions {
        lines.item(0, caution);
    }
    lines.item(0, &rests_on(&page.policy));
    lines.item(
        0,
        &format!(
            "Weighed with the pack {}, version {}: {}; {}.",
            page.pack.id, page.pack.version, page.pack.title, page.pack.region
        ),
    );
}

/// Where each word of support begins, and what the numbers rest on.
pub(crate) fn rests_on(policy: &Policy) -> String {
    let [some, fair, strong] = policy.some_fair_strong;
    format!(
        "The words of support go by the chance and by how far the signs moved it from where it began. Where they raised it well, support is slight under {some}, some from {some}, fair from {fair}, strong over {strong}. About where it began: taken together they hardly moved it, whatever its chance. Less likely than before anything was seen: they lowered it, and it may still be likely. Spoken against: made unlikely by what was seen. Cannot tell: too little was looked at. The numbers rest on published opinion and common practice, and are no surer than that."
    )
}
