//! Unit names, and the nearest one to a misspelling.

/// A unit that a number may carry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Unit {
    /// A length, in nanometres.
    Length(i128),
    /// An angle, in radians.
    Degree,
    Radian,
    Percent,
    Year,
}

pub(crate) const INCH: i128 = 25_400_000;
pub(crate) const FOOT: i128 = 12 * INCH;

/// Every spelling accepted.
const NAMES: &[(&str, Unit)] = &[
    ("in", Unit::Length(INCH)),
    ("ins", Unit::Length(INCH)),
    ("inch", Unit::Length(INCH)),
    ("inches", Unit::Length(INCH)),
    ("ft", Unit::Length(FOOT)),
    ("foot", Unit::Length(FOOT)),
    ("feet", Unit::Length(FOOT)),
    ("mm", Unit::Length(1_000_000)),
    ("millimetre", Unit::Length(1_000_000)),
    ("millimetres", Unit::Length(1_000_000)),
    ("millimeter", Unit::Length(1_000_000)),
    ("millimeters", Unit::Length(1_000_000)),
    ("cm", Unit::Length(10_000_000)),
    ("centimetre", Unit::Length(10_000_000)),
    ("centimetres", Unit::Length(10_000_000)),
    ("centimeter", Unit::Length(10_000_000)),
    ("centimeters", Unit::Length(10_000_000)),
    ("m", Unit::Length(1_000_000_000)),
    ("metre", Unit::Length(1_000_000_000)),
    ("metres", Unit::Length(1_000_000_000)),
    ("meter", Unit::Length(1_000_000_000)),
    ("meters", Unit::Length(1_000_000_000)),
    ("deg", Unit::Degree),
    ("degree", Unit::Degree),
    ("degrees", Unit::Degree),
    ("rad", Unit::Radian),
    ("radian", Unit::Radian),
    ("radians", Unit::Radian),
    ("percent", Unit::Percent),
    ("year", Unit::Year),
    ("yr", Unit::Year),
];

/// The unit of a lower-case word.
pub(crate) fn by_name(word: &str) -> Option<Unit> {
    NAMES.iter().find(|(n, _)| *n == word).map(|&(_, u)| u)
}

/// The accepted name nearest to a word, when it is near (at most two slips,
/// and fewer slips than letters).
pub(crate) fn nearest(word: &str) -> Option<&'static str> {
    if word.len() > 24 {
        return None;
    }
    NAMES
        .iter()
        .map(|&(n, _)| (strsim::damerau_levenshtein(n, word), n))
        .filter(|&(d, n)| d <= 2 && d < n.len())
        .min_by_key(|&(d, _)| d)
        .map(|(_, n)| n)
}
