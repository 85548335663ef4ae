//! Timing.
#[path = "../tests/support/kinds.rs"]
mod kinds;
use std::time::Instant;
use wythe_infer::*;
fn main() {
    for kind in [kinds::WALL, kinds::HOUSE, kinds::BIG] {
        let made = kinds::make(kind, 0);
        let net = made.network();
        let cases: Vec<_> = (0..200).map(|i| made.case(i)).collect();
        let limits = Limits::default();
        let mut t = vec![];
        let mut w = vec![];
        let mut en = vec![];
        let mut reuse = vec![];
        let mut loo = vec![];
        let mut warm = vec![];
        let mut warm_solver = Solver::new(&net, &limits);
        for _ in 0..3 {
            for c in &cases {
                let s = Instant::now();
                let solved = solve(&net, c, &limits).unwrap();
                t.push(s.elapsed().as_nanos() as f64 / 1e3);
                w.push(solved.width());
                en.push(solved.entries());
                let s = Instant::now();
                warm_solver.solve(c).unwrap();
                warm.push(s.elapsed().as_nanos() as f64 / 1e3);
                let mut solver = Solver::new(&net, &limits);
                solver.solve(c).unwrap();
                let s = Instant::now();
                solver.solve(c).unwrap();
                reuse.push(s.elapsed().as_nanos() as f64 / 1e3);
                let s = Instant::now();
                let x = solved.leave_one_out().unwrap();
                loo.push(s.elapsed().as_nanos() as f64 / 1e3);
                assert!(x.len() > 1);
            }
        }
        let med = |v: &mut Vec<f64>| {
            v.sort_by(f64::total_cmp);
            v[v.len() / 2]
        };
        w.sort();
        en.sort();
        println!(
            "{}: solve {:.1} us, warm {:.1}, reuse {:.1}, loo {:.1}; width {} max {}, entries {} max {}",
            kind.name,
            med(&mut t),
            med(&mut warm),
            med(&mut reuse),
            med(&mut loo),
            w[w.len() / 2],
            w[w.len() - 1],
            en[en.len() / 2],
            en[en.len() - 1]
        );
    }
}
