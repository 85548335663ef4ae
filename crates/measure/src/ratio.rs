//! Ratios that can't be mistaken for one another, and angles.
//!
//! A deflection ratio (bend over chord) and an angular distortion (relative
//! rotation) are both plain numbers, and a limit set for one says nothing of
//! the other: for one and the same bend they differ by a factor of 2 to 4
//! (derived: three-point kink 2, parabola 4 at its end). So they are
//! different types.
//!
//! ```compile_fail
//! use wythe_measure::{AngularDistortion, DeflectionRatio};
//! let bend = DeflectionRatio::one_in(360.0).unwrap();
//! let limit = AngularDistortion::one_in(500.0).unwrap();
//! assert!(bend < limit); // refused by the compiler
//! ```

use crate::{Length, MeasureError};

/// Largest magnitude accepted for a ratio.
const MAX_RATIO: f64 = 1e3;

macro_rules! ratio {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        ///
        /// Signed; magnitude up to 1000.
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// From a plain number.
            ///
            /// # Errors
            ///
            /// Not finite, or above 1000 in magnitude.
            pub fn new(value: f64) -> Result<Self, MeasureError> {
                if !value.is_finite() {
                    return Err(MeasureError::NotFinite { what: "the ratio" });
                }
                if value.abs() > MAX_RATIO {
                    return Err(MeasureError::OutOfRange { what: "the ratio", range: "up to 1000" });
                }
                Ok(Self(value))
            }

            /// From the `n` of `1/n`.
            ///
            /// # Errors
            ///
            /// As `new`; `n` zero or not finite.
            pub fn one_in(n: f64) -> Result<Self, MeasureError> {
                Self::new(1.0 / n)
            }

            /// From a rise and its run.
            ///
            /// # Errors
            ///
            /// As `new`; a run of zero.
            pub fn of(rise: Length, run: Length) -> Result<Self, MeasureError> {
                Self::new(rise.nm() as f64 / run.nm() as f64)
            }

            pub(crate) const fn raw(value: f64) -> Self {
                Self(value)
            }

            /// As a plain number.
            pub const fn value(self) -> f64 {
                self.0
            }

            /// Without its sign.
            pub fn magnitude(self) -> Self {
                Self(self.0.abs())
            }

            /// In per cent.
            pub fn percent(self) -> f64 {
                self.0 * 100.0
            }

            /// The rise over a run, in millimetres.
            pub fn rise_mm(self, run: Length) -> f64 {
                self.0 * run.as_mm()
            }
        }

        impl From<$name> for f64 {
            fn from(ratio: $name) -> Self {
                ratio.0
            }
        }

        /// As the trade says it: `1 in n`, n to three figures.
        impl core::fmt::Display for $name {
            fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
                f.write_str(&one_in(self.0))
            }
        }
    };
}

ratio! {
    /// Rise over run of a floor, a wall or the ground.
    ///
    /// ```
    /// use wythe_measure::{Length, Slope};
    /// let fall = Slope::of(Length::parse("6 in")?, Length::parse("10 ft")?)?;
    /// assert_eq!(fall.percent(), 5.0);
    /// assert_eq!(fall.to_string(), "1 in 20");
    /// # Ok::<(), wythe_measure::MeasureError>(())
    /// ```
    Slope
}
ratio! {
    /// Deflection over the length of its chord. Above 0 the middle is high
    /// (hogging), below 0 it is low (sagging).
    DeflectionRatio
}
ratio! {
    /// Relative rotation of the line joining two points, once rigid tilt is
    /// taken away (also called relative rotation).
    AngularDistortion
}

impl Slope {
    /// The slope of an angle from level.
    ///
    /// # Errors
    ///
    /// As [`Slope::new`]; an angle near upright.
    pub fn from_angle(angle: Angle) -> Result<Self, MeasureError> {
        Self::new(libm::tan(angle.rad()))
    }

    /// The angle from level.
    pub fn angle(self) -> Angle {
        Angle(libm::atan(self.0))
    }

    /// As the trade says it: `1 in 240 (0.42 %, 1/2 in over 10 ft)`.
    pub fn both(self) -> String {
        let run = Length::from_nm(3_048_000_000);
        match Length::mm(self.rise_mm(run)) {
            Ok(rise) => format!("{self} ({:.2} %, {} over 10 ft)", self.percent(), rise.feet_inches()),
            Err(_) => self.to_string(),
        }
    }
}

/// An angle, in radians.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Angle(f64);

impl Angle {
    pub(crate) const fn raw(rad: f64) -> Self {
        Self(rad)
    }

    /// No angle.
    pub const ZERO: Self = Self(0.0);

    /// From radians.
    ///
    /// # Errors
    ///
    /// Not finite, or more than a full turn.
    pub fn from_rad(rad: f64) -> Result<Self, MeasureError> {
        if !rad.is_finite() {
            return Err(MeasureError::NotFinite { what: "the angle" });
        }
        if rad.abs() > core::f64::consts::TAU {
            return Err(MeasureError::OutOfRange {
                what: "the angle",
                range: "up to 360 degrees",
            });
        }
        Ok(Self(rad))
    }

    /// From degrees.
    ///
    /// # Errors
    ///
    /// As [`Angle::from_rad`].
    pub fn from_degrees(degrees: f64) -> Result<Self, MeasureError> {
        Self::from_rad(degrees.to_radians())
    }

    /// Radians.
    pub const fn rad(self) -> f64 {
        self.0
    }

    /// Degrees.
    pub fn degrees(self) -> f64 {
        self.0.to_degrees()
    }

    /// Degrees, minutes and whole seconds: `0° 17' 11"`.
    pub fn dms(self) -> String {
        let seconds = libm::round(self.degrees().abs() * 3600.0) as i64;
        let sign = if self.0 < 0.0 && seconds > 0 { "-" } else { "" };
        format!("{sign}{}° {}' {}\"", seconds / 3600, seconds / 60 % 60, seconds % 60)
    }
}

/// `1 in n` with n to three figures; steeper than 1 in 2 as a decimal.
fn one_in(value: f64) -> String {
    let sign = if value < 0.0 { "-" } else { "" };
    let n = 1.0 / value.abs();
    if n > 1e6 {
        return "0".to_owned();
    }
    if n < 2.0 {
        return format!("{value:.2}");
    }
    let step = libm::pow(10.0, libm::floor(libm::log10(n)) - 2.0).max(0.1);
    let rounded = libm::round(n / step) * step;
    let whole = (rounded - libm::round(rounded)).abs() < 1e-9;
    if whole {
        format!("{sign}1 in {rounded:.0}")
    } else {
        format!("{sign}1 in {rounded:.1}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn published_conversions() {
        // Tilt 1/200 = 0.005 = 0 deg 17' 11" (BRE Digest 475, verified).
        let tilt = Slope::one_in(200.0).unwrap();
        assert_eq!(tilt.value(), 0.005);
        assert_eq!(tilt.angle().dms(), "0° 17' 11\"");
        // 1 % over 10 ft is 1.2 in (an engineer's page, "Slab foundation levelness", verified).
        let percent = Slope::new(0.01).unwrap();
        assert!((percent.rise_mm(Length::parse("10 ft").unwrap()) / 25.4 - 1.2).abs() < 1e-12);
        // 12 ft at 1/360 is 0.4 in, and back (an engineer's article, "The misuse of 1/360", verified).
        let span = Length::parse("12 ft").unwrap();
        let dip = DeflectionRatio::one_in(360.0).unwrap().rise_mm(span);
        assert!((dip / 25.4 - 0.4).abs() < 1e-12);
        let back = DeflectionRatio::of(Length::inches(0.4).unwrap(), span).unwrap();
        assert_eq!(back.to_string(), "1 in 360");
    }

    #[test]
    fn published_lengths() {
        // 13.5 mm is 0.53 in (Walsh, Bashford & Mason 2001 print both; verified).
        assert_eq!(format!("{:.2}", Length::mm(13.5).unwrap().as_inches()), "0.53");
        // A 15 ft joist at 1/360: 0.5 in (IRC R301.7; limit verified, value derived).
        let span = Length::parse("15 ft").unwrap();
        assert!((DeflectionRatio::one_in(360.0).unwrap().rise_mm(span) / 25.4 - 0.5).abs() < 1e-12);
        // 12 ft at 1/360, 1/240, 1/180: 0.40, 0.60, 0.80 in (arithmetic).
        let span = Length::parse("12 ft").unwrap();
        for (n, inches) in [(360.0, 0.4), (240.0, 0.6), (180.0, 0.8)] {
            assert!((Slope::one_in(n).unwrap().rise_mm(span) / 25.4 - inches).abs() < 1e-12);
        }
    }

    proptest! {
        #[test]
        fn ratios_and_angles_round_trip(value in -0.9..0.9f64) {
            let slope = Slope::new(value).unwrap();
            prop_assert!((Slope::from_angle(slope.angle()).unwrap().value() - value).abs() < 1e-14);
            prop_assert!((Slope::new(slope.percent() / 100.0).unwrap().value() - value).abs() < 1e-15);
            prop_assert!((Angle::from_degrees(slope.angle().degrees()).unwrap().rad() - slope.angle().rad()).abs() < 1e-15);
            let run = Length::parse("20 ft").unwrap();
            let back = Slope::of(Length::mm(slope.rise_mm(run)).unwrap(), run).unwrap();
            prop_assert!((back.value() - value).abs() < 1e-9);
        }

        #[test]
        fn printed_ratios_read_back(n in 3.0..5000.0f64) {
            // A tenth is kept below 100 and three figures above.
            let text = Slope::one_in(n).unwrap().to_string();
            let read = crate::parse_measured_as(&text, crate::Quantity::Ratio).unwrap().value;
            prop_assert!((read * n - 1.0).abs() < 0.018, "{} for {}", text, n);
        }

        #[test]
        fn lengths_round_trip(sixty_fourths in 0i64..100_000) {
            let length = Length::from_nm(sixty_fourths * 396_875);
            prop_assert_eq!(Length::parse(&length.feet_inches()).unwrap(), length);
            prop_assert_eq!(Length::mm(length.as_mm()).unwrap(), length);
            prop_assert_eq!(Length::inches(length.as_inches()).unwrap(), length);
        }
    }

    #[test]
    fn printing_keeps_three_figures() {
        for (value, text) in [
            (1.0 / 1442.0, "1 in 1440"),
            (-1.0 / 360.0, "-1 in 360"),
            (1.0 / 12.5, "1 in 12.5"),
            (0.8, "0.80"),
            (0.0, "0"),
            (1e-9, "0"),
        ] {
            assert_eq!(Slope::raw(value).to_string(), text);
        }
        assert_eq!(
            Slope::one_in(240.0).unwrap().both(),
            "1 in 240 (0.42 %, 1/2 in over 10 ft)"
        );
    }

    #[test]
    fn senseless_ratios_are_refused() {
        for bad in [f64::NAN, f64::INFINITY, 2e3] {
            assert!(Slope::new(bad).is_err());
        }
        assert!(Slope::one_in(0.0).is_err());
        assert!(AngularDistortion::of(Length::from_nm(1), Length::ZERO).is_err());
        assert!(Angle::from_degrees(400.0).is_err());
    }
}
