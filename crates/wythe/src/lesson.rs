//! A case as a lesson: the walk over its sightings, and what would be left without one or two of them.

use wythe_case::Case;
use wythe_engine::{Outcome, Used, walk, without};
use wythe_pack::Pack;
use wythe_report::lesson::{Changed, Lesson, lesson};

use crate::Error;

/// Most signs that are also taken away two at a time.
const PAIRED: usize = 10;

/// A case as a lesson to step through. Every number in it is weighed exactly: the case is weighed once for each of its
/// sightings, once without each, and once without each two of the signs seen (ten signs at most).
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
    let walk = walk(pack, case)?;
    let last: &Outcome = walk.steps.last().map_or(&walk.start, |step| &step.outcome);
    let mut less: Vec<Changed> = Vec::new();
    let mut seen: Vec<usize> = Vec::new();
    for reading in &last.readings {
        let stands = walk.steps.iter().any(|step| step.sighting == reading.sighting);
        if !stands || matches!(reading.used, Used::NotReached | Used::Hidden { .. }) {
            continue;
        }
        if reading.shows() && seen.len() < PAIRED {
            seen.push(less.len());
        }
        less.push(Changed {
            sighting: reading.sighting.clone(),
            outcome: without(pack, case, &[&reading.sighting])?,
        });
    }
    let mut pairs: Vec<(usize, usize, Outcome)> = Vec::new();
    for (at, first) in seen.iter().enumerate() {
        for second in seen.iter().skip(at.saturating_add(1)) {
            if let (Some(one), Some(other)) = (less.get(*first), less.get(*second)) {
                let outcome = without(pack, case, &[&one.sighting, &other.sighting])?;
                pairs.push((*first, *second, outcome));
            }
        }
    }
    Ok(lesson(pack, case, &walk, &less, &pairs)?)
}
