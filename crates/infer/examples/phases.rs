//! Phases.
#[path = "../tests/support/kinds.rs"]
mod kinds;
use std::time::Instant;
use wythe_infer::*;
fn main() {
    let mode = std::env::args().nth(1).unwrap_or_default();
    for kind in [kinds::HOUSE, kinds::BIG] {
        let mut t = vec![];
        let mut all = vec![];
        for seed in 0..3 {
            let made = kinds::make(kind, seed);
            let net = made.network();
            let cases: Vec<_> = (0..100).map(|i| made.case(i)).collect();
            let mut warm = Solver::new(&net, &Limits::default());
            for c in &cases {
                if mode == "reuse" {
                    let s = Instant::now();
                    let mut sv = Solver::new(&net, &Limits::default());
                    sv.solve(c).unwrap();
                    all.push(s.elapsed().as_nanos() as f64 / 1e3);
                    for _ in 0..5 {
                        let s = Instant::now();
                        sv.solve(c).unwrap();
                        t.push(s.elapsed().as_nanos() as f64 / 1e3);
                    }
                } else if mode == "warm" {
                    let s = Instant::now();
                    warm.solve(c).unwrap();
                    t.push(s.elapsed().as_nanos() as f64 / 1e3);
                } else {
                    let s = Instant::now();
                    let x = solve(&net, c, &Limits::default()).unwrap();
                    t.push(s.elapsed().as_nanos() as f64 / 1e3);
                    drop(x);
                }
            }
        }
        t.sort_by(f64::total_cmp);
        println!(
            "{} {mode}: {:.1} us p90 {:.1}",
            kind.name,
            t[t.len() / 2],
            t[t.len() * 9 / 10]
        );
    }
}
