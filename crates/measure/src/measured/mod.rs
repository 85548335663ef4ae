//! A measured value with its stated error, and how one is typed.

mod grammar;
#[cfg(test)]
mod tests;

use crate::{Length, MeasureError};

/// Half-width of a 95 % interval of a normal error, in standard deviations.
///
/// A stated `± e` is read as a 95 % half-width, so its standard deviation is
/// `e / COVER_95`. Common practice, no source: instrument sheets seldom say.
pub const COVER_95: f64 = 1.959_963_984_540_054;

/// What a reading is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum Quantity {
    /// A length, in millimetres.
    Length,
    /// A plain ratio: a slope, a deflection over its chord. `1/360`, `0.4 %`.
    Ratio,
    /// An angle, in radians.
    Angle,
    /// A speed of change, in millimetres per year.
    Rate,
    /// A number without unit: how many, or an index such as a plasticity index.
    Number,
}

impl Quantity {
    /// An example of the right form, for messages.
    pub(crate) fn example(self) -> &'static str {
        match self {
            Self::Length => "write for example `3/16 in` or `5 mm`",
            Self::Ratio => "write for example `1/360`, `0.4 %` or `1/2 in in 10 ft`",
            Self::Angle => "write for example `2 deg`",
            Self::Rate => "write for example `1 mm per year`",
            Self::Number => "write for example `35`",
        }
    }
}

/// The plain name: `a length`, `a ratio` and so on.
impl core::fmt::Display for Quantity {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::Length => "a length",
            Self::Ratio => "a ratio",
            Self::Angle => "an angle",
            Self::Rate => "a rate",
            Self::Number => "a plain number",
        })
    }
}

/// A measured value with its stated error.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// The value: mm for a length, a plain number for a ratio, rad for an
    /// angle, mm per year for a rate. Always finite.
    pub value: f64,
    /// Standard deviation in the same unit, when an error was stated. A
    /// stated `± e` is a 95 % half-width ([`COVER_95`]). `None` means that
    /// nothing was stated, not that the value is exact.
    pub sd: Option<f64>,
    /// What the reading is of.
    pub quantity: Quantity,
    /// The text as typed, without blanks at its ends.
    pub text: String,
}

impl Measured {
    /// The value as an exact length, when it is one.
    ///
    /// ```
    /// use wythe_measure::{Length, parse_measured};
    /// let m = parse_measured("1/64 in")?;
    /// assert_eq!(m.length(), Some(Length::from_nm(396_875)));
    /// # Ok::<(), wythe_measure::MeasureError>(())
    /// ```
    pub fn length(&self) -> Option<Length> {
        (self.quantity == Quantity::Length)
            .then(|| Length::mm(self.value).ok())
            .flatten()
    }

    /// The stated error as a 95 % half-width, when there is one.
    pub fn half_width(&self) -> Option<f64> {
        self.sd.map(|sd| sd * COVER_95)
    }
}

/// Read a measurement with an optional stated error.
///
/// Accepted, blanks being free:
///
/// - lengths: `3/16 in`, `1' 4 1/2"`, `1 ft 4 1/2 in`, `5'`, `12 mm`,
///   `15 cm`, `0.3 m`, and characters such as `½`, `′`, `″`;
/// - ratios: `1/360`, `L/360`, `1:360`, `1 in 120`, `0.4 %`,
///   `1/2 in in 10 ft`, `5 mm per m`, `1/4 in/ft`;
/// - angles: `2 deg`, `2°`, `0° 17' 11"`, `0.01 rad`;
/// - rates: `1 mm per year`;
/// - each with `± e` (or `+/-`): `2.5 mm ± 0.5 mm`, `2.5 ± 0.5 mm`,
///   `2.5 mm ± 20 %`. The error is a 95 % half-width.
///
/// `1 in 120` is a ratio, as the trade says it; `1 in` is an inch. A bare
/// number has no unit and is refused: see [`parse_measured_as`].
///
/// # Errors
///
/// A text that can't be read, with the byte offset of the trouble, what would
/// be accepted and, for a misspelt unit, the nearest name; a value that is
/// out of range.
///
/// ```
/// use wythe_measure::{Quantity, parse_measured};
///
/// let m = parse_measured("2.5 mm ± 0.5 mm")?;
/// assert_eq!((m.value, m.quantity), (2.5, Quantity::Length));
/// assert_eq!(parse_measured("1 in 120")?.value, 1.0 / 120.0);
/// assert_eq!(parse_measured("1/2 in in 10 ft")?.value, 1.0 / 240.0);
/// # Ok::<(), wythe_measure::MeasureError>(())
/// ```
pub fn parse_measured(text: &str) -> Result<Measured, MeasureError> {
    grammar::read(text, None)
}

/// Read a measurement that must be of one kind; with
/// [`Quantity::Number`] a bare number is accepted.
///
/// # Errors
///
/// As [`parse_measured`], and [`MeasureError::WrongQuantity`] when the text is
/// of another kind.
///
/// ```
/// use wythe_measure::{Quantity, parse_measured_as};
///
/// assert_eq!(parse_measured_as("35", Quantity::Number)?.value, 35.0);
/// assert!(parse_measured_as("1/4", Quantity::Length).is_err());
/// # Ok::<(), wythe_measure::MeasureError>(())
/// ```
pub fn parse_measured_as(text: &str, wanted: Quantity) -> Result<Measured, MeasureError> {
    let measured = grammar::read(text, Some(wanted))?;
    if measured.quantity == wanted {
        Ok(measured)
    } else {
        Err(MeasureError::WrongQuantity {
            wanted,
            found: measured.quantity,
        })
    }
}
