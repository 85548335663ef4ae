//! Agreement with general-purpose libraries on seeded networks of four kinds.
//!
//! The values, the script that made them and the versions are under `tests/reference/infer`.

#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

#[path = "support/kinds.rs"]
mod kinds;

use std::fs;
use std::path::Path;

use wythe_infer::{Limits, Var, solve};

const TOLERANCE: f64 = 1e-9;

fn read(name: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/infer");
    fs::read_to_string(folder.join(name)).unwrap()
}

fn kind(name: &str) -> kinds::Kind {
    let all = [kinds::WALL, kinds::HOUSE, kinds::BIG, kinds::SMALL_DENSE, kinds::DENSE];
    *all.iter().find(|k| k.name == name).unwrap()
}

/// pyagrum 3.3.1 and pgmpy 1.1.2 on 68 networks: posteriors of every cause, of three clues not
/// looked at, and ln P(evidence) by the chain rule.
#[test]
fn posteriors_agree_with_general_purpose_libraries() {
    let (mut networks, mut compared, mut evidences) = (0, 0, 0);
    let mut last = String::new();
    for line in read("values.txt").lines().filter(|l| !l.starts_with('#')) {
        let mut words = line.split_whitespace();
        let (engine, name) = (words.next().unwrap(), words.next().unwrap());
        let seed: u64 = words.next().unwrap().parse().unwrap();
        let number: u64 = words.next().unwrap().parse().unwrap();
        let made = kinds::make(kind(name), seed);
        let net = made.network();
        let solved = solve(&net, &made.case(number), &Limits::default()).unwrap();
        if engine == "pyagrum" && last != format!("{name}{seed}") {
            last = format!("{name}{seed}");
            networks += 1;
        }
        let ln = words.next().unwrap();
        if ln != "-" {
            let expected: f64 = ln.parse().unwrap();
            assert!(
                (solved.ln_evidence() - expected).abs() < TOLERANCE,
                "{name} {seed} ln P"
            );
            evidences += 1;
        }
        for i in 0..made.kind.causes {
            let expected: f64 = words.next().unwrap().parse().unwrap();
            let found = solved.posterior(Var::from_index(i))[1];
            assert!((found - expected).abs() < TOLERANCE, "{engine} {name} {seed} cause {i}");
            compared += 1;
        }
        for word in words {
            let (clue, values) = word.split_once(':').unwrap();
            let found = solved.posterior(made.clue(clue.parse().unwrap()));
            for (f, e) in found.iter().zip(values.split(',')) {
                let expected: f64 = e.parse().unwrap();
                assert!((f - expected).abs() < TOLERANCE, "{name} {seed} clue {clue}");
                compared += 1;
            }
        }
    }
    assert!(networks >= 60, "{networks} networks");
    assert!(evidences >= 60, "{evidences} ln P");
    assert!(compared > 4_000, "{compared} values");
}

/// The full dense kind is out of the libraries' reach: against inclusion-exclusion in 60 digits.
#[test]
fn dense_posteriors_agree_with_sixty_digits() {
    let mut compared = 0;
    for line in read("dense.txt").lines().filter(|l| !l.starts_with('#')) {
        let mut words = line.split_whitespace();
        let seed: u64 = words.next().unwrap().parse().unwrap();
        let number: u64 = words.next().unwrap().parse().unwrap();
        let made = kinds::make(kinds::DENSE, seed);
        let solved = solve(&made.network(), &made.case(number), &Limits::default()).unwrap();
        let ln: f64 = words.next().unwrap().parse().unwrap();
        assert!((solved.ln_evidence() - ln).abs() < 1e-12, "{seed} ln P");
        for (i, word) in words.enumerate() {
            let expected: f64 = word.parse().unwrap();
            let found = solved.posterior(Var::from_index(i))[1];
            assert!((found - expected).abs() < 1e-14, "{seed} cause {i}: {found} {expected}");
            compared += 1;
        }
    }
    assert!(compared >= 3 * 40, "{compared}");
}
