//! Measurements in both units, with their errors.

use wythe_measure::{COVER_95, Length, Measured, Quantity};

use crate::phrase::clean;

/// A measurement as it was written down, with the other system beside it: `1/16 in ± 1/64 in (1.6 mm ± 0.4 mm)`,
/// `3 mm ± 0.5 mm (about 1/8 in)`.
pub(crate) fn both_units(read: &Measured) -> String {
    // A rise in a run: "3/8 in in 9 ft" reads better as 3/8 in over 9 ft.
    let written = clean(&read.text).replace(" in in ", " in over ");
    if is_share(read) {
        let error = read.sd.filter(|sd| *sd > 0.0);
        return match error {
            Some(sd) if read.text.ends_with('%') => format!("{written} ± {} %", trimmed(100.0 * sd * COVER_95)),
            _ => written,
        };
    }
    if read.quantity == Quantity::Ratio {
        return slope(read, written);
    }
    let error = read.sd.filter(|sd| *sd > 0.0).map(|sd| Measured {
        value: sd * COVER_95,
        sd: None,
        ..read.clone()
    });
    // Of what was computed, the text has no error of its own.
    let stated = written.contains(['±']) || written.contains("+/-");
    let other = if is_metric_length(read, &written) {
        let error = error.as_ref().map(|error| format!(" ± {}", error_inches(error.value)));
        Some(format!(
            "about {}{}",
            tape_inches(read.value),
            error.unwrap_or_default()
        ))
    } else {
        let (us, metric) = units(read);
        match (metric, error.as_ref().map(units)) {
            (Some(metric), Some((_, Some(error)))) => Some(format!("{metric} ± {error}")),
            (Some(metric), _) if us == written || read.quantity == Quantity::Length => Some(metric),
            (Some(metric), _) => Some(format!("{us}; {metric}")),
            (None, _) => None,
        }
    };
    let written = match error.filter(|_| !stated && !is_metric_length(read, &written)) {
        Some(error) if read.quantity == Quantity::Length => format!("{written} ± {}", error_inches(error.value)),
        Some(error) => format!("{written} ± {}", units(&error).0),
        None => written,
    };
    other.map_or_else(|| written.clone(), |other| format!("{written} ({other})"))
}

/// A slope as the trade says it, with its rise over a metre beside it and its error over the run of a ten-foot
/// straightedge: `1 in 344 (2.91 mm per m ± 1.66 mm per m, or ± 0.20 in over 10 ft)`. One that was read in other words,
/// as a dip over a span, keeps them: `3/8 in over 9 ft 4 in (1 in 299; 3.35 mm per m)`.
fn slope(read: &Measured, written: String) -> String {
    let said = rise(read.value);
    let error = read.sd.filter(|sd| *sd > 0.0).map(|sd| sd * COVER_95);
    let error = error.map_or_else(String::new, |error| {
        format!(
            " ± {} mm per m, or ± {:.2} in over 10 ft",
            hundredths(error * 1000.0),
            error * 120.0
        )
    });
    let metric = format!("{} mm per m{error}", hundredths(read.value * 1000.0));
    let plain = written == said || !written.contains(|c: char| c.is_alphabetic() || c == '%' || c == '"');
    if plain {
        format!("{said} ({metric})")
    } else {
        format!("{written} ({said}; {metric})")
    }
}

fn is_metric_length(read: &Measured, written: &str) -> bool {
    read.quantity == Quantity::Length && is_metric(written)
}

/// A pack's sentence with the other system beside each length: `a crack wider than about 2 mm (3/32 in)`.
pub(crate) fn with_both_units(text: &str) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let number = |at: Option<usize>| {
        let word = at
            .and_then(|at| words.get(at))?
            .trim_end_matches([',', '.', ';', ':', ')']);
        let whole = word.chars().all(|c| c.is_ascii_digit() || c == '.' || c == '/');
        (whole && word.starts_with(|c: char| c.is_ascii_digit())).then_some(word)
    };
    let mut out: Vec<String> = Vec::new();
    for (at, word) in words.iter().enumerate() {
        let bare = word.trim_end_matches([',', '.', ';', ':']);
        let before = number(at.checked_sub(1));
        // "1 in 5" is a slope; what has its other unit already has a bracket after it.
        let next = words.get(at.saturating_add(1)).copied().unwrap_or_default();
        let other = before.filter(|_| number(Some(at.saturating_add(1))).is_none() && !next.starts_with('('));
        let whole = number(at.checked_sub(2)).filter(|_| before.is_some_and(|part| part.contains('/')));
        let written = match (whole, other) {
            (Some(whole), Some(part)) => format!("{whole} {part} {bare}"),
            (None, Some(part)) => format!("{part} {bare}"),
            (_, None) => String::new(),
        };
        let length = ["in", "ft", "mm"]
            .contains(&bare)
            .then(|| Length::parse(&written).ok())
            .flatten();
        out.push(match length {
            Some(length) => {
                let said = match length.as_mm() {
                    mm if bare == "mm" => tape_inches(mm),
                    mm if mm < 10.0 => format!("{mm:.1} mm"),
                    mm if mm < 1000.0 => format!("{mm:.0} mm"),
                    mm => format!("{:.1} m", mm / 1000.0),
                };
                format!("{bare} ({said}){}", word.get(bare.len()..).unwrap_or_default())
            }
            None => (*word).to_owned(),
        });
    }
    out.join(" ")
}

/// Whether a length was written in metric.
fn is_metric(written: &str) -> bool {
    let lower = written.to_lowercase();
    !lower.contains("in") && !lower.contains("ft") && !lower.contains(['"', '\'', '″', '′', '”', '’'])
}

/// Millimetres as a tape shows them: to 1/32 in below 1/4 in, to 1/16 in above, no finer.
fn tape_inches(mm: f64) -> String {
    let inches = mm / 25.4;
    let parts = if inches.abs() < 0.25 { 32.0 } else { 16.0 };
    let count = (inches * parts).round();
    if count == 0.0 {
        return "0 in".into();
    }
    Length::inches(count / parts).map_or_else(|_| String::new(), Length::feet_inches)
}

/// An error in millimetres as inches: to 1/64 in where a tape shows nothing.
pub(crate) fn error_inches(mm: f64) -> String {
    let parts = mm / 25.4 * 64.0;
    if parts >= 1.5 {
        tape_inches(mm)
    } else if parts >= 0.5 {
        "1/64 in".into()
    } else {
        "under 1/64 in".into()
    }
}

/// Whether a ratio is so large that it is a share and no slope.
pub(crate) fn is_share(read: &Measured) -> bool {
    read.quantity == Quantity::Ratio && read.value.abs() >= SHARE
}

/// From this on a ratio is said in percent.
const SHARE: f64 = 0.2;

/// A value in the units of the United States, and in metric where those differ.
pub(crate) fn units(read: &Measured) -> (String, Option<String>) {
    match read.quantity {
        Quantity::Ratio if is_share(read) => (format!("{:.0} %", 100.0 * read.value), None),
        Quantity::Length => match Length::mm(read.value) {
            Ok(length) => (length.feet_inches(), Some(length.metric())),
            Err(_) => (read.text.clone(), None),
        },
        Quantity::Ratio => (
            rise(read.value),
            Some(format!("{} mm per m", hundredths(read.value * 1000.0))),
        ),
        Quantity::Angle => (format!("{}°", trimmed(read.value.to_degrees())), None),
        Quantity::Rate => (
            format!("{} in per year", trimmed(read.value / 25.4)),
            Some(format!("{} mm per year", trimmed(read.value))),
        ),
        _ => (trimmed(read.value), None),
    }
}

/// A ratio as the trade says it: `1 in 307`.
pub(crate) fn rise(ratio: f64) -> String {
    if ratio == 0.0 {
        "0".into()
    } else if ratio.abs() < 1e-4 {
        "less than 1 in 10,000".into()
    } else {
        format!("{}1 in {:.0}", if ratio < 0.0 { "-" } else { "" }, 1.0 / ratio.abs())
    }
}

/// To hundredths at most, which is finer than any level reads over a metre.
fn hundredths(value: f64) -> String {
    trimmed((value * 100.0).round() / 100.0)
}

/// Two significant decimals at most, no zeros at the end.
fn trimmed(value: f64) -> String {
    let places = if value.abs() < 1.0 { 3 } else { 2 };
    let text = format!("{value:.places$}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.into() }
}

#[cfg(test)]
mod tests {
    use wythe_measure::{Measured, parse_measured};

    use super::{both_units, with_both_units};

    /// A slope of 1 in 299 over 9 ft 4 in (112 in) is 3/8 in; 1000 / 299 is 3.34. The error of 1 in 1200 is 0.83 mm per
    /// m and 0.10 in over 10 ft.
    #[test]
    fn a_slope_is_said_as_the_trade_says_it() {
        let said = |text: &str| both_units(&parse_measured(text).unwrap());
        assert_eq!(
            said("3/8 in in 9 ft 4 in"),
            "3/8 in over 9 ft 4 in (1 in 299; 3.35 mm per m)"
        );
        let tilt = "1 in 700 (1.43 mm per m ± 0.83 mm per m, or ± 0.10 in over 10 ft)";
        assert_eq!(said("1/700 ± 1/1200"), tilt);
        let computed = Measured {
            text: "1 in 700".into(),
            ..parse_measured("1/700 ± 1/1200").unwrap()
        };
        assert_eq!(both_units(&computed), tilt);
        assert_eq!(said("0.5 %"), "0.5 % (1 in 200; 5 mm per m)");
    }

    /// 25.4 mm to the inch and 0.3048 m to the foot, by definition (international yard, 1959).
    #[test]
    fn a_length_in_a_sentence_has_both_units() {
        for (text, both) in [
            (
                "a seat of at least 4 in measured at both ends",
                "a seat of at least 4 in (102 mm) measured at both ends",
            ),
            (
                "a crack wider than about 2 mm",
                "a crack wider than about 2 mm (3/32 in)",
            ),
            (
                "a garage opening 14 ft or wider",
                "a garage opening 14 ft (4.3 m) or wider",
            ),
            (
                "over 1 1/2 in from high to low",
                "over 1 1/2 in (38 mm) from high to low",
            ),
            ("a lot that falls 1 in 5, or more", "a lot that falls 1 in 5, or more"),
            (
                "falls another 6 mm, or a door rubs",
                "falls another 6 mm (1/4 in), or a door rubs",
            ),
            (
                "more than 1/600 of the span, in the wall",
                "more than 1/600 of the span, in the wall",
            ),
            (
                "over 3 in 4 of the wall; 5 mm (3/16 in) wide",
                "over 3 in 4 of the wall; 5 mm (3/16 in) wide",
            ),
        ] {
            assert_eq!(with_both_units(text), both);
        }
    }
}
