//! The bend of the floor along one side of the plan.

use crate::{Estimate, Quantity, Reading};

use super::{Analysis, Edge, Level};

/// Widest strip beside a side whose points count as along it, share of the
/// plan across it.
const STRIP: f64 = 0.2;

/// A place along one axis of the plan.
type Axis = fn(&Level) -> f64;

impl Analysis {
    /// Bend of the floor along one side of the plan's bounding box, as the
    /// reading `floor-bend-along`: a parabola through the points within a
    /// fifth of the plan from that side, its middle over the line between its
    /// ends, over its length. Above 0 the middle is high (hogging). `None`
    /// with fewer than four points there, or not three of them apart.
    ///
    /// ```
    /// use wythe_measure::survey::{Edge, FieldBook, Options, analyse, reduce};
    /// # use wythe_measure::survey::{Sense, Shot};
    /// # use wythe_measure::Length;
    /// # let mut shots = Vec::new();
    /// # for i in 0..5 { for j in 0..4 {
    /// #     let (x, y) = (3000.0 * f64::from(i), 3000.0 * f64::from(j));
    /// #     let up = 24.0 * (1.0 - ((x - 6000.0) / 6000.0).powi(2));
    /// #     shots.push(Shot { point: format!("P{i}{j}"), x: Length::mm(x)?, y: Length::mm(y)?,
    /// #         reading: Length::mm(up)?, covering: None, station: None });
    /// # } }
    /// # let book = FieldBook { shots, coverings: Vec::new(), sense: Sense::Height, sd_mm: 1.0 };
    /// // A floor whose middle stands 24 mm over the line between ends 12 m apart.
    /// let analysis = analyse(&reduce(&book)?.levels, &Options::default())?;
    /// let bend = analysis.bend_along(Edge::YMin).unwrap();
    /// assert!((bend.value - 1.0 / 500.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn bend_along(&self, side: Edge) -> Option<Reading> {
        let points = self.levels.points();
        let (along, across): (Axis, Axis) = match side {
            Edge::XMin | Edge::XMax => (|p| p.y, |p| p.x),
            Edge::YMin | Edge::YMax => (|p| p.x, |p| p.y),
        };
        let ends = |of: Axis, some: &[usize]| {
            some.iter()
                .filter_map(|&i| points.get(i).map(of))
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)))
        };
        let all: Vec<usize> = (0..points.len()).collect();
        let (low, high) = ends(across, &all);
        let edge = if matches!(side, Edge::XMin | Edge::YMin) {
            low
        } else {
            high
        };
        let strip = STRIP * (high - low) + 1e-6;
        let near: Vec<usize> = all
            .into_iter()
            .filter(|&i| points.get(i).is_some_and(|p| (across(p) - edge).abs() <= strip))
            .collect();
        let (from, to) = ends(along, &near);
        let length = to - from;
        if near.len() < 4 || length.is_nan() || length < 1.0 {
            return None;
        }
        // What a square adds to a line: the curvature is a weighted sum of heights.
        let s: Vec<f64> = near.iter().map(|&i| (along(&points[i]) - from) / length).collect();
        let square: Vec<f64> = s.iter().map(|s| s * s).collect();
        let ones = vec![1.0; s.len()];
        let off: Vec<f64> = near.iter().map(|&i| (across(&points[i]) - edge) / length).collect();
        // A tilt across the strip is no bend; where all points are in one row there is none.
        let line = crate::least_squares::fit(&[ones.clone(), s.clone(), off], &square, &ones)
            .or_else(|| crate::least_squares::fit(&[ones.clone(), s], &square, &ones))?;
        let size: f64 = line.residuals.iter().map(|r| r * r).sum();
        if size < 1e-6 {
            return None;
        }
        let weights: Vec<(usize, f64)> = near
            .iter()
            .zip(&line.residuals)
            .map(|(&i, r)| (i, -0.25 * r / (size * length)))
            .collect();
        let bend = Estimate {
            value: weights.iter().map(|&(i, w)| w * points[i].z).sum::<f64>(),
            sd: libm::sqrt(self.levels.variance(&weights)),
        };
        let method = "a parabola through the points along the wall, its middle over the line between its ends";
        let from = near.iter().map(|&i| points[i].name.clone()).collect();
        Some(Reading {
            sd_as_movement: Some(self.as_built.deflection_sd(bend.sd, length)),
            ..Reading::new(("floor-bend-along", method), Quantity::Ratio, bend, from)
        })
    }
}
