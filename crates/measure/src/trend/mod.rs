//! Cracks and gaps over time: still, one way, with the seasons, or both.
//!
//! Clay moves every year, down in the dry season and up in the wet, so less
//! than a full year of readings cannot separate seasonal from one-way
//! movement (monitoring practice: at least 12 months). Under a year the
//! answer is "cannot separate", whatever the numbers look like.
//!
//! How often that comes out right: 1000 simulated points of each kind, read
//! monthly (up to five days off) with a standard deviation of 0.1 mm; one-way
//! 0.5 to 2 mm a year, yearly swings 0.3 to 1.5 mm either way (seeded test
//! `simulation_trend`, which prints this table):
//!
//! | movement | months | named rightly | unclear, cannot separate | wrong | 90 % interval of the rate holds |
//! |---|---|---|---|---|---|
//! | constant | 8 | 67.6 % ("no change yet") | 32.4 % | 0.0 % | 88.8 % |
//! | one way | 8 | 0.0 % | 99.9 % | 0.1 % | 89.4 % |
//! | seasonal | 8 | 0.0 % | 100.0 % | 0.0 % | 90.9 % |
//! | both | 8 | 0.0 % | 99.5 % | 0.5 % | 90.6 % |
//! | constant | 13 | 86.5 % | 13.1 % | 0.4 % | 91.0 % |
//! | one way | 13 | 95.8 % | 4.2 % | 0.0 % | 90.8 % |
//! | seasonal | 13 | 91.6 % | 8.0 % | 0.4 % | 90.0 % |
//! | both | 13 | 99.9 % | 0.1 % | 0.0 % | 89.6 % |
//! | constant | 24 | 90.5 % | 9.2 % | 0.3 % | 89.8 % |
//! | one way | 24 | 96.5 % | 3.5 % | 0.0 % | 89.7 % |
//! | seasonal | 24 | 92.8 % | 6.9 % | 0.3 % | 89.0 % |
//! | both | 24 | 100.0 % | 0.0 % | 0.0 % | 90.6 % |

mod models;
mod plan;
mod season;
mod svg;

pub use plan::{DetectableRate, MonitoringPlan, detectable_rate, plan};
pub use season::season;
pub use svg::trend_svg;

use core::f64::consts::TAU;

use models::{model, weigh, widening};

use crate::{Estimate, MeasureError, Quantity, Reading};

/// Days in a year.
pub const YEAR_DAYS: f64 = 365.25;
/// Weight of all models with a term from which the term is there: 19 to 1.
const THERE_FROM: f64 = 0.95;
/// Weight up to which it is not: no more for it than against it.
const ABSENT_TO: f64 = 0.5;
/// Days from which a set of readings counts as a full cycle: eleven readings
/// a month apart and a month's end are a year; 350 allows for visit dates.
const FULL_CYCLE_DAYS: f64 = 350.0;
/// Largest empty stretch of the year, as a share of it, with which the
/// seasons still count as seen.
const LARGEST_HOLE: f64 = 0.4;
/// Most readings accepted at one point.
const MAX_READINGS: usize = 10_000;

/// A reading of one point at one date.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DatedReading {
    /// Day number, any origin: see [`day_number`].
    pub day: f64,
    /// Width or height, mm.
    pub value_mm: f64,
    /// Standard deviation of the reading, mm. Calipers across studs: recorded
    /// to 0.1 mm (BRE Digest 343); a grid gauge 0.5 mm by interpolation.
    pub sd_mm: f64,
}

/// Day number of a date of the common calendar, 0 on 1970-01-01; `None` when
/// there is no such date or the year is outside 1600 to 3000.
///
/// ```
/// use wythe_measure::trend::day_number;
/// assert_eq!(day_number(1970, 1, 1), Some(0));
/// assert_eq!(day_number(2000, 3, 1), Some(11017));
/// assert_eq!(day_number(2023, 2, 29), None);
/// ```
pub fn day_number(year: i32, month: u32, day: u32) -> Option<i64> {
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let length = match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 => 28 + u32::from(leap),
        _ => return None,
    };
    if !(1600..=3000).contains(&year) || day == 0 || day > length {
        return None;
    }
    // Years from March, so that the leap day comes last.
    let y = i64::from(year) - i64::from(month <= 2);
    let m = (i64::from(month) + 9) % 12;
    let days = 365 * y + y.div_euclid(4) - y.div_euclid(100) + y.div_euclid(400) + (153 * m + 2) / 5;
    Some(days + i64::from(day) - 719_469)
}

/// What the movement is like.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Movement {
    /// Still, within the error.
    Constant,
    /// One way.
    Linear,
    /// To and fro with the year.
    Seasonal,
    /// To and fro, and one way too.
    Both,
}

/// One model fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct TrendFit {
    /// Which model.
    pub movement: Movement,
    /// Value at the middle date, mm.
    pub middle_mm: Estimate<f64>,
    /// Rate, mm per year; 0 with no error for a model without it.
    pub rate_mm_per_year: Estimate<f64>,
    /// Cosine and sine parts of the year's swing about the middle date, mm.
    pub swing_mm: (Estimate<f64>, Estimate<f64>),
    /// Half the swing of the year, mm.
    pub amplitude_mm: Estimate<f64>,
    /// Weighted sum of squared residuals.
    pub chi2: f64,
    /// Share of the evidence among the models fitted (Bayesian information
    /// criterion).
    pub weight: f64,
}

/// What may be said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TrendVerdict {
    /// One model stands out.
    Is(Movement),
    /// Readings changed, but span less than a full cycle of seasons.
    CannotSeparate,
    /// No change beyond the error so far, and less than a full cycle seen.
    NoChangeYet,
    /// A full cycle was seen and no one model stands out.
    Unclear,
}

/// What the readings of one point show.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    /// What may be said.
    pub verdict: TrendVerdict,
    /// Models fitted, most weight first.
    pub fits: Vec<TrendFit>,
    /// The middle date, as a day number: zero of time in the fits.
    pub middle_day: f64,
    /// First to last reading, days.
    pub span_days: f64,
    /// Factor by which stated errors were widened, because even the richest
    /// model leaves more scatter; 1 when not.
    pub widened: f64,
    /// What must be said with it, one sentence each.
    pub notes: Vec<String>,
}

impl TrendFit {
    /// The fitted value at a day, mm.
    pub fn at(&self, day: f64, middle_day: f64) -> f64 {
        let t = (day - middle_day) / YEAR_DAYS;
        self.middle_mm.value
            + self.rate_mm_per_year.value * t
            + self.swing_mm.0.value * libm::cos(TAU * t)
            + self.swing_mm.1.value * libm::sin(TAU * t)
    }
}

/// Fit and compare the four models.
///
/// Readings of one day are averaged and the result says so; dates need not
/// be in order.
///
/// # Errors
///
/// Fewer than three dates, numbers that are not finite, errors that are not
/// above 0.
pub fn trend(readings: &[DatedReading]) -> Result<Trend, MeasureError> {
    let mut notes = Vec::new();
    let readings = tidy(readings, &mut notes)?;
    let (first, last) = (readings[0].day, readings[readings.len() - 1].day);
    let middle_day = 0.5 * (first + last);
    let t: Vec<f64> = readings.iter().map(|r| (r.day - middle_day) / YEAR_DAYS).collect();
    let y: Vec<f64> = readings.iter().map(|r| r.value_mm).collect();
    let mut weights: Vec<f64> = readings.iter().map(|r| 1.0 / (r.sd_mm * r.sd_mm)).collect();
    let cycle = full_cycle(&readings);
    let widened = widening(&t, &y, &weights, cycle);
    if widened > 1.0 {
        notes.push(format!(
            "Readings scatter {widened:.1} times their stated error; errors are widened by that."
        ));
        weights.iter_mut().for_each(|w| *w /= widened * widened);
    }
    let mut fits: Vec<TrendFit> = [Movement::Constant, Movement::Linear, Movement::Seasonal, Movement::Both]
        .into_iter()
        .filter_map(|m| model(m, &t, &y, &weights))
        .collect();
    weigh(&mut fits, y.len());
    let verdict = verdict(&fits, cycle);
    match verdict {
        TrendVerdict::CannotSeparate => notes.push(
            "Less than a full year of seasons was seen, so seasonal and one-way movement cannot be separated."
                .to_owned(),
        ),
        TrendVerdict::NoChangeYet => {
            notes.push("No change beyond the error so far; a full year of seasons was not seen.".to_owned())
        }
        _ => {}
    }
    Ok(Trend {
        verdict,
        fits,
        middle_day,
        span_days: last - first,
        widened,
        notes,
    })
}

fn tidy(readings: &[DatedReading], notes: &mut Vec<String>) -> Result<Vec<DatedReading>, MeasureError> {
    if readings.len() > MAX_READINGS {
        return Err(MeasureError::OutOfRange {
            what: "the number of readings",
            range: "up to 10 000",
        });
    }
    for r in readings {
        if !(r.day.is_finite() && r.value_mm.is_finite() && r.day.abs() < 1e7) {
            return Err(MeasureError::NotFinite {
                what: "a date or a reading",
            });
        }
        if r.value_mm.abs() > 1e6 {
            return Err(MeasureError::OutOfRange {
                what: "a reading",
                range: "up to 1 km",
            });
        }
        crate::openings::weighable_sd(r.sd_mm)?;
    }
    let mut sorted = readings.to_vec();
    sorted.sort_by(|a, b| a.day.total_cmp(&b.day));
    let merged: Vec<DatedReading> = sorted
        .chunk_by(|a, b| a.day == b.day)
        .map(|same| {
            let weight: f64 = same.iter().map(|r| 1.0 / (r.sd_mm * r.sd_mm)).sum();
            let value = same.iter().map(|r| r.value_mm / (r.sd_mm * r.sd_mm)).sum::<f64>() / weight;
            DatedReading {
                day: same[0].day,
                value_mm: value,
                sd_mm: libm::sqrt(1.0 / weight),
            }
        })
        .collect();
    if merged.len() < readings.len() {
        notes.push("Readings of one date were averaged.".to_owned());
    }
    if merged.len() < 3 {
        return Err(MeasureError::TooFew {
            what: "dates",
            need: 3,
            found: merged.len(),
        });
    }
    Ok(merged)
}

/// A year seen from end to end, five dates or more, no large hole in it.
fn full_cycle(readings: &[DatedReading]) -> bool {
    let span = readings[readings.len() - 1].day - readings[0].day;
    if span < FULL_CYCLE_DAYS || readings.len() < 5 {
        return false;
    }
    let mut phase: Vec<f64> = readings.iter().map(|r| (r.day / YEAR_DAYS).rem_euclid(1.0)).collect();
    phase.sort_by(f64::total_cmp);
    let around = phase[0] + 1.0 - phase[phase.len() - 1];
    phase.windows(2).map(|w| w[1] - w[0]).fold(around, f64::max) < LARGEST_HOLE
}

fn verdict(fits: &[TrendFit], cycle: bool) -> TrendVerdict {
    use Movement::{Both, Constant, Linear, Seasonal};
    let weight =
        |of: [Movement; 2]| -> f64 { fits.iter().filter(|f| of.contains(&f.movement)).map(|f| f.weight).sum() };
    if !cycle {
        let still = weight([Constant, Constant]);
        return if still >= 0.5 {
            TrendVerdict::NoChangeYet
        } else {
            TrendVerdict::CannotSeparate
        };
    }
    let there = |p: f64| match p {
        p if p >= THERE_FROM => Some(true),
        p if p <= ABSENT_TO => Some(false),
        _ => None,
    };
    let named = match (there(weight([Linear, Both])), there(weight([Seasonal, Both]))) {
        (Some(false), Some(false)) => Constant,
        (Some(true), Some(false)) => Linear,
        (Some(false), Some(true)) => Seasonal,
        (Some(true), Some(true)) => Both,
        _ => return TrendVerdict::Unclear,
    };
    match fits.first() {
        Some(best) if best.movement == named => TrendVerdict::Is(named),
        _ => TrendVerdict::Unclear,
    }
}

const FITTED: &str = "four movements fitted by least squares, averaged by their evidence";

/// The readings of a trend: `trend-rate` (mm per year) and `trend-swing`
/// (half the yearly swing, mm), each averaged over the models by weight with
/// the spread between models in its error; none unless a full cycle was seen.
pub fn trend_readings(trend: &Trend, point: &str) -> Vec<Reading> {
    if matches!(trend.verdict, TrendVerdict::CannotSeparate | TrendVerdict::NoChangeYet) {
        return Vec::new();
    }
    let average = |of: fn(&TrendFit) -> Estimate<f64>| {
        let value: f64 = trend.fits.iter().map(|f| f.weight * of(f).value).sum();
        let variance: f64 = trend
            .fits
            .iter()
            .map(|f| f.weight * (of(f).sd.powi(2) + (of(f).value - value).powi(2)))
            .sum();
        // Not less than the error of the richest model: leaving a term out
        // must not sharpen.
        let richest = trend
            .fits
            .iter()
            .find(|f| f.movement == Movement::Both)
            .map_or(0.0, |f| of(f).sd);
        Estimate {
            value,
            sd: libm::sqrt(variance).max(richest),
        }
    };
    let reading = |name, quantity, of| Reading {
        notes: trend.notes.clone(),
        ..Reading::new((name, FITTED), quantity, of, vec![point.to_owned()])
    };
    vec![
        reading("trend-rate", Quantity::Rate, average(|f| f.rate_mm_per_year)),
        reading("trend-swing", Quantity::Length, average(|f| f.amplitude_mm)),
    ]
}

#[cfg(test)]
mod tests;
