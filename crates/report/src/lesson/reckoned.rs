//! One conclusion as the report reckons it, told by the turns of the walk.

use std::collections::BTreeMap;

use wythe_case::Case;
use wythe_engine::{Conclusion, Counted, Outcome, SOME, StepKind, Walk, decibans};
use wythe_pack::Pack;

use super::within::Within;
use crate::asked::RivalSays;
use crate::number::{chance_of, from_to, short_chance, times};
use crate::phrase::{capital, sentence};
use crate::reckoning::{self, Part, Row};
use crate::steps::{in_decibans, tenths};

/// How a conclusion is reckoned: all sightings together, in the order of the report.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reckoned {
    /// Where it begins, before any sighting.
    pub begins: String,
    /// What made it likelier, most first.
    pub carried: Vec<String>,
    /// What made it less likely, most first.
    pub against: Vec<String>,
    /// What bears on it and added little to the rest, with what it says by itself.
    pub little: Vec<String>,
}

/// Of which conclusion, and what is known of it besides: its rivals, and what counted within its steps.
#[derive(Clone, Copy)]
pub(super) struct Known<'a> {
    pub one: &'a Conclusion,
    pub rivals: &'a [RivalSays],
    pub counted: Option<&'a Counted>,
    /// Ids of the signs of it that something else would account for.
    pub taken: &'a [String],
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

/// A conclusion as the report reckons it.
pub(super) fn reckoned(pack: &Pack, case: &Case, outcome: &Outcome, known: Known<'_>, turns: &Turns) -> Reckoned {
    let Some(rows) = reckoning::rows(pack, case, outcome, known.one) else {
        return Reckoned {
            begins: "A fact of this house settles it by itself, so there are no steps.".into(),
            ..Reckoned::default()
        };
    };
    let within = Within {
        pack,
        case,
        outcome,
        known,
        turns,
    };
    let mut told = Reckoned::default();
    let mut begins: Vec<String> = Vec::new();
    let mut moved: Vec<(f64, &Row)> = Vec::new();
    let mut before = 0.0;
    let mut little: Vec<String> = Vec::new();
    for row in &rows {
        match row.part {
            Part::Start => begins.push(format!(
                "before any sign, {} {}",
                short_chance(row.chance),
                within.start()
            )),
            Part::Step(StepKind::Context) => {
                let by = if row.whole == 0 {
                    String::new()
                } else {
                    format!(" ({}; {})", times(row.weight), in_decibans(row.whole as f64))
                };
                begins.push(match short_chance(row.chance) == short_chance(before) {
                    true => "the facts of this house leave it there".into(),
                    false => format!("{} {}{by}", short_chance(row.chance), row.says),
                });
            }
            Part::Step(StepKind::NoneThere) if row.whole == 0 => {
                told.little
                    .push(format!("{}: they hardly moved it.", capital(&row.says)));
            }
            Part::Minor => little.extend(row.sightings.iter().cloned()),
            Part::Step(_) if row.whole == 0 => little.extend(row.sightings.iter().cloned()),
            Part::Step(_) => moved.push((before, row)),
        }
        before = row.chance;
    }
    told.little.extend(within.little(&little));
    let untold = rows.iter().filter(|row| untold(row)).map(|row| row.weight);
    told.little.extend(small_moves(known.one, untold.sum()));
    told.begins = sentence(&begins.join("; "));
    moved.sort_by(|a, b| b.1.weight.abs().total_cmp(&a.1.weight.abs()));
    for (before, row) in moved {
        let did = format!(
            "{}: {} ({}), {}",
            capital(&row.says),
            times(row.weight),
            in_decibans(row.whole as f64),
            from_to(before, row.chance)
        );
        let says = match row.part {
            Part::Step(StepKind::NoneThere) => format!("{did}. {}", within.absent(row)),
            _ => format!("{did}{}.", turns.all(&row.sightings)),
        };
        match row.whole > 0 {
            true => told.carried.push(says),
            false => told.against.push(format!("{says}{}", instead(row, known.rivals))),
        }
    }
    told
}

/// Whether a row is told as one that moved nothing to speak of.
fn untold(row: &Row) -> bool {
    match row.part {
        Part::Minor => true,
        Part::Step(StepKind::NoneThere | StepKind::Seen) => row.whole == 0,
        Part::Start | Part::Step(StepKind::Context) => false,
    }
}

/// What the small moves come to, where the chance would be another without them.
fn small_moves(one: &Conclusion, weight: f64) -> Option<String> {
    let without = chance_of(decibans(one.chance) - weight);
    let (from, to) = (short_chance(without), short_chance(one.chance));
    (weight.is_finite() && from != to).then(|| {
        format!(
            "All such small moves together: {} ({}). Without them it would stand at {from}; with them it stands at {to}.",
            times(weight),
            tenths(weight)
        )
    })
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
            format!(" It speaks more for another cause, {title}, and so leaves less for this to account for.")
        }
        _ => String::new(),
    }
}
