//! What sightings say together: which hides which, and which patterns they make.

use wythe_case::Case;
use wythe_pack::{ClueIx, Pack, Pattern, PatternKind, SuppressedBy};

use crate::bind::Bound;
use crate::soft::sharp;
use crate::{Reading, Used};

/// Sightings of none that something hides count as not looked.
pub(crate) fn suppress(pack: &Pack, case: &Case, bound: &mut Bound) {
    let near = |a: usize, b: usize| a == b || case.contains(a, b) || case.contains(b, a);
    let mut hidden = Vec::new();
    for (index, reading) in bound.readings.iter().enumerate() {
        if reading.shows() || reading.used != Used::Weighed {
            continue;
        }
        let by = pack.suppressions.iter().position(|rule| {
            rule.hides.contains(&reading.clue)
                && match rule.by {
                    SuppressedBy::Context(context) => bound.context(context) == Some(true),
                    SuppressedBy::Clue { clue, from } => bound.readings.iter().any(|other| {
                        other.clue == clue
                            && other.grade >= from
                            && other.used == Used::Weighed
                            && near(other.at, reading.at)
                    }),
                }
        });
        hidden.extend(by.map(|by| (index, by)));
    }
    for (index, by) in hidden {
        if let Some(reading) = bound.readings.get_mut(index) {
            reading.used = Used::Hidden { by };
        }
    }
}

/// Derived clues: where a pattern holds over places, it stands for its members.
pub(crate) fn derive(pack: &Pack, case: &Case, bound: &mut Bound) {
    for (at, clue) in pack.clues.iter().enumerate() {
        let Some(pattern) = clue.pattern else { continue };
        let members: Vec<usize> = bound
            .readings
            .iter()
            .enumerate()
            .filter(|(_, reading)| reading.clue == pattern.of && reading.used == Used::Weighed)
            .map(|(index, _)| index)
            .collect();
        let read: Vec<(usize, usize)> = members
            .iter()
            .filter_map(|index| bound.readings.get(*index))
            .map(|reading| (reading.at, reading.grade))
            .collect();
        if !holds(case, pattern, &read) {
            continue;
        }
        let highest = read.iter().map(|(_, grade)| *grade).max().unwrap_or(0);
        let grade = highest.min(clue.grades.len().saturating_sub(1));
        let made_from = members
            .iter()
            .filter_map(|index| bound.readings.get(*index))
            .map(|reading| reading.sighting.clone())
            .collect();
        for index in members {
            if let Some(reading) = bound.readings.get_mut(index) {
                reading.used = Used::SetAside { by: ClueIx(at) };
            }
        }
        bound.readings.push(Reading {
            sighting: clue.id.clone(),
            clue: ClueIx(at),
            at: 0,
            likelihood: sharp(clue.grades.len(), grade),
            grade,
            marks: Vec::new(),
            used: Used::Weighed,
            made_from,
        });
    }
}

/// Whether a pattern holds over (place, grade) pairs.
fn holds(case: &Case, pattern: Pattern, read: &[(usize, usize)]) -> bool {
    if read.len() < pattern.at_least {
        return false;
    }
    let shows = |(_, grade): &&(usize, usize)| *grade > 0;
    let showing = read.iter().filter(shows).count();
    let beside = |wall: usize, at: usize| at == wall || case.contains(wall, at) || case.touching(wall, at);
    let walls = 1..case.places.len();
    match pattern.kind {
        PatternKind::AllAlike => showing == read.len(),
        PatternKind::OneOnly => showing == 1,
        PatternKind::OneWallOnly => {
            showing >= 2
                && showing < read.len()
                && walls
                    .into_iter()
                    .any(|wall| read.iter().all(|(at, grade)| (*grade > 0) == beside(wall, *at)))
        }
        PatternKind::WorstToOneSide => {
            let most = read.iter().map(|(_, grade)| *grade).max().unwrap_or(0);
            showing >= 2
                && read.iter().any(|(_, grade)| *grade < most)
                && walls
                    .into_iter()
                    .any(|wall| read.iter().all(|(at, grade)| (*grade == most) == beside(wall, *at)))
        }
    }
}

#[cfg(test)]
mod tests;
