//! Why a survey can't be reduced.

/// A problem that stops a survey; a lesser one is a note in the results.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SurveyError {
    /// Too few points for what was asked.
    #[error("{found} points were read; {needed} or more are needed {what}")]
    TooFewPoints {
        /// Points found.
        found: usize,
        /// Points needed.
        needed: usize,
        /// For what.
        what: &'static str,
    },
    /// More points or readings than are accepted.
    #[error("{found} readings; up to {limit} are accepted")]
    TooMany {
        /// Readings found.
        found: usize,
        /// The limit.
        limit: usize,
    },
    /// The points lie in a line, so tilt across it is unknown.
    #[error("the points lie in one line, so the slope across it is unknown; read points off the line too")]
    Collinear,
    /// One name stands at two places.
    #[error("point `{name}` is given at two places {apart_mm:.0} mm apart; give each place its own name")]
    TwoPlaces {
        /// The point.
        name: String,
        /// Distance between the places, mm.
        apart_mm: f64,
    },
    /// Two names stand at one place.
    #[error("points `{first}` and `{second}` are at one place; give them one name")]
    OnePlace {
        /// The first point.
        first: String,
        /// The second point.
        second: String,
    },
    /// The instrument error is missing, zero, negative or absurd.
    #[error("the instrument error is {found} mm; state one standard deviation between 0.001 and 100 mm")]
    InstrumentError {
        /// What was stated, mm.
        found: f64,
    },
    /// A height or place beyond what a house can have.
    #[error("point `{point}`: {what} of {mm:.0} mm is beyond {limit_mm:.0} mm; are the units mixed?")]
    Absurd {
        /// The point.
        point: String,
        /// `a reading` or `a place`.
        what: &'static str,
        /// The number, mm.
        mm: f64,
        /// The limit, mm.
        limit_mm: f64,
    },
    /// Stations or coverings that no shared point ties to the rest.
    #[error(
        "{} can't be tied to the rest: read one point on both sides, or state the covering's thickness",
        .names.join(", ")
    )]
    Untied {
        /// What floats free, such as `station B` or `covering carpet`.
        names: Vec<String>,
    },
    /// A covering's stated thickness or error makes no sense.
    #[error("covering `{name}`: thickness between 0 and 150 mm and error between 0 and 50 mm are accepted")]
    BadCovering {
        /// The covering.
        name: String,
    },
    /// A covering is described twice.
    #[error("covering `{name}` is described twice")]
    CoveringTwice {
        /// The covering.
        name: String,
    },
    /// Two visits share too few points.
    #[error("the two visits share {found} points; {needed} or more are needed")]
    TooFewShared {
        /// Points shared.
        found: usize,
        /// Points needed.
        needed: usize,
    },
}
