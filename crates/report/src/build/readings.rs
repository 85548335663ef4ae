//! Sheets of readings, and the sightings computed from them.

use wythe_case::{Case, Computed, Readings};
use wythe_engine::{Outcome, Used};
use wythe_measure::{COMPUTED, COVER_95, FINDINGS, Length, Measured, Quantity, Reading};

use crate::number::rounded;
use crate::page::{self, ComputedFrom, ComputedNumber};
use crate::phrase::{bracketed, clean};
use crate::units::{error_inches, is_share, units};

/// Every sheet of the case, in its order.
pub(crate) fn readings(case: &Case, outcome: &Outcome) -> Vec<page::Readings> {
    (0..)
        .zip(&case.readings)
        .map(|(at, sheet)| one(case, outcome, at, sheet))
        .collect()
}

/// What a sighting of the case was computed from.
pub(crate) fn computed_from(case: &Case, computed: Option<(usize, usize)>) -> Option<ComputedFrom> {
    let (sheet, number) = computed?;
    let sheet = case.readings.get(sheet)?;
    let reading = &sheet.computed.get(number)?.reading;
    Some(ComputedFrom {
        sheet: sheet.id.clone(),
        kind: sheet.section.name(),
        number: reading.name,
        method: reading.method,
        taken: taken(sheet),
        from: reading.from.iter().map(|name| clean(name)).collect(),
    })
}

/// The number that says a context: `by the plasticity index of the soil, 41, of the site ground`.
pub(crate) fn said_by(case: &Case, computed: Option<(usize, usize)>) -> Option<String> {
    let (sheet, number) = computed?;
    let sheet = case.readings.get(sheet)?;
    let reading = &sheet.computed.get(number)?.reading;
    Some(format!(
        "by the {}, {}, of the {} {}",
        title(reading.name),
        in_both(reading.quantity, reading.value),
        sheet.section.name(),
        sheet.id
    ))
}

/// A number for people, and its 95 % error, as the packet gives what is not weighed: `lean 1 in 96 (10.42 mm per m; ± 0.5 mm per
/// m or 0.06 in over 10 ft)`.
pub(crate) fn stated(computed: &Computed) -> String {
    let reading = &computed.reading;
    let said = in_both(reading.quantity, reading.value);
    let error = (reading.sd > 0.0).then(|| format!("± {}", error_of(reading, reading.sd)));
    format!("{} {}", title(reading.name), bracketed(&said, error.as_deref()))
}

/// A number for people with its error of measurement, and with the one that how it was built adds: `1 3/4 in (44.2 mm;
/// ± 2.9 mm as measured, ± 18 mm as a sign of movement)`.
pub(crate) fn as_measured(reading: &Reading) -> String {
    let said = bracketed(
        &in_both(reading.quantity, reading.value),
        error_words(reading).as_deref(),
    );
    said + without_tilt(reading.name)
}

/// What was measured at a sighting, in both units.
pub(crate) fn size(of: &page::Sighting) -> Option<String> {
    let both = of.measured.as_ref()?.both.clone();
    Some(both + of.computed.as_ref().map_or("", |from| without_tilt(from.number)))
}

/// That the even tilt of the floor is not in a number: the same floor has another number with it.
fn without_tilt(name: &'static str) -> &'static str {
    match title(name).ends_with(", tilt taken out") {
        true => " with the tilt taken out",
        false => "",
    }
}

/// `± 2.9 mm as measured, ± 18 mm as a sign of movement`; none where it is next to nothing.
fn error_words(reading: &Reading) -> Option<String> {
    let error = |sd: f64| error_of(reading, sd);
    match reading.sd_as_movement.filter(|moved| *moved > reading.sd) {
        Some(moved) => Some(format!(
            "± {} as measured, ± {} as a sign of movement",
            error(reading.sd),
            error(moved)
        )),
        None => (reading.sd > 0.0).then(|| format!("± {}", error(reading.sd))),
    }
}

fn title(name: &'static str) -> &'static str {
    COMPUTED
        .iter()
        .find(|(_, known, ..)| *known == name)
        .map_or(name, |(.., title)| title)
}

fn measured(quantity: Quantity, value: f64) -> Measured {
    Measured {
        value,
        sd: None,
        quantity,
        text: String::new(),
    }
}

/// In both units; a length to 1/16 in, as a tape shows it, and to 0.1 mm.
fn in_both(quantity: Quantity, value: f64) -> String {
    if quantity == Quantity::Length {
        return Length::mm(value).map_or_else(|_| format!("{value:.0} mm"), Length::to_sixteenths);
    }
    match units(&measured(quantity, value)) {
        (us, Some(metric)) => format!("{us} ({metric})"),
        (us, None) => us,
    }
}

fn error_of(reading: &Reading, sd: f64) -> String {
    if is_share(&measured(reading.quantity, reading.value)) {
        return format!("{:.0} %", (100.0 * sd * COVER_95).max(1.0));
    }
    let half = sd * COVER_95;
    let (us, metric) = units(&measured(reading.quantity, half));
    match metric {
        Some(metric) if reading.quantity == Quantity::Length => format!("{metric} or {}", error_inches(half)),
        // A slope: as the trade has it, over the run of a ten-foot straightedge.
        Some(metric) if reading.quantity == Quantity::Ratio => format!("{metric} or {:.2} in over 10 ft", half * 120.0),
        Some(metric) => format!("{metric} or {us}"),
        None => us,
    }
}

fn taken(sheet: &Readings) -> String {
    format!("{} {}", sheet.taken.0, sheet.taken.1)
}

fn one(case: &Case, outcome: &Outcome, at: usize, sheet: &Readings) -> page::Readings {
    let mut notes: Vec<String> = Vec::new();
    for note in &sheet.notes {
        // A word that the guard reads as a verdict.
        let note = clean(&note.replace("stable", "unmoved"));
        if !notes.contains(&note) {
            notes.push(note);
        }
    }
    page::Readings {
        id: sheet.id.clone(),
        kind: sheet.section.name(),
        title: clean(&sheet.title),
        date: sheet.date.map(|day| day.to_string()),
        file: sheet.file.as_deref().map(clean),
        taken: taken(sheet),
        reading_error_mm: rounded(sheet.sd_mm * COVER_95).filter(|error| *error > 0.0),
        numbers: (0..)
            .zip(&sheet.computed)
            .map(|(number, computed)| self::number(case, outcome, (at, number), computed))
            .collect(),
        notes,
    }
}

fn number(case: &Case, outcome: &Outcome, at: (usize, usize), computed: &Computed) -> ComputedNumber {
    let reading = &computed.reading;
    let moved = reading.sd_as_movement.filter(|moved| *moved > reading.sd);
    let standing: Vec<&str> = outcome
        .readings
        .iter()
        .filter(|one| one.used != Used::NotReached)
        .map(|one| one.sighting.as_str())
        .collect();
    let mut sightings = case.passes.iter().flat_map(|pass| &pass.sightings);
    ComputedNumber {
        name: reading.name,
        title: title(reading.name),
        value: rounded(reading.value),
        error: rounded(reading.sd * COVER_95),
        error_as_movement: moved.and_then(|moved| rounded(moved * COVER_95)),
        both: in_both(reading.quantity, reading.value),
        error_words: error_words(reading),
        method: reading.method,
        from: reading.from.iter().map(|name| clean(name)).collect(),
        places: computed
            .at
            .iter()
            .filter_map(|at| case.places.get(*at).map(|place| place.id.clone()))
            .collect(),
        notes: reading.notes.iter().map(|note| clean(note)).collect(),
        sighting: sightings
            .find(|one| one.computed == Some(at) && standing.contains(&one.id.as_str()))
            .map(|one| one.id.clone()),
        findings: findings(&computed.findings),
        context: case
            .contexts
            .iter()
            .find(|fact| fact.computed == Some(at))
            .map(|fact| fact.id.clone()),
    }
}

/// Findings in words; months that the peak may lie in, as one.
fn findings(found: &[&'static str]) -> Vec<String> {
    let titles = found
        .iter()
        .filter_map(|name| FINDINGS.iter().find(|(_, known, _)| known == name))
        .map(|(.., title)| *title);
    let (months, mut rest): (Vec<&str>, Vec<&str>) = titles.partition(|title| title.starts_with(WIDEST));
    let names: Vec<&str> = months.iter().filter_map(|title| title.strip_prefix(WIDEST)).collect();
    let months = match names.as_slice() {
        [] => None,
        [one] => Some(format!("widest in {one}")),
        [first, .., last] => Some(format!("widest from {first} to {last}")),
    };
    rest.dedup();
    months.into_iter().chain(rest.into_iter().map(String::from)).collect()
}

/// How the title of a month's finding begins.
const WIDEST: &str = "may be widest in ";
