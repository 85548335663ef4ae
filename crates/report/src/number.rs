//! Numbers as a reader meets them: chances in words, rounding, and whole decibans that add up.

use wythe_pack::Bounds;

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

/// A chance beside its word of support: a digit more where two would print a bound of the words that it does not reach, or
/// that it is just over.
pub(crate) fn beside_words(chance: f64, bounds: &Bounds) -> String {
    let short = short_chance(chance);
    let prints = |text: &str, bound: f64| text.parse::<f64>().is_ok_and(|value| (value - bound).abs() < 1e-9);
    let under = [bounds.some, bounds.fair].into_iter().filter(|bound| chance < *bound);
    let over = Some(bounds.strong).filter(|bound| chance > *bound);
    let told = |bound: f64, which: &str| {
        let longer = format!("{chance:.3}");
        let just = format!("just {which} {}", short_chance(bound));
        prints(&short, bound).then(|| if prints(&longer, bound) { just } else { longer })
    };
    let mut under = under.filter_map(|bound| told(bound, "under"));
    let next = under.next().or_else(|| over.and_then(|bound| told(bound, "over")));
    next.unwrap_or(short)
}

/// Two chances, with as many digits as it takes to tell them apart: four decimals at most.
pub(crate) fn two_chances(first: f64, second: f64) -> (String, String) {
    let short = (short_chance(first), short_chance(second));
    if short.0 != short.1 || first == second {
        return short;
    }
    for digits in 3..=4 {
        let [a, b] = [first, second].map(|chance| format!("{chance:.digits$}"));
        let shown = |text: &String| text.parse::<f64>().is_ok_and(|value| value > 0.0 && value < 1.0);
        if a != b && shown(&a) && shown(&b) {
            return (a, b);
        }
    }
    short
}

/// A move from one chance to another: `from 0.31 to 0.44`, or that it does not show.
pub(crate) fn from_to(from: f64, to: f64) -> String {
    let (a, b) = two_chances(from, to);
    if a == b {
        format!("{a} before and after")
    } else {
        format!("from {a} to {b}")
    }
}

/// What counts evidence, where it is used first.
pub(crate) const DECIBANS: &str =
    "10 decibans make the odds ten times as large, 3 about twice; minus divides them by as much";

/// The chance with so many decibans of odds.
pub(crate) fn chance_of(decibans: f64) -> f64 {
    1.0 / (1.0 + libm::pow(10.0, -decibans / 10.0))
}

/// The factor on odds in words: `odds about 5 times as large`, `odds divided by about 5`.
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
    match weight > 0.0 {
        true => format!("odds {about} {number} times as large"),
        false => format!("odds divided by {about} {number}"),
    }
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

#[cfg(test)]
mod tests {
    use wythe_pack::Bounds;

    use super::{beside_words, from_to, two_chances};

    #[test]
    fn a_chance_beside_its_word_never_prints_a_bound_that_it_has_not_reached() {
        let bounds = Bounds {
            spoken_against: 0.05,
            weakly: 0.1,
            share_of_prior: 0.5,
            halved: 0.5,
            not_moved: 1.6,
            some: 0.2,
            fair: 0.5,
            strong: 0.85,
            cannot_tell: 0.3,
        };
        let says = |chance: f64| beside_words(chance, &bounds);
        assert_eq!([says(0.4966), says(0.49999)], ["0.497", "just under 0.50"]);
        assert_eq!([says(0.5), says(0.5003), says(0.196)], ["0.50", "0.50", "0.196"]);
        assert_eq!(
            [says(0.85), says(0.8531), says(0.85001)],
            ["0.85", "0.853", "just over 0.85"]
        );
        assert_eq!([says(0.846), says(0.31)], ["0.85", "0.31"]);
    }

    #[test]
    fn a_move_never_goes_from_a_number_to_the_same_number() {
        assert_eq!(from_to(0.31, 0.44), "from 0.31 to 0.44");
        assert_eq!(from_to(0.0172, 0.0231), "from 0.017 to 0.023");
        assert_eq!(from_to(0.9991, 0.9994), "from 0.9991 to 0.9994");
        assert_eq!(from_to(0.999_96, 0.999_97), "over 0.999 before and after");
        assert_eq!(from_to(0.2, 0.2), "0.20 before and after");
        assert_eq!(two_chances(0.9401, 0.9399), ("0.9401".into(), "0.9399".into()));
    }
}
