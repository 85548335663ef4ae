//! Measurements in words: both units, with their 95 % error.

use wythe_measure::limits::{Limit, Provenance};
use wythe_measure::{COVER_95, Length, Slope};
use wythe_pack::guard::refused;

/// A length, in both units.
pub(super) fn mm(value: f64) -> String {
    // Finer than a tape shows.
    if value != 0.0 && value.abs() < 1.5 {
        let decimals = if value.abs() < 0.3 { 3 } else { 2 };
        return format!("{:.decimals$} in ({value:.1} mm)", value / 25.4);
    }
    Length::mm(value).map_or_else(|_| format!("{value:.0} mm"), Length::both)
}

/// A length with its 95 % error: `3/16 in (4.8 mm) ± 1.2 mm`.
pub(super) fn mm_pm(value: f64, sd: f64) -> String {
    let half = COVER_95 * sd;
    if half < 0.05 {
        mm(value)
    } else {
        format!("{} ± {}", mm(value), mm(half))
    }
}

/// A ratio as `1 in n`, or none to speak of.
pub(super) fn ratio(value: f64) -> String {
    match Slope::new(value.abs()) {
        Ok(size) if size.value() >= 1e-4 => size.to_string(),
        Ok(size) if size.value() >= 1e-9 => "less than 1 in 10,000".into(),
        _ => "none".into(),
    }
}

/// The range of a ratio's 95 % interval: `1 in 420 to 1 in 350`.
pub(super) fn ratio_range(value: f64, sd: f64) -> String {
    let (low, high) = ((value.abs() - COVER_95 * sd).max(0.0), value.abs() + COVER_95 * sd);
    format!("{} to {}", ratio(low), ratio(high))
}

/// A chance in words that claim no more than two figures.
pub(super) fn chance(p: f64) -> String {
    match p {
        p if p < 0.01 => "less than 1 %".into(),
        p if p > 0.99 => "more than 99 %".into(),
        p => format!("about {:.0} %", 100.0 * p),
    }
}

/// What a limit says, whose it is and what it is for. The words of a mark that the guard refuses are left out.
pub(super) fn mark<T: Copy + Into<f64>>(limit: &Limit<T>) -> String {
    let means = match refused(limit.means) {
        None => limit.means,
        Some(_) => "one of its severest marks",
    };
    let memory = if limit.provenance == Provenance::FromMemory {
        "; figure from memory"
    } else {
        ""
    };
    format!(
        "{} ({}), {}; for {}{memory}",
        ratio(limit.value.into()),
        means,
        limit.publisher,
        limit.purpose
    )
}

/// The text with its first letter large.
pub(super) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or(String::new(), |first| first.to_uppercase().chain(chars).collect())
}
