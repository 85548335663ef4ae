//! Rows changed in place against networks made with them.

use super::agreement::case;
use crate::*;

#[test]
fn changed_in_place_is_as_made_anew() {
    let mut tried = 0;
    for seed in 0..300 {
        let Some((_, net, evidence, _)) = case(seed) else {
            continue;
        };
        let mut solver = Solver::new(&net, &Limits::default());
        solver.solve(&evidence).unwrap();
        for var in net.vars() {
            let cause = Row::Cause {
                var,
                cause: 0,
                state: 1,
            };
            for row in [Row::Prior(var), Row::Leak(var), cause] {
                let Some(old) = net.row(row).map(<[f64]>::to_vec) else {
                    continue;
                };
                let n = old.len() as f64;
                let new: Vec<f64> = old.iter().map(|p| 0.7 * p + 0.3 / n).collect();
                let mut fresh = Solver::new(&net, &Limits::default());
                assert!(fresh.change(&[(row, new.clone())]));
                let expected = fresh.solve(&evidence).unwrap();
                assert!(solver.change(&[(row, new)]));
                let found = solver.solve(&evidence).unwrap();
                assert!(
                    (found - expected).abs() < 1e-12,
                    "{seed} {row:?}: {found} for {expected}"
                );
                assert!(solver.change(&[(row, old)]));
                tried += 1;
            }
        }
    }
    assert!(tried > 500, "{tried}");
}

/// A change, then evidence of which nothing stands: what the old row and the old findings had made may not stay.
#[test]
fn changed_then_less_evidence_is_as_made_anew() {
    let mut tried = 0;
    for seed in 0..300 {
        let Some((_, net, evidence, _)) = case(seed) else {
            continue;
        };
        let first: Vec<_> = evidence.iter().take(1).collect();
        let one = first
            .into_iter()
            .fold(Evidence::new(), |all, (var, finding)| all.with(var, finding.clone()));
        let mut solver = Solver::new(&net, &Limits::default());
        solver.solve(&evidence).unwrap();
        for row in net.vars().flat_map(|var| [Row::Prior(var), Row::Leak(var)]) {
            let Some(old) = net.row(row).map(<[f64]>::to_vec) else {
                continue;
            };
            let n = old.len() as f64;
            let new: Vec<f64> = old.iter().map(|p| 0.7 * p + 0.3 / n).collect();
            for fewer in [&Evidence::new(), &one] {
                solver.solve(&evidence).unwrap();
                assert!(solver.change(&[(row, new.clone())]));
                let mut fresh = Solver::new(&net, &Limits::default());
                assert!(fresh.change(&[(row, new.clone())]));
                let (found, expected) = (solver.solve(fewer).unwrap(), fresh.solve(fewer).unwrap());
                assert!(
                    (found - expected).abs() < 1e-12,
                    "{seed} {row:?}: {found} for {expected}"
                );
                assert!(solver.change(&[(row, old.clone())]));
                tried += 1;
            }
        }
    }
    assert!(tried > 500, "{tried}");
}

#[test]
fn what_is_no_row_or_no_distribution_is_not_taken() {
    let mut net = Network::new();
    let root = net.table(2, &[], vec![0.9, 0.1]).unwrap();
    let mut solver = Solver::new(&net, &Limits::default());
    assert!(!solver.change(&[(Row::Leak(root), vec![0.5, 0.5])]));
    assert!(!solver.change(&[(Row::Prior(root), vec![0.5, 0.6])]));
    assert!(!solver.change(&[(Row::Prior(root), vec![1.0])]));
    assert!(solver.change(&[(Row::Prior(root), vec![0.5, 0.5])]));
}
