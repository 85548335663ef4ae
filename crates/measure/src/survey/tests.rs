use super::*;
use crate::Length;

const FT: f64 = 304.8;
const IN: f64 = 25.4;

/// Nine points, constructed; answers derived in the notes beside each.
fn nine(lift_in: f64) -> Levels {
    let mut points = Vec::new();
    for x in [0.0, 20.0, 40.0] {
        for y in [0.0, 30.0, 60.0] {
            let lift = if x == 20.0 && y == 30.0 { lift_in } else { 0.0 };
            let z = (-0.03 * x - 0.02 * y + lift) * IN;
            points.push(Level {
                name: format!("{x}-{y}"),
                x: x * FT,
                y: y * FT,
                z,
                readings: 1,
            });
        }
    }
    Levels::new(points, 1.0).unwrap()
}

#[test]
fn nine_point_grid() {
    // Derived, not published: slopes -0.03 and -0.02 in/ft, high-low 2.4 in;
    // 0.6 in over the shortest chord through the middle, 40 ft: 1/800.
    let levels = nine(0.6);
    let a = analyse(&levels, &Options::default()).unwrap();
    assert!((a.plane.gx * 12.0 - -0.03).abs() < 1e-12);
    assert!((a.plane.gy * 12.0 - -0.02).abs() < 1e-12);
    assert!((a.tilt.slope.value.percent() - 0.3005).abs() < 5e-5);
    assert!((a.high_low.value / IN - 2.4).abs() < 1e-9);
    let r = a.plane.residuals(&levels);
    assert!((r[4] / IN - 0.5333).abs() < 5e-5 && (r[0] / IN + 0.0667).abs() < 5e-5);
    let hog = a.lines.hogging.as_ref().unwrap();
    assert_eq!(hog.ratio.value.to_string(), "1 in 800");
    assert_eq!(hog.line, [1, 4, 7]);
}

#[test]
fn rigid_tilt_of_one_per_cent_both_ways() {
    // 40 x 60 ft, 1 % each way: 12 in from high to low (an engineer's article, "Stiffer foundations, higher elevation
    // differences", verified).
    let at = |x: f64, y: f64| Level {
        name: format!("{x},{y}"),
        x: x * FT,
        y: y * FT,
        z: 0.01 * (x + y) * FT,
        readings: 1,
    };
    let levels = Levels::new(vec![at(0., 0.), at(40., 0.), at(0., 60.), at(40., 60.)], 1.0).unwrap();
    assert!((levels.high_low().value / IN - 12.0).abs() < 1e-9);
    let tilt = fit_plane(&levels).unwrap().tilt();
    assert!((tilt.slope.value.value() - 0.01 * 2.0_f64.sqrt()).abs() < 1e-15);
}

fn shot(point: &str, x: f64, y: f64, mm: f64, covering: &str, station: &str) -> Shot {
    let some = |s: &str| (!s.is_empty()).then(|| s.to_owned());
    let length = |v: f64| Length::mm(v).unwrap();
    Shot {
        point: point.into(),
        x: length(x),
        y: length(y),
        reading: length(mm),
        covering: some(covering),
        station: some(station),
    }
}

fn book(shots: Vec<Shot>) -> FieldBook {
    FieldBook {
        shots,
        sd_mm: 1.0,
        ..FieldBook::default()
    }
}

#[test]
fn coverings_and_stations_come_out() {
    // True heights 0, 4, 8, 12; carpet 10 mm; station B reads 100 mm more.
    let shots = vec![
        shot("A", 0., 0., 0.0, "", "a"),
        shot("B", 3000., 0., 4.0, "", "a"),
        shot("B", 3000., 0., 14.0, "carpet", "a"),
        shot("C", 0., 3000., 18.0, "carpet", "a"),
        shot("C", 0., 3000., 118.0, "carpet", "b"),
        shot("D", 3000., 3000., 122.0, "carpet", "b"),
    ];
    let r = reduce(&book(shots)).unwrap();
    let z: Vec<f64> = r.levels.points().iter().map(|p| p.z - r.levels.points()[0].z).collect();
    for (found, truth) in z.iter().zip([0.0, 4.0, 8.0, 12.0]) {
        assert!((found - truth).abs() < 1e-9, "{z:?}");
    }
    // D leans on one pair and one turning point: D - A is d - c' + c - b' + b - a.
    let sd = r.levels.variance(&[(3, 1.0), (0, -1.0)]).sqrt();
    assert!((sd - 6.0_f64.sqrt()).abs() < 1e-9, "{sd}");
}

#[test]
fn a_rod_reads_downward() {
    let shots = vec![
        shot("A", 0., 0., 1500.0, "", ""),
        shot("B", 3000., 0., 1490.0, "", ""),
        shot("C", 0., 3000., 1500.0, "", ""),
    ];
    let r = reduce(&FieldBook {
        sense: Sense::Rod,
        ..book(shots)
    })
    .unwrap();
    assert!((r.levels.points()[1].z - r.levels.points()[0].z - 10.0).abs() < 1e-12);
}

#[test]
fn closing_errors_are_spread_back() {
    let shots = vec![
        shot("A", 0., 0., 0.0, "", ""),
        shot("B", 3000., 0., 3.0, "", ""),
        shot("C", 0., 3000., 6.0, "", ""),
        shot("A", 0., 0., 9.0, "", ""),
    ];
    let r = reduce(&book(shots)).unwrap();
    assert!(r.closures[0].spread && r.closures[0].error_mm == 9.0);
    assert!(r.levels.points().iter().all(|p| p.z.abs() < 1e-12));
    assert!(r.notes.iter().any(|n| n.contains("spread back")));
}

#[test]
fn repeats_show_a_larger_error() {
    let mut shots = Vec::new();
    for (k, off) in [5.0, -5.0, 4.0, -4.0].iter().enumerate() {
        for p in ["A", "B", "C"] {
            let (x, y) = match p {
                "A" => (0., 0.),
                "B" => (3000., 0.),
                _ => (0., 3000.),
            };
            shots.push(shot(p, x, y, off + k as f64 * 0.1, "", ""));
        }
    }
    let r = reduce(&book(shots)).unwrap();
    assert!(r.repeat_sd_mm.unwrap() > 4.0);
    assert_eq!(r.levels.sd_mm(), r.repeat_sd_mm.unwrap());
}

#[test]
fn bad_input_is_a_clear_problem() {
    let two = vec![shot("A", 0., 0., 0.0, "", ""), shot("B", 1., 0., 0.0, "", "")];
    let says = |b: &FieldBook| reduce(b).unwrap_err().to_string();
    assert!(says(&book(two)).contains("3 or more"));
    let mut three = vec![
        shot("A", 0., 0., 0.0, "", ""),
        shot("B", 3000., 0., 0.0, "", ""),
        shot("C", 0., 3000., 0.0, "", ""),
    ];
    assert!(
        says(&FieldBook {
            sd_mm: f64::NAN,
            ..book(three.clone())
        })
        .contains("instrument error")
    );
    assert!(
        says(&FieldBook {
            sd_mm: 0.0,
            ..book(three.clone())
        })
        .contains("instrument error")
    );
    three[2].station = Some("b".into());
    assert!(says(&book(three.clone())).contains("station b"));
    three[2].station = None;
    three[2].covering = Some("carpet".into());
    assert!(says(&book(three.clone())).contains("covering carpet"));
    three[2] = shot("A", 900., 0., 0.0, "", "");
    assert!(says(&book(three.clone())).contains("two places"));
    three[2] = shot("D", 3000., 0., 0.0, "", "");
    assert!(says(&book(three.clone())).contains("one place"));
    three[2] = shot("D", 0., 3000., 50_000.0, "", "");
    assert!(says(&book(three)).contains("units mixed"));
    let line: Vec<Level> = (0..9)
        .map(|i| Level {
            name: i.to_string(),
            x: 500.0 * f64::from(i),
            y: 250.0 * f64::from(i),
            z: 0.0,
            readings: 1,
        })
        .collect();
    let levels = Levels::new(line, 1.0).unwrap();
    assert_eq!(fit_plane(&levels), Err(SurveyError::Collinear));
    assert_eq!(
        analyse(&levels, &Options::default()).unwrap_err(),
        SurveyError::Collinear
    );
    let nan = Level {
        name: "A".into(),
        x: 0.0,
        y: 0.0,
        z: f64::NAN,
        readings: 1,
    };
    assert!(Levels::new(vec![nan], 1.0).is_err());
}

/// A grid of a house floor, 5 ft apart, with a height for each place.
fn house(z: impl Fn(f64, f64) -> f64) -> Levels {
    let mut points = Vec::new();
    for i in 0..9 {
        for j in 0..7 {
            let (x, y) = (f64::from(i) * 5.0 * FT, f64::from(j) * 5.0 * FT);
            points.push(Level {
                name: format!("P{i}{j}"),
                x,
                y,
                z: z(x, y),
                readings: 1,
            });
        }
    }
    Levels::new(points, 1.0).unwrap()
}

#[test]
fn an_outlier_of_a_foot_is_set_aside_and_said() {
    let levels = house(|x, y| 0.002 * x + if x == 20.0 * FT && y == 15.0 * FT { FT } else { 0.0 });
    let a = analyse(&levels, &Options::default()).unwrap();
    assert_eq!(a.suspects.len(), 1);
    assert_eq!(a.suspects[0].0, "P43");
    assert!(a.notes.iter().any(|n| n.contains("left out")));
    assert!((a.tilt.slope.value.value() - 0.002).abs() < 1e-12);
    assert!(a.distortion.as_ref().unwrap().distortion.value.value() < 1e-12);
    // The robust plane withstands it without leaving it out.
    let kept = Options {
        set_aside: false,
        robust: true,
        ..Options::default()
    };
    let robust = analyse(&levels, &kept).unwrap();
    assert!((robust.tilt.slope.value.value() - 0.002).abs() < 1e-4);
}

#[test]
fn one_set_up_without_a_repeat_is_said() {
    let shots = vec![
        shot("A", 0., 0., 0.0, "", "a"),
        shot("B", 3000., 0., 3.0, "", "a"),
        shot("C", 0., 3000., 6.0, "", "a"),
    ];
    let notes = reduce(&book(shots)).unwrap().notes.join("\n");
    assert!(notes.contains("stated error is unchecked") && notes.contains("drift of the instrument can't be seen"));
}

/// A rough floor of `n` by `n` readings, 600 mm apart.
fn rough(n: u32) -> Levels {
    let point = |i: u32| Level {
        name: i.to_string(),
        x: 600.0 * f64::from(i % n),
        y: 600.0 * f64::from(i / n),
        z: 3.0 * libm::sin(f64::from(i * i % 1009)),
        readings: 1,
    };
    Levels::new((0..n * n).map(point).collect(), 1.0).unwrap()
}

#[test]
fn the_worst_line_is_exact_up_to_400_points_and_says_when_it_samples() {
    let levels = rough(20);
    let plane = fit_plane(&levels).unwrap();
    let found = worst_lines(&levels, &plane, &SearchLimits::default());
    assert!(found.exact && found.searched == 400);
    // Every line in turn: chords of 20 ft or more, middles within 1 ft of them.
    let (p, r) = (levels.points(), plane.residuals(&levels));
    let (mut hog, mut sag) = (0.0_f64, 0.0_f64);
    for a in 0..400 {
        for b in a + 1..400 {
            let (dx, dy) = (p[b].x - p[a].x, p[b].y - p[a].y);
            let chord = libm::hypot(dx, dy);
            if chord < 20.0 * FT {
                continue;
            }
            for m in 0..400 {
                let (ex, ey) = (p[m].x - p[a].x, p[m].y - p[a].y);
                let t = (ex * dx + ey * dy) / (chord * chord);
                if m != a && m != b && t > 0.0 && t < 1.0 && (ex * dy - ey * dx).abs() <= FT * chord {
                    let ratio = (r[m] - (1.0 - t) * r[a] - t * r[b]) / chord;
                    (hog, sag) = (hog.max(ratio), sag.min(ratio));
                }
            }
        }
    }
    let ratio = |line: &Option<WorstLine>| line.as_ref().unwrap().ratio.value.value();
    assert!((ratio(&found.hogging) - hog).abs() < 1e-12 && (ratio(&found.sagging) - sag).abs() < 1e-12);
    // One row and column more: a sample, which finds no worse line than there is, and it is said.
    let levels = rough(21);
    let plane = fit_plane(&levels).unwrap();
    let all = SearchLimits {
        exact_up_to: 441,
        ..SearchLimits::default()
    };
    let sampled = worst_lines(&levels, &plane, &SearchLimits::default());
    assert!(!sampled.exact && sampled.searched < 441);
    assert!(ratio(&sampled.hogging) <= ratio(&worst_lines(&levels, &plane, &all).hogging) + 1e-12);
    let said = analyse(&levels, &Options::default()).unwrap().notes.join("\n");
    assert!(said.contains("was looked for among"), "{said}");
}

#[test]
fn shapes_are_named() {
    let (w, d) = (40.0 * FT, 30.0 * FT);
    let name = |z: &dyn Fn(f64, f64) -> f64| shape_of(&house(z));
    assert_eq!(name(&|_, _| 0.0), Shape::NoPattern);
    assert_eq!(name(&|x, _| 0.003 * x), Shape::PlainTilt);
    assert_eq!(
        name(&|x, _| -40.0 * (1.0 - x / (0.3 * w)).max(0.0)),
        Shape::EdgeDown(Edge::XMin)
    );
    assert_eq!(
        name(&|_, y| 40.0 * (1.0 - (d - y) / (0.3 * d)).max(0.0)),
        Shape::EdgeUp(Edge::YMax)
    );
    assert_eq!(
        name(&|x, y| -40.0 * (1.0 - (x / w + y / d) / 0.6).max(0.0)),
        Shape::CornerDown(Corner::XMinYMin)
    );
    assert_eq!(
        name(&|x, y| -30.0 * ((2.0 * x / w - 1.0).powi(2) + (2.0 * y / d - 1.0).powi(2))),
        Shape::Dome
    );
    assert_eq!(
        name(&|x, y| 30.0 * (2.0 * x / w - 1.0) * (2.0 * y / d - 1.0)),
        Shape::Saddle
    );
    assert_eq!(name(&|x, _| -30.0 * (2.0 * x / w - 1.0).powi(2)), Shape::Ridge(Axis::Y));
}

fn shape_of(levels: &Levels) -> Shape {
    shape(levels, &fit_plane(levels).unwrap()).unwrap().shape
}

#[test]
fn bench_mark_drift_is_found_and_taken_out() {
    let before = house(|_, _| 0.0);
    // The mark P00 sinks 15 mm, so all the rest seem to rise; P86 really sinks.
    let after = house(|x, y| {
        let far = x == 40.0 * FT && y == 30.0 * FT;
        if x == 0.0 && y == 0.0 {
            0.0
        } else if far {
            15.0 - 20.0
        } else {
            15.0
        }
    });
    let c = change(&before, &after, &Benchmark::Point("P00".into())).unwrap();
    assert!((c.drift_mm.unwrap().value + 15.0).abs() < 1e-9);
    let moved: Vec<(&str, f64)> = c.moved.iter().map(|m| (m.point.as_str(), m.change_mm.value)).collect();
    assert_eq!(moved.len(), 2, "{moved:?}");
    assert!((moved[1].1 + 20.0).abs() < 1e-9 && moved[1].0 == "P86");
    assert!(change(&before, &after, &Benchmark::Point("none".into())).is_err());
}

#[test]
fn a_picture_is_well_formed_and_safe() {
    let levels = house(|x, y| 0.002 * x - 30.0 * ((x / 12_192.0 - 0.5).powi(2) + (y / 9144.0 - 0.5).powi(2)));
    let a = analyse(&levels, &Options::default()).unwrap();
    let picture = svg(&a, Length::parse("1/8 in").unwrap(), "A <floor> & \"more\"").unwrap();
    assert!(picture.contains("A &lt;floor&gt; &amp; &quot;more&quot;"));
    assert!(picture.matches("<polyline").count() > 5 && picture.contains("10 ft"));
    assert!(!picture.contains("NaN") && !picture.contains("inf"));
    let map = text_map(&levels, &a.plane.residuals(&levels), 40).unwrap();
    assert!(map.contains('0') && map.contains('9'));
}

/// A raw high-low that looks alarming but is plain tilt, and a mild one that
/// bends past 1/360 at one corner.
#[test]
fn high_low_alone_misleads() {
    let rough = |x: f64, y: f64| 1.5 * libm::sin(x * 0.013 + y * 0.007);
    let tilted = house(|x, y| 0.006 * x + rough(x, y));
    let bent = house(|x, y| {
        let from_corner = libm::hypot(x, y);
        rough(x, y) - 54.0 * (1.0 - from_corner / 5000.0).max(0.0)
    });
    let a = analyse(&tilted, &Options::default()).unwrap();
    let b = analyse(&bent, &Options::default()).unwrap();
    assert!(a.high_low.value > 70.0 && b.high_low.value < 60.0);
    assert_eq!(a.shape.as_ref().unwrap().shape, Shape::PlainTilt);
    assert_eq!(b.shape.as_ref().unwrap().shape, Shape::CornerDown(Corner::XMinYMin));
    let worst = |a: &Analysis| a.lines.worst().unwrap().ratio.value.value().abs();
    assert!(worst(&a) < 1.0 / 900.0, "1/{}", 1.0 / worst(&a));
    assert!(worst(&b) > 1.0 / 360.0, "1/{}", 1.0 / worst(&b));
    // Both must say that construction can't be told from movement.
    for a in [&a, &b] {
        assert!(
            a.notes.iter().any(|n| n.contains("can't tell construction")),
            "{:?}",
            a.notes
        );
    }
    for r in a.readings().iter().chain(&b.readings()) {
        assert!(r.sd_as_movement.unwrap() > r.sd);
    }
}
