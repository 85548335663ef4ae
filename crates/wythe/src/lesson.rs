//! A case as a lesson: the walk over its sightings, and what would be left without one or two of them.

use wythe_case::Case;
use wythe_engine::{
    Asked, Look, Outcome, Reading, Used, Walk, WeighError, Weighed, ask, counted, found, looks, walk, with_computed,
    without,
};
use wythe_pack::Pack;
use wythe_report::lesson::{Change, Changed, Lesson, Weighings, lesson, reckoned_of, told, was_measured};

use crate::Error;

/// Most signs that are also taken away two at a time.
const PAIRED: usize = 10;

/// Decibans from which a sign moved more than a little.
const LITTLE: f64 = 3.0;

/// Most conclusions of which rivals and margins are asked.
const ASKED: usize = 12;

/// Looks not made that can be supposed, each with every grade.
const LOOKS: usize = 4;

/// A case as a lesson to step through. Every number in it is weighed exactly: the case is weighed once for each of its
/// sightings, once without each, once without each two of the signs seen (ten signs at most), once for each finding of
/// the looks most worth making, and once with each sign alone that moved little. Of each conclusion that its end tells of
/// (twelve at most), rivals and margins are asked once.
///
/// ```
/// let case = wythe::Case::read("corner", "
/// format: 1
/// id: corner
/// places: [{id: south-west, kind: outside_corner}]
/// passes: [{pass: first, sightings: [{clue: corner_pop_wedge, at: south-west, seen: cracked}]}]
/// ")?;
/// let lesson = wythe::lesson_of(wythe::built_in_pack(), &case)?;
/// assert_eq!(lesson.steps.len(), 1);
/// let page = wythe::report::lesson::lesson_page(&[lesson])?;
/// assert!(page.starts_with("<!DOCTYPE html>"));
/// # Ok::<(), wythe::Error>(())
/// ```
///
/// # Errors
/// As [`weigh`](wythe_engine::weigh).
pub fn lesson_of(pack: &Pack, case: &Case) -> Result<Lesson, Error> {
    let case = &*with_computed(pack, case);
    let walk = walk(pack, case)?;
    let last: &Outcome = walk.steps.last().map_or(&walk.start, |step| &step.outcome);
    let mut changed: Vec<Changed> = Vec::new();
    let mut seen: Vec<usize> = Vec::new();
    for reading in &last.readings {
        let stands = walk.steps.iter().any(|step| step.sighting == reading.sighting);
        if !stands || matches!(reading.used, Used::NotReached | Used::Hidden { .. }) {
            continue;
        }
        if reading.shows() && seen.len() < PAIRED {
            seen.push(changed.len());
        }
        changed.push(Changed {
            what: Change::Without(reading.sighting.clone()),
            outcome: without(pack, case, &[&reading.sighting])?,
        });
    }
    let mut pairs: Vec<(usize, usize, Outcome)> = Vec::new();
    for (at, first) in seen.iter().enumerate() {
        for second in seen.iter().skip(at.saturating_add(1)) {
            let of = |at: &usize| match changed.get(*at).map(|one| &one.what) {
                Some(Change::Without(id)) => id.as_str(),
                _ => "",
            };
            let outcome = without(pack, case, &[of(first), of(second)])?;
            pairs.push((*first, *second, outcome));
        }
    }
    let weighed = Weighed::new(pack, case)?;
    let best = in_reason(looks(&weighed))?.map(|looks| looks.looks);
    let unmade = |look: &&Look| !was_measured(pack, case, look.clue, look.at);
    for look in best.unwrap_or_default().iter().filter(unmade).take(LOOKS) {
        let grade = |grade| {
            let what = Change::Found {
                clue: look.clue,
                at: look.at,
                grade,
            };
            let outcome = in_reason(found(pack, case, look.clue, look.at, grade))?;
            Ok(outcome.map(|outcome| Changed { what, outcome }))
        };
        let grades: Option<Vec<Changed>> = (0..look.chances.len()).map(grade).collect::<Result<_, WeighError>>()?;
        changed.extend(grades.into_iter().flatten());
    }
    let mut asked: Vec<Asked> = Vec::new();
    for about in told(pack, case, last).into_iter().take(ASKED) {
        asked.extend(in_reason(ask(&weighed, about))?);
    }
    let reckoned = reckoned_of(pack, case, last);
    let weighings = Weighings {
        walk: &walk,
        changed: &changed,
        pairs: &pairs,
        alone: &alone(pack, case, &walk)?,
        asked: &asked,
        counted: &in_reason(counted(pack, case, &reckoned))?.unwrap_or_default(),
    };
    Ok(lesson(pack, case, weighings)?)
}

/// Each sign that was seen and moved little, as if nothing else had been looked at.
fn alone(pack: &Pack, case: &Case, walk: &Walk) -> Result<Vec<(usize, Outcome)>, WeighError> {
    let mut alone: Vec<(usize, Outcome)> = Vec::new();
    for (at, step) in walk.steps.iter().enumerate() {
        let own = step.outcome.readings.iter().find(|one| one.sighting == step.sighting);
        let Some(own) = own.filter(|own| own.used == Used::Weighed && own.shows()) else {
            continue;
        };
        if step.moved.iter().any(|one| one.weight >= LITTLE) {
            continue;
        }
        let here = |other: &&Reading| (other.clue, other.at) != (own.clue, own.at);
        let others = step.outcome.readings.iter().filter(here);
        let others: Vec<&str> = others.map(|other| other.sighting.as_str()).collect();
        alone.push((at, without(pack, &case.first(at.saturating_add(1)), &others)?));
    }
    Ok(alone)
}

/// What can be worked out; none where it would be too much, and a lesson does without.
fn in_reason<T>(answer: Result<T, WeighError>) -> Result<Option<T>, WeighError> {
    match answer {
        Err(WeighError::TooTangled { .. } | WeighError::TooLarge { .. } | WeighError::TooMuch { .. }) => Ok(None),
        answer => answer.map(Some),
    }
}
