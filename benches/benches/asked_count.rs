//! Asks all of one example house a number of times and prints the best time of each part, or is run under a profiler.
//!
//! usage: asked_count HOUSE TIMES [together], of the program that `cargo bench -p wythe-benches --bench asked_count --no-run` names;
//! with `together` only all of it at once.

#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

use std::hint::black_box;
use std::time::Instant;

use wythe::{About, Action, Case, Pack, Support, Weighed, built_in_pack};
// For the allocator.
use wythe_benches as _;

/// The best time of each part, in the order in which they were met.
#[derive(Default)]
struct Best(Vec<(&'static str, f64)>);

impl Best {
    fn met(&mut self, part: &'static str, start: Instant) {
        let took = start.elapsed().as_secs_f64();
        match self.0.iter_mut().find(|(name, _)| *name == part) {
            Some((_, best)) => *best = best.min(took),
            None => self.0.push((part, took)),
        }
    }
}

/// The conclusions that a page tells of.
fn told(pack: &Pack, case: &Case) -> Vec<About> {
    let weighed = Weighed::new(pack, case).unwrap();
    let tells = |one: &&wythe::Conclusion| one.action > Action::Record || one.support >= Support::Some;
    let told = weighed.outcome().conclusions.iter().filter(tells);
    told.map(|one| one.about).collect()
}

/// Each part by itself.
fn apart(best: &mut Best, pack: &Pack, case: &Case) -> Vec<About> {
    let told = told(pack, case);
    let all = Instant::now();
    let weighed = Weighed::new(black_box(pack), black_box(case)).unwrap();
    best.met("weigh and keep", all);
    let start = Instant::now();
    black_box(wythe::rivals_of(&weighed, &told).unwrap());
    best.met("rivals", start);
    let start = Instant::now();
    for one in &told {
        black_box(wythe::margins(&weighed, *one).unwrap());
    }
    best.met("margins", start);
    let start = Instant::now();
    black_box(wythe::looks(&weighed).unwrap());
    best.met("looks", start);
    let start = Instant::now();
    black_box(wythe::story(&weighed).unwrap());
    best.met("story", start);
    let start = Instant::now();
    black_box(wythe::unsupported_of(&weighed, &told).unwrap());
    best.met("unsupported", start);
    best.met("all of these, one after the other", all);
    told
}

fn main() {
    let mut args = std::env::args().skip(1);
    let name = args.next().unwrap_or_default();
    let times: usize = args.next().and_then(|n| n.parse().ok()).unwrap_or(0);
    let together = args.next().is_some();
    let path = format!("{}/../examples/cases/{name}.yaml", env!("CARGO_MANIFEST_DIR"));
    // Called by cargo's own run of all benches there is no house, and nothing to ask.
    let Ok(text) = std::fs::read_to_string(path) else {
        return;
    };
    let case = Case::read(&name, &text).unwrap_or_else(|problems| panic!("{problems}"));
    let pack = built_in_pack();
    let mut best = Best::default();
    for _ in 0..times {
        let told = if together {
            told(pack, &case)
        } else {
            apart(&mut best, pack, &case)
        };
        let all = Instant::now();
        let weighed = Weighed::new(black_box(pack), black_box(&case)).unwrap();
        black_box(wythe::everything(&weighed, &told).unwrap());
        best.met("everything, together", all);
    }
    for (part, took) in best.0 {
        println!("{name}: {part}: best {:.3} ms", took * 1e3);
    }
}
