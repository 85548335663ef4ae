//! Contexts that computed numbers say.

use wythe_case::{Case, ContextFact};
use wythe_measure::normal_cdf;
use wythe_pack::{ContextFrom, Pack};

/// From this chance on a number says which side of a bound it lies.
const SURE: f64 = 0.95;

/// Adds to the case what its numbers say of contexts that it does not state. Where a person stated it that stands, and
/// a number that says otherwise is told of with its sheet. Numbers that say opposite things say nothing.
pub(super) fn enter(pack: &Pack, case: &mut Case) {
    for context in &pack.contexts {
        let mut said: Vec<(usize, usize, bool)> = Vec::new();
        for (sheet_at, sheet) in case.readings.iter().enumerate() {
            for (number, computed) in sheet.computed.iter().enumerate() {
                let reading = &computed.reading;
                let of = |from: &&ContextFrom| from.sheet == sheet.section.name() && from.value == reading.name;
                let found = context.computed_from.iter().filter(of);
                said.extend(
                    found
                        .filter_map(|from| side(from, reading.value, reading.sd))
                        .map(|holds| (sheet_at, number, holds)),
                );
            }
        }
        let Some(&(sheet, number, holds)) = said.first() else {
            continue;
        };
        let split = said.iter().any(|(.., other)| *other != holds);
        let stated = case
            .contexts
            .iter()
            .find(|fact| fact.id == context.id)
            .map(|fact| fact.holds);
        let note = match (split, stated) {
            (true, _) => Some(format!(
                "The numbers disagree on \"{}\", so they say nothing of it.",
                context.title
            )),
            (false, Some(stated)) if stated != holds => Some(format!(
                "The case says {} to \"{}\", and this sheet says {}. What the case says stands; see which is right.",
                yes_no(stated),
                context.title,
                yes_no(holds)
            )),
            _ => None,
        };
        if let (Some(note), Some(sheet)) = (note, case.readings.get_mut(sheet)) {
            sheet.notes.push(note);
        }
        if !split && stated.is_none() {
            let locus = case.readings.get(sheet).map(|sheet| sheet.locus).unwrap_or_default();
            case.contexts.push(ContextFact {
                id: context.id.clone(),
                holds,
                note: None,
                computed: Some((sheet, number)),
                locus,
            });
        }
    }
}

/// What a number says: that it holds, that it does not, or nothing within its error.
fn side(from: &ContextFrom, value: f64, sd: f64) -> Option<bool> {
    let off = value - from.bound;
    let over = match sd {
        sd if sd > 0.0 => normal_cdf(off / sd),
        _ if off > 0.0 => 1.0,
        _ if off < 0.0 => 0.0,
        _ => 0.5,
    };
    let holds = if from.holds_over { over } else { 1.0 - over };
    if holds >= SURE {
        Some(true)
    } else if from.denies && holds <= 1.0 - SURE {
        Some(false)
    } else {
        None
    }
}

fn yes_no(holds: bool) -> &'static str {
    if holds { "yes" } else { "no" }
}
