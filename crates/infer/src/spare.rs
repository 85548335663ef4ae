//! Room put aside for the next who needs it: to ask for megabytes anew for each run costs as much as the run.

use std::any::Any;
use std::sync::Mutex;

/// So many of all kinds are put aside.
const FEW: usize = 12;

/// What takes more bytes than this is given back.
const LARGE: usize = 1 << 23;

static ASIDE: Aside = Aside(Mutex::new(Vec::new()));

/// Rooms of all kinds. While one thread is at it another does not wait: it has new room, or gives its own back.
struct Aside(Mutex<Vec<Box<dyn Any + Send>>>);

impl Aside {
    fn take<T: Any + Send + Default>(&self) -> Box<T> {
        let found = self.0.try_lock().ok().and_then(|mut all| {
            let at = all.iter().rposition(|one| (**one).is::<T>())?;
            Some(all.remove(at))
        });
        let found = found.map(|one| one as Box<dyn Any>);
        found.and_then(|one| one.downcast().ok()).unwrap_or_default()
    }

    fn put<T: Any + Send>(&self, room: Box<T>, bytes: usize) {
        if bytes == 0 || bytes > LARGE {
            return;
        }
        if let Ok(mut all) = self.0.try_lock() {
            let old = (all.len() == FEW).then(|| all.remove(0));
            all.push(room);
            drop(all);
            drop(old);
        }
    }
}

/// Room that was put aside, whatever is in it; or new.
pub(crate) fn take<T: Any + Send + Default>() -> Box<T> {
    ASIDE.take()
}

/// Puts room aside that takes so many bytes.
pub(crate) fn put<T: Any + Send>(room: Box<T>, bytes: usize) {
    ASIDE.put(room, bytes);
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A kind of room that nothing else here puts aside.
    #[derive(Default)]
    struct Own(Vec<u8>);

    #[test]
    fn what_is_put_aside_is_taken_again_unless_it_is_large() {
        let aside = Aside(Mutex::default());
        aside.put(Box::new(Own(vec![7])), 1);
        assert_eq!(aside.take::<Own>().0, [7]);
        assert!(aside.take::<Own>().0.is_empty());
        aside.put(Box::new(Own(vec![7])), LARGE + 1);
        assert!(aside.take::<Own>().0.is_empty());
    }

    #[test]
    fn only_a_few_are_put_aside() {
        let aside = Aside(Mutex::default());
        (0..FEW as u8 + 2).for_each(|n| aside.put(Box::new(Own(vec![n])), 1));
        let found: Vec<u8> = (0..FEW + 2).flat_map(|_| aside.take::<Own>().0).collect();
        assert_eq!(found, (2..FEW as u8 + 2).rev().collect::<Vec<u8>>());
    }

    #[test]
    fn no_one_waits_for_another() {
        let aside = Aside(Mutex::default());
        aside.put(Box::new(Own(vec![7])), 1);
        let held = aside.0.lock();
        assert!(aside.take::<Own>().0.is_empty());
        aside.put(Box::new(Own(vec![8])), 1);
        drop(held);
        assert_eq!(aside.take::<Own>().0, [7]);
    }
}
