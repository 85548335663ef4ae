//! Weighs one example house a number of times and prints the best time, or is run under callgrind once with one time and
//! once with more. What it counts moves with the pack, so no count is kept.
//!
//! usage: weigh_count HOUSE TIMES, of the program that `cargo bench -p wythe-benches --bench weigh_count --no-run` names.

#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

use std::hint::black_box;

use wythe::{Case, built_in_pack, weigh};
// For the allocator.
use wythe_benches as _;

fn main() {
    let mut args = std::env::args().skip(1);
    let name = args.next().unwrap_or_default();
    let times: usize = args.next().and_then(|n| n.parse().ok()).unwrap_or(0);
    let path = format!("{}/../examples/cases/{name}.yaml", env!("CARGO_MANIFEST_DIR"));
    // Called by cargo's own run of all benches there is no house, and nothing to count.
    let Ok(text) = std::fs::read_to_string(path) else {
        return;
    };
    let case = Case::read(&name, &text).unwrap_or_else(|problems| panic!("{problems}"));
    let pack = built_in_pack();
    let mut best = f64::INFINITY;
    for _ in 0..times {
        let start = std::time::Instant::now();
        black_box(weigh(black_box(pack), black_box(&case)).unwrap());
        best = best.min(start.elapsed().as_secs_f64());
    }
    println!("{name}: best {:.3} ms", best * 1e3);
}
