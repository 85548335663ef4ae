//! A simply supported beam under a uniform load or a triangle.
//!
//! Units are free but must agree: with lb and in, the answers are lb, lb-in
//! and in.

/// What a load does to a simply supported beam.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BeamResult {
    /// Reaction at each end.
    pub reaction: f64,
    /// Moment at the middle.
    pub moment: f64,
    /// Elastic dip at the middle.
    pub deflection: f64,
}

impl BeamResult {
    /// Two loads on one beam.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        Self {
            reaction: self.reaction + other.reaction,
            moment: self.moment + other.moment,
            deflection: self.deflection + other.deflection,
        }
    }
}

/// Under `per_length` along the whole span: reaction `w L / 2`, moment
/// `w L² / 8`, dip `5 w L⁴ / (384 E I)`. `stiffness` is `E I`.
///
/// ```
/// use wythe_measure::lintel::uniform_load;
/// // 109.2 lb/ft over 6 ft: 491.4 lb-ft and 327.6 lb (Taly, Design of
/// // Reinforced Masonry Structures, example 4.26).
/// let b = uniform_load(109.2, 6.0, 1.0);
/// assert!((b.moment - 491.4).abs() < 0.05 && (b.reaction - 327.6).abs() < 0.05);
/// ```
pub fn uniform_load(per_length: f64, span: f64, stiffness: f64) -> BeamResult {
    let (w, l) = (per_length, span);
    BeamResult {
        reaction: w * l / 2.0,
        moment: w * l * l / 8.0,
        deflection: 5.0 * w * l * l * l * l / (384.0 * stiffness),
    }
}

/// Under a triangle of total weight `total`, nothing at the ends and most in
/// the middle: reaction `W / 2`, moment `W L / 6`, dip `W L³ / (60 E I)`.
///
/// ```
/// use wythe_measure::lintel::triangular_load;
/// // 983 lb over 6 ft: 983 lb-ft and 492 lb (Taly, example 4.26).
/// let b = triangular_load(983.0, 6.0, 1.0);
/// assert!((b.moment - 983.0).abs() < 0.5 && (b.reaction - 492.0).abs() < 0.6);
/// ```
pub fn triangular_load(total: f64, span: f64, stiffness: f64) -> BeamResult {
    let (w, l) = (total, span);
    BeamResult {
        reaction: w / 2.0,
        moment: w * l / 6.0,
        deflection: w * l * l * l / (60.0 * stiffness),
    }
}
