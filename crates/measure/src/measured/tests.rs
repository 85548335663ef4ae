use super::*;
use proptest::prelude::*;

fn value(text: &str) -> f64 {
    parse_measured(text).unwrap_or_else(|e| panic!("{text}: {e}")).value
}

/// What a terminal would obey is shown by its number.
#[test]
fn a_control_character_is_told_of_harmlessly() {
    for c in ['\u{1b}', '\0', '\u{202e}', '\u{c}', '\u{b}', '\r', '\u{2028}'] {
        let message = parse_measured(&format!("1{c} in")).expect_err("is refused").to_string();
        assert!(!message.contains(c) && message.contains("\\"), "{message}");
    }
}

/// Each form in the documentation, with its value worked by hand.
#[test]
fn accepted_forms() {
    let rows: &[(&str, f64, Quantity)] = &[
        ("3/16 in", 4.7625, Quantity::Length),
        ("1' 4 1/2\"", 419.1, Quantity::Length),
        ("1' 4-1/2\"", 419.1, Quantity::Length),
        ("5'-6\"", 1676.4, Quantity::Length),
        ("1 ft 4 1/2 in", 419.1, Quantity::Length),
        ("-1 ft 6 in", -457.2, Quantity::Length),
        ("5'", 1524.0, Quantity::Length),
        ("5′ 6″", 1676.4, Quantity::Length),
        ("½ in", 12.7, Quantity::Length),
        ("4½″", 114.3, Quantity::Length),
        ("⅜\"", 9.525, Quantity::Length),
        ("12 mm", 12.0, Quantity::Length),
        ("12mm", 12.0, Quantity::Length),
        ("0.3 m", 300.0, Quantity::Length),
        ("15 CM", 150.0, Quantity::Length),
        ("1/360", 1.0 / 360.0, Quantity::Ratio),
        ("L/360", 1.0 / 360.0, Quantity::Ratio),
        ("1:360", 1.0 / 360.0, Quantity::Ratio),
        ("1 in 120", 1.0 / 120.0, Quantity::Ratio),
        ("0.4 %", 0.004, Quantity::Ratio),
        ("1/2 in in 10 ft", 1.0 / 240.0, Quantity::Ratio),
        ("6 in in 10 ft", 0.05, Quantity::Ratio),
        ("5 mm per m", 0.005, Quantity::Ratio),
        ("1/4 in/ft", 1.0 / 48.0, Quantity::Ratio),
        ("10 mm over 3 m", 1.0 / 300.0, Quantity::Ratio),
        ("2 deg", 2.0_f64.to_radians(), Quantity::Angle),
        ("2°", 2.0_f64.to_radians(), Quantity::Angle),
        ("0.01 rad", 0.01, Quantity::Angle),
        ("1 mm per year", 1.0, Quantity::Rate),
        ("1/16 in a year", 1.5875, Quantity::Rate),
    ];
    for &(text, expected, quantity) in rows {
        let m = parse_measured(text).unwrap_or_else(|e| panic!("{text}: {e}"));
        assert_eq!((m.value, m.quantity, m.sd), (expected, quantity, None), "{text}");
    }
    // Tilt 1/200 is 0 deg 17' 11" (BRE Digest 475, verified).
    assert!((value("0° 17' 11\"").tan() - 0.005).abs() < 0.000_003);
}

#[test]
fn stated_errors_are_95_percent_half_widths() {
    for (text, value, half) in [
        ("2.5 mm ± 0.5 mm", 2.5, 0.5),
        ("2.5 mm +/- 0.5 mm", 2.5, 0.5),
        ("2.5 ± 0.5 mm", 2.5, 0.5),
        ("2.5 mm ± 0.5", 2.5, 0.5),
        ("1/4 in ± 1/16 in", 6.35, 1.5875),
        ("1/4 ± 1/16 in", 6.35, 1.5875),
        ("2.5 mm ± 20 %", 2.5, 0.5),
        ("0.4 % ± 0.1 %", 0.004, 0.001),
        ("0.4 ± 0.1 %", 0.004, 0.001),
        ("1/360 ± 1/1000", 1.0 / 360.0, 0.001),
        ("5 mm ± 0 mm", 5.0, 0.0),
        ("2 ± 1 mm", 2.0, 1.0),
    ] {
        let m = parse_measured(text).unwrap_or_else(|e| panic!("{text}: {e}"));
        assert!((m.value - value).abs() < 1e-12, "{text}");
        assert!((m.half_width().unwrap() - half).abs() < 1e-12, "{text}");
        assert!((m.sd.unwrap() - half / COVER_95).abs() < 1e-12, "{text}");
    }
}

#[test]
fn errors_say_where_and_what() {
    for (text, offset, says) in [
        ("", Some(0), "no measurement"),
        ("3 inchs", Some(2), "did you mean `inch`"),
        ("3 milimetres", Some(2), "did you mean `millimetres`"),
        ("3 parsecs", Some(2), "units are"),
        ("12", Some(2), "no unit"),
        ("3/16", Some(4), "no unit"),
        ("mm", Some(0), "a number is missing"),
        ("5' 6", Some(3), "inch mark"),
        ("1 in 10 ft", Some(2), "ratio or as inches"),
        ("1,200 mm", Some(1), "comma"),
        ("1.2.3 mm", Some(3), "second decimal point"),
        ("1/0 in", Some(0), "over zero"),
        ("L/0", Some(2), "over zero"),
        ("5 mm 3", Some(5), "follows"),
        ("5 mm ±", Some(7), "a number is missing"),
        ("5 mm ± -1 mm", Some(0), "negative"),
        ("5 mm ± 1 deg", Some(0), "different kinds"),
        ("$5", Some(0), "can't stand"),
        ("1 in in 10", Some(10), "the run has no unit"),
        ("NaN mm", Some(0), "a number is missing"),
        ("9999999999999999 mm", Some(0), "too many digits"),
        ("1e300 mm", Some(1), "not a unit"),
        ("20 km", Some(3), "not a unit"),
        ("20000 m", None, "10 km"),
        ("400 deg", None, "360"),
    ] {
        let error = parse_measured(text).expect_err(text);
        assert_eq!(error.offset(), offset, "{text}: {error}");
        assert!(error.to_string().contains(says), "{text}: {error}");
    }
}

#[test]
fn a_kind_can_be_asked_for() {
    assert_eq!(parse_measured_as("35", Quantity::Number).unwrap().value, 35.0);
    let error = parse_measured_as("1/4", Quantity::Length).unwrap_err();
    assert!(error.to_string().contains("`3/16 in`"), "{error}");
}

proptest! {
    #[test]
    fn any_text_is_read_or_refused(text in "\\PC{0,40}") {
        if let Ok(m) = parse_measured(&text) {
            prop_assert!(m.value.is_finite());
        }
    }

    #[test]
    fn texts_of_our_own_tokens_are_read_or_refused(parts in proptest::collection::vec(prop::sample::select(vec!["1", "/", "16", " ", "in", "'", "\"", "±", "-", "½", "mm", "%", "1.5", "deg", ":", "L", "per", "year", "999999999999"]), 0..10)) {
        if let Ok(m) = parse_measured(&parts.concat()) {
            prop_assert!(m.value.is_finite() && m.sd.is_none_or(|s| s >= 0.0));
        }
    }
}
