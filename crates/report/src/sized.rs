//! Sizes for an engineer: as read, in both systems, with the error in both.

use wythe_case::Seen;
use wythe_measure::{COVER_95, Length, Measured, Quantity};
use wythe_pack::{Clue, Pack};

use crate::phrase::clean;

/// A measurement as it was written, then in both systems with its 95 % error; an error that the observer did not state
/// is the one that the pack takes for such a reading, and is said to be.
pub(crate) fn sized(pack: &Pack, clue: &Clue, seen: &Seen) -> Option<String> {
    let Seen::Measured {
        reading,
        with,
        from_photo,
    } = seen
    else {
        return None;
    };
    let taken = clue.measured_by.as_ref().map(|instrument| instrument.sd);
    let widen = if *from_photo { pack.policy.photo_error } else { 1.0 };
    let stated = reading.sd.is_some();
    let error = reading.sd.or(taken).map(|sd| sd * widen * COVER_95);
    let other = both(reading, error)
        .map(|both| format!(" ({both})"))
        .unwrap_or_default();
    let mut parts = vec![format!("{}{other}", clean(&reading.text))];
    if !stated && error.is_some() {
        parts.push("error not stated, the one taken for such a reading".into());
    }
    parts.extend(with.as_ref().map(|with| format!("by {}", clean(with))));
    if *from_photo {
        parts.push("scaled off a photo, error widened".into());
    }
    Some(parts.join("; "))
}

/// A value with its error in both systems; none for a plain number.
fn both(reading: &Measured, error: Option<f64>) -> Option<String> {
    let plus = |value: f64, error: Option<f64>, decimals: usize, unit: &str| match error {
        Some(error) => format!("{value:.decimals$} ± {error:.decimals$} {unit}"),
        None => format!("{value:.decimals$} {unit}"),
    };
    let in_both = |per_us: f64, us: &str, us_decimals: usize, per_metric: f64, metric: &str, decimals: usize| {
        format!(
            "{}; {}",
            plus(
                reading.value * per_metric,
                error.map(|one| one * per_metric),
                decimals,
                metric
            ),
            plus(reading.value * per_us, error.map(|one| one * per_us), us_decimals, us)
        )
    };
    match reading.quantity {
        Quantity::Length if reading.value.abs() >= 1000.0 => Length::mm(reading.value).ok().map(Length::both),
        Quantity::Length => Some(in_both(1.0 / 25.4, "in", 2, 1.0, "mm", 1)),
        Quantity::Ratio => Some(in_both(12.0, "in per ft", 3, 1000.0, "mm per m", 1)),
        Quantity::Rate => Some(in_both(1.0 / 25.4, "in per year", 2, 1.0, "mm per year", 1)),
        Quantity::Angle => {
            let degrees = 180.0 / core::f64::consts::PI;
            Some(plus(
                reading.value * degrees,
                error.map(|one| one * degrees),
                2,
                "degrees",
            ))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use wythe_measure::parse_measured;

    fn said(text: &str, error: Option<f64>) -> String {
        both(&parse_measured(text).unwrap(), error).unwrap()
    }

    #[test]
    fn both_systems_agree() {
        // 25.4 mm to the inch, by definition (international yard, 1959).
        assert_eq!(said("8 mm", Some(1.0)), "8.0 ± 1.0 mm; 0.31 ± 0.04 in");
        assert_eq!(said("1/4 in", Some(25.4 / 16.0)), "6.3 ± 1.6 mm; 0.25 ± 0.06 in");
        // 1 in 12 is 1 in per ft and 83.3 mm per m.
        assert_eq!(said("1/12", None), "83.3 mm per m; 1.000 in per ft");
    }
}
