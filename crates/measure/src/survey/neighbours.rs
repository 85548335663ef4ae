//! Neighbouring points: angular distortion, and readings that stand alone.

use spade::{DelaunayTriangulation, Point2, Triangulation};

use crate::{AngularDistortion, Estimate};

use super::plane::{median_sorted, spread};
use super::{Levels, Plane, SurveyError};

/// Which points are neighbours: the Delaunay edges not longer than twice the
/// median one.
#[derive(Debug, Clone, PartialEq)]
pub struct Neighbours {
    /// Pairs of point indices, ascending.
    pub pairs: Vec<(usize, usize)>,
}

/// Angular distortion between two neighbours.
#[derive(Debug, Clone, PartialEq)]
pub struct Distortion {
    /// The two points, by index.
    pub between: (usize, usize),
    /// Distance, mm.
    pub apart_mm: f64,
    /// Magnitude, with the error of this pair had it been chosen beforehand.
    pub distortion: Estimate<AngularDistortion>,
}

/// A reading that stands far off its neighbours.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// The point, by index.
    pub point: usize,
    /// How far off, mm.
    pub off_mm: f64,
}

pub(super) fn triangulate(levels: &Levels) -> Result<DelaunayTriangulation<Point2<f64>>, SurveyError> {
    let places: Vec<Point2<f64>> = levels.points().iter().map(|p| Point2::new(p.x, p.y)).collect();
    // Vertex order is kept, so a vertex's index is its point's.
    DelaunayTriangulation::bulk_load_stable(places).map_err(|_| SurveyError::Collinear)
}

impl Neighbours {
    /// Find the neighbours of each point.
    ///
    /// # Errors
    ///
    /// Points that can't be triangulated.
    pub fn of(levels: &Levels) -> Result<Self, SurveyError> {
        let mesh = triangulate(levels)?;
        let mut edges: Vec<(usize, usize, f64)> = mesh
            .undirected_edges()
            .map(|e| {
                let [a, b] = e.vertices().map(|v| v.index());
                (a.min(b), a.max(b), e.length_2().sqrt())
            })
            .collect();
        let mut lengths: Vec<f64> = edges.iter().map(|e| e.2).collect();
        lengths.sort_by(f64::total_cmp);
        let longest = 2.0 * median_sorted(&lengths);
        edges.retain(|e| e.2 <= longest);
        edges.sort_by_key(|e| (e.0, e.1));
        Ok(Self {
            pairs: edges.into_iter().map(|(a, b, _)| (a, b)).collect(),
        })
    }

    /// The pair with the largest angular distortion.
    pub fn worst_distortion(&self, levels: &Levels, plane: &Plane) -> Option<Distortion> {
        let residuals = plane.residuals(levels);
        let mut worst: Option<(usize, usize, f64, f64)> = None;
        for &(a, b) in &self.pairs {
            let (p, q) = (&levels.points()[a], &levels.points()[b]);
            let apart = libm::hypot(p.x - q.x, p.y - q.y);
            let size = (residuals[a] - residuals[b]).abs() / apart;
            if worst.is_none_or(|w| size > w.3) {
                worst = Some((a, b, apart, size));
            }
        }
        worst.map(|(a, b, apart_mm, size)| {
            let sd = levels.variance(&[(a, 1.0), (b, -1.0)]).sqrt() / apart_mm;
            let value = AngularDistortion::raw(size);
            Distortion {
                between: (a, b),
                apart_mm,
                distortion: Estimate { value, sd },
            }
        })
    }

    /// Readings more than 75 mm and 8 robust standard deviations off the
    /// median of their neighbours: a foot misread, a step not noted. None are
    /// looked for below eight points.
    pub fn suspects(&self, levels: &Levels, plane: &Plane) -> Vec<Suspect> {
        let n = levels.points().len();
        if n < 8 {
            return Vec::new();
        }
        let residuals = plane.residuals(levels);
        let mut near: Vec<Vec<f64>> = vec![Vec::new(); n];
        for &(a, b) in &self.pairs {
            near[a].push(residuals[b]);
            near[b].push(residuals[a]);
        }
        let off: Vec<f64> = near
            .iter_mut()
            .zip(&residuals)
            .map(|(values, r)| {
                values.sort_by(f64::total_cmp);
                if values.len() < 2 {
                    0.0
                } else {
                    r - median_sorted(values)
                }
            })
            .collect();
        let limit = (8.0 * spread(&off).max(levels.sd_mm())).max(75.0);
        (0..n)
            .filter(|&i| off[i].abs() > limit)
            .map(|point| Suspect {
                point,
                off_mm: off[point],
            })
            .collect()
    }
}
