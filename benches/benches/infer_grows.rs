//! How time grows with causes, clues, positive findings and width: a table and an SVG plot.
//!
//! usage: infer_grows [FOLDER]; writes `grows.md` and `grows.svg` there, or prints the table.

#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

#[path = "../../crates/infer/tests/support/kinds.rs"]
mod kinds;

use std::fmt::Write;
use std::fs;
use std::hint::black_box;
use std::time::Instant;

use kinds::Kind;
use wythe_infer::{Cause, Evidence, Finding, Limits, Network, Solver, Var};

/// One curve: what grows, and points of (how much, microseconds, table entries).
struct Curve {
    title: &'static str,
    points: Vec<(usize, f64, usize)>,
}

fn main() {
    let folder = std::env::args().skip(1).find(|a| a != "--bench");
    let house = kinds::HOUSE;
    let curves = [
        curve(
            "causes (3 clues each, 1 in 3 looked at)",
            &[20, 40, 80, 160, 320],
            |n| Kind {
                causes: n,
                places: n / 4,
                responses: 0,
                clues: 3 * n,
                observed: n,
                positive: 3 * n / 10,
                soft: n / 10,
                ..house
            },
        ),
        curve("clues (40 causes, 1 in 3 looked at)", &[60, 120, 240, 480], |n| Kind {
            responses: 0,
            clues: n,
            observed: n / 3,
            positive: 10,
            ..house
        }),
        curve(
            "positive findings (house, 40 looked at)",
            &[2, 4, 8, 12, 16, 20, 24],
            |n| Kind { positive: n, ..house },
        ),
        curve(
            "positive findings (dense, 40 looked at)",
            &[4, 6, 8, 10, 12, 14, 16],
            |n| Kind {
                positive: n,
                ..kinds::DENSE
            },
        ),
        width(),
    ];
    let table = table(&curves);
    match folder {
        None => print!("{table}"),
        Some(folder) => {
            fs::write(format!("{folder}/grows.md"), table).unwrap();
            fs::write(format!("{folder}/grows.svg"), plot(&curves)).unwrap();
        }
    }
}

fn median(mut xs: Vec<f64>) -> f64 {
    xs.sort_by(f64::total_cmp);
    xs[xs.len() / 2]
}

fn measure(net: &Network, cases: &[Evidence]) -> (f64, usize) {
    let limits = Limits { width: 24 };
    let mut solver = Solver::new(net, &limits);
    let mut times = Vec::new();
    let mut entries = Vec::new();
    for round in 0..3 {
        for case in cases {
            let start = Instant::now();
            black_box(solver.solve(case).unwrap());
            let time = start.elapsed().as_nanos() as f64 / 1e3;
            if round > 0 {
                times.push(time);
                entries.push(solver.entries() as f64);
            }
        }
    }
    (median(times), median(entries) as usize)
}

fn curve(title: &'static str, sizes: &[usize], kind: impl Fn(usize) -> Kind) -> Curve {
    let point = |n: &usize| {
        let made = kinds::make(kind(*n), 1);
        let cases: Vec<Evidence> = (0..10).map(|i| made.case(i)).collect();
        let (time, entries) = measure(&made.network(), &cases);
        (*n, time, entries)
    };
    Curve {
        title,
        points: sizes.iter().map(point).collect(),
    }
}

/// Positive findings over every window of `n` neighbours among 40 causes.
fn width() -> Curve {
    let point = |n: usize| {
        let mut net = Network::new();
        let causes: Vec<Var> = (0..40).map(|_| net.table(2, &[], vec![0.9, 0.1]).unwrap()).collect();
        let mut evidence = Evidence::new();
        for window in causes.windows(n) {
            let links = window.iter().map(|c| Cause::boolean(*c, 0.6)).collect();
            let clue = net.noisy_max(vec![0.95, 0.05], links).unwrap();
            evidence.insert(clue, Finding::State(1));
        }
        // A cause is looked at too, by a likelihood that is another each time: all above it is passed up anew.
        let shown = |p: f64| evidence.clone().with(causes[20], Finding::Likelihood(vec![1.0, p]));
        let cases: Vec<Evidence> = (1..=10).map(|i| shown(0.3 * f64::from(i))).collect();
        let (time, entries) = measure(&net, &cases);
        (n, time, entries)
    };
    Curve {
        title: "width (40 causes, a positive finding over each run of neighbours; plan kept)",
        points: [2, 4, 6, 8, 10, 12, 14].map(point).to_vec(),
    }
}

fn table(curves: &[Curve]) -> String {
    let mut out = String::from(
        "| what grows | how much | µs, plan made anew unless said | table entries |\n| --- | ---: | ---: | ---: |\n",
    );
    for c in curves {
        for (n, time, entries) in &c.points {
            writeln!(out, "| {} | {n} | {time:.1} | {entries} |", c.title).unwrap();
        }
    }
    out
}

/// Both axes logarithmic.
fn plot(curves: &[Curve]) -> String {
    const COLOURS: [&str; 5] = ["#1b6ca8", "#c8553d", "#3a7d44", "#6a4c93", "#b8860b"];
    let (w, h, left, bottom) = (780.0, 460.0, 90.0, 400.0);
    let x = |n: f64| left + (n.log2() - 1.0) / 8.5 * (w - left - 20.0);
    let y = |t: f64| bottom - t.log10() / 5.0 * (bottom - 20.0);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {w} {h}\" font-family=\"sans-serif\" font-size=\"12\">\n\
         <title>Time of all posteriors against what grows, both axes logarithmic</title>\n<rect width=\"{w}\" height=\"{h}\" fill=\"white\"/>\n"
    );
    for power in 0..=5 {
        let at = y(10f64.powi(power));
        writeln!(out, "<line x1=\"{left}\" x2=\"{}\" y1=\"{at:.1}\" y2=\"{at:.1}\" stroke=\"#ddd\"/><text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\">{} µs</text>", w - 20.0, left - 6.0, at + 4.0, 10i64.pow(power as u32)).unwrap();
    }
    for n in [2, 4, 8, 16, 32, 64, 128, 256, 512] {
        writeln!(
            out,
            "<text x=\"{:.1}\" y=\"{}\" text-anchor=\"middle\">{n}</text>",
            x(f64::from(n)),
            bottom + 18.0
        )
        .unwrap();
    }
    for (i, (c, colour)) in curves.iter().zip(COLOURS).enumerate() {
        let points: Vec<String> = c
            .points
            .iter()
            .map(|(n, t, _)| format!("{:.1},{:.1}", x(*n as f64), y(t.max(1.0))))
            .collect();
        writeln!(
            out,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"2\"/>",
            points.join(" ")
        )
        .unwrap();
        writeln!(
            out,
            "<text x=\"{}\" y=\"{}\" fill=\"{colour}\">{}</text>",
            left + 10.0,
            36 + 16 * i,
            c.title
        )
        .unwrap();
    }
    out.push_str("</svg>\n");
    out
}
