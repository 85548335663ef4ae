//! Any number may be handed in: the answer is a value or a problem, never a
//! panic and never a number that is not finite where one is promised.

#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

use proptest::prelude::*;
use wythe_measure::kinematics::{MovedSide, WallCrack, block_movement, taper};
use wythe_measure::lintel::{ANGLES, LooseLintel, SteelAngle, expected, lintel_readings, observed_dip};
use wythe_measure::openings::{from_diagonals, from_gaps, slope_between};
use wythe_measure::trend::{DatedReading, detectable_rate, plan, trend, trend_readings, trend_svg};
use wythe_measure::walls::{PlumbOffset, middle_third, plumb, plumb_readings, string_line_bow};
use wythe_measure::{Estimate, Length, limits, site};

fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        any::<f64>(),
        -10.0..10.0f64,
        Just(f64::NAN),
        Just(0.0),
        Just(f64::INFINITY)
    ]
}

fn length() -> impl Strategy<Value = Length> {
    prop_oneof![any::<i64>(), -10_000_000_000i64..10_000_000_000, Just(0)].prop_map(Length::from_nm)
}

fn maybe() -> impl Strategy<Value = Option<Length>> {
    proptest::option::of(length())
}

fn crack() -> impl Strategy<Value = WallCrack> {
    (
        (length(), length()),
        (length(), length()),
        (maybe(), maybe(), maybe(), maybe()),
        any::<bool>(),
        prop_oneof![number(), Just(0.5)],
    )
        .prop_map(
            |(lower, upper, (width_lower, width_upper, slip, offset), right, sd_mm)| WallCrack {
                name: "C".to_owned(),
                lower,
                upper,
                width_lower,
                width_upper,
                slip,
                offset,
                moved: if right { MovedSide::Right } else { MovedSide::Left },
                sd_mm,
            },
        )
}

proptest! {
    #[test]
    fn cracks(cracks in proptest::collection::vec(crack(), 0..6)) {
        if let Ok(m) = block_movement(&cracks) {
            for e in [m.spread_mm, m.rise_mm, m.rotation_rad].into_iter().flatten() {
                prop_assert!(e.value.is_finite() && e.sd >= 0.0);
            }
        }
        let _ = taper(&cracks);
    }

    #[test]
    fn lintels(span in length(), seats in (maybe(), maybe()), height in length(), psf in proptest::option::of(number()), at in 0..20usize, count in 0..4u8, seen in (number(), number())) {
        let l = LooseLintel {
            angle: ANGLES[at],
            count,
            long_leg_flat: at % 2 == 0,
            clear_span: span,
            seats,
            brick_height: height,
            brick_psf: psf,
            running_bond: None,
            joint_near_jamb: None,
            load_in_triangle: None,
            reinforced_courses: Some(false),
        };
        if let Ok(r) = expected(&l) {
            prop_assert!(r.expected_dip_mm.value.is_finite() && r.expected_dip_mm.sd >= 0.0);
            let _ = lintel_readings(&l, &r, Some(Estimate { value: seen.0, sd: seen.1 }), &[]);
        }
        let _ = observed_dip(span, height, span, seen.1);
        if let Some(a) = SteelAngle::square_cornered(seen.0, seen.1, 0.25) {
            prop_assert!(a.ix_in4 > 0.0 && a.sx_in3.is_finite());
        }
    }

    #[test]
    fn trends(raw in proptest::collection::vec((prop_oneof![number(), 0.0..900.0f64], number(), prop_oneof![number(), Just(0.1)]), 0..20), every in number(), years in number()) {
        let readings: Vec<DatedReading> = raw.iter().map(|&(day, value_mm, sd_mm)| DatedReading { day, value_mm, sd_mm }).collect();
        if let Ok(t) = trend(&readings) {
            prop_assert!(t.fits.iter().all(|f| f.chi2.is_finite() && f.weight.is_finite()), "{t:?}");
            let svg = trend_svg(&readings, &t, "T");
            prop_assert!(!svg.contains("NaN") && !svg.contains("inf"));
            let _ = trend_readings(&t, "T");
        }
        let days: Vec<f64> = raw.iter().map(|r| r.0).collect();
        let _ = (detectable_rate(&days, every), plan(every, years, 0.1));
    }

    #[test]
    fn walls_and_openings(o in proptest::collection::vec((length(), length()), 0..8), sd in number(), l in (length(), length(), length(), length())) {
        let offsets: Vec<PlumbOffset> = o.iter().map(|&(height, offset)| PlumbOffset { height, offset }).collect();
        if let Ok(p) = plumb(&offsets, sd) {
            prop_assert!(p.lean.value.value().is_finite());
            let _ = plumb_readings(&p, &[]);
        }
        let _ = string_line_bow(l.0, l.1, l.2, sd, 1.0);
        let _ = middle_third(Estimate { value: sd, sd }, l.0);
        if let Ok(r) = from_diagonals(l.0, l.1, l.2, l.3, sd) {
            prop_assert!(r.slope.value.value().is_finite());
        }
        if let Ok(r) = from_gaps(l.0, l.1, (l.2, l.3), (l.3, l.2), sd) {
            prop_assert!(r.angle.rad().is_finite());
        }
        let _ = (slope_between(l.0, l.1, l.2, sd), site::ground_fall(l.0, l.1, sd), site::distance_over_height(l.0, l.1));
    }

    #[test]
    fn limits_and_soil(v in number(), sd in number(), l in length()) {
        let _ = (limits::burland_class(v, true), limits::as2870_slab_class(v, sd), limits::strain_class(v));
        let _ = (limits::length_change_class(l, v), limits::deep_beam(v, sd, true));
        let masses = limits::crack_class_masses(v, sd);
        prop_assert!((masses.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        let _ = limits::band(l, &limits::slab_crack_limits());
        let _ = (site::expansion_index_class(v), site::expansion_index(v, sd), site::site_class(v));
        let chance = site::within_zone(Estimate { value: v, sd }, site::WaterDemand::High);
        prop_assert!((0.0..=1.0).contains(&chance));
    }
}
