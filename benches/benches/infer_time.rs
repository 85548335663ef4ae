//! Times the inference core: medians of single shots.
//!
//! usage: infer_time [KIND [SEED [CASES]]] | batch
//!
//! Without arguments, all kinds. Prints one JSON line a kind: microseconds of a whole query as a
//! user calls it, with a solver kept warm but every plan made again, and with the plan kept; of
//! every further answer; and what a pass multiplies and moves. `batch` solves 100,000 house cases
//! on one and on two cores.

#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

#[path = "../../crates/infer/tests/support/kinds.rs"]
mod kinds;

use std::hint::black_box;
use std::time::Instant;

use wythe_infer::{Evidence, Finding, Limits, Network, Solver, Var, solve};

fn main() {
    let args: Vec<String> = std::env::args().skip(1).filter(|a| a != "--bench").collect();
    if args.first().is_some_and(|a| a == "batch") {
        return batch();
    }
    let all = [
        kinds::WALL,
        kinds::HOUSE,
        kinds::PLAIN_HOUSE,
        kinds::BIG,
        kinds::SMALL_DENSE,
        kinds::DENSE,
        kinds::DENSE_SOFT,
    ];
    let seed = args.get(1).map_or(0, |s| s.parse().unwrap());
    let cases = args.get(2).map_or(100, |s| s.parse().unwrap());
    for kind in all {
        if args.first().is_none_or(|k| k == kind.name) {
            one(kind, seed, cases);
        }
    }
}

fn time<T>(f: impl FnOnce() -> T) -> f64 {
    let start = Instant::now();
    black_box(f());
    start.elapsed().as_nanos() as f64 / 1e3
}

fn median(mut xs: Vec<f64>) -> f64 {
    xs.sort_by(f64::total_cmp);
    xs[xs.len() / 2]
}

fn one(kind: kinds::Kind, seed: u64, cases: u64) {
    let made = kinds::make(kind, seed);
    let net = made.network();
    let limits = Limits::default();
    let targets: Vec<Var> = (0..kind.causes).map(Var::from_index).collect();
    let cases: Vec<Evidence> = (0..cases).map(|i| made.case(i)).collect();
    let read = |solver: &Solver| -> f64 {
        let p = targets.iter().map(|t| solver.posterior(*t).and_then(|p| p.last()));
        p.flatten().sum()
    };
    let mut warm = Solver::new(&net, &limits);
    for c in cases.iter().take(3) {
        warm.solve(c).unwrap();
    }
    let query = |c: &Evidence| {
        let solved = solve(&net, c, &limits).unwrap();
        targets.iter().map(|t| solved.posterior(*t)[1]).sum::<f64>()
    };
    let whole = median(cases.iter().map(|c| time(|| query(c))).collect());
    let replanned = cases.iter().map(|c| {
        time(|| {
            warm.solve(c).unwrap();
            read(&warm)
        })
    });
    let replanned: Vec<f64> = replanned.collect();
    let worst = replanned.iter().copied().fold(0.0, f64::max);
    let replanned = median(replanned);
    let mut kept = Vec::new();
    for c in &cases {
        let mut solver = Solver::new(&net, &limits);
        solver.solve(c).unwrap();
        let other = moved(&net, c);
        solver.solve(&other).unwrap();
        for e in [c, &other] {
            kept.push(time(|| {
                solver.solve(e).unwrap();
                read(&solver)
            }));
        }
    }
    let kept = median(kept);
    let dense = kind.name.contains("dense");
    let some = if dense { 3 } else { 40 };
    let mut parts = vec![Vec::new(); 7];
    let (mut entries, mut widths) = (Vec::new(), Vec::new());
    let (mut operations, mut bytes) = (Vec::new(), Vec::new());
    for c in cases.iter().take(some) {
        let solved = solve(&net, c, &limits).unwrap();
        entries.push(solved.entries() as f64);
        widths.push(solved.width() as f64);
        operations.push(solved.floor().0 as f64);
        bytes.push(solved.floor().1 as f64);
        if dense {
            parts[0].push(time(|| solved.leave_one_out().unwrap()));
            parts[3].push(time(|| solved.sensitivities(targets[0], 1).unwrap()));
            continue;
        }
        let unseen: Vec<Var> = net.vars().filter(|v| c.get(*v).is_none()).collect();
        let clues: Vec<Var> = unseen
            .iter()
            .filter(|v| v.index() >= kind.causes + kind.responses)
            .copied()
            .collect();
        let groups: Vec<Vec<Var>> = c.iter().map(|(v, _)| vec![v]).collect();
        let every = time(|| {
            let solved = solve(&net, c, &limits).unwrap();
            (
                solved.leave_one_out().unwrap().len(),
                solved.sequence(&groups).unwrap().len(),
                solved.looks(&clues, &targets).unwrap().len(),
                solved.sensitivities(targets[0], 1).unwrap().posterior(),
                solved.most_probable_causes().unwrap().share,
                solved.conflict().unwrap(),
            )
        });
        parts[0].push(time(|| solved.leave_one_out().unwrap()));
        parts[1].push(time(|| solved.sequence(&groups).unwrap()));
        parts[2].push(time(|| solved.looks(&clues, &targets).unwrap()));
        parts[3].push(time(|| solved.sensitivities(targets[0], 1).unwrap()));
        parts[4].push(time(|| solved.most_probable_causes().unwrap()));
        parts[5].push(time(|| solved.conflict().unwrap()));
        parts[6].push(every);
    }
    let names = [
        "leave_one_out",
        "sequence",
        "looks",
        "sensitivities",
        "explanation",
        "conflict",
        "everything",
    ];
    let entries = median(entries);
    print!(
        "{{\"engine\": \"wythe\", \"kind\": \"{}\", \"seed\": {seed}, \"cases\": {}, \"whole_us\": {whole:.1}, \
         \"replanned_us\": {replanned:.1}, \"worst_us\": {worst:.1}, \"kept_us\": {kept:.2}, \"entries\": {entries}, \"width\": {}, \"operations\": {}, \"bytes\": {}",
        kind.name,
        cases.len(),
        median(widths),
        median(operations),
        median(bytes),
    );
    for (name, part) in names.iter().zip(parts) {
        if !part.is_empty() {
            print!(", \"{name}_us\": {:.1}", median(part));
        }
    }
    println!("}}");
}

/// The same findings with other values: every hard positive finding one grade on.
fn moved(net: &Network, evidence: &Evidence) -> Evidence {
    let mut out = evidence.clone();
    for (var, finding) in evidence.iter() {
        if let Finding::State(s @ 1..) = finding {
            out.insert(var, Finding::State(if s + 1 < net.states(var) { s + 1 } else { 1 }));
        }
    }
    out
}

/// Cases a second and core, and how two cores compare.
fn batch() {
    const CASES: u64 = 100_000;
    let made = kinds::make(kinds::HOUSE, 0);
    let net = made.network();
    let cases: Vec<Evidence> = (0..1000).map(|i| made.case(i)).collect();
    let run = |from: u64, to: u64| {
        let mut solver = Solver::new(&net, &Limits::default());
        (from..to)
            .map(|i| solver.solve(&cases[(i % 1000) as usize]).unwrap())
            .sum::<f64>()
    };
    let both = || {
        std::thread::scope(|s| {
            let half = s.spawn(|| run(0, CASES / 2));
            run(CASES / 2, CASES) + half.join().unwrap()
        })
    };
    // In turn, the best of three each: what else the machine does then counts against both alike.
    let (mut one, mut two) = (f64::MAX, f64::MAX);
    for _ in 0..3 {
        one = one.min(time(|| run(0, CASES)) / 1e6);
        two = two.min(time(both) / 1e6);
    }
    println!(
        "{{\"batch\": {CASES}, \"one_core_s\": {one:.2}, \"cases_a_second\": {:.0}, \"two_cores_s\": {two:.2}, \"scaling\": {:.2}}}",
        CASES as f64 / one,
        one / two
    );
}
