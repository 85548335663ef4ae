//! What can be wrong with a typed measurement or a number handed in.

use crate::Quantity;

/// Why a measurement was refused.
///
/// Errors about typed text carry a byte offset within that text, so that a
/// caller can point at the place.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum MeasureError {
    /// The text holds nothing.
    #[error("no measurement given; write for example `3/16 in`, `5 mm` or `1/360`")]
    Empty,
    /// The text can't be read as a measurement.
    #[error("{why}; {accepted}")]
    Text {
        /// Byte offset of the trouble within the text.
        offset: usize,
        /// What is wrong.
        why: String,
        /// What would have been accepted there.
        accepted: &'static str,
    },
    /// A word stands where a unit should.
    #[error("`{found}` is not a unit{}; {ACCEPTED_UNITS}", .nearest.map(|n| format!(", did you mean `{n}`?")).unwrap_or_default())]
    UnknownUnit {
        /// Byte offset of the word within the text.
        offset: usize,
        /// The word as typed.
        found: String,
        /// The nearest unit name, when one is near.
        nearest: Option<&'static str>,
    },
    /// A number stands alone and its unit can't be known.
    #[error("`{found}` has no unit; write for example `{found} in` or `{found} mm`")]
    NoUnit {
        /// Byte offset just after the number.
        offset: usize,
        /// The number as typed.
        found: String,
    },
    /// The measurement is of another kind than was asked for.
    #[error("this is {found}, and {wanted} was asked for; {}", wanted.example())]
    WrongQuantity {
        /// What was asked for.
        wanted: Quantity,
        /// What the text says.
        found: Quantity,
    },
    /// A number is not finite.
    #[error("{what} is not a finite number")]
    NotFinite {
        /// Which number.
        what: &'static str,
    },
    /// A number is outside the range that makes sense on a house.
    #[error("{what} is out of range: {range}")]
    OutOfRange {
        /// Which number.
        what: &'static str,
        /// The accepted range, in words.
        range: &'static str,
    },
    /// There are fewer readings than the computation needs.
    #[error("{found} {what} given; at least {need} are needed")]
    TooFew {
        /// Of what.
        what: &'static str,
        /// How many are needed.
        need: usize,
        /// How many there are.
        found: usize,
    },
    /// The readings lie so that the answer is not determined.
    #[error("{what}")]
    Undetermined {
        /// What is missing, in words.
        what: String,
    },
    /// Two parts of the input contradict each other.
    #[error("{what}")]
    Conflict {
        /// Which parts, in words.
        what: String,
    },
}

/// The units accepted, for messages.
pub(crate) const ACCEPTED_UNITS: &str = "units are in, ft, mm, cm, m, %, deg, rad";

impl MeasureError {
    /// Byte offset of the trouble within the text that was read, when it was
    /// text.
    ///
    /// ```
    /// let e = wythe_measure::parse_measured("3 inchs").unwrap_err();
    /// assert_eq!(e.offset(), Some(2));
    /// assert!(e.to_string().contains("did you mean `inch`"));
    /// ```
    pub fn offset(&self) -> Option<usize> {
        match self {
            Self::Text { offset, .. } | Self::UnknownUnit { offset, .. } | Self::NoUnit { offset, .. } => Some(*offset),
            Self::Empty => Some(0),
            _ => None,
        }
    }
}
