//! Exact numbers as typed: `3/16`, `4 1/2`, `0.25` are ratios of integers.

/// Most digits accepted on either side of the decimal point.
pub(crate) const MAX_DIGITS: usize = 12;

/// An exact ratio of integers; the denominator is above 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Exact {
    pub num: i128,
    pub den: i128,
}

impl Exact {
    /// Nearest integer to `self * scale`, halves away from zero.
    ///
    /// `|num| < 1e25` and `scale <= 1e9` keep this inside `i128`.
    pub fn times_rounded(self, scale: i128) -> i128 {
        let (n, d) = (self.num * scale, self.den);
        let half = if n < 0 { -d / 2 } else { d / 2 };
        (n + half) / d
    }

    pub fn as_f64(self) -> f64 {
        self.num as f64 / self.den as f64
    }

    pub fn negated(self) -> Self {
        Self { num: -self.num, ..self }
    }
}

/// The vulgar fractions that have a character of their own.
pub(crate) fn vulgar(c: char) -> Option<Exact> {
    let (num, den) = match c {
        '½' => (1, 2),
        '⅓' => (1, 3),
        '⅔' => (2, 3),
        '¼' => (1, 4),
        '¾' => (3, 4),
        '⅕' => (1, 5),
        '⅖' => (2, 5),
        '⅗' => (3, 5),
        '⅘' => (4, 5),
        '⅙' => (1, 6),
        '⅚' => (5, 6),
        '⅛' => (1, 8),
        '⅜' => (3, 8),
        '⅝' => (5, 8),
        '⅞' => (7, 8),
        _ => return None,
    };
    Some(Exact { num, den })
}
