use super::*;
use proptest::prelude::*;

fn readings(days: &[f64], value: impl Fn(f64) -> f64) -> Vec<DatedReading> {
    // A fixed ripple stands for reading error, so tests need no chance.
    let ripple = [0.06, -0.09, 0.02, 0.08, -0.05, -0.04, 0.07, -0.08, 0.03];
    days.iter()
        .enumerate()
        .map(|(i, &day)| DatedReading {
            day,
            value_mm: value(day / YEAR_DAYS) + ripple[i % 9],
            sd_mm: 0.1,
        })
        .collect()
}

fn monthly(months: u32) -> Vec<f64> {
    (0..=months).map(|i| f64::from(i) * YEAR_DAYS / 12.0).collect()
}

#[test]
fn two_years_tell_the_four_apart() {
    let swing = |t: f64| (TAU * t).sin();
    for (want, f) in [
        (Movement::Constant, Box::new(|_: f64| 3.0) as Box<dyn Fn(f64) -> f64>),
        (Movement::Linear, Box::new(|t: f64| 3.0 + t)),
        (Movement::Seasonal, Box::new(move |t: f64| 3.0 + 0.8 * swing(t))),
        (Movement::Both, Box::new(move |t: f64| 3.0 + t + 0.8 * swing(t))),
    ] {
        let r = trend(&readings(&monthly(24), f)).unwrap();
        assert_eq!(r.verdict, TrendVerdict::Is(want), "{r:?}");
        let best = &r.fits[0];
        if want == Movement::Both {
            assert!((best.rate_mm_per_year.value - 1.0).abs() < 3.0 * best.rate_mm_per_year.sd);
            assert!((best.amplitude_mm.value - 0.8).abs() < 3.0 * best.amplitude_mm.sd);
        }
    }
}

#[test]
fn under_a_full_cycle_it_can_not_separate() {
    // However clear the growth looks.
    let r = trend(&readings(&monthly(10), |t| 3.0 + 5.0 * t)).unwrap();
    assert_eq!(r.verdict, TrendVerdict::CannotSeparate);
    assert!(r.notes[0].contains("cannot be separated"));
    assert!(trend_readings(&r, "C1").is_empty());
    let still = trend(&readings(&monthly(10), |_| 3.0)).unwrap();
    assert_eq!(still.verdict, TrendVerdict::NoChangeYet);
    // Two summers are two years but not the seasons.
    let summers: Vec<f64> = [0.0, 10.0, 20.0, 366.0, 376.0, 386.0].to_vec();
    assert_eq!(
        trend(&readings(&summers, |t| 3.0 + 2.0 * t)).unwrap().verdict,
        TrendVerdict::CannotSeparate
    );
}

#[test]
fn bad_input_is_refused_or_said() {
    let good = readings(&monthly(12), |_| 1.0);
    assert!(matches!(trend(&good[..2]), Err(MeasureError::TooFew { found: 2, .. })));
    for (day, value_mm, sd_mm) in [
        (f64::NAN, 1.0, 1.0),
        (0.0, f64::INFINITY, 1.0),
        (0.0, 1.0, 0.0),
        (0.0, 1.0, f64::NAN),
        (1e300, 1.0, 0.1),
    ] {
        let mut bad = good.clone();
        bad.push(DatedReading { day, value_mm, sd_mm });
        assert!(trend(&bad).is_err());
    }
    let mut twice = good.clone();
    twice.extend_from_slice(&good);
    let r = trend(&twice).unwrap();
    assert!(r.notes[0].contains("averaged"));
    let same = [good[0]; 5];
    assert!(matches!(trend(&same), Err(MeasureError::TooFew { found: 1, .. })));
    // Scatter beyond the stated error widens it and says so.
    let rough: Vec<_> = good.iter().map(|r| DatedReading { sd_mm: 0.001, ..*r }).collect();
    let r = trend(&rough).unwrap();
    assert!(r.widened > 10.0 && r.notes[0].contains("scatter"));
}

#[test]
fn dates_count() {
    assert_eq!(day_number(2024, 2, 29).unwrap() + 1, day_number(2024, 3, 1).unwrap());
    assert_eq!(day_number(2023, 12, 31).unwrap() + 1, day_number(2024, 1, 1).unwrap());
    assert_eq!(day_number(1969, 12, 31), Some(-1));
    assert_eq!(day_number(1900, 2, 29), None);
    assert_eq!(day_number(2024, 13, 1), None);
    assert_eq!(day_number(2024, 4, 31), None);
}

#[test]
fn power_grows_with_years_and_falls_with_error() {
    let power = |every, years, sd| plan(every, years, sd).unwrap().power.at_80_percent;
    assert!(power(28.0, 2.0, 0.1) < power(28.0, 1.0, 0.1));
    assert!(power(28.0, 1.0, 0.1) < power(56.0, 1.0, 0.1));
    assert!((power(28.0, 1.0, 0.2) / power(28.0, 1.0, 0.1) - 2.0).abs() < 1e-9);
    assert!(plan(28.0, 0.5, 0.1).is_err() && plan(28.0, 1.0, f64::NAN).is_err() && plan(f64::NAN, 1.0, 0.1).is_err());
    assert!(detectable_rate(&[0.0, 1.0, 2.0, 3.0, 4.0], 0.1).is_err());
    assert!(detectable_rate(&[0.0, 1.0, 2.0, 3.0, f64::INFINITY], 0.1).is_err());
}

#[test]
fn the_plot_is_whole() {
    let data = readings(&monthly(24), |t| 3.0 + t);
    let r = trend(&data).unwrap();
    let svg = trend_svg(&data, &r, "C1 <west>");
    assert!(svg.starts_with("<svg") && svg.ends_with("</svg>\n") && svg.contains("C1 &lt;west&gt;"));
    assert_eq!(svg.matches("<circle").count(), 25);
    assert!(!svg.contains("NaN") && !svg.contains("inf"));
    assert!(trend_svg(&[], &r, "").contains("too little"));
}

proptest! {
    #[test]
    fn a_wider_error_never_sharpens(values in proptest::collection::vec(-3.0..3.0f64, 13..30), k in 1.0..10.0f64) {
        let at = |sd_mm: f64| -> Vec<DatedReading> {
            values.iter().enumerate().map(|(i, &value_mm)| DatedReading { day: 31.0 * i as f64, value_mm, sd_mm }).collect()
        };
        let (sharp, wide) = (trend(&at(0.5)).unwrap(), trend(&at(0.5 * k)).unwrap());
        let richest = |t: &Trend| t.fits.iter().find(|f| f.movement == Movement::Both).cloned().unwrap();
        prop_assert!(richest(&wide).rate_mm_per_year.sd >= richest(&sharp).rate_mm_per_year.sd * (1.0 - 1e-9));
        let constant = |t: &Trend| t.fits.iter().find(|f| f.movement == Movement::Constant).unwrap().weight;
        // Weight for "still" can only grow as the error does.
        prop_assert!(constant(&wide) >= constant(&sharp) - 1e-9);
    }
}

#[test]
fn the_season_is_where_the_peak_may_lie() {
    // Widest on the first of October, 273 days into a common year that begins at day 0.
    let peak = 273.0 / 365.0;
    let dry = trend(&readings(&monthly(24), |t| 3.0 + (TAU * (t - peak)).cos())).unwrap();
    let months = season(&dry);
    assert!(months.contains(&"widest_october") && months.len() <= 2, "{months:?}");
    // A peak at the turn of the year may lie on either side of it.
    let cold = trend(&readings(&monthly(24), |t| 3.0 + (TAU * t).cos())).unwrap();
    assert_eq!(season(&cold), ["widest_december", "widest_january"]);
    let still = trend(&readings(&monthly(24), |_| 3.0)).unwrap();
    assert_eq!(season(&still), ["no_cycle"]);
    let one_way = trend(&readings(&monthly(24), |t| 3.0 + t)).unwrap();
    assert_eq!(season(&one_way), ["no_cycle"]);
    let short = trend(&readings(&monthly(8), |t| 3.0 + (TAU * t).cos())).unwrap();
    assert!(season(&short).is_empty());
    for name in [&months[..], &season(&cold)].concat() {
        assert!(
            crate::FINDINGS
                .iter()
                .any(|(sheet, known, _)| *sheet == "trend" && *known == name)
        );
    }
}
