//! What is solved beside a driven solver's own numbers.

use std::sync::Arc;

use super::{Driven, same};
use crate::*;

impl Driven {
    /// Several sets of other numbers, of the same rows or of some each, beside the solver's own.
    pub(super) fn abreast(&mut self) {
        let mut sets: Vec<Rows> = (0..self.r.below(7)).map(|_| self.rows()).collect();
        if self.r.chance(0.5) && !sets.is_empty() {
            let first = sets[0].clone();
            sets.iter_mut().for_each(|set| set.clone_from(&first));
            for (row, numbers) in sets.iter_mut().flatten() {
                *numbers = self.r.distribution(self.net.states(row.var()));
            }
        }
        let read: Vec<Var> = self.net.vars().filter(|_| self.r.chance(0.3)).collect();
        let shared = Arc::new(self.evidence.clone());
        let found = self.solver.solve_abreast(&shared, &sets, &read, &mut self.room);
        self.reads = Some(read.clone());
        self.solved = false;
        let Ok(found) = found else {
            assert_eq!(found, Err(SolveError::Impossible), "{}", self.seed);
            assert!(same(f64::NEG_INFINITY, self.expected(&[])), "{}", self.seed);
            return;
        };
        assert_eq!(found.len(), sets.len(), "{}", self.seed);
        let all: Vec<Var> = self.net.vars().collect();
        for (set, found) in sets.iter().zip(found) {
            let mut fresh = Solver::new(&self.net, &Limits::default()).keeping(&all);
            assert!(fresh.change(set), "{}: {set:?}", self.seed);
            let ln = fresh.solve(&self.evidence);
            let expected = ln.unwrap_or(f64::NEG_INFINITY);
            assert!(
                same(found.ln, expected),
                "{} abreast: {} for {expected}",
                self.seed,
                found.ln
            );
            for (var, found) in read.iter().zip(found.posteriors) {
                let Some(found) = found else {
                    let kept = self.kept.contains(var) && self.evidence.get(*var).is_none();
                    assert!(!(kept && expected.is_finite()), "{} {var:?} was to be kept", self.seed);
                    continue;
                };
                let Some(expected) = fresh.posterior(*var) else {
                    continue;
                };
                for (found, expected) in found.into_iter().zip(expected) {
                    assert!(same(found, expected), "{} {var:?}: {found} for {expected}", self.seed);
                    self.compared[8] += 1;
                }
            }
        }
        self.solved = true;
    }
}
