//! Numbers of one survey share points: how far their errors hang together, by simulation, against the widening that
//! `Analysis::local_readings` gives them.

#![allow(clippy::unwrap_used)]

use wythe_measure::survey::{AsBuilt, Level, Levels, Options, analyse};

const ROUNDS: usize = 1500;

/// SplitMix64, with normal numbers by Box and Muller.
struct Random(u64);

impl Random {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        let (u, v) = (self.unit().max(f64::EPSILON), self.unit());
        (-2.0 * u.ln()).sqrt() * (core::f64::consts::TAU * v).cos()
    }
}

/// Falls of the edges and corners and the rise of the middle of a flat floor with independent errors, and by how much
/// their errors as movement are widened. None where chance looks like a pattern.
fn parts(random: &mut Random) -> Option<(Vec<f64>, f64)> {
    let points = (0..42)
        .map(|i| Level {
            name: format!("P{i}"),
            x: 2400.0 * f64::from(i % 7),
            y: 2100.0 * f64::from(i / 7),
            z: random.normal(),
            readings: 1,
        })
        .collect();
    let options = Options {
        as_built: AsBuilt { height_sd_mm: 4.4 },
        ..Options::default()
    };
    let analysis = analyse(&Levels::new(points, 1.0).unwrap(), &options).unwrap();
    let readings = analysis.local_readings();
    let first = &readings.first()?.1;
    let widened = first.sd_as_movement? / options.as_built.difference_sd(first.sd);
    let falls: Vec<f64> = readings
        .iter()
        .filter(|(_, one)| one.name != "edge-rise")
        .map(|(_, one)| one.value)
        .collect();
    (falls.len() == 9).then_some((falls, widened))
}

#[test]
fn the_widening_is_what_the_simulated_correlations_ask_for() {
    let mut random = Random(2026);
    let (mut all, mut widened) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        if let Some((falls, one)) = parts(&mut random) {
            all.push(falls);
            widened.push(one);
        }
    }
    let n = all.len() as f64;
    assert!(n > 0.9 * ROUNDS as f64, "{n}");
    let mean = |i: usize| all.iter().map(|row| row[i]).sum::<f64>() / n;
    let means: Vec<f64> = (0..9).map(mean).collect();
    let cov = |i: usize, j: usize| {
        all.iter()
            .map(|row| (row[i] - means[i]) * (row[j] - means[j]))
            .sum::<f64>()
            / n
    };
    let mut sum = 0.0;
    let mut largest = 0.0_f64;
    for i in 0..9 {
        for j in 0..9 {
            let r2 = cov(i, j).powi(2) / (cov(i, i) * cov(j, j));
            sum += r2;
            if i != j {
                largest = largest.max(r2.sqrt());
            }
        }
    }
    let simulated = (sum / 9.0).sqrt();
    let given = widened.iter().sum::<f64>() / n;
    println!("largest correlation {largest:.2}; widening by simulation {simulated:.3}, as given {given:.3}");
    assert!((simulated / given - 1.0).abs() < 0.06, "{simulated} {given}");
}
