//! Numbers computed from sheets of readings, entered as sightings: a clue's rule file says which number feeds it.

mod contexts;

use std::borrow::Cow;

use wythe_case::{Case, Computed, Readings, Seen, Sighting, Sure};
use wythe_measure::{Length, Measured, Quantity, class_masses};
use wythe_pack::{Clue, ClueIx, ComputedFrom, Pack};
use wythe_text::{Problems, nearest};

use crate::bind::Bound;
use crate::{Reading, Used};

/// From this share of the likelihood a grade made from a number is sure.
const SURE: f64 = 0.9;

/// The case with what was computed from its sheets entered as sightings; the case itself when there is nothing to enter.
///
/// A sighting computed from a sheet belongs to the sheet's pass and stands before what was seen on that pass, so that
/// a person's own sighting of the same sign at the same place stands. Its error is that of the number taken as movement
/// since construction, where that is larger. [`weigh`](crate::weigh) does this by itself.
pub fn with_computed<'c>(pack: &Pack, case: &'c Case) -> Cow<'c, Case> {
    let mut made: Vec<(usize, Sighting)> = Vec::new();
    for (number, sheet) in case.readings.iter().enumerate() {
        if !sheet.entered {
            let of_sheet = sightings(pack, case, number, sheet);
            made.extend(of_sheet.into_iter().map(|sighting| (sheet.pass, sighting)));
        }
    }
    if case.readings.iter().all(|sheet| sheet.entered) {
        return Cow::Borrowed(case);
    }
    let mut case = case.clone();
    contexts::enter(pack, &mut case);
    case.readings.iter_mut().for_each(|sheet| sheet.entered = true);
    for (number, pass) in case.passes.iter_mut().enumerate() {
        let of_pass = made.iter().filter(|(at, _)| *at == number).map(|(_, one)| one.clone());
        let mut all: Vec<Sighting> = of_pass.collect();
        all.append(&mut pass.sightings);
        pass.sightings = all;
    }
    Cow::Owned(case)
}

/// Refuses a sheet that names a clue which the pack has not, or which is looked for at another kind of place.
pub(crate) fn check(pack: &Pack, case: &Case, out: &mut Problems) {
    for sheet in &case.readings {
        for computed in &sheet.computed {
            let Some(name) = &computed.clue else { continue };
            let path: Vec<&str> = match computed.reading.from.as_slice() {
                [point] => vec!["points", point],
                _ => Vec::new(),
            };
            let (what, help) = match pack.clue(name).map(|at| &pack[at]) {
                None => {
                    let names = pack.clues.iter().map(|clue| clue.id.as_str());
                    let help = nearest(name, names).map(|near| format!("did you mean `{near}`?"));
                    (format!("this pack has no clue `{name}`"), help)
                }
                Some(clue)
                    if clue
                        .computed_from
                        .as_ref()
                        .is_none_or(|from| from.value != computed.reading.name) =>
                {
                    (
                        format!(
                            "`{name}` does not follow from the {} of a {}",
                            computed.reading.name,
                            sheet.section.name()
                        ),
                        Some("name another clue".into()),
                    )
                }
                Some(clue) if place(pack, case, clue, computed).is_none() => (
                    format!("`{name}` is looked for at a place of kind `{}`", pack[clue.at].id),
                    Some("name a place of that kind under `at`".into()),
                ),
                Some(_) => continue,
            };
            out.push(case.problem_in(&sheet.locus, &path, what, help));
        }
    }
}

/// The sightings that a sheet makes, in the pack's order of clues.
fn sightings(pack: &Pack, case: &Case, number: usize, sheet: &Readings) -> Vec<Sighting> {
    let mut all: Vec<Sighting> = Vec::new();
    for clue in pack.clues.iter() {
        let Some(from) = clue
            .computed_from
            .as_ref()
            .filter(|from| from.weighed && from.sheets.contains(&sheet.section.name()))
        else {
            continue;
        };
        for (at_number, computed) in sheet.computed.iter().enumerate() {
            if computed.reading.name != from.value || computed.clue.as_ref().is_some_and(|of| *of != clue.id) {
                continue;
            }
            let Some(at) = place(pack, case, clue, computed) else {
                continue;
            };
            let Some((seen, sure)) = seen(clue, from, computed) else {
                continue;
            };
            let marks = match seen {
                Seen::NoneThere { .. } => Vec::new(),
                _ => marks(clue, from, computed),
            };
            let place = case.places.get(at).filter(|_| at > 0);
            let at_place = place.map(|place| format!(".{}", place.id)).unwrap_or_default();
            // Of several numbers of one sheet about one sign at one place, such as several points of a wall, the largest.
            let value = |one: &Sighting| {
                let number = one.computed.and_then(|(_, number)| sheet.computed.get(number));
                number.map_or(f64::NEG_INFINITY, |one| one.reading.value)
            };
            if let Some(other) = all.iter().position(|one| one.clue == clue.id && one.at == at) {
                if all.get(other).is_some_and(|one| value(one) >= computed.reading.value) {
                    continue;
                }
                all.remove(other);
            }
            all.push(Sighting {
                id: format!("{}.{}{at_place}", sheet.id, computed.reading.name),
                clue: clue.id.clone(),
                at,
                seen,
                marks,
                sure,
                note: None,
                photos: Vec::new(),
                corrects: None,
                computed: Some((number, at_number)),
                locus: sheet.locus,
            });
        }
    }
    all
}

/// The marks that the findings of a number make, by the clue's rule file: each with every kind that it may be.
fn marks(clue: &Clue, from: &ComputedFrom, computed: &Computed) -> Vec<(String, Vec<String>)> {
    let of = |mark: &str| {
        let found = from
            .marks
            .iter()
            .filter(|(name, finding, _)| name == mark && computed.findings.contains(finding));
        let mut kinds: Vec<String> = found.flat_map(|(.., kinds)| kinds).cloned().collect();
        kinds.sort();
        kinds.dedup();
        kinds
    };
    let all = clue.marks.iter().map(|mark| (mark.id.clone(), of(&mark.id)));
    all.filter(|(_, kinds)| !kinds.is_empty()).collect()
}

/// The first place that the number may be about and that is of the kind the clue is looked for at.
fn place(pack: &Pack, case: &Case, clue: &Clue, computed: &Computed) -> Option<usize> {
    let fits = |at: &&usize| {
        case.places
            .get(**at)
            .is_some_and(|place| place.kind == pack[clue.at].id)
    };
    computed.at.iter().find(fits).copied()
}

/// The number as something seen: a measurement, or for a clue graded by eye the likeliest grade.
fn seen(clue: &Clue, from: &ComputedFrom, computed: &Computed) -> Option<(Seen, Sure)> {
    let reading = &computed.reading;
    let sd = reading.sd_as_movement.unwrap_or(reading.sd).max(reading.sd);
    let Some(bounds) = &from.up_to else {
        let measured = Measured {
            value: reading.value,
            sd: Some(sd),
            quantity: reading.quantity,
            text: written(reading.quantity, reading.value),
        };
        let seen = Seen::Measured {
            reading: measured,
            with: None,
            from_photo: false,
        };
        return Some((seen, Sure::Sure));
    };
    let masses = class_masses(reading.value, sd, bounds);
    let best = (0..masses.len()).reduce(|a, b| if masses.get(b) > masses.get(a) { b } else { a })?;
    let sure = if masses.get(best).is_some_and(|mass| *mass >= SURE) {
        Sure::Sure
    } else {
        Sure::Fairly
    };
    let seen = match best {
        0 => Seen::NoneThere {
            looked: wythe_case::Looked::All,
        },
        _ => Seen::Grade(clue.grades.get(best)?.id.clone()),
    };
    Some((seen, sure))
}

/// A number as it would be written down: lengths to 1/16 in.
fn written(quantity: Quantity, value: f64) -> String {
    match quantity {
        Quantity::Length => {
            let tape = Length::inches(libm::round(value / 25.4 * 16.0) / 16.0);
            tape.map_or_else(|_| format!("{value:.1} mm"), Length::feet_inches)
        }
        Quantity::Ratio if value.abs() >= 0.2 => format!("{:.0} %", 100.0 * value),
        Quantity::Ratio if value.abs() >= 1e-4 => {
            format!("{}1 in {:.0}", if value < 0.0 { "-" } else { "" }, 1.0 / value.abs())
        }
        Quantity::Rate => format!("{value:.2} mm per year"),
        Quantity::Ratio => "less than 1 in 10,000".into(),
        _ => format!("{value:.4}"),
    }
}

/// Sets aside what another number of the same sheet stands for.
pub(crate) fn set_aside(pack: &Pack, case: &Case, bound: &mut Bound) {
    let all = case.passes.iter().flat_map(|pass| &pass.sightings);
    let sheets: std::collections::BTreeMap<&str, usize> = all
        .filter_map(|sighting| Some((sighting.id.as_str(), sighting.computed?.0)))
        .collect();
    if sheets.is_empty() {
        return;
    }
    let sheet_of = |reading: &Reading| sheets.get(reading.sighting.as_str()).copied();
    let mut aside: Vec<(usize, ClueIx)> = Vec::new();
    for (index, reading) in bound.readings.iter().enumerate() {
        let Some((sheet, from)) = sheet_of(reading).zip(pack[reading.clue].computed_from.as_ref()) else {
            continue;
        };
        let stands = bound.readings.iter().find(|other| {
            let says = match (other.shows(), reading.shows()) {
                (true, _) => &from.stands_aside_for,
                (false, false) => &from.none_said_by,
                (false, true) => return false,
            };
            says.contains(&other.clue) && other.used == Used::Weighed && sheet_of(other) == Some(sheet)
        });
        aside.extend(stands.map(|other| (index, other.clue)));
    }
    for (index, by) in aside {
        if let Some(reading) = bound.readings.get_mut(index) {
            reading.used = Used::SetAside { by };
        }
    }
}

#[cfg(test)]
mod tests;
