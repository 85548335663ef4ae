//! Simulated floors of known shape, read with the stated error: how often the
//! shape is named rightly, and how often 90 % intervals hold the truth. The
//! table in the docs of `survey::shape` is what this prints
//! (`cargo test --release --test survey_simulation -- --nocapture`).

#![allow(clippy::unwrap_used)]

use wythe_measure::survey::{Axis, Corner, Edge, Level, Levels, SearchLimits, Shape, fit_plane, shape, worst_lines};

const ROUNDS: usize = 1000;
const SD: f64 = 1.5;
const WIDE: f64 = 14_000.0;
const DEEP: f64 = 11_000.0;

/// SplitMix64, with normal numbers by Box and Muller.
struct Random(u64);

impl Random {
    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        let (u, v) = (
            self.between(f64::EPSILON, 1.0),
            self.between(0.0, core::f64::consts::TAU),
        );
        (-2.0 * u.ln()).sqrt() * v.cos()
    }

    fn coin(&mut self) -> bool {
        self.bits() & 1 == 1
    }
}

fn hinge(distance: f64, reach: f64, square: bool) -> f64 {
    let h = (1.0 - distance / reach).max(0.0);
    if square { h * h } else { h }
}

/// A form of unit height over the unit square, drawn anew each time: hinges,
/// legs and curvature vary without steps, unlike the forms that are fitted.
fn form(name: Shape, random: &mut Random) -> Box<dyn Fn(f64, f64) -> f64> {
    let square = random.coin();
    let wider = if square { 1.5 } else { 1.0 };
    let reach = wider * random.between(0.2, 0.4);
    let legs = wider * random.between(0.35, 0.65);
    let twist = random.coin();
    let u2 = |x: f64| (2.0 * x - 1.0) * (2.0 * x - 1.0);
    match name {
        Shape::EdgeDown(Edge::XMin) => Box::new(move |x, _| -hinge(x, reach, square)),
        Shape::EdgeDown(_) => Box::new(move |_, y| -hinge(1.0 - y, reach, square)),
        Shape::EdgeUp(_) => Box::new(move |x, _| hinge(1.0 - x, reach, square)),
        Shape::CornerDown(_) => Box::new(move |x, y| -hinge(x + y, legs, square)),
        Shape::CornerUp(_) => Box::new(move |x, y| hinge(2.0 - x - y, legs, square)),
        Shape::Dome if twist => Box::new(move |x, y| -0.5 * (u2(x) + u2(y))),
        Shape::Dome => Box::new(move |x, y| (1.0 - u2(x)) * (1.0 - u2(y))),
        Shape::Dish if twist => Box::new(move |x, y| 0.5 * (u2(x) + u2(y))),
        Shape::Dish => Box::new(move |x, y| -(1.0 - u2(x)) * (1.0 - u2(y))),
        Shape::Ridge(_) => Box::new(move |x, _| -u2(x)),
        Shape::Trough(_) => Box::new(move |_, y| u2(y)),
        Shape::Saddle if twist => Box::new(move |x, y| (2.0 * x - 1.0) * (2.0 * y - 1.0)),
        Shape::Saddle => Box::new(move |x, y| 0.5 * (u2(x) - u2(y))),
        _ => Box::new(|_, _| 0.0),
    }
}

#[derive(Default)]
struct Tally {
    right: usize,
    none: usize,
    unclear: usize,
    wrong: usize,
    slope: usize,
    fixed: usize,
    worst: usize,
    allowed: usize,
    at_least: usize,
    /// Sum of the allowed error over the line's own.
    width: f64,
    lines: usize,
}

impl Tally {
    /// Whether the worst line's intervals hold the truth of that line.
    fn worst_line(&mut self, levels: &Levels, exact: &Levels) {
        let (plane, true_plane) = (fit_plane(levels).unwrap(), fit_plane(exact).unwrap());
        let true_r = true_plane.residuals(exact);
        let inside = |value: f64, sd: f64, truth: f64| usize::from((value - truth).abs() <= 1.644_853_627 * sd);
        if let Some(w) = worst_lines(levels, &plane, &SearchLimits::default()).worst() {
            let [a, m, b] = w.line;
            let p = |i: usize| (exact.points()[i].x, exact.points()[i].y);
            let ((ax, ay), (bx, by), (mx, my)) = (p(a), p(b), p(m));
            let along = ((mx - ax) * (bx - ax) + (my - ay) * (by - ay)) / (w.chord_mm * w.chord_mm);
            let real = (true_r[m] - (1.0 - along) * true_r[a] - along * true_r[b]) / w.chord_mm;
            self.lines += 1;
            self.worst += inside(w.ratio.value.value(), w.ratio.sd, real);
            let sign = w.ratio.value.value().signum();
            let (low, high) = w.interval_90();
            self.allowed += usize::from(low <= real * sign && real * sign <= high);
            self.width += (high - low) / (2.0 * 1.644_853_627 * w.ratio.sd);
            self.at_least += usize::from(w.at_least.value() * sign <= (real * sign).max(0.0));
        }
    }
}

fn run(name: Shape, random: &mut Random) -> Tally {
    let mut t = Tally::default();
    for _ in 0..ROUNDS {
        let bend = form(name, random);
        let height = random.between(5.0, 60.0);
        let tilted = !matches!(name, Shape::NoPattern);
        let slope = if tilted { random.between(-0.006, 0.006) } else { 0.0 };
        let (mut truth, mut points) = (Vec::new(), Vec::new());
        for i in 0..8 {
            for j in 0..7 {
                let mut off = || random.between(-0.02, 0.02);
                let (x, y) = (
                    (f64::from(i) / 7.0 + off()).clamp(0.0, 1.0),
                    (f64::from(j) / 6.0 + off()).clamp(0.0, 1.0),
                );
                let z = height * bend(x, y) + slope * WIDE * x + 0.7 * slope * DEEP * y;
                truth.push(z);
                let z = z + SD * random.normal();
                points.push(Level {
                    name: format!("{i}{j}"),
                    x: x * WIDE,
                    y: y * DEEP,
                    z,
                    readings: 1,
                });
            }
        }
        let exact: Vec<Level> = points
            .iter()
            .zip(&truth)
            .map(|(p, &z)| Level { z, ..p.clone() })
            .collect();
        let (levels, exact) = (Levels::new(points, SD).unwrap(), Levels::new(exact, SD).unwrap());
        let (plane, true_plane) = (fit_plane(&levels).unwrap(), fit_plane(&exact).unwrap());
        let inside = |value: f64, sd: f64, truth: f64| usize::from((value - truth).abs() <= 1.644_853_627 * sd);

        let found = shape(&levels, &plane).unwrap().shape;
        let plain = matches!(found, Shape::NoPattern | Shape::PlainTilt);
        match () {
            () if found == name => t.right += 1,
            () if plain => t.none += 1,
            () if found == Shape::Unclear => t.unclear += 1,
            () => t.wrong += 1,
        }
        t.slope += inside(plane.gx, plane.cov[0].sqrt(), true_plane.gx);
        // A line fixed beforehand: the middle of the plan on its long middle.
        let r: Vec<f64> = plane.residuals(&levels);
        let offset = |r: &[f64]| r[4 * 7 + 3] - 0.5 * (r[3] + r[7 * 7 + 3]);
        let sd = levels.variance(&[(31, 1.0), (3, -0.5), (52, -0.5)]).sqrt();
        let true_r = true_plane.residuals(&exact);
        t.fixed += inside(offset(&r), sd, offset(&true_r));
        t.worst_line(&levels, &exact);
    }
    t
}

#[test]
fn shapes_are_named_and_intervals_hold() {
    let names = [
        Shape::NoPattern,
        Shape::PlainTilt,
        Shape::EdgeDown(Edge::XMin),
        Shape::EdgeDown(Edge::YMax),
        Shape::EdgeUp(Edge::XMax),
        Shape::CornerDown(Corner::XMinYMin),
        Shape::CornerUp(Corner::XMaxYMax),
        Shape::Dome,
        Shape::Dish,
        Shape::Ridge(Axis::Y),
        Shape::Trough(Axis::X),
        Shape::Saddle,
    ];
    let mut random = Random(20_240_611);
    let (mut slopes, mut fixed) = (0, 0);
    println!(
        "| shape | right | no pattern | unclear | wrong | slope 90 % | fixed line 90 % | worst line, search left out | worst line 90 % | at least 95 % |"
    );
    for name in names {
        let t = run(name, &mut random);
        let share = |n: usize, of: usize| 100.0 * n as f64 / of as f64;
        println!(
            "| {name:?} | {:.1} | {:.1} | {:.1} | {:.1} | {:.1} | {:.1} | {:.1} | {:.1} | {:.1} |",
            share(t.right, ROUNDS),
            share(t.none, ROUNDS),
            share(t.unclear, ROUNDS),
            share(t.wrong, ROUNDS),
            share(t.slope, ROUNDS),
            share(t.fixed, ROUNDS),
            share(t.worst, t.lines),
            share(t.allowed, t.lines),
            share(t.at_least, t.lines),
        );
        let named = if matches!(name, Shape::NoPattern) {
            t.right
        } else {
            t.right + t.none
        };
        assert!(share(named, ROUNDS) >= 95.0, "{name:?}");
        slopes += t.slope;
        fixed += t.fixed;
        assert!(
            (88.0..=92.0).contains(&share(t.allowed, t.lines)),
            "{name:?}: worst line"
        );
        assert!(share(t.at_least, t.lines) >= 95.0, "{name:?}: at least");
    }
    // These errors don't depend on the shape, so all rounds count together.
    let trials = (names.len() * ROUNDS) as f64;
    for (held, what) in [(slopes, "slope"), (fixed, "fixed line")] {
        let held = 100.0 * held as f64 / trials;
        println!("{what}: 90 % intervals held the truth {held:.1} % of the time");
        assert!((88.0..=92.0).contains(&held), "{what}");
    }
}

/// Layouts: name, places on the unit square, width and depth in mm, error of one reading in mm.
type Layout = (&'static str, Vec<(f64, f64)>, f64, f64, f64);

fn layouts(random: &mut Random) -> Vec<Layout> {
    let grid = |nx: usize, ny: usize| -> Vec<(f64, f64)> {
        let step = |i: usize, n: usize| i as f64 / (n - 1) as f64;
        (0..nx)
            .flat_map(|i| (0..ny).map(move |j| (step(i, nx), step(j, ny))))
            .collect()
    };
    let mut scattered = vec![(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)];
    scattered.extend((0..26).map(|_| (random.between(0.0, 1.0), random.between(0.0, 1.0))));
    // An L: a quarter of the square is missing.
    let ell = grid(8, 8).into_iter().filter(|(x, y)| *x < 0.55 || *y < 0.55).collect();
    vec![
        ("grid of 5 by 5, 10 by 8 m", grid(5, 5), 10_000.0, 8_000.0, 1.5),
        ("grid of 9 by 8, 16 by 12 m, 3 mm", grid(9, 8), 16_000.0, 12_000.0, 3.0),
        ("strip of 12 by 3, 20 by 5 m", grid(12, 3), 20_000.0, 5_000.0, 1.0),
        ("30 points at random, 13 by 11 m", scattered, 13_000.0, 11_000.0, 1.5),
        ("an L of 8 by 8, 15 by 15 m", ell, 15_000.0, 15_000.0, 1.5),
    ]
}

/// The table in the docs of `WorstLine::interval_90`.
#[test]
fn worst_lines_hold_on_other_layouts() {
    let mut random = Random(20_261_125);
    let shapes = [
        Shape::PlainTilt,
        Shape::CornerDown(Corner::XMinYMin),
        Shape::EdgeDown(Edge::XMin),
        Shape::Dome,
    ];
    println!(
        "| layout | {} | all | at least 95 % | half-width over a fixed line's |",
        shapes.map(|s| format!("{s:?}")).join(" | ")
    );
    for (name, places, wide, deep, sd) in layouts(&mut random) {
        let (mut cells, mut all) = (Vec::new(), Tally::default());
        for shape in shapes {
            let mut t = Tally::default();
            for _ in 0..ROUNDS {
                let bend = form(shape, &mut random);
                let height = random.between(5.0, 60.0);
                let level = |(i, &(x, y)): (usize, &(f64, f64)), z: f64| Level {
                    name: i.to_string(),
                    x: x * wide,
                    y: y * deep,
                    z,
                    readings: 1,
                };
                let truth: Vec<f64> = places.iter().map(|&(x, y)| height * bend(x, y) + 20.0 * x).collect();
                let read: Vec<f64> = truth.iter().map(|z| z + sd * random.normal()).collect();
                let levels = |of: &[f64]| {
                    let points = places
                        .iter()
                        .enumerate()
                        .zip(of)
                        .map(|(place, &z)| level(place, z))
                        .collect();
                    Levels::new(points, sd).unwrap()
                };
                t.worst_line(&levels(&read), &levels(&truth));
            }
            let held = 100.0 * t.allowed as f64 / t.lines as f64;
            // A thousand rounds are good to ± 1.9 points (95 %); all shapes together to ± 0.9.
            assert!((87.0..=93.0).contains(&held), "{name}, {shape:?}: {held}");
            all.allowed += t.allowed;
            cells.push(format!("{held:.1}"));
            all.lines += t.lines;
            all.at_least += t.at_least;
            all.width += t.width;
        }
        let least = 100.0 * all.at_least as f64 / all.lines as f64;
        let held = 100.0 * all.allowed as f64 / all.lines as f64;
        assert!((88.0..=92.0).contains(&held), "{name}: {held}");
        assert!(least >= 94.0, "{name}: {least}");
        println!(
            "| {name} | {} | {held:.1} | {least:.1} | {:.1} |",
            cells.join(" | "),
            all.width / all.lines as f64
        );
    }
}
