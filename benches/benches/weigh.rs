//! Weighs the example houses in process, and reads the built-in pack.
//!
//! `cargo bench -p wythe-benches --bench weigh`
#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use wythe::{Case, Pack};
use wythe_benches::HOUSES;

fn weigh(c: &mut Criterion) {
    let pack: &Pack = wythe::built_in_pack();
    let mut group = c.benchmark_group("weigh");
    for (name, text) in HOUSES {
        let case = Case::read(name, text).unwrap_or_else(|problems| panic!("{problems}"));
        group.bench_function(name, |b| {
            b.iter(|| wythe::weigh(black_box(pack), black_box(&case)).unwrap())
        });
    }
    group.finish();
    c.bench_function("read a case", |b| {
        b.iter(|| Case::read("case", black_box(HOUSES[2].1)).unwrap())
    });
    c.bench_function("text", |b| {
        let case = Case::read("case", HOUSES[2].1).unwrap();
        let outcome = wythe::weigh(pack, &case).unwrap();
        b.iter(|| wythe::report::text(pack, &case, black_box(&outcome)).unwrap())
    });
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20);
    targets = weigh
}
criterion_main!(benches);
