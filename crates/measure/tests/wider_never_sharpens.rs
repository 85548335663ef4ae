//! A wider stated error never sharpens what is said.

#![allow(clippy::unwrap_used, missing_docs)]

use proptest::prelude::*;
use wythe_measure::kinematics::{MovedSide, WallCrack, block_movement, taper};
use wythe_measure::lintel::{ANGLES, LooseLintel, expected, lintel_readings};
use wythe_measure::openings::{from_diagonals, slope_between};
use wythe_measure::walls::{PlumbOffset, middle_third, plumb};
use wythe_measure::{Estimate, Length};

fn mm(v: f64) -> Length {
    Length::mm(v).unwrap()
}

proptest! {
    #[test]
    fn cracks(raw in proptest::collection::vec((0.0..8000.0f64, -900.0..900.0f64, 0.0..9.0f64, 0.0..9.0f64, -3.0..3.0f64, any::<bool>()), 2..6), sd in 0.1..3.0f64, k in 1.0..20.0f64) {
        let cracks = |sd_mm: f64| -> Vec<WallCrack> {
            raw.iter()
                .map(|&(s, run, lower, upper, slip, right)| WallCrack {
                    name: "C".to_owned(),
                    lower: (mm(s), mm(0.0)),
                    upper: (mm(s + run), mm(2000.0)),
                    width_lower: Some(mm(lower)),
                    width_upper: Some(mm(upper)),
                    slip: Some(mm(slip)),
                    offset: None,
                    moved: if right { MovedSide::Right } else { MovedSide::Left },
                    sd_mm,
                })
                .collect()
        };
        let (a, b) = (block_movement(&cracks(sd)).unwrap(), block_movement(&cracks(k * sd)).unwrap());
        for (a, b) in [(a.spread_mm, b.spread_mm), (a.rise_mm, b.rise_mm), (a.rotation_rad, b.rotation_rad)] {
            prop_assert!(b.unwrap().sd >= a.unwrap().sd * (1.0 - 1e-9));
        }
        prop_assert!(b.strangers.len() <= a.strangers.len());
        prop_assert!(taper(&cracks(k * sd)).unwrap().sd >= taper(&cracks(sd)).unwrap().sd);
    }

    #[test]
    fn walls(offsets in proptest::collection::vec(0.0..90.0f64, 3..9), sd in 0.1..5.0f64, k in 1.0..20.0f64) {
        let wall: Vec<PlumbOffset> = offsets.iter().enumerate().map(|(i, &o)| PlumbOffset { height: mm(500.0 * i as f64), offset: mm(o) }).collect();
        let (a, b) = (plumb(&wall, sd).unwrap(), plumb(&wall, k * sd).unwrap());
        prop_assert!(b.lean.sd >= a.lean.sd && (a.bowed || !b.bowed));
        let third = |sd| middle_third(Estimate { value: offsets[0], sd }, mm(190.0)).unwrap().chance_outside;
        prop_assert!((third(k * sd) - 0.5).abs() <= (third(sd) - 0.5).abs() + 1e-12);
    }

    #[test]
    fn lintels_and_openings(span in 20.0..118.0f64, at in 0..20usize, sd in 0.1..5.0f64, k in 1.0..20.0f64) {
        let mut l = LooseLintel {
            angle: ANGLES[at],
            count: 1,
            long_leg_flat: false,
            clear_span: Length::inches(span).unwrap(),
            seats: (None, None),
            brick_height: Length::inches(100.0).unwrap(),
            brick_psf: Some(40.0),
            running_bond: Some(true),
            joint_near_jamb: Some(false),
            load_in_triangle: Some(false),
            reinforced_courses: None,
        };
        let known = expected(&l).unwrap();
        let excess = |sd| lintel_readings(&l, &known, Some(Estimate { value: 9.0, sd }), &[]).iter().find(|r| r.name == "lintel-dip-excess").unwrap().sd;
        prop_assert!(excess(k * sd) >= excess(sd));
        // Not knowing the weight is a wider error.
        l.brick_psf = None;
        prop_assert!(expected(&l).unwrap().expected_dip_mm.sd > known.expected_dip_mm.sd);
        let racked = |sd| from_diagonals(mm(900.0), mm(2000.0), mm(2197.0), mm(2190.0), sd).unwrap().slope.sd;
        prop_assert!(racked(k * sd) >= racked(sd));
        let slope = |sd| slope_between(mm(0.0), mm(5.0), mm(900.0), sd).unwrap().sd;
        prop_assert!(slope(k * sd) >= slope(sd));
    }
}
