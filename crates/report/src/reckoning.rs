//! How one conclusion is reckoned: its steps in rows whose whole decibans add up. The text of its reasons and the end of a
//! lesson tell the same rows.

use wythe_case::Case;
use wythe_engine::{Conclusion, Outcome, Reading, SOME, StepKind, decibans};
use wythe_pack::Pack;

use crate::build::conclusions;
use crate::number::{chance_of, whole_parts};

/// What a row stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    /// Houses like this one, before anything is known of it.
    Start,
    /// A step of the ledger.
    Step(StepKind),
    /// Signs seen that hardly move it, taken together.
    Minor,
}

/// A row.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Row {
    /// What it stands for.
    pub part: Part,
    /// Decibans.
    pub weight: f64,
    /// The same in whole numbers that add up.
    pub whole: i64,
    /// The chance after it, 0–1.
    pub chance: f64,
    /// In words.
    pub says: String,
    /// Ids of its sightings.
    pub sightings: Vec<String>,
}

/// The rows of a conclusion, from houses like this one on; none where a fact of the house settles it by itself.
pub(crate) fn rows(pack: &Pack, case: &Case, outcome: &Outcome, one: &Conclusion) -> Option<Vec<Row>> {
    let end = decibans(one.chance);
    let start = end - one.steps.iter().map(|step| step.weight).sum::<f64>();
    if !start.is_finite() || !end.is_finite() {
        return None;
    }
    let mut rows = vec![Row {
        part: Part::Start,
        weight: start,
        whole: 0,
        chance: chance_of(start),
        says: "on houses like this one".into(),
        sightings: Vec::new(),
    }];
    for step in &one.steps {
        let readings: Vec<&Reading> = step
            .readings
            .iter()
            .filter_map(|at| outcome.readings.get(*at))
            .collect();
        let ids = readings.iter().map(|reading| reading.sighting.clone());
        let minor = step.kind == StepKind::Seen && step.weight.abs() < SOME / 2.0;
        // Small ones that follow one another are one row.
        match rows.last_mut() {
            Some(last) if minor && last.part == Part::Minor => {
                last.weight += step.weight;
                last.chance = step.after;
                last.sightings.extend(ids);
            }
            _ => rows.push(Row {
                part: if minor { Part::Minor } else { Part::Step(step.kind) },
                weight: step.weight,
                whole: 0,
                chance: step.after,
                says: if minor {
                    "with signs that hardly move it".into()
                } else {
                    conclusions::step_says(pack, case, step.kind, &readings)
                },
                sightings: ids.collect(),
            }),
        }
    }
    let whole = whole_parts(&rows.iter().map(|row| row.weight).collect::<Vec<f64>>());
    for (row, whole) in rows.iter_mut().zip(whole) {
        row.whole = whole;
    }
    Some(rows)
}
