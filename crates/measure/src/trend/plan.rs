//! A monitoring plan, and how small a movement it would show.

use super::models::columns;
use super::{FULL_CYCLE_DAYS, Movement, YEAR_DAYS};
use crate::MeasureError;
use crate::least_squares::fit;

/// The smallest one-way rate that readings would show.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DetectableRate {
    /// Standard deviation of the rate, mm per year, seasons allowed for.
    pub sd: f64,
    /// Rate shown as beyond noise (95 %) four times in five, mm per year.
    pub at_80_percent: f64,
}

/// What to read, when, and what would prompt a call.
#[derive(Debug, Clone, PartialEq)]
pub struct MonitoringPlan {
    /// Days from the first visit.
    pub visits: Vec<f64>,
    /// How to read.
    pub method: &'static str,
    /// What the plan can show.
    pub power: DetectableRate,
    /// A change between two visits beyond this, mm, is not reading error (99 %).
    pub prompt_change_mm: f64,
    /// What must be said with it, one sentence each.
    pub notes: Vec<&'static str>,
}

/// The rate that readings on these days, each with the same error, would
/// show when seasonal movement is fitted with it.
///
/// # Errors
///
/// Days that don't span a full cycle in at least five visits; an error that
/// is not above 0.
pub fn detectable_rate(days: &[f64], sd_mm: f64) -> Result<DetectableRate, MeasureError> {
    crate::openings::weighable_sd(sd_mm)?;
    let (first, last) = days
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), &d| (a.min(d), b.max(d)));
    let short = || MeasureError::Undetermined {
        what: "the visits don't span a full year in at least five visits, so a rate can't be told from the seasons"
            .to_owned(),
    };
    if days.len() < 5 || !(last - first >= FULL_CYCLE_DAYS && last - first < 1e6) {
        return Err(short());
    }
    let middle = 0.5 * (first + last);
    let t: Vec<f64> = days.iter().map(|d| (d - middle) / YEAR_DAYS).collect();
    let zero = vec![0.0; t.len()];
    let f = fit(
        &columns(Movement::Both, &t),
        &zero,
        &vec![1.0 / (sd_mm * sd_mm); t.len()],
    )
    .ok_or_else(short)?;
    let sd = f.sd(1);
    // 1.96 for the test and 0.84 for four in five (normal tables).
    Ok(DetectableRate {
        sd,
        at_80_percent: (crate::COVER_95 + 0.841_621_233_572_914_3) * sd,
    })
}

/// A plan of visits every `every_days` over `years`.
///
/// # Errors
///
/// Visits closer than a day or further apart than 13 weeks; less than one
/// year or more than ten; an error that is not above 0.
///
/// ```
/// // Every 8 weeks for a year with 0.1 mm calipers.
/// let plan = wythe_measure::trend::plan(56.0, 1.0, 0.1)?;
/// assert_eq!(plan.visits.len(), 8);
/// assert!(plan.power.at_80_percent > 0.3);
/// # Ok::<(), wythe_measure::MeasureError>(())
/// ```
pub fn plan(every_days: f64, years: f64, sd_mm: f64) -> Result<MonitoringPlan, MeasureError> {
    if !(1.0..=91.0).contains(&every_days) {
        return Err(MeasureError::OutOfRange {
            what: "the days between visits",
            range: "1 to 91",
        });
    }
    if !(1.0..=10.0).contains(&years) {
        return Err(MeasureError::OutOfRange {
            what: "the years of monitoring",
            range: "1 to 10",
        });
    }
    let steps = libm::ceil(years * YEAR_DAYS / every_days - 1e-9) as u32;
    let visits: Vec<f64> = (0..=steps).map(|i| f64::from(i) * every_days).collect();
    Ok(MonitoringPlan {
        power: detectable_rate(&visits, sd_mm)?,
        method: "Calipers across fixed studs or screws, to 0.1 mm, at the same places each visit.",
        // 99 % point of a normal, for the difference of two readings.
        prompt_change_mm: 2.575_829_303_548_901 * core::f64::consts::SQRT_2 * sd_mm,
        notes: vec![
            "Firms visit every 4 to 8 weeks for 6 to 12 months; less than 12 months can't separate the seasons from one-way movement.",
            "A crack may stay as it is while the footing moves, and the other way round: read levels too.",
            "No published rate marks movement as serious; steady one-way growth goes to an engineer.",
        ],
        visits,
    })
}
