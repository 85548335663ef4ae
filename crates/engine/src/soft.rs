//! What one sighting says: a likelihood for each grade of its clue.

use wythe_case::{Looked, Seen, Standing, Sure};
use wythe_measure::class_masses;
use wythe_pack::{Clue, Pack};

use crate::{Reading, Used};

/// The reading that a standing sighting makes; none where the pack has no such clue.
pub(crate) fn reading(pack: &Pack, standing: &Standing<'_>) -> Option<Reading> {
    let at = pack.clue(standing.clue)?;
    let clue = &pack[at];
    let (likelihood, used) = match &standing.sighting.seen {
        Seen::NotReached { .. } => (vec![1.0; clue.grades.len()], Used::NotReached),
        Seen::Grade(grade) => (sharp(clue.grades.len(), clue.grade(grade)?), Used::Weighed),
        Seen::Present => (present(clue.grades.len()), Used::Weighed),
        Seen::NoneThere { looked } => (absence(pack, clue, *looked), Used::Weighed),
        Seen::Measured {
            reading, from_photo, ..
        } => {
            let instrument = clue.measured_by.as_ref()?;
            let widen = if *from_photo { pack.policy.photo_error } else { 1.0 };
            let sd = reading.sd.unwrap_or(instrument.sd) * widen;
            (
                class_masses(instrument.scaled(reading.value), sd, &clue.bounds()),
                Used::Weighed,
            )
        }
    };
    let likelihood = unsure(pack, likelihood, standing.sighting.sure);
    let marks = standing
        .marks
        .iter()
        .filter_map(|(mark, kinds)| {
            let index = clue.marks.iter().position(|known| known.id == *mark)?;
            let known = clue.marks.get(index)?;
            let kinds = kinds
                .iter()
                .filter_map(|kind| known.kinds.iter().position(|name| name == kind))
                .collect();
            Some((index, kinds))
        })
        .collect();
    Some(Reading {
        sighting: standing.sighting.id.clone(),
        clue: at,
        at: standing.at,
        grade: likeliest(&likelihood, &used),
        likelihood,
        marks,
        used,
        made_from: Vec::new(),
    })
}

/// Index of the largest; the first of equals. What was not reached shows nothing.
fn likeliest(likelihood: &[f64], used: &Used) -> usize {
    if *used == Used::NotReached {
        return 0;
    }
    let mut best = 0;
    for (grade, value) in likelihood.iter().enumerate() {
        if likelihood.get(best).is_some_and(|most| value > most) {
            best = grade;
        }
    }
    best
}

/// Certain of one grade.
pub(crate) fn sharp(grades: usize, at: usize) -> Vec<f64> {
    (0..grades).map(|grade| if grade == at { 1.0 } else { 0.0 }).collect()
}

/// It is there, of any size: certain that it is not the lowest grade, and no more.
fn present(grades: usize) -> Vec<f64> {
    (0..grades).map(|grade| if grade == 0 { 0.0 } else { 1.0 }).collect()
}

/// None was seen: certain if all was looked at, softened by the chance of having noticed if not.
fn absence(pack: &Pack, clue: &Clue, looked: Looked) -> Vec<f64> {
    let noticed = match looked {
        Looked::All => 1.0,
        Looked::Part => pack.policy.part_looked,
        Looked::Share(share) => share,
    };
    (0..clue.grades.len())
        .map(|grade| if grade == 0 { 1.0 } else { 1.0 - noticed })
        .collect()
}

/// Spreads a likelihood over neighbouring grades: a weight x at distance one, x² at two, and so on.
fn unsure(pack: &Pack, likelihood: Vec<f64>, sure: Sure) -> Vec<f64> {
    let x: f64 = match sure {
        Sure::Sure => 0.0,
        Sure::Fairly => pack.policy.unsure.fairly,
        Sure::Unsure => pack.policy.unsure.unsure,
    };
    let spread: Vec<f64> = if x == 0.0 {
        likelihood
    } else {
        let reach = |from: usize, to: usize| libm::pow(x, from.abs_diff(to) as f64);
        (0..likelihood.len())
            .map(|to| {
                likelihood
                    .iter()
                    .enumerate()
                    .map(|(from, value)| value * reach(from, to))
                    .sum()
            })
            .collect()
    };
    let most = spread.iter().copied().fold(0.0, f64::max);
    if most > 0.0 {
        spread.into_iter().map(|value| value / most).collect()
    } else {
        spread
    }
}

#[cfg(test)]
mod tests;
