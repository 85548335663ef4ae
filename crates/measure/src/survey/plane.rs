//! The best-fit plane of a floor, and its tilt.

use crate::{Angle, Estimate, Slope};

use super::{Level, Levels, SurveyError};

/// A plane through reduced levels.
#[derive(Debug, Clone, PartialEq)]
pub struct Plane {
    /// Mean place of the points, mm.
    pub centre: (f64, f64),
    /// Height at the centre, mm.
    pub height: f64,
    /// Slope along x, mm per mm, up as x grows.
    pub gx: f64,
    /// Slope along y.
    pub gy: f64,
    /// Covariance of the slopes: xx, xy, yy.
    pub cov: [f64; 3],
}

/// A plane's tilt in size and direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tilt {
    /// Steepest slope, 0 or more. Noise alone makes it a little above 0.
    pub slope: Estimate<Slope>,
    /// The way down, as an angle from the x axis toward the y axis.
    pub down: Angle,
    /// Standard deviation of that direction, rad; infinite when the slope is
    /// within two standard deviations of none.
    pub down_sd: f64,
}

impl Plane {
    /// Height of the plane at a place, mm.
    pub fn at(&self, x: f64, y: f64) -> f64 {
        self.height + self.gx * (x - self.centre.0) + self.gy * (y - self.centre.1)
    }

    /// Heights less the plane, mm, in the order of the points.
    pub fn residuals(&self, levels: &Levels) -> Vec<f64> {
        levels.points().iter().map(|p| p.z - self.at(p.x, p.y)).collect()
    }

    /// Tilt in size and direction, with errors.
    pub fn tilt(&self) -> Tilt {
        let size = libm::hypot(self.gx, self.gy);
        let (ux, uy) = if size > 0.0 {
            (self.gx / size, self.gy / size)
        } else {
            (1.0, 0.0)
        };
        let [xx, xy, yy] = self.cov;
        let along = (ux * ux * xx + 2.0 * ux * uy * xy + uy * uy * yy).max(0.0).sqrt();
        let across = (uy * uy * xx - 2.0 * ux * uy * xy + ux * ux * yy).max(0.0).sqrt();
        let down = Angle::from_rad(libm::atan2(-self.gy, -self.gx));
        Tilt {
            slope: Estimate {
                value: Slope::raw(size),
                sd: along,
            },
            down: down.unwrap_or(Angle::ZERO),
            down_sd: if size > 2.0 * along {
                across / size
            } else {
                f64::INFINITY
            },
        }
    }
}

/// Least-squares plane, every point counting the same.
///
/// Slopes and heights equal those of any least-squares solver; the errors
/// come from the reading error and the shared offsets, not from the scatter.
///
/// # Errors
///
/// Fewer than three points, or points in one line (spread across it below 2 %
/// of the spread along it).
///
/// ```
/// use wythe_measure::survey::{Level, Levels, fit_plane};
/// let at = |name: &str, x, y, z| Level { name: name.into(), x, y, z, readings: 1 };
/// let corners = vec![at("A", 0., 0., 0.), at("B", 1000., 0., 5.), at("C", 0., 1000., 0.)];
/// let tilt = fit_plane(&Levels::new(corners, 1.0)?)?.tilt();
/// assert_eq!(tilt.slope.value.to_string(), "1 in 200");
/// # Ok::<(), wythe_measure::survey::SurveyError>(())
/// ```
pub fn fit_plane(levels: &Levels) -> Result<Plane, SurveyError> {
    weighted(levels, None)
}

/// Plane by Huber's method: points far off count for less.
///
/// Scale by the median absolute residual, tuning constant 1.345, 30 rounds
/// from the least-squares plane. The errors are those of a weighted fit.
///
/// # Errors
///
/// As [`fit_plane`].
pub fn fit_plane_robust(levels: &Levels) -> Result<Plane, SurveyError> {
    let mut plane = fit_plane(levels)?;
    for _ in 0..30 {
        let residuals = plane.residuals(levels);
        let scale = spread(&residuals).max(1e-9);
        let weights: Vec<f64> = residuals
            .iter()
            .map(|r| (1.345 * scale / r.abs().max(1e-12)).min(1.0))
            .collect();
        plane = weighted(levels, Some(&weights))?;
    }
    Ok(plane)
}

/// Robust standard deviation about zero: the median magnitude over 0.6745.
pub(super) fn spread(residuals: &[f64]) -> f64 {
    let mut sizes: Vec<f64> = residuals.iter().map(|r| r.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    median_sorted(&sizes) / 0.674_489_750_196_081_7
}

/// Median of ascending numbers; 0 of none.
pub(super) fn median_sorted(sorted: &[f64]) -> f64 {
    match sorted.len() {
        0 => 0.0,
        n if n % 2 == 1 => sorted[n / 2],
        n => 0.5 * (sorted[n / 2 - 1] + sorted[n / 2]),
    }
}

fn weighted(levels: &Levels, weights: Option<&[f64]>) -> Result<Plane, SurveyError> {
    let points = levels.points();
    if points.len() < 3 {
        let found = points.len();
        return Err(SurveyError::TooFewPoints {
            found,
            needed: 3,
            what: "for a plane",
        });
    }
    let weight = |i: usize| weights.map_or(1.0, |w| w[i]);
    let total: f64 = (0..points.len()).map(weight).sum();
    let mean = |of: fn(&Level) -> f64| points.iter().enumerate().map(|(i, p)| weight(i) * of(p)).sum::<f64>() / total;
    let (cx, cy, cz) = (mean(|p| p.x), mean(|p| p.y), mean(|p| p.z));
    let (mut sxx, mut sxy, mut syy, mut sxz, mut syz) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (i, p) in points.iter().enumerate() {
        let (w, x, y, z) = (weight(i), p.x - cx, p.y - cy, p.z - cz);
        sxx += w * x * x;
        sxy += w * x * y;
        syy += w * y * y;
        sxz += w * x * z;
        syz += w * y * z;
    }
    // Eigenvalues of the scatter: the smaller one is the spread across.
    let (half, gap) = (0.5 * (sxx + syy), libm::hypot(0.5 * (sxx - syy), sxy));
    if half - gap <= 4e-4 * (half + gap) {
        return Err(SurveyError::Collinear);
    }
    let det = sxx * syy - sxy * sxy;
    let gx = (syy * sxz - sxy * syz) / det;
    let gy = (sxx * syz - sxy * sxz) / det;
    let row = |p: &Level| {
        let (x, y) = (p.x - cx, p.y - cy);
        ((syy * x - sxy * y) / det, (sxx * y - sxy * x) / det)
    };
    let variance = |mix: fn((f64, f64)) -> f64| -> f64 {
        let one = |(i, p)| (i, weight(i) * mix(row(p)));
        levels.variance(&points.iter().enumerate().map(one).collect::<Vec<_>>())
    };
    let (xx, yy, both) = (variance(|r| r.0), variance(|r| r.1), variance(|r| r.0 + r.1));
    Ok(Plane {
        centre: (cx, cy),
        height: cz,
        gx,
        gy,
        cov: [xx, 0.5 * (both - xx - yy), yy],
    })
}
