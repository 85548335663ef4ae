//! Agreement with numerical libraries: rigid-block movements and leans.
//!
//! The values, the script that made them and the versions of the libraries
//! are under `tests/reference/measure`.

#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

use std::fs;
use std::path::Path;

use wythe_measure::Length;
use wythe_measure::kinematics::{BlockMovement, MovedSide, WallCrack, block_movement};
use wythe_measure::walls::{PlumbOffset, plumb};

fn mm(v: f64) -> Length {
    Length::mm(v).unwrap()
}

fn near(ours: f64, theirs: f64, scale: f64, line: &str) {
    assert!((ours - theirs).abs() <= 1e-9 * scale, "{ours} against {theirs}: {line}");
}

fn crack(moved: &str, n: &[f64]) -> WallCrack {
    WallCrack {
        name: "C".to_owned(),
        lower: (mm(n[0]), mm(n[1])),
        upper: (mm(n[2]), mm(n[3])),
        width_lower: Some(mm(n[4])),
        width_upper: Some(mm(n[5])),
        slip: Some(mm(n[6])),
        offset: None,
        moved: if moved == "Left" {
            MovedSide::Left
        } else {
            MovedSide::Right
        },
        sd_mm: n[7],
    }
}

#[test]
fn movements_and_leans_equal_numerical_libraries() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/measure");
    let text = fs::read_to_string(folder.join("cracks.txt")).unwrap();
    let mut cracks: Vec<WallCrack> = Vec::new();
    let mut movement: Option<BlockMovement> = None;
    let mut wall: Vec<PlumbOffset> = Vec::new();
    let (mut blocks, mut leans) = (0, 0);
    for line in text.lines() {
        let mut words = line.split_whitespace();
        let kind = words.next().unwrap();
        let moved = if kind == "C" { words.next().unwrap() } else { "" };
        let n: Vec<f64> = words.map(|w| w.parse().unwrap()).collect();
        match kind {
            "C" => cracks.push(crack(moved, &n)),
            "B" => {
                let m = block_movement(&cracks).unwrap();
                near(m.about_mm.0, n[0], n[0].abs(), line);
                near(m.about_mm.1, n[1], n[1].abs(), line);
                near(m.spread_mm.unwrap().value, n[2], n[2].abs().max(1.0), line);
                near(m.rise_mm.unwrap().value, n[3], n[3].abs().max(1.0), line);
                near(m.rotation_rad.unwrap().value, n[4], n[4].abs().max(1e-3), line);
                movement = Some(m);
                cracks.clear();
            }
            "E" => {
                let m = movement.take().unwrap();
                near(m.misfit.unwrap(), n[0], n[0], line);
                let wider = n[0].max(1.0);
                for (ours, theirs) in [m.spread_mm, m.rise_mm, m.rotation_rad].into_iter().zip(&n[1..]) {
                    near(ours.unwrap().sd, theirs * wider, theirs * wider, line);
                }
                blocks += 1;
            }
            "W" => {
                wall = n
                    .chunks(2)
                    .map(|c| PlumbOffset {
                        height: mm(c[0]),
                        offset: mm(c[1]),
                    })
                    .collect()
            }
            "L" => {
                let p = plumb(&wall, 1.0).unwrap();
                near(p.lean.value.value(), n[0], n[0].abs().max(1e-3), line);
                near(p.lean.sd, n[1], n[1], line);
                leans += 1;
            }
            other => panic!("unknown line {other}"),
        }
    }
    assert_eq!((blocks, leans), (100, 100));
}
