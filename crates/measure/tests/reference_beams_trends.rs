//! Agreement with general-purpose solvers: beams and dated readings.
//!
//! The values, the scripts that made them and the versions of the libraries
//! are under `tests/reference/measure`.

#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

use std::fs;
use std::path::Path;

use wythe_measure::lintel::{triangular_load, uniform_load};
use wythe_measure::trend::{DatedReading, Movement, trend};

const TOLERANCE: f64 = 1e-6;

fn read(name: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/measure");
    fs::read_to_string(folder.join(name)).unwrap()
}

fn numbers(text: &str) -> Vec<f64> {
    text.split_whitespace().map(|w| w.parse().unwrap()).collect()
}

fn near(ours: f64, theirs: f64, scale: f64, what: &str) {
    assert!(
        (ours - theirs).abs() <= TOLERANCE * scale.abs(),
        "{what}: {ours} against {theirs}"
    );
}

#[test]
fn beams_equal_two_solvers() {
    let text = read("beams.txt");
    assert_eq!(text.lines().count(), 41);
    for line in text.lines() {
        let [span, stiffness, uniform, total, dip_1, moment_1, dip_2, moment_2] = numbers(line)[..] else {
            panic!("a row has eight numbers: {line}");
        };
        let ours = uniform_load(uniform, span, stiffness).plus(triangular_load(total, span, stiffness));
        for (dip, moment) in [(dip_1, moment_1), (dip_2, moment_2)] {
            near(ours.deflection, dip, dip, line);
            near(ours.moment, moment, moment, line);
        }
    }
}

#[test]
fn trends_equal_a_statistics_library() {
    let text = read("trends.txt");
    let mut current = None;
    let mut checked = 0;
    for line in text.lines() {
        if let Some(rest) = line.strip_prefix("R ") {
            let readings: Vec<DatedReading> = numbers(rest)
                .chunks(3)
                .map(|c| DatedReading {
                    day: c[0],
                    value_mm: c[1],
                    sd_mm: c[2],
                })
                .collect();
            current = Some(trend(&readings).unwrap());
            continue;
        }
        let ours = current.as_ref().unwrap();
        assert_eq!(ours.widened, 1.0);
        let mut words = line.split_whitespace().skip(1);
        let movement = match words.next().unwrap() {
            "Constant" => Movement::Constant,
            "Linear" => Movement::Linear,
            "Seasonal" => Movement::Seasonal,
            "Both" => Movement::Both,
            other => panic!("unknown model {other}"),
        };
        let theirs: Vec<f64> = words.map(|w| w.parse().unwrap()).collect();
        let fit = ours.fits.iter().find(|f| f.movement == movement).unwrap();
        near(fit.chi2, theirs[0], theirs[0].max(1.0), line);
        let mut mine = vec![fit.middle_mm];
        if matches!(movement, Movement::Linear | Movement::Both) {
            mine.push(fit.rate_mm_per_year);
        }
        if matches!(movement, Movement::Seasonal | Movement::Both) {
            mine.extend([fit.swing_mm.0, fit.swing_mm.1]);
        }
        let (values, errors) = theirs[1..].split_at(mine.len());
        assert_eq!(errors.len(), mine.len());
        for (m, (v, e)) in mine.iter().zip(values.iter().zip(errors)) {
            near(m.value, *v, v.abs().max(1.0), line);
            near(m.sd, *e, *e, line);
        }
        checked += 1;
    }
    assert_eq!(checked, 400);
}
