//! All that is asked of several conclusions, at once.

use std::panic::resume_unwind;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::channel;
use std::thread;

use wythe_engine::{
    About, Besides, BesidesInParts, Looks, Margins, Rivals, Story, Unsupported, WeighError, Weighed, WorkedOut,
    besides_in_parts, besides_margins, margins_of,
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
    let (margins, others) = if thread::available_parallelism().map_or(1, usize::from) < 2 {
        (margins_of(weighed, abouts), besides_margins(weighed, abouts))
    } else {
        together(weighed, abouts)
    };
    let others = others?;
    Ok(Everything {
        rivals: others.rivals,
        unsupported: others.unsupported,
        margins: margins?,
        story: others.story,
        looks: others.looks,
    })
}

type Both = (Result<Vec<Margins>, WeighError>, Result<Besides, WeighError>);

/// Margins on this thread, while the rest is put together on a second one; the parts of the rest on whichever is free.
fn together(weighed: &Weighed<'_>, abouts: &[About]) -> Both {
    let next = AtomicUsize::new(0);
    let work = |rest: &BesidesInParts<'_, '_>| {
        while let part = next.fetch_add(1, Ordering::Relaxed)
            && part < rest.parts()
        {
            rest.answer(part);
        }
    };
    thread::scope(|scope| {
        let (hand, take) = channel::<Arc<BesidesInParts<'_, '_>>>();
        let work = &work;
        let besides = move || {
            let rest = Arc::new(besides_in_parts(weighed, abouts)?);
            hand.send(rest.clone()).ok();
            work(&rest);
            Ok(rest)
        };
        let Ok(started) = thread::Builder::new().spawn_scoped(scope, besides) else {
            return (margins_of(weighed, abouts), besides_margins(weighed, abouts));
        };
        let margins = margins_of(weighed, abouts);
        // Nothing comes where the rest could not be put together.
        if let Ok(rest) = take.recv() {
            work(&rest);
        }
        let rest = started.join().unwrap_or_else(|panic| resume_unwind(panic));
        let rest = rest.and_then(|rest| match Arc::into_inner(rest) {
            Some(rest) => put_together(&rest.worked_out()?),
            None => besides_margins(weighed, abouts),
        });
        (margins, rest)
    })
}

/// Reasons on this thread, while looks are put together on a second one.
fn put_together(worked_out: &WorkedOut<'_, '_>) -> Result<Besides, WeighError> {
    thread::scope(|scope| {
        let looks = thread::Builder::new().spawn_scoped(scope, || worked_out.looks());
        let (rivals, unsupported, story) = worked_out.reasons()?;
        let looks = match looks {
            Ok(looks) => looks.join().unwrap_or_else(|panic| resume_unwind(panic)),
            Err(_) => worked_out.looks(),
        };
        Ok(Besides {
            rivals,
            unsupported,
            story,
            looks,
        })
    })
}
