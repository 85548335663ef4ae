//! Numbers as a reader meets them: chances in words, rounding, and whole decibans that add up.

/// A chance this near a quarter is said in quarters.
const QUARTER: f64 = 0.0275;

/// A chance as people say it: `about 6 in 10`, `about 1 in 30`, `about 97 in 100`.
///
/// ```
/// use wythe_report::odds_in_words;
/// assert_eq!(odds_in_words(0.61), "about 6 in 10");
/// assert_eq!(odds_in_words(0.24), "about 1 in 4");
/// assert_eq!(odds_in_words(0.033), "about 1 in 30");
/// assert_eq!(odds_in_words(0.004), "about 1 in 250");
/// assert_eq!(odds_in_words(0.97), "about 97 in 100");
/// ```
pub fn odds_in_words(chance: f64) -> String {
    if chance <= 0.0 {
        return "ruled out by the facts of this house".into();
    }
    // The words say the number that is printed beside them.
    let chance = short_chance(chance).parse().unwrap_or(chance);
    if chance > 0.994 {
        return "more than 99 in 100".into();
    }
    if chance >= 0.925 {
        return format!("about {:.0} in 100", chance * 100.0);
    }
    // Tenths would say 2 of 0.24 and 3 of 0.25.
    for (quarter, words) in [(0.25, "about 1 in 4"), (0.75, "about 3 in 4")] {
        if (chance - quarter).abs() < QUARTER {
            return words.into();
        }
    }
    if chance >= 0.175 {
        return format!("about {:.0} in 10", (chance * 10.0).round());
    }
    const STEPS: [f64; 19] = [
        6.0, 7.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 70.0, 100.0, 150.0, 200.0, 250.0, 300.0, 500.0,
        1000.0,
    ];
    let one_in = 1.0 / chance;
    if one_in > 1400.0 {
        return "less than 1 in 1000".into();
    }
    let nearest = STEPS.into_iter().fold(6.0, |best: f64, step| {
        let far = |to: f64| (libm::log(to) - libm::log(one_in)).abs();
        if far(step) < far(best) { step } else { best }
    });
    format!("about 1 in {nearest}")
}

/// A chance in two decimals; three where two would hide it.
///
/// ```
/// use wythe_report::short_chance;
/// assert_eq!(short_chance(0.614), "0.61");
/// assert_eq!(short_chance(0.0042), "0.004");
/// assert_eq!(short_chance(0.99992), "over 0.999");
/// ```
pub fn short_chance(chance: f64) -> String {
    if chance <= 0.0 {
        "0".into()
    } else if chance < 0.0005 {
        "under 0.001".into()
    } else if chance > 0.9995 {
        "over 0.999".into()
    } else if !(0.01..=0.99).contains(&chance) {
        format!("{chance:.3}")
    } else {
        format!("{chance:.2}")
    }
}

/// The factor on odds in words: `odds about 5 times as large`.
pub(crate) fn times(weight: f64) -> String {
    let factor = libm::pow(10.0, weight.abs() / 10.0);
    let number = if factor < 1.05 {
        return "odds hardly changed".into();
    } else if factor < 2.95 {
        format!("{factor:.1}").trim_end_matches(".0").to_owned()
    } else if factor < 100.0 {
        format!("{factor:.0}")
    } else if factor < 1000.0 {
        // Two digits are as much as a factor of this size can say.
        format!("{:.0}", (factor / 10.0).round() * 10.0)
    } else {
        "1000".into()
    };
    let about = if factor < 1000.0 { "about" } else { "over" };
    let way = if weight > 0.0 { "large" } else { "small" };
    format!("odds {about} {number} times as {way}")
}

/// Rounded to six significant digits, so that the last bits of a sum never show. None when not finite.
pub(crate) fn rounded(value: f64) -> Option<f64> {
    if !value.is_finite() {
        return None;
    }
    if value == 0.0 {
        return Some(0.0);
    }
    format!("{value:.5e}").parse().ok()
}

/// Whole numbers that stand for `parts` and add up to the rounded total (largest remainder; ties to the first).
///
/// ```
/// use wythe_report::whole_parts;
/// assert_eq!(whole_parts(&[0.4, 0.4, 0.4]), [1, 0, 0]);
/// assert_eq!(whole_parts(&[-1.5, 2.25, 0.25]), [-1, 2, 0]);
/// ```
pub fn whole_parts(parts: &[f64]) -> Vec<i64> {
    let total = parts.iter().sum::<f64>().round() as i64;
    let mut whole: Vec<i64> = parts.iter().map(|part| part.floor() as i64).collect();
    let mut order: Vec<usize> = (0..parts.len()).collect();
    let left_over = |at: &usize| parts.get(*at).map_or(0.0, |part| part - part.floor());
    order.sort_by(|a, b| left_over(b).total_cmp(&left_over(a)));
    let short = total.saturating_sub(whole.iter().fold(0, |sum: i64, part| sum.saturating_add(*part)));
    for at in order.into_iter().take(usize::try_from(short).unwrap_or(0)) {
        if let Some(part) = whole.get_mut(at) {
            *part = part.saturating_add(1);
        }
    }
    whole
}
