//! Room put aside for the next who needs it: to ask for megabytes anew for each run costs as much as the run.

use std::any::Any;
use std::cell::RefCell;

/// So many of all kinds are put aside in each thread.
const FEW: usize = 6;

/// What takes more bytes than this is given back.
const LARGE: usize = 1 << 23;

thread_local! {
    static ASIDE: RefCell<Vec<Box<dyn Any>>> = const { RefCell::new(Vec::new()) };
}

/// Room that was put aside, whatever is in it; or new.
pub(crate) fn take<T: Any + Default>() -> Box<T> {
    let found = ASIDE.try_with(|aside| {
        let mut all = aside.try_borrow_mut().ok()?;
        let at = all.iter().rposition(|one| one.is::<T>())?;
        all.remove(at).downcast().ok()
    });
    found.ok().flatten().unwrap_or_default()
}

/// Puts room aside that takes so many bytes.
pub(crate) fn put<T: Any>(room: Box<T>, bytes: usize) {
    if bytes == 0 || bytes > LARGE {
        return;
    }
    // When the thread ends there is no next.
    let put = ASIDE.try_with(|aside| {
        if let Ok(mut all) = aside.try_borrow_mut() {
            if all.len() == FEW {
                drop(all.remove(0));
            }
            all.push(room);
        }
    });
    put.unwrap_or_default();
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A kind of room that nothing else here puts aside.
    #[derive(Default)]
    struct Own(Vec<u8>);

    #[test]
    fn what_is_put_aside_is_taken_again_unless_it_is_large() {
        put(Box::new(Own(vec![7])), 1);
        assert_eq!(take::<Own>().0, [7]);
        assert!(take::<Own>().0.is_empty());
        put(Box::new(Own(vec![7])), LARGE + 1);
        assert!(take::<Own>().0.is_empty());
    }

    #[test]
    fn only_a_few_are_put_aside() {
        (0..FEW as u8 + 2).for_each(|n| put(Box::new(Own(vec![n])), 1));
        let found: Vec<u8> = (0..FEW + 2).flat_map(|_| take::<Own>().0).collect();
        assert_eq!(found, (2..FEW as u8 + 2).rev().collect::<Vec<u8>>());
    }
}
