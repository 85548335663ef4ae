//! Numbers with a binary exponent of their own, so that products cannot underflow.

/// `mantissa · 2^exponent`, not negative.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Scaled {
    pub mantissa: f64,
    pub exponent: i64,
}

impl Scaled {
    pub const ONE: Self = Self {
        mantissa: 1.0,
        exponent: 0,
    };

    pub fn times(mut self, x: f64) -> Self {
        self.mantissa *= x;
        let e = exponent_of(self.mantissa);
        self.mantissa = shifted(self.mantissa, -e);
        self.exponent += i64::from(e);
        self
    }

    pub fn shift(mut self, by: i64) -> Self {
        self.exponent += by;
        self
    }

    /// Natural logarithm; minus infinity for 0.
    pub fn ln(self) -> f64 {
        if self.mantissa == 0.0 {
            return f64::NEG_INFINITY;
        }
        libm::log(self.mantissa) + self.exponent as f64 * std::f64::consts::LN_2
    }

    /// `self / other` as a plain number.
    pub fn over(self, other: Self) -> f64 {
        let by = (self.exponent - other.exponent).clamp(-2200, 2200) as i32;
        let q = self.mantissa / other.mantissa;
        shifted(shifted(q, by / 2), by - by / 2)
    }
}

/// The exponent that brings a positive number into [1, 2); 0 for 0.
#[inline]
pub(crate) fn exponent_of(x: f64) -> i32 {
    let biased = ((x.to_bits() >> 52) & 0x7ff) as i32;
    match biased {
        0 if x == 0.0 => 0,
        0 => exponent_of(x * 2f64.powi(200)) - 200,
        0x7ff => 1023,
        e => e - 1023,
    }
}

/// 2^by exactly, for −1022 ≤ by ≤ 1023.
#[inline]
pub(crate) fn power(by: i32) -> f64 {
    f64::from_bits(((by.clamp(-1022, 1023) + 1023) as u64) << 52)
}

/// `x · 2^by`.
#[inline]
pub(crate) fn shifted(x: f64, by: i32) -> f64 {
    let half = by / 2;
    x * power(half) * power(by - half)
}
