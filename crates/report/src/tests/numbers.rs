//! Whole parts that add up; chances in words.

use proptest::prelude::*;

use crate::number::rounded;
use crate::{odds_in_words, short_chance, whole_parts};

proptest! {
    /// Whole parts add up to the rounded total, and none is off by a whole.
    #[test]
    fn whole_parts_add_up(parts in prop::collection::vec(-80.0..80.0_f64, 0..30)) {
        let whole = whole_parts(&parts);
        prop_assert_eq!(whole.len(), parts.len());
        prop_assert_eq!(whole.iter().sum::<i64>(), parts.iter().sum::<f64>().round() as i64);
        for (whole, part) in whole.iter().zip(&parts) {
            prop_assert!((*whole as f64 - part).abs() < 1.0);
        }
    }

    /// A short chance reads back within half of its last digit, or says over or under what.
    #[test]
    fn short_chances_read_back(chance in 0.0..=1.0_f64) {
        let text = short_chance(chance);
        match text.parse::<f64>() {
            Ok(read) => prop_assert!((read - chance).abs() <= 0.005 + 1e-12 && (read > 0.0 || chance == 0.0) && read < 1.0),
            Err(_) => prop_assert!(text == "under 0.001" && chance < 0.0005 || text == "over 0.999" && chance > 0.9995),
        }
    }

    /// Words name a chance near the number that is printed: within a twentieth, within a hundredth near 1, within a
    /// third when small.
    #[test]
    fn words_are_near(chance in 0.001..0.994_f64) {
        let text = odds_in_words(chance);
        let chance: f64 = short_chance(chance).parse().unwrap();
        let numbers: Vec<f64> = text.split(' ').filter_map(|word| word.parse().ok()).collect();
        let said = numbers[0] / numbers[1];
        let allowed = if chance >= 0.925 { 0.0051 } else { 0.0501 };
        prop_assert!((said - chance).abs() <= allowed && (0.7..1.45).contains(&(said / chance)), "{} for {}", text, chance);
    }

    /// Rounding keeps six digits.
    #[test]
    fn rounding_keeps_six_digits(value in -1e9..1e9_f64) {
        let rounded = rounded(value).unwrap();
        prop_assert!((rounded - value).abs() <= value.abs() * 5.1e-6);
    }
}

#[test]
fn no_number_is_made_of_what_is_none() {
    assert_eq!(rounded(f64::INFINITY), None);
    assert_eq!(rounded(f64::NAN), None);
    assert_eq!(rounded(-0.0).unwrap().to_string(), "0");
}

#[test]
fn words_do_not_promise_certainty() {
    for chance in [0.9999999, 1.0] {
        assert_eq!(odds_in_words(chance), "more than 99 in 100");
        assert_eq!(short_chance(chance), "over 0.999");
    }
    assert_eq!(odds_in_words(1e-9), "less than 1 in 1000");
}

/// One printed number has one wording: 0.2460 and 0.2540 both print as 0.25.
#[test]
fn chances_that_print_alike_are_worded_alike() {
    let mut words = std::collections::BTreeMap::new();
    for step in 1..20_000_u32 {
        let chance = f64::from(step) / 20_000.0;
        let said = odds_in_words(chance);
        let first = words.entry(crate::short_chance(chance)).or_insert_with(|| said.clone());
        assert_eq!(*first, said, "{chance}");
    }
}

/// Ten decibans are ten times the odds, by the meaning of the word (Good, Probability and the Weighing of Evidence,
/// 1950; from memory): three are a factor of 2.0, minus ten a tenth.
#[test]
fn odds_grow_by_as_many_times_as_they_are_then() {
    use crate::number::times;
    assert_eq!(times(10.0), "odds about 10 times as large");
    assert_eq!(times(3.0), "odds about 2 times as large");
    assert_eq!(times(-10.0), "odds divided by about 10");
    assert_eq!(times(31.0), "odds over 1000 times as large");
    assert_eq!(times(0.1), "odds hardly changed");
}
