use super::*;
use crate::DeflectionRatio;
use proptest::prelude::*;

fn mm(v: f64) -> Length {
    Length::mm(v).unwrap()
}

/// A crack whose readings follow from a movement of the block on one side.
fn crack(
    name: &str,
    lower: (f64, f64),
    upper: (f64, f64),
    moved: MovedSide,
    d: impl Fn(f64, f64) -> (f64, f64),
) -> WallCrack {
    let length = libm::hypot(upper.0 - lower.0, upper.1 - lower.1);
    let up = ((upper.0 - lower.0) / length, (upper.1 - lower.1) / length);
    let side = if moved == MovedSide::Right { 1.0 } else { -1.0 };
    let width = |p: (f64, f64)| {
        let (s, z) = d(p.0, p.1);
        mm(side * (s * up.1 - z * up.0))
    };
    let middle = d(0.5 * (lower.0 + upper.0), 0.5 * (lower.1 + upper.1));
    WallCrack {
        name: name.to_owned(),
        lower: (mm(lower.0), mm(lower.1)),
        upper: (mm(upper.0), mm(upper.1)),
        width_lower: Some(width(lower)),
        width_upper: Some(width(upper)),
        slip: Some(mm(middle.0 * up.0 + middle.1 * up.1)),
        offset: None,
        moved,
        sd_mm: 0.5,
    }
}

#[test]
fn a_corner_that_drops_and_turns_comes_back() {
    // About (0, 0): 2 mm out, 6 mm down, 0.002 rad to the right.
    let d = |s: f64, z: f64| (2.0 + 0.002 * z, -6.0 - 0.002 * s);
    let cracks = [
        crack("A", (3000.0, 200.0), (3800.0, 2200.0), MovedSide::Right, d),
        crack("B", (3500.0, 2300.0), (3500.0, 2900.0), MovedSide::Right, d),
    ];
    let m = block_movement(&cracks).unwrap();
    assert!((m.rotation_rad.unwrap().value + 0.002).abs() < 1e-8);
    let (s0, z0) = m.about_mm;
    assert!((m.spread_mm.unwrap().value - d(s0, z0).0).abs() < 1e-4);
    assert!((m.rise_mm.unwrap().value - d(s0, z0).1).abs() < 1e-4);
    assert_eq!(m.spare, 3);
    assert!(m.misfit.unwrap() < 1e-4 && m.strangers.is_empty() && m.notes.is_empty());
    assert_eq!(block_readings(&m, &cracks).len(), 3);
}

#[test]
fn either_side_tells_the_same_bend() {
    // A crack wider at its top: the block to the right turns right, or the
    // block to the left turns left.
    let wide_top = |moved| WallCrack {
        width_lower: Some(mm(1.0)),
        width_upper: Some(mm(5.0)),
        slip: None,
        ..crack("A", (0.0, 0.0), (0.0, 2000.0), moved, |_, _| (0.0, 0.0))
    };
    let right = block_movement(&[wide_top(MovedSide::Right)]).unwrap();
    let left = block_movement(&[wide_top(MovedSide::Left)]).unwrap();
    assert!((right.rotation_rad.unwrap().value + 0.002).abs() < 1e-12);
    assert!((left.rotation_rad.unwrap().value - 0.002).abs() < 1e-12);
    assert!(right.rise_mm.is_none() && right.notes[0].contains("rise or drop"));
    assert!(right.misfit.is_none() && right.notes[1].contains("to spare"));
}

#[test]
fn a_stranger_is_named() {
    let d = |_: f64, z: f64| (1.0 + 0.002 * z, -3.0);
    let mut cracks: Vec<WallCrack> = (0..4)
        .map(|i| {
            crack(
                &format!("C{i}"),
                (500.0 * f64::from(i), 0.0),
                (500.0 * f64::from(i) + 300.0, 2000.0),
                MovedSide::Right,
                d,
            )
        })
        .collect();
    cracks[2].width_upper = Some(mm(25.0));
    let m = block_movement(&cracks).unwrap();
    assert!(m.strangers.contains(&"C2".to_owned()));
    assert!(m.misfit.unwrap() > 2.0 && m.notes.iter().any(|n| n.contains("rigid block")));
    let calm = block_movement(&cracks[..2]).unwrap();
    assert!(m.rotation_rad.unwrap().sd > calm.rotation_rad.unwrap().sd);
}

#[test]
fn survey_agrees_or_not() {
    let wide_top = WallCrack {
        width_lower: Some(mm(1.0)),
        width_upper: Some(mm(6.0)),
        ..crack("A", (0.0, 0.0), (0.0, 2000.0), MovedSide::Right, |_, _| (0.0, 0.0))
    };
    let t = taper(std::slice::from_ref(&wide_top)).unwrap();
    assert!((t.value - 0.0025).abs() < 1e-12);
    let bend = |v: f64, sd: f64| Estimate {
        value: DeflectionRatio::new(v).unwrap(),
        sd,
    };
    assert_eq!(against_survey(&t, &bend(0.003, 0.0005)), Agreement::Agree);
    assert_eq!(against_survey(&t, &bend(-0.003, 0.0005)), Agreement::Disagree);
    assert_eq!(against_survey(&t, &bend(0.003, 0.005)), Agreement::CannotTell);
    let level = WallCrack {
        upper: (mm(2000.0), mm(0.0)),
        ..wide_top
    };
    assert!(taper(&[level]).is_none());
    assert!(taper(&[]).is_none());
}

#[test]
fn bad_input_is_refused() {
    assert!(block_movement(&[]).is_err());
    let good = crack("A", (0.0, 0.0), (0.0, 2000.0), MovedSide::Right, |_, _| (1.0, 0.0));
    for sd_mm in [0.0, -1.0, f64::NAN] {
        assert!(block_movement(&[WallCrack { sd_mm, ..good.clone() }]).is_err());
    }
    let point = WallCrack {
        upper: good.lower,
        ..good.clone()
    };
    assert!(block_movement(&[point]).unwrap_err().to_string().contains("no length"));
    let unread = WallCrack {
        width_lower: None,
        width_upper: None,
        slip: None,
        ..good.clone()
    };
    assert!(block_movement(&[unread]).is_err());
    let stepped = WallCrack {
        offset: Some(mm(3.0)),
        ..good
    };
    assert!((block_movement(&[stepped]).unwrap().outward_mm.unwrap().value - 3.0).abs() < 1e-12);
}

proptest! {
    #[test]
    fn any_movement_comes_back(u in -20.0..20.0f64, v in -20.0..20.0f64, turn in -0.01..0.01f64, place in -5000.0..5000.0f64) {
        let d = |s: f64, z: f64| (u - turn * z, v + turn * (s - place));
        let cracks = [
            crack("A", (place, 0.0), (place + 700.0, 2000.0), MovedSide::Right, d),
            crack("B", (place + 900.0, 100.0), (place + 300.0, 1900.0), MovedSide::Left, d),
        ];
        let m = block_movement(&cracks).unwrap();
        let (s0, z0) = m.about_mm;
        // A crack on the block's left and one on its right: the block moved one way.
        prop_assert!((m.rotation_rad.unwrap().value - turn).abs() < 1e-7);
        prop_assert!((m.spread_mm.unwrap().value - d(s0, z0).0).abs() < 1e-4);
        prop_assert!((m.rise_mm.unwrap().value - d(s0, z0).1).abs() < 1e-4);
    }
}

#[test]
fn the_taper_is_a_finding_only_beyond_its_error() {
    let one = |lower: f64, upper: f64, sd_mm: f64| WallCrack {
        name: "A".to_owned(),
        lower: (mm(0.0), mm(0.0)),
        upper: (mm(0.0), mm(2000.0)),
        width_lower: Some(mm(lower)),
        width_upper: Some(mm(upper)),
        slip: None,
        offset: None,
        moved: MovedSide::Left,
        sd_mm,
    };
    // 2 mm of change read to 0.25 mm: sd of a change 0.354, so 5.7 of them.
    assert_eq!(taper_finding(&[one(1.0, 3.0, 0.25)]), Some("wider_up"));
    assert_eq!(taper_finding(&[one(3.0, 1.0, 0.25)]), Some("wider_down"));
    // The same read to 1.5 mm says nothing; nor is it even.
    assert_eq!(taper_finding(&[one(1.0, 3.0, 1.5)]), None);
    // 0.1 mm of change at most 0.8 mm: under a third of 5 mm, over a third of 1 mm.
    assert_eq!(taper_finding(&[one(5.0, 5.1, 0.25)]), Some("even_width"));
    assert_eq!(taper_finding(&[one(1.0, 1.1, 0.25)]), None);
    let readings = wall_readings(&[one(1.0, 3.0, 0.25), one(2.0, 5.0, 0.25)]);
    assert_eq!((readings[0].name, readings[0].value), ("crack-width", 5.0));
    assert!((readings[1].value - 2.5 / 2000.0).abs() < 1e-12);
}
