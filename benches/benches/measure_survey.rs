//! A survey of 10,000 points reduced and analysed; the goal is 50 ms.

use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;
use wythe_measure::Length;
use wythe_measure::survey::{FieldBook, Options, SearchLimits, Shot, analyse, fit_plane, reduce, worst_lines};

/// A square grid of readings, 300 mm apart, with a gentle bend and a wobble.
fn book(side: u32) -> FieldBook {
    let mut shots = Vec::new();
    for i in 0..side * side {
        let (x, y) = (i % side, i / side);
        let wobble = f64::from(i * 7919 % 101) / 50.0 - 1.0;
        let bend = f64::from(x * x) / f64::from(side * side) * 40.0;
        shots.push(Shot {
            point: format!("P{i}"),
            x: Length::from_nm(i64::from(x) * 300_000_000),
            y: Length::from_nm(i64::from(y) * 300_000_000),
            reading: Length::mm(bend + wobble).unwrap_or_default(),
            covering: None,
            station: None,
        });
    }
    FieldBook {
        shots,
        sd_mm: 1.0,
        ..FieldBook::default()
    }
}

fn surveys(c: &mut Criterion) {
    let large = book(100);
    c.bench_function("measure/survey/10000 reduce", |b| b.iter(|| reduce(black_box(&large))));
    let Ok(reduced) = reduce(&large) else { return };
    c.bench_function("measure/survey/10000 analyse", |b| {
        b.iter(|| analyse(black_box(&reduced.levels), &Options::default()));
    });
    let Ok(all) = reduce(&book(20)) else { return };
    let Ok(plane) = fit_plane(&all.levels) else { return };
    let near = SearchLimits {
        min_span: Length::from_nm(3_000_000_000),
        ..SearchLimits::default()
    };
    c.bench_function("measure/survey/400 worst line, exact", |b| {
        b.iter(|| worst_lines(black_box(&all.levels), &plane, &near));
    });
}

criterion_group!(benches, surveys);
criterion_main!(benches);
