//! When in the year a crack is widest.

use super::{Movement, Trend, TrendVerdict, YEAR_DAYS};
use crate::COVER_95;

/// The months, as [`crate::FINDINGS`] names a crack widest in each.
const WIDEST: [&str; 12] = [
    "widest_january",
    "widest_february",
    "widest_march",
    "widest_april",
    "widest_may",
    "widest_june",
    "widest_july",
    "widest_august",
    "widest_september",
    "widest_october",
    "widest_november",
    "widest_december",
];

/// The season, as findings: `no_cycle` where a full year shows no swing, else
/// every month that the fitted peak may lie in at 95 %. None where less than
/// a year was seen, where no one pattern stands out, and where the peak may
/// lie in more than half the months.
///
/// The peak is that of a smooth year; a month is a twelfth of one, which is
/// good to a day or two.
pub fn season(trend: &Trend) -> Vec<&'static str> {
    let TrendVerdict::Is(movement) = trend.verdict else {
        return Vec::new();
    };
    if matches!(movement, Movement::Constant | Movement::Linear) {
        return vec!["no_cycle"];
    }
    let Some(fit) = trend.fits.iter().find(|fit| fit.movement == movement) else {
        return Vec::new();
    };
    let (cos, sin) = fit.swing_mm;
    let size = libm::hypot(cos.value, sin.value);
    if size.is_nan() || size <= 0.0 {
        return Vec::new();
    }
    let year = core::f64::consts::TAU;
    let peak = libm::atan2(sin.value, cos.value) / year;
    // Square to the swing, in years.
    let sd = libm::hypot(cos.sd * sin.value / size, sin.sd * cos.value / size) / size / year;
    let reach = COVER_95 * sd;
    if reach.is_nan() || reach > 0.25 {
        return Vec::new();
    }
    // Day 0 is a first of January.
    let at = trend.middle_day / YEAR_DAYS + peak;
    let (from, to) = (libm::floor(12.0 * (at - reach)), libm::floor(12.0 * (at + reach)));
    let months = (to - from) as usize + 1;
    (0..months.min(12))
        .filter_map(|i| WIDEST.get((from + i as f64).rem_euclid(12.0) as usize).copied())
        .collect()
}
