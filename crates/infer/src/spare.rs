//! The tables of passes, put aside for the next ones: to ask for many megabytes anew for each run costs as much as the run.

use std::any::Any;
use std::cell::RefCell;

use crate::pass::Work;

/// So many are put aside.
const FEW: usize = 4;

/// Tables of more numbers than this are given back.
const LARGE: usize = 1 << 20;

thread_local! {
    static ASIDE: RefCell<Vec<Box<dyn Any>>> = const { RefCell::new(Vec::new()) };
}

/// Tables that were put aside, whatever is in them; or new ones.
pub(crate) fn take<const L: usize>() -> Box<Work<L>> {
    let found = ASIDE.with_borrow_mut(|all| {
        let at = all.iter().rposition(|one| one.is::<Work<L>>())?;
        all.swap_remove(at).downcast().ok()
    });
    found.unwrap_or_default()
}

/// Puts tables aside.
pub(crate) fn put<const L: usize>(work: Box<Work<L>>) {
    if work.table.capacity() * L > LARGE {
        return;
    }
    ASIDE.with_borrow_mut(|all| {
        if all.len() == FEW {
            all.remove(0);
        }
        all.push(work);
    });
}
