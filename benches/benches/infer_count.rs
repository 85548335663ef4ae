//! A fixed piece of work on one main path, for counting instructions.
//!
//! usage: infer_count PATH, one of build, anew, replan, keep, leave-one-out, sequence, looks, sensitivities,
//! explain, conflict, dense. `benches/infer/count.py` runs each under callgrind and compares.

#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

#[path = "../../crates/infer/tests/support/kinds.rs"]
mod kinds;

use std::hint::black_box;

use wythe_infer::{Evidence, Finding, Limits, Solver, Var, most_probable_causes, solve};

fn main() {
    let path = std::env::args().nth(1).unwrap_or_default();
    let kind = if path == "dense" { kinds::DENSE } else { kinds::HOUSE };
    let made = kinds::make(kind, 0);
    let net = made.network();
    let limits = Limits::default();
    if path == "anew" {
        // As a warm engine is timed: one solver, and at every query evidence of another pattern.
        let cases: Vec<Evidence> = (0..5).map(|i| made.case(i)).collect();
        let mut warm = Solver::new(&net, &limits);
        for case in cases.iter().cycle().take(50) {
            black_box(warm.solve(case).unwrap());
        }
        assert_eq!(warm.plans(), 50);
        return;
    }
    for i in 0..5 {
        let case = made.case(i);
        let solved = || solve(&net, &case, &limits).unwrap();
        let target = Var::from_index(7);
        match path.as_str() {
            "replan" | "dense" => {
                for _ in 0..10 {
                    black_box(Solver::new(&net, &limits).solve(&case).unwrap());
                }
            }
            "keep" => {
                let mut solver = Solver::new(&net, &limits);
                let mut other = case.clone();
                for (var, finding) in case.iter() {
                    if let Finding::State(s @ 1..) = finding {
                        other.insert(var, Finding::State(if s + 1 < net.states(var) { s + 1 } else { 1 }));
                    }
                }
                for _ in 0..25 {
                    black_box(solver.solve(&case).unwrap());
                    black_box(solver.solve(&other).unwrap());
                }
            }
            "leave-one-out" => {
                black_box(solved().leave_one_out().unwrap());
            }
            "sequence" => {
                let groups: Vec<Vec<Var>> = case.iter().map(|(v, _)| vec![v]).collect();
                black_box(solved().sequence(&groups).unwrap());
            }
            "conflict" => {
                black_box(solved().conflict().unwrap());
            }
            "looks" => {
                let unseen: Vec<Var> = net.vars().filter(|v| case.get(*v).is_none()).collect();
                black_box(solved().looks(&unseen, &[target]).unwrap());
            }
            "sensitivities" => {
                black_box(solved().sensitivities(target, 1).unwrap());
            }
            "explain" => {
                black_box(most_probable_causes(&net, &case, &limits).unwrap());
            }
            _ => {
                black_box(&case);
            }
        }
    }
}
