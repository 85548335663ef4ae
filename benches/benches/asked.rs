//! What may be asked of the example houses once weighed, in process.
//!
//! `cargo bench -p wythe-benches --bench asked`
#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use wythe::{Action, Case, Pack, Support, Weighed};
use wythe_benches::HOUSES;

/// The conclusions that a page tells of: those that ask for something, or that the clues speak for.
fn told(weighed: &Weighed<'_>) -> Vec<wythe::About> {
    let outcome = weighed.outcome();
    let tells = |one: &&wythe::Conclusion| one.action > Action::Record || one.support >= Support::Some;
    outcome.conclusions.iter().filter(tells).map(|one| one.about).collect()
}

fn asked(c: &mut Criterion) {
    let pack: &Pack = wythe::built_in_pack();
    for (name, text) in HOUSES {
        let case = Case::read(name, text).unwrap_or_else(|problems| panic!("{problems}"));
        let mut group = c.benchmark_group(name);
        let weighed = Weighed::new(pack, &case).unwrap();
        let about = told(&weighed);
        println!(
            "{name}: {} conclusions, {} told",
            weighed.outcome().conclusions.len(),
            about.len()
        );
        group.bench_function("weigh and keep", |b| {
            b.iter(|| Weighed::new(black_box(pack), &case).unwrap())
        });
        group.bench_function("looks", |b| {
            b.iter(|| wythe::looks(&Weighed::new(black_box(pack), &case).unwrap()).unwrap());
        });
        group.bench_function("story", |b| b.iter(|| wythe::story(black_box(&weighed)).unwrap()));
        group.bench_function("rivals of one", |b| {
            b.iter(|| {
                about
                    .first()
                    .map(|one| wythe::rivals(black_box(&weighed), *one).unwrap())
            });
        });
        group.bench_function("margins of one", |b| {
            b.iter(|| {
                about
                    .first()
                    .map(|one| wythe::margins(black_box(&weighed), *one).unwrap())
            });
        });
        group.bench_function("everything", |b| {
            b.iter(|| {
                let weighed = Weighed::new(black_box(pack), &case).unwrap();
                black_box(wythe::everything(&weighed, &about).unwrap())
            });
        });
        group.finish();
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10);
    targets = asked
}
criterion_main!(benches);
