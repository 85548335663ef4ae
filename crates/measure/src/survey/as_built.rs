//! How level a floor was built: unknown, with a published spread.

use crate::quadrature;

/// Model of as-built unlevelness: each height as built is off by an
/// independent normal error.
///
/// The default is 4.4 mm. New house slabs differed by 13.5 mm (0.53 in) from
/// high to low on average (Walsh, Bashford & Mason 2001, verified); the range
/// of about ten independent heights is 3.08 standard deviations, and
/// 13.5 / 3.08 = 4.4 (derived; ten is an assumption). The ±19 mm envelope of
/// ACI 117 is then 4.3 standard deviations.
///
/// This is weak. It rests on the one published mean that was found, of new
/// slabs in Phoenix, whose spread from house to house was not seen. Heights
/// are taken as independent; in a real slab those close by are alike, so the
/// error is wide over short chords and may be narrow for the tilt of a whole
/// floor. Tolerances quoted for new slabs (1.5 in over all, 1.25 in within
/// 10 ft) are limits, not spreads, and lie well outside it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AsBuilt {
    /// Standard deviation of one height as built, mm, 0 or more.
    pub height_sd_mm: f64,
}

impl Default for AsBuilt {
    fn default() -> Self {
        Self { height_sd_mm: 4.4 }
    }
}

impl AsBuilt {
    /// Error of a difference of two heights as a sign of movement, mm.
    pub fn difference_sd(&self, measured_sd: f64) -> f64 {
        quadrature(&[measured_sd, core::f64::consts::SQRT_2 * self.height_sd_mm])
    }

    /// Error of a tilt, or of an angular distortion, as a sign of movement: two
    /// ends `apart_mm` from each other, each off as built.
    pub fn slope_sd(&self, measured_sd: f64, apart_mm: f64) -> f64 {
        let ends = core::f64::consts::SQRT_2 * self.height_sd_mm / apart_mm.max(1.0);
        quadrature(&[measured_sd, ends])
    }

    /// Error of a deflection ratio as a sign of movement: a middle and two
    /// ends, each off as built.
    pub fn deflection_sd(&self, measured_sd: f64, chord_mm: f64) -> f64 {
        quadrature(&[measured_sd, 1.5_f64.sqrt() * self.height_sd_mm / chord_mm.max(1.0)])
    }
}
