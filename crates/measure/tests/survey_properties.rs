//! Properties of survey results that hold for any survey.

#![allow(clippy::unwrap_used)]

use proptest::prelude::*;
use wythe_measure::survey::{Analysis, Level, Levels, Options, SearchLimits, analyse, fit_plane, worst_lines};

/// Points of a loose grid with rough heights, mm, and how to move them.
fn heights() -> impl Strategy<Value = Vec<f64>> {
    proptest::collection::vec(-40.0..40.0f64, 30)
}

fn levels(z: &[f64], sd: f64, place: impl Fn(f64, f64) -> (f64, f64), lift: f64) -> Levels {
    let point = |(i, &z): (usize, &f64)| {
        let wobble = 137.0 * ((i * 7 % 5) as f64 - 2.0);
        let (x, y) = place((i % 6) as f64 * 2100.0 + wobble, (i / 6) as f64 * 1900.0 - wobble);
        Level {
            name: format!("P{i}"),
            x,
            y,
            z: z + lift,
            readings: 1 + (i % 3) as u32,
        }
    };
    Levels::new(z.iter().enumerate().map(point).collect(), sd).unwrap()
}

/// Tilt, worst ratios and worst angular distortion.
fn numbers(a: &Analysis) -> Vec<f64> {
    let ratio = |w: &Option<wythe_measure::survey::WorstLine>| w.as_ref().map_or(0.0, |w| w.ratio.value.value());
    let distortion = a.distortion.as_ref().map_or(0.0, |d| d.distortion.value.value());
    vec![
        a.tilt.slope.value.value(),
        a.tilt.slope.sd,
        ratio(&a.lines.hogging),
        ratio(&a.lines.sagging),
        distortion,
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn moving_turning_or_a_new_datum_changes_nothing(z in heights(), dx in -5e4..5e4f64, dy in -5e4..5e4f64, turn in 0.0..6.3f64, lift in -5e3..5e3f64) {
        let still = analyse(&levels(&z, 1.0, |x, y| (x, y), 0.0), &Options::default()).unwrap();
        let (s, c) = turn.sin_cos();
        let moved = levels(&z, 1.0, |x, y| (c * x - s * y + dx, s * x + c * y + dy), lift);
        let moved = analyse(&moved, &Options::default()).unwrap();
        for (a, b) in numbers(&still).iter().zip(numbers(&moved)) {
            prop_assert!((a - b).abs() < 1e-9, "{a} {b}");
        }
    }

    #[test]
    fn a_tilt_added_changes_no_bend(z in heights(), gx in -0.01..0.01f64, gy in -0.01..0.01f64) {
        let flat = levels(&z, 1.0, |x, y| (x, y), 0.0);
        let tilted: Vec<Level> = flat.points().iter().map(|p| Level { z: p.z + gx * p.x + gy * p.y, ..p.clone() }).collect();
        let tilted = Levels::new(tilted, 1.0).unwrap();
        let bends = |l: &Levels| {
            let s = worst_lines(l, &fit_plane(l).unwrap(), &SearchLimits::default());
            [s.hogging, s.sagging].map(|w| w.map_or(0.0, |w| w.ratio.value.value()))
        };
        for (a, b) in bends(&flat).iter().zip(bends(&tilted)) {
            prop_assert!((a - b).abs() < 1e-9);
        }
    }

    #[test]
    fn a_wider_stated_error_never_sharpens(z in heights(), sd in 0.1..5.0f64, k in 1.0..8.0f64) {
        let read = |sd| analyse(&levels(&z, sd, |x, y| (x, y), 0.0), &Options::default()).unwrap();
        let (narrow, wide) = (read(sd), read(sd * k));
        for (a, b) in narrow.readings().iter().zip(wide.readings()) {
            prop_assert!(b.sd >= a.sd - 1e-15, "{}: {} {}", a.name, a.sd, b.sd);
            prop_assert!(b.sd_as_movement >= a.sd_as_movement);
        }
        for (a, b) in [(&narrow.lines.hogging, &wide.lines.hogging), (&narrow.lines.sagging, &wide.lines.sagging)] {
            if let (Some(a), Some(b)) = (a, b) {
                prop_assert!(b.at_least.value().abs() <= a.at_least.value().abs() + 1e-15);
            }
        }
    }

    #[test]
    fn any_numbers_give_a_result_or_a_problem(places in proptest::collection::vec((prop::num::f64::ANY, prop::num::f64::ANY, prop::num::f64::ANY), 0..12), sd in prop::num::f64::ANY) {
        let point = |(i, &(x, y, z)): (usize, &(f64, f64, f64))| Level { name: i.to_string(), x, y, z, readings: 1 };
        if let Ok(l) = Levels::new(places.iter().enumerate().map(point).collect(), sd) {
            let _ = analyse(&l, &Options::default());
        }
    }

    #[test]
    fn close_and_odd_places_do_not_panic(places in proptest::collection::vec((0..6_i32, 0..6_i32, -20..20_i32), 0..20)) {
        let point = |(i, &(x, y, z)): (usize, &(i32, i32, i32))| Level { name: i.to_string(), x: f64::from(x) * 2000.0, y: f64::from(y) * 3.0, z: f64::from(z), readings: 1 };
        if let Ok(l) = Levels::new(places.iter().enumerate().map(point).collect(), 1.0)
            && let Ok(a) = analyse(&l, &Options::default())
        {
            prop_assert!(a.readings().iter().all(|r| r.value.is_finite() && r.sd.is_finite()));
        }
    }
}
