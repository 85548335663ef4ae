//! What was computed from sheets of readings, as text.

use super::Sheet;
use crate::page::{ComputedNumber, Readings};
use crate::phrase::capital;
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
                shown.push(number);
                lines.item(2, &said(sheet, number, &one.numbers));
            }
        }
        for number in rest.iter().filter(|number| !number.notes.is_empty()) {
            lines.item(
                2,
                &format!(
                    "Not weighed: {}, {}. {}",
                    number.title,
                    number.both,
                    number.notes.join(" ")
                ),
            );
        }
        for note in &one.notes {
            lines.item(2, note);
        }
    }
}

/// `Survey floors, "Main floor" (floors.csv): 42 points, one good to ± 1.6 mm.`
fn head(one: &Readings) -> String {
    let title = if one.title == one.id { String::new() } else { format!(", {}", one.title) };
    let origin: Vec<&str> = [one.date.as_deref(), one.file.as_deref()].into_iter().flatten().collect();
    let origin = if origin.is_empty() { String::new() } else { format!(" ({})", origin.join(", ")) };
    let good = one
        .reading_error_mm
        .filter(|_| one.kind != "lintel")
        .map(|error| format!(", one good to ± {error:.1} mm"))
        .unwrap_or_default();
    format!("{} {}{title}{origin}: {}{good}.", capital(one.kind), one.id, one.taken)
}

/// One number; those of one name at several places together.
fn said(sheet: &Sheet<'_>, number: &ComputedNumber, all: &[ComputedNumber]) -> String {
    let same: Vec<&ComputedNumber> = all
        .iter()
        .filter(|other| other.name == number.name && other.sighting.is_some())
        .collect();
    let values: Vec<String> = same
        .iter()
        .map(|one| {
            let sighting = one.sighting.as_deref().and_then(|id| sheet.sightings.get(id));
            let place = sighting
                .filter(|one| !one.at_words.is_empty())
                .map(|one| format!(" {}", one.at_words))
                .unwrap_or_default();
            let says = sighting.map_or_else(String::new, |one| match one.used {
                "set_aside" => format!(", set aside for {}", one.used_by.as_deref().unwrap_or_default()),
                _ => format!(", weighed as {}", one.says),
            });
            format!("{}{place}{says} [{}]", one.both, one.sighting.as_deref().unwrap_or_default())
        })
        .collect();
    let error = number.error_words.as_ref().map(|words| format!(", {words}")).unwrap_or_default();
    format!(
        "{}: {}. {}{error}.",
        capital(number.title),
        values.join("; "),
        capital(number.method)
    )
}
