//! A case as a lesson: the walk over its sightings, and what would be left without one or two of them.

use wythe_case::Case;
use wythe_engine::{Outcome, Used, Weighed, found, looks, walk, with_computed, without};
use wythe_pack::Pack;
use wythe_report::lesson::{Change, Changed, Lesson, lesson};

use crate::Error;

/// Most signs that are also taken away two at a time.
const PAIRED: usize = 10;

/// Looks not made that can be supposed, each with every grade.
const LOOKS: usize = 4;

/// A case as a lesson to step through. Every number in it is weighed exactly: the case is weighed once for each of its
/// sightings, once without each, once without each two of the signs seen (ten signs at most), and once for each finding of
/// the looks most worth making.
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
    for look in looks(&Weighed::new(pack, case)?)?.looks.iter().take(LOOKS) {
        for grade in 0..look.chances.len() {
            changed.push(Changed {
                what: Change::Found {
                    clue: look.clue,
                    at: look.at,
                    grade,
                },
                outcome: found(pack, case, look.clue, look.at, grade)?,
            });
        }
    }
    Ok(lesson(pack, case, &walk, &changed, &pairs)?)
}
