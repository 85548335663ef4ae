//! A length as an integer number of nanometres.

use crate::{MeasureError, Quantity, parse_measured_as};

/// Nanometres in an inch; 1/64 in is then a whole number of them.
const INCH: i64 = 25_400_000;
/// Largest length a constructor accepts: 10 km.
const MAX: i64 = 10_000_000_000_000;

/// A length as an integer number of nanometres, so that 1/64 in
/// (396 875 nm) is exact.
///
/// May be negative: a height below a datum, a gap that closed.
///
/// ```
/// use wythe_measure::Length;
///
/// let gap = Length::parse("3/16 in")?;
/// assert_eq!(gap.nm(), 4_762_500);
/// assert_eq!(gap.both(), "3/16 in (4.8 mm)");
/// # Ok::<(), wythe_measure::MeasureError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Length {
    nm: i64,
}

impl Length {
    /// No length.
    pub const ZERO: Self = Self { nm: 0 };

    /// From nanometres.
    pub const fn from_nm(nm: i64) -> Self {
        Self { nm }
    }

    /// From millimetres, to the nearest nanometre.
    ///
    /// # Errors
    ///
    /// Not finite, or beyond 10 km either way.
    pub fn mm(mm: f64) -> Result<Self, MeasureError> {
        if !mm.is_finite() {
            return Err(MeasureError::NotFinite { what: "the length" });
        }
        let nm = libm::round(mm * 1e6);
        if nm.abs() > MAX as f64 {
            return Err(MeasureError::OutOfRange {
                what: "the length",
                range: "up to 10 km",
            });
        }
        Ok(Self { nm: nm as i64 })
    }

    /// From inches, to the nearest nanometre.
    ///
    /// # Errors
    ///
    /// As [`Length::mm`].
    pub fn inches(inches: f64) -> Result<Self, MeasureError> {
        Self::mm(inches * 25.4)
    }

    /// Read a length: any form of [`parse_measured`](crate::parse_measured)
    /// that is one. A stated error is refused, for it would be lost.
    ///
    /// # Errors
    ///
    /// As [`parse_measured_as`].
    pub fn parse(text: &str) -> Result<Self, MeasureError> {
        let measured = parse_measured_as(text, Quantity::Length)?;
        if measured.sd.is_some() {
            return Err(MeasureError::Text {
                offset: 0,
                why: "a stated error has no place here".to_owned(),
                accepted: "write the length alone, as `3/16 in`",
            });
        }
        Self::mm(measured.value)
    }

    /// Nanometres.
    pub const fn nm(self) -> i64 {
        self.nm
    }

    /// Millimetres.
    pub fn as_mm(self) -> f64 {
        self.nm as f64 / 1e6
    }

    /// Inches.
    pub fn as_inches(self) -> f64 {
        self.nm as f64 / INCH as f64
    }

    /// Feet, inches and a fraction: `1 ft 4 1/2 in`. A whole number of 64ths
    /// is exact; otherwise as a tape is read, to the nearest 1/32 in below
    /// 1/4 in and the nearest 1/16 in above. Below 1/32 in, where a fraction
    /// would mislead, decimal inches.
    pub fn feet_inches(self) -> String {
        let sign = if self.nm < 0 { "-" } else { "" };
        let nm = i128::from(self.nm).abs();
        let inch = i128::from(INCH);
        let exact = nm * 64 % inch == 0;
        if !exact && nm * 32 < inch {
            return format!("{sign}{} in", trimmed(nm as f64 / inch as f64, 4));
        }
        let parts = match exact {
            true => 64,
            false if nm * 4 < inch => 32,
            false => 16,
        };
        let count = (nm * parts + inch / 2) / inch;
        let (whole, part) = (count / parts, count % parts);
        let (feet, inches) = (whole / 12, whole % 12);
        let fraction = (part > 0).then(|| {
            let shift = part.trailing_zeros().min(parts.trailing_zeros());
            format!("{}/{}", part >> shift, parts >> shift)
        });
        let inches = match (inches, fraction) {
            (0, None) if feet > 0 => None,
            (i, None) => Some(format!("{i} in")),
            (0, Some(f)) => Some(format!("{f} in")),
            (i, Some(f)) => Some(format!("{i} {f} in")),
        };
        match (feet, inches) {
            (0, Some(i)) => format!("{sign}{i}"),
            (f, Some(i)) => format!("{sign}{f} ft {i}"),
            (f, None) => format!("{sign}{f} ft"),
        }
    }

    /// Metric, rounded for reading: mm to 0.01 below 1 mm and to 0.1 below
    /// 1 m, then metres to a millimetre.
    pub fn metric(self) -> String {
        let mm = self.as_mm();
        if mm.abs() < 0.995 {
            format!("{} mm", trimmed(mm, 2))
        } else if mm.abs() < 999.95 {
            format!("{} mm", trimmed(mm, 1))
        } else {
            format!("{} m", trimmed(mm / 1000.0, 3))
        }
    }

    /// Both systems, as the error of a level or a string line bears out: to
    /// the nearest 1/16 in and 0.1 mm (common practice, no source).
    ///
    /// ```
    /// use wythe_measure::Length;
    ///
    /// assert_eq!(Length::mm(43.97)?.to_sixteenths(), "1 3/4 in (44 mm)");
    /// # Ok::<(), wythe_measure::MeasureError>(())
    /// ```
    pub fn to_sixteenths(self) -> String {
        let nearest = |step: i64| libm::round(self.nm as f64 / step as f64) as i64 * step;
        let (tape, metric) = (nearest(INCH / 16), nearest(100_000));
        format!(
            "{} ({})",
            Self::from_nm(tape).feet_inches(),
            Self::from_nm(metric).metric()
        )
    }

    /// Both systems: `3/16 in (4.8 mm)`.
    pub fn both(self) -> String {
        format!("{} ({})", self.feet_inches(), self.metric())
    }
}

/// Millimetres.
impl From<Length> for f64 {
    fn from(length: Length) -> Self {
        length.as_mm()
    }
}

/// Fixed decimals without trailing zeros, and no `-0`.
fn trimmed(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Millimetres in full, so that the text reads back as the same length.
impl core::fmt::Display for Length {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let (sign, nm) = (if self.nm < 0 { "-" } else { "" }, self.nm.unsigned_abs());
        let (mm, part) = (nm / 1_000_000, nm % 1_000_000);
        if part == 0 {
            write!(f, "{sign}{mm} mm")
        } else {
            write!(f, "{sign}{mm}.{} mm", format!("{part:06}").trim_end_matches('0'))
        }
    }
}

/// Saturates at the ends of the range.
impl core::ops::Add for Length {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self {
            nm: self.nm.saturating_add(other.nm),
        }
    }
}

/// Saturates at the ends of the range.
impl core::ops::Sub for Length {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self {
            nm: self.nm.saturating_sub(other.nm),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn both_systems_read_well() {
        for (text, both) in [
            ("3/16 in", "3/16 in (4.8 mm)"),
            ("1/64 in", "1/64 in (0.4 mm)"),
            ("1' 4 1/2\"", "1 ft 4 1/2 in (419.1 mm)"),
            ("12 ft", "12 ft (3.658 m)"),
            ("13.5 mm", "9/16 in (13.5 mm)"),
            ("44 mm", "1 3/4 in (44 mm)"),
            ("2.6 mm", "3/32 in (2.6 mm)"),
            ("0.3 mm", "0.0118 in (0.3 mm)"),
            ("-1/2 in", "-1/2 in (-12.7 mm)"),
            ("0 mm", "0 in (0 mm)"),
            ("10 m", "32 ft 9 11/16 in (10 m)"),
        ] {
            assert_eq!(Length::parse(text).unwrap().both(), both, "{text}");
        }
        // A new slab's mean out-of-level, 13.5 mm = 0.53 in (Walsh, Bashford
        // & Mason 2001, verified).
        assert_eq!(format!("{:.2}", Length::mm(13.5).unwrap().as_inches()), "0.53");
    }

    #[test]
    fn constructors_refuse_absurd_numbers() {
        for bad in [f64::NAN, f64::INFINITY, -f64::INFINITY, 1e300, 1.1e7] {
            assert!(Length::mm(bad).is_err());
        }
        assert!(Length::parse("5 mm ± 1 mm").is_err());
        assert_eq!(
            Length::from_nm(i64::MAX) + Length::from_nm(1),
            Length::from_nm(i64::MAX)
        );
    }

    proptest! {
        #[test]
        fn text_round_trips(nm in -10_000_000_000_000..=10_000_000_000_000_i64) {
            let length = Length::from_nm(nm);
            prop_assert_eq!(Length::parse(&length.to_string()).unwrap(), length);
            prop_assert_eq!(Length::mm(length.as_mm()).unwrap(), length);
        }

        #[test]
        fn sixty_fourths_round_trip_through_feet_and_inches(n in -100_000..100_000_i64) {
            let length = Length::from_nm(n * 396_875);
            prop_assert_eq!(Length::parse(&length.feet_inches()).unwrap(), length);
        }
    }
}
