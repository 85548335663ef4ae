//! One conclusion as the report reckons it, told by the turns of the walk.

use std::collections::BTreeMap;

use wythe_case::Case;
use wythe_engine::{Conclusion, Outcome, Reading, SOME, StepKind, Walk};
use wythe_pack::Pack;

use crate::asked::RivalSays;
use crate::build::{bearing, sightings};
use crate::number::{short_chance, times};
use crate::phrase::{capital, sentence};
use crate::reckoning::{self, Part, Row};
use crate::steps::in_decibans;

/// How a conclusion is reckoned: all sightings together, in the order of the report.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reckoned {
    /// Where it begins, before any sighting.
    pub begins: String,
    /// What made it likelier, most first.
    pub carried: Vec<String>,
    /// What made it less likely, most first.
    pub against: Vec<String>,
    /// What bears on it and hardly moved it.
    pub little: Vec<String>,
}

/// The turn of each sighting in the walk, from 1.
pub(super) struct Turns(BTreeMap<String, usize>);

impl Turns {
    pub fn of(walk: &Walk) -> Self {
        Self(walk.steps.iter().map(|step| step.sighting.clone()).zip(1..).collect())
    }

    /// ` (sighting 17)`; nothing for one that was not made on the walk.
    pub fn one(&self, id: &str) -> String {
        self.0
            .get(id)
            .map_or_else(String::new, |turn| format!(" (sighting {turn})"))
    }

    /// ` (sightings 3 to 5 and 9)`.
    pub fn all(&self, ids: &[String]) -> String {
        let mut turns: Vec<usize> = ids.iter().filter_map(|id| self.0.get(id)).copied().collect();
        turns.sort_unstable();
        let mut runs: Vec<(usize, usize)> = Vec::new();
        for turn in &turns {
            match runs.last_mut() {
                Some((_, last)) if last.saturating_add(1) == *turn => *last = *turn,
                _ => runs.push((*turn, *turn)),
            }
        }
        let said: Vec<String> = runs
            .iter()
            .map(|(first, last)| match last - first {
                0 => first.to_string(),
                1 => format!("{first}, {last}"),
                _ => format!("{first} to {last}"),
            })
            .collect();
        match turns.len() {
            0 => String::new(),
            1 => format!(" (sighting {})", said.join(", ")),
            _ => format!(" (sightings {})", said.join(", ")),
        }
    }
}

/// `rivals` are those of the conclusion, as far as they are known.
pub(super) fn reckoned(
    pack: &Pack,
    case: &Case,
    outcome: &Outcome,
    one: &Conclusion,
    rivals: &[RivalSays],
    turns: &Turns,
) -> Reckoned {
    let Some(rows) = reckoning::rows(pack, case, outcome, one) else {
        return Reckoned {
            begins: "A fact of this house settles it by itself, so there are no steps.".into(),
            ..Reckoned::default()
        };
    };
    let mut told = Reckoned::default();
    let mut begins: Vec<String> = Vec::new();
    let mut moved: Vec<(f64, &Row)> = Vec::new();
    let mut before = 0.0;
    let mut minor: Vec<String> = Vec::new();
    for row in &rows {
        match row.part {
            Part::Start => begins.push(format!("{} {}", row.says, short_chance(row.chance))),
            Part::Step(StepKind::Context) => {
                let by = if row.whole == 0 {
                    String::new()
                } else {
                    format!(" ({}; {})", times(row.weight), in_decibans(row.whole as f64))
                };
                begins.push(format!("{} {}{by}", row.says, short_chance(row.chance)));
            }
            Part::Minor => minor.extend(row.sightings.iter().cloned()),
            Part::Step(_) if row.whole == 0 => {
                told.little
                    .push(sentence(&format!("{}{}", row.says, turns.all(&row.sightings))));
            }
            Part::Step(_) => moved.push((before, row)),
        }
        before = row.chance;
    }
    told.little.extend(hardly(pack, case, outcome, one, &minor, turns));
    told.begins = sentence(&begins.join("; "));
    moved.sort_by(|a, b| b.1.weight.abs().total_cmp(&a.1.weight.abs()));
    for (before, row) in moved {
        let says = format!(
            "{}: {} ({}), from {} to {}{}.",
            capital(&row.says),
            times(row.weight),
            in_decibans(row.whole as f64),
            short_chance(before),
            short_chance(row.chance),
            turns.all(&row.sightings)
        );
        match row.whole > 0 {
            true => told.carried.push(says),
            false => told.against.push(format!("{says}{}", instead(row, rivals))),
        }
    }
    told
}

/// What something seen speaks for more, where it speaks against this.
fn instead(row: &Row, rivals: &[RivalSays]) -> String {
    let mut most: Option<(f64, &str)> = None;
    for rival in rivals {
        let own = rival.apart.iter().filter(|one| row.sightings.contains(&one.sighting));
        let sum: f64 = own.filter_map(|one| one.decibans).sum();
        if sum <= -SOME && most.is_none_or(|(least, _)| sum < least) {
            most = Some((sum, &rival.title));
        }
    }
    match (row.part, most) {
        (Part::Step(StepKind::Seen), Some((_, title))) => {
            format!(" It speaks more for {title}, which leaves less for this to account for.")
        }
        _ => String::new(),
    }
}

/// The signs of it that hardly moved it, by name.
fn hardly(
    pack: &Pack,
    case: &Case,
    outcome: &Outcome,
    one: &Conclusion,
    ids: &[String],
    turns: &Turns,
) -> Option<String> {
    let bears = bearing::of(pack, case, outcome, one.about);
    let of = |reading: &&Reading| ids.contains(&reading.sighting) && bears.contains_key(&(reading.clue, reading.at));
    let readings: Vec<&Reading> = outcome.readings.iter().filter(of).collect();
    let own: Vec<String> = readings.iter().map(|reading| reading.sighting.clone()).collect();
    let says = sightings::in_one_phrase(pack, case, &readings);
    (!own.is_empty()).then(|| sentence(&format!("{says}{}", turns.all(&own))))
}
