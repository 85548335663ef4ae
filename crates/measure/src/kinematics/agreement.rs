//! Whether cracks and a level survey tell of the same bend.

use super::WallCrack;
use crate::{COVER_95, DeflectionRatio, Estimate};

/// How cracks and survey compare.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Agreement {
    /// Both stand out from noise and tell of the same bend.
    Agree,
    /// Both stand out and tell of opposite bends.
    Disagree,
    /// One or both are within noise.
    CannotTell,
}

/// Mean taper of the cracks that have both widths and some height: growth of
/// width over height, above 0 wider at the top. Weighted by error; `None`
/// when no crack can tell.
pub fn taper(cracks: &[WallCrack]) -> Option<Estimate<f64>> {
    let tapers: Vec<(f64, f64)> = cracks
        .iter()
        .filter_map(|c| {
            let height = c.upper.1.as_mm() - c.lower.1.as_mm();
            let change = c.width_upper?.as_mm() - c.width_lower?.as_mm();
            let sd = core::f64::consts::SQRT_2 * c.sd_mm / height.abs();
            (height.abs() > 100.0 && sd > 0.0 && sd.is_finite()).then_some((change / height, sd))
        })
        .collect();
    let weight: f64 = tapers.iter().map(|(_, s)| 1.0 / (s * s)).sum();
    (!tapers.is_empty()).then(|| Estimate {
        value: tapers.iter().map(|(t, s)| t / (s * s)).sum::<f64>() / weight,
        sd: libm::sqrt(1.0 / weight),
    })
}

/// Hold a taper against the bend of the floor along the same wall: hogging
/// (above 0) opens cracks at the top, sagging at the bottom. The direction
/// alone can't say whether an end dropped or the middle rose.
pub fn against_survey(taper: &Estimate<f64>, bend: &Estimate<DeflectionRatio>) -> Agreement {
    let stands_out = |value: f64, sd: f64| value.is_finite() && value.abs() > COVER_95 * sd;
    let bent = bend.value.value();
    if !stands_out(taper.value, taper.sd) || !stands_out(bent, bend.sd) {
        Agreement::CannotTell
    } else if (taper.value > 0.0) == (bent > 0.0) {
        Agreement::Agree
    } else {
        Agreement::Disagree
    }
}
