//! Simulated crack readings of known movement: how often the movement is
//! named rightly, and how often intervals hold the truth. The table in the
//! docs of `trend` is printed by `cargo test --test simulation_trend --
//! --nocapture`.

#![allow(clippy::unwrap_used, missing_docs)]

use std::f64::consts::TAU;

use wythe_measure::trend::{DatedReading, Movement, TrendVerdict, YEAR_DAYS, trend};

const EACH: usize = 1000;
const SD_MM: f64 = 0.1;

/// Splitmix64 (Steele, Lea & Flood 2014) and Box-Muller normals.
struct Chance(u64);

impl Chance {
    fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.even()
    }

    fn normal(&mut self) -> f64 {
        (-2.0 * (1.0 - self.even()).ln()).sqrt() * (TAU * self.even()).cos()
    }
}

#[test]
fn movements_are_named_or_left_unclear() {
    let mut chance = Chance(7);
    println!(
        "| movement | months | named rightly | unclear or cannot separate | wrong | 90 % interval of the rate holds |"
    );
    println!("|---|---|---|---|---|---|");
    for months in [8u32, 13, 24] {
        for movement in [Movement::Constant, Movement::Linear, Movement::Seasonal, Movement::Both] {
            let (mut right, mut open, mut wrong, mut held) = (0, 0, 0, 0);
            for _ in 0..EACH {
                let one_way = matches!(movement, Movement::Linear | Movement::Both);
                let seasonal = matches!(movement, Movement::Seasonal | Movement::Both);
                let sign = if chance.even() < 0.5 { -1.0 } else { 1.0 };
                let rate = if one_way { sign * chance.between(0.5, 2.0) } else { 0.0 };
                let swing = if seasonal { chance.between(0.3, 1.5) } else { 0.0 };
                let phase = chance.between(0.0, TAU);
                let readings: Vec<DatedReading> = (0..=months)
                    .map(|m| {
                        // Visits are up to five days off.
                        let day = f64::from(m) * YEAR_DAYS / 12.0 + chance.between(-5.0, 5.0);
                        let t = day / YEAR_DAYS;
                        let value_mm = 3.0 + rate * t + swing * (TAU * t + phase).sin() + SD_MM * chance.normal();
                        DatedReading {
                            day,
                            value_mm,
                            sd_mm: SD_MM,
                        }
                    })
                    .collect();
                let t = trend(&readings).unwrap();
                match t.verdict {
                    TrendVerdict::Is(named) if named == movement => right += 1,
                    TrendVerdict::Is(_) => wrong += 1,
                    TrendVerdict::NoChangeYet if movement == Movement::Constant => right += 1,
                    TrendVerdict::NoChangeYet => wrong += 1,
                    TrendVerdict::CannotSeparate | TrendVerdict::Unclear => open += 1,
                }
                if let Some(both) = t.fits.iter().find(|f| f.movement == Movement::Both) {
                    // Take back the widening: here the stated error is true.
                    let half = 1.644_853_626_951_472_2 * both.rate_mm_per_year.sd / t.widened;
                    held += usize::from((both.rate_mm_per_year.value - rate).abs() <= half);
                }
            }
            let percent = |n: usize| 100.0 * n as f64 / EACH as f64;
            println!(
                "| {movement:?} | {months} | {:.1} % | {:.1} % | {:.1} % | {:.1} % |",
                percent(right),
                percent(open),
                percent(wrong),
                percent(held)
            );
            assert!(
                percent(wrong) <= 5.0,
                "{movement:?} over {months} months is named wrongly too often"
            );
            assert!(
                (88.0..=92.0).contains(&percent(held)),
                "{movement:?} over {months} months: {held}"
            );
            if months < 12 && movement != Movement::Constant {
                assert_eq!(right, 0, "under a year nothing may be told apart");
            }
        }
    }
}
