//! What sightings say together: which hides which, and which patterns they make.

use wythe_case::{Case, Date};
use wythe_measure::trend::day_number;
use wythe_pack::{ClueIx, Pack, Pattern, PatternKind, SuppressedBy, Wait};

use crate::bind::Bound;
use crate::soft::sharp;
use crate::{Reading, Used};

/// Sightings of none that something hides count as not looked, and so does whatever is seen while a test still spoils it.
pub(crate) fn suppress(pack: &Pack, case: &Case, bound: &mut Bound) {
    let near = |a: usize, b: usize| a == b || case.contains(a, b) || case.contains(b, a);
    let mut hidden = Vec::new();
    for (index, reading) in bound.readings.iter().enumerate() {
        if reading.used != Used::Weighed {
            continue;
        }
        let by = pack.suppressions.iter().position(|rule| {
            rule.hides.contains(&reading.clue)
                && (!reading.shows() || matches!(rule.by, SuppressedBy::Test { .. }))
                && match rule.by {
                    SuppressedBy::Context(context) => bound.context(context) == Some(true),
                    SuppressedBy::Test { clue } => bound.readings.iter().any(|test| {
                        test.clue == clue
                            && test.used == Used::Weighed
                            && near(test.at, reading.at)
                            && waits(case, &test.sighting, &reading.sighting, pack[clue].wait.as_ref())
                    }),
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

/// Whether a sighting was made after a test and before its wait was over, or no dates tell.
fn waits(case: &Case, test: &str, seen: &str, wait: Option<&Wait>) -> bool {
    let find = |id: &str| {
        let passes = case.passes.iter().enumerate();
        passes
            .flat_map(|(at, pass)| {
                let all = pass.sightings.iter().enumerate();
                all.map(move |(index, one)| ((at, index), one, pass.date))
            })
            .find(|(_, one, _)| one.id == id)
            .map(|(at, _, date)| (at, date))
    };
    let (Some((first, tested)), Some((then, looked)), Some(wait)) = (find(test), find(seen), wait) else {
        return false;
    };
    let over = tested
        .zip(looked)
        .and_then(|(tested, looked)| Some(number(looked)? - number(tested)?))
        .is_some_and(|days| days as f64 >= wait.days);
    first < then && !(over && first.0 < then.0)
}

/// The day as a number that counts days.
fn number(date: Date) -> Option<i64> {
    day_number(i32::from(date.year()), u32::from(date.month()), u32::from(date.day()))
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
