//! Planes, tilt and deflection ratios of 200 random surveys against numpy and
//! scipy: `tests/reference/measure/survey.py` makes the values.

#![allow(clippy::unwrap_used)]

use serde_json::Value;
use wythe_measure::survey::{Level, Levels, SearchLimits, fit_plane, worst_lines};

fn numbers(v: &Value) -> Vec<f64> {
    v.as_array().unwrap().iter().map(|n| n.as_f64().unwrap()).collect()
}

fn close(found: f64, reference: f64, scale: f64, what: &str) {
    assert!(
        (found - reference).abs() <= 1e-9 * scale,
        "{what}: {found} against {reference}"
    );
}

#[test]
fn two_hundred_surveys_equal_numpy_and_scipy() {
    let text = include_str!("../../../tests/reference/measure/survey.json");
    let reference: Value = serde_json::from_str(text).unwrap();
    let surveys = reference["surveys"].as_array().unwrap();
    assert_eq!(surveys.len(), 200);
    for s in surveys {
        let (x, y, z) = (numbers(&s["x"]), numbers(&s["y"]), numbers(&s["z"]));
        let point = |i: usize| Level {
            name: i.to_string(),
            x: x[i],
            y: y[i],
            z: z[i],
            readings: 1,
        };
        let levels = Levels::new((0..x.len()).map(point).collect(), s["sd"].as_f64().unwrap()).unwrap();
        let plane = fit_plane(&levels).unwrap();
        let expected = numbers(&s["plane"]);
        close(plane.height, expected[0], expected[0].abs().max(1.0), "height");
        close(plane.gx, expected[1], expected[1].abs(), "slope along x");
        close(plane.gy, expected[2], expected[2].abs(), "slope along y");
        let cov = numbers(&s["cov"]);
        for (found, reference) in plane.cov.iter().zip(&cov) {
            close(*found, *reference, cov[0].max(cov[2]), "covariance");
        }
        let tilt = s["tilt"].as_f64().unwrap();
        close(plane.tilt().slope.value.value(), tilt, tilt, "tilt");
        let search = worst_lines(&levels, &plane, &SearchLimits::default());
        assert!(search.exact);
        for (found, name) in [(search.hogging, "hogging"), (search.sagging, "sagging")] {
            let line = &s[name][1];
            assert_eq!(found.is_none(), line.is_null(), "{name}");
            if let Some(found) = found {
                let ratio = s[name][0].as_f64().unwrap();
                close(found.ratio.value.value(), ratio, ratio.abs(), name);
                let places: Vec<f64> = found.line.iter().map(|&i| i as f64).collect();
                assert_eq!(places, numbers(line), "{name}");
            }
        }
    }
}
