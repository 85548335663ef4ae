//! What was computed from sheets of readings, as text.

use super::Sheet;
use crate::page::{ComputedNumber, Readings, Sighting};
use crate::phrase::{bracketed, capital};
use crate::wrap::Lines;

pub(super) fn readings(sheet: &Sheet<'_>, lines: &mut Lines) {
    let all = &sheet.page.readings;
    if all.is_empty() {
        return;
    }
    lines.heading("Computed from readings");
    for one in all {
        lines.item(0, &head(one));
        let (weighed, rest): (Vec<&ComputedNumber>, Vec<&ComputedNumber>) =
            one.numbers.iter().partition(|number| number.sighting.is_some());
        let mut shown: Vec<&ComputedNumber> = Vec::new();
        for number in weighed {
            if !shown.iter().any(|other| other.name == number.name) {
                let by = match shown.last() {
                    Some(before) if before.method == number.method => "the same".into(),
                    _ => number.method.to_owned(),
                };
                shown.push(number);
                lines.item(2, &said(sheet, number, &one.numbers, &by));
            }
        }
        let (facts, rest): (Vec<_>, Vec<_>) = rest.into_iter().partition(|number| number.context.is_some());
        for number in facts {
            let titled = |fact: &&crate::page::Context| Some(&fact.id) == number.context.as_ref();
            let Some(fact) = sheet.page.contexts.iter().find(titled) else {
                continue;
            };
            let holds = if fact.holds { "so" } else { "not so" };
            lines.item(
                2,
                &format!(
                    "{}, {}: taken as {holds}, {}.",
                    capital(number.title),
                    number.both,
                    fact.title
                ),
            );
        }
        let plain: Vec<String> = rest
            .iter()
            .filter(|number| number.notes.is_empty())
            .map(|number| {
                format!(
                    "{} {}",
                    number.title,
                    bracketed(&number.both, number.error_words.as_deref())
                )
            })
            .collect();
        if !plain.is_empty() {
            lines.item(2, &format!("Computed too, and not weighed: {}.", plain.join("; ")));
        }
        for number in rest.iter().filter(|number| !number.notes.is_empty()) {
            lines.item(2, &not_weighed(number));
        }
        for note in &one.notes {
            lines.item(2, note);
        }
    }
}

/// A number that is not weighed, and why.
pub(crate) fn not_weighed(number: &ComputedNumber) -> String {
    format!(
        "Not weighed: {}, {}. {}",
        number.title,
        number.both,
        number.notes.join(" ")
    )
}

/// `Survey floors, "Main floor" (floors.csv): 42 points, one good to ± 1.6 mm.`
fn head(one: &Readings) -> String {
    let title = if one.title == one.id {
        String::new()
    } else {
        format!(", {}", one.title)
    };
    let origin: Vec<&str> = [one.date.as_deref(), one.file.as_deref()]
        .into_iter()
        .flatten()
        .collect();
    let origin = if origin.is_empty() {
        String::new()
    } else {
        format!(" ({})", origin.join(", "))
    };
    let good = one
        .reading_error_mm
        .filter(|_| one.kind != "lintel")
        .map(|error| format!(", one good to ± {error:.1} mm"))
        .unwrap_or_default();
    format!("{} {}{title}{origin}: {}{good}.", capital(one.kind), one.id, one.taken)
}

/// One number; those of one name at several places together, and of those where nothing shows only the most.
fn said(sheet: &Sheet<'_>, number: &ComputedNumber, all: &[ComputedNumber], by: &str) -> String {
    let made = |one: &'_ ComputedNumber| one.sighting.as_deref().and_then(|id| sheet.sightings.get(id).copied());
    let (shows, rest): (Vec<_>, Vec<_>) = all
        .iter()
        .filter(|other| other.name == number.name)
        .filter_map(|one| Some((one, made(one)?)))
        .partition(|(_, sighting)| sighting.shows);
    let mut values: Vec<String> = shows
        .iter()
        .map(|(one, sighting)| value(sheet, one, sighting))
        .collect();
    let most = rest.iter().reduce(|a, b| if b.0.value > a.0.value { b } else { a });
    values.extend(most.map(|(one, sighting)| match rest.len() {
        1 => value(sheet, one, sighting),
        count => format!(
            "at most {} at {count} {}places, weighed as {}",
            one.both,
            if shows.is_empty() { "" } else { "other " },
            sighting.says
        ),
    }));
    let error = number
        .error_words
        .as_ref()
        .map(|words| format!(" ({words})"))
        .unwrap_or_default();
    let notes: String = number.notes.iter().map(|note| format!(" {note}")).collect();
    format!(
        "{}{error}: {}. By: {by}.{notes}",
        capital(number.title),
        values.join("; ")
    )
}

fn value(sheet: &Sheet<'_>, one: &ComputedNumber, sighting: &Sighting) -> String {
    let place = match sighting.at_words.as_str() {
        "" => String::new(),
        words => format!(" {words}"),
    };
    let by = sighting.used_by.as_deref().filter(|_| sighting.used == "set_aside");
    let stands = by.and_then(|by| {
        sheet
            .page
            .sightings
            .iter()
            .find(|other| other.clue == by && (other.shows || !sighting.shows))
    });
    let says = match stands {
        Some(stands) if sighting.shows => format!("not weighed by itself, for {} says it", stands.id),
        Some(stands) => format!("{}, weighed together with {}", sighting.says, stands.says),
        None => format!("weighed as {}", sighting.says),
    };
    let also = if one.findings.is_empty() {
        String::new()
    } else {
        format!(", {}", one.findings.join(", "))
    };
    format!("{}{place}{also}, {says} [{}]", one.both, sighting.id)
}
