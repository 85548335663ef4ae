//! All that is asked of several conclusions, at once.

use std::panic::resume_unwind;
use std::thread;

use wythe_engine::{
    About, Looks, Margins, Rivals, Story, Unsupported, WeighError, Weighed, besides_margins, margins_of,
};

/// All that is asked of several conclusions, and what to look at next.
#[derive(Clone, Debug, PartialEq)]
pub struct Everything {
    /// Of each conclusion, what else could be behind its signs.
    pub rivals: Vec<Rivals>,
    /// Of each, what kept it down.
    pub unsupported: Vec<Unsupported>,
    /// Of each, how little would change it.
    pub margins: Vec<Margins>,
    /// The most probable combinations of mechanisms.
    pub story: Story,
    /// What could be looked at, best first.
    pub looks: Looks,
}

/// Asks all of several conclusions: the same as one by one, at less cost, and on two threads where there are.
///
/// # Errors
/// As [`ask`](crate::ask), and as [`looks`](crate::looks).
///
/// ```
/// use wythe::{Case, Weighed};
///
/// let text = include_str!("../../../examples/cases/quiet-corner.yaml");
/// let case = Case::read("quiet-corner.yaml", text)?;
/// let weighed = Weighed::new(wythe::built_in_pack(), &case)?;
/// let abouts: Vec<_> = weighed.outcome().conclusions.iter().map(|one| one.about).take(2).collect();
/// let all = wythe::everything(&weighed, &abouts)?;
/// assert_eq!((all.rivals.len(), all.margins.len()), (2, 2));
/// assert!(all.looks.looks.iter().all(|look| look.worth >= 0.0));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn everything(weighed: &Weighed<'_>, abouts: &[About]) -> Result<Everything, WeighError> {
    let (margins, others) = both(|| margins_of(weighed, abouts), || besides_margins(weighed, abouts));
    let others = others?;
    Ok(Everything {
        rivals: others.rivals,
        unsupported: others.unsupported,
        margins: margins?,
        story: others.story,
        looks: others.looks,
    })
}

/// What both make. Where no second thread is to be had, one after the other: what they make is the same.
fn both<A: Send, B>(first: impl Fn() -> A + Sync, second: impl FnOnce() -> B) -> (A, B) {
    if thread::available_parallelism().map_or(1, usize::from) < 2 {
        return (first(), second());
    }
    thread::scope(|scope| match thread::Builder::new().spawn_scoped(scope, &first) {
        Ok(started) => {
            let b = second();
            (started.join().unwrap_or_else(|panic| resume_unwind(panic)), b)
        }
        Err(_) => (first(), second()),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_are_made_and_each_by_its_own() {
        let (a, b) = both(|| thread::current().id(), || thread::current().id());
        assert_eq!(b, thread::current().id());
        let cores = thread::available_parallelism().map_or(1, usize::from);
        assert_eq!(a != b, cores > 1);
    }
}
