//! The pattern of a floor, by comparing models rather than by eye.
//!
//! Each candidate is a plane plus one bent form. All candidates have the same
//! number of parameters, so their evidence is how much of the scatter they
//! explain, against the error of the readings and of what no form explains.

use crate::Estimate;

use super::{Levels, Plane, SurveyError};

/// A side of the plan's bounding box.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Edge {
    XMin,
    XMax,
    YMin,
    YMax,
}

/// A corner of the plan's bounding box.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Corner {
    XMinYMin,
    XMaxYMin,
    XMinYMax,
    XMaxYMax,
}

/// An axis of the plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Axis {
    X,
    Y,
}

/// A named pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// No tilt and no bend above the noise.
    NoPattern,
    /// Tilt, and no bend above the noise.
    PlainTilt,
    /// The floor goes down toward one side; the rest is flat.
    EdgeDown(Edge),
    /// The floor goes up toward one side.
    EdgeUp(Edge),
    /// One corner is down.
    CornerDown(Corner),
    /// One corner is up.
    CornerUp(Corner),
    /// High in the middle.
    Dome,
    /// Low in the middle.
    Dish,
    /// High along a line: bent about one axis; the axis is the line's.
    Ridge(Axis),
    /// Low along a line.
    Trough(Axis),
    /// Opposite sides or corners up, the others down.
    Saddle,
    /// A bend above the noise whose form can't be told.
    Unclear,
}

/// The pattern found, and how surely.
#[derive(Debug, Clone, PartialEq)]
pub struct ShapeFit {
    /// The name.
    pub shape: Shape,
    /// The best form, even when the name is `Unclear` or there is none.
    pub nearest: Shape,
    /// The next best form.
    pub runner_up: Option<Shape>,
    /// Share of the evidence that the best form has among all forms, 0 to 1.
    pub share: f64,
    /// Height of the best form from its flat part to its end, mm.
    pub height_mm: Estimate<f64>,
    /// Standard deviation about the best form, mm, or the reading error when
    /// that is larger.
    pub noise_mm: f64,
}

/// Least share of the evidence for a form to be named.
const NAMED: f64 = 0.9;
/// Least log likelihood gain, less `ln n / 2`, for a bend to count at all.
const BEND: f64 = 5.0;
/// Square of the tilt in standard deviations above which it counts: the chance
/// of more by noise alone is exp(-13.8 / 2) = 0.001.
const TILT: f64 = 13.8;

/// Name the pattern of a floor.
///
/// # Errors
///
/// Fewer than 8 points: too few to tell a form from noise.
pub fn shape(levels: &Levels, plane: &Plane) -> Result<ShapeFit, SurveyError> {
    let n = levels.points().len();
    if n < 8 {
        return Err(SurveyError::TooFewPoints {
            found: n,
            needed: 8,
            what: "to name a shape",
        });
    }
    let forms = fit_all(levels, plane);
    let residual: f64 = plane.residuals(levels).iter().map(|r| r * r).sum();
    let Some(best) = best_of(&forms) else {
        return Err(SurveyError::Collinear);
    };
    let left = (residual - best.drop).max(0.0) / (n as f64 - 4.0);
    let reading = (0..n).map(|i| levels.variance(&[(i, 1.0)])).sum::<f64>() / n as f64;
    let noise2 = left.max(reading);
    // Evidence of each name: the mean over its forms.
    let mut names: Vec<(Shape, f64, usize)> = Vec::new();
    for form in &forms {
        let weight = libm::exp((form.drop - best.drop) / (2.0 * noise2));
        match names.iter_mut().find(|(s, ..)| *s == form.shape) {
            Some((_, total, count)) => {
                *total += weight;
                *count += 1;
            }
            None => names.push((form.shape, weight, 1)),
        }
    }
    let mut ranked: Vec<(Shape, f64)> = names
        .iter()
        .map(|&(s, w, c)| (s, w / c.max(1) as f64))
        .collect();
    ranked.sort_by(|a, b| b.1.total_cmp(&a.1));
    let total: f64 = ranked.iter().map(|r| r.1).sum();
    let (nearest, share) = (ranked[0].0, ranked[0].1 / total);
    let gain = best.drop / (2.0 * noise2) - 0.5 * libm::log(n as f64);
    let top = forms
        .iter()
        .filter(|f| f.shape == nearest)
        .fold(best, |a, f| {
            if a.shape != nearest || f.drop > a.drop {
                f
            } else {
                a
            }
        });
    let shape = if gain < BEND {
        if tilt_signal(plane) > TILT {
            Shape::PlainTilt
        } else {
            Shape::NoPattern
        }
    } else if share >= NAMED {
        nearest
    } else {
        Shape::Unclear
    };
    Ok(ShapeFit {
        shape,
        nearest,
        runner_up: ranked.get(1).map(|r| r.0),
        share,
        height_mm: Estimate {
            value: top.amplitude,
            sd: noise2.sqrt() / top.norm,
        },
        noise_mm: noise2.sqrt(),
    })
}

/// Tilt squared in standard deviations, two degrees of freedom.
fn tilt_signal(plane: &Plane) -> f64 {
    let [xx, xy, yy] = plane.cov;
    let det = xx * yy - xy * xy;
    let (gx, gy) = (plane.gx, plane.gy);
    if det > 0.0 {
        (yy * gx * gx - 2.0 * xy * gx * gy + xx * gy * gy) / det
    } else {
        0.0
    }
}

struct Form {
    shape: Shape,
    drop: f64,
    amplitude: f64,
    norm: f64,
}

fn best_of(forms: &[Form]) -> Option<&Form> {
    forms
        .iter()
        .reduce(|a, b| if b.drop > a.drop { b } else { a })
}

/// A bent form over the unit square, and the names of its two signs.
type Candidate = (Shape, Shape, fn(f64, f64, f64) -> f64, &'static [f64]);

/// How far a hinge lies from its edge, as a share of the plan.
const HINGES: &[f64] = &[0.2, 0.25, 0.3, 0.35, 0.4];
/// Legs of a corner's triangle, as a share of the sides.
const LEGS: &[f64] = &[0.35, 0.45, 0.55, 0.65];
const ONCE: &[f64] = &[0.0];

fn hinge(distance: f64, reach: f64) -> f64 {
    ((reach - distance) / reach).max(0.0)
}

/// Forms: places run from 0 to 1 across the plan; `h` is the reach.
const CANDIDATES: &[Candidate] = &[
    (
        Shape::EdgeUp(Edge::XMin),
        Shape::EdgeDown(Edge::XMin),
        |x, _, h| hinge(x, h),
        HINGES,
    ),
    (
        Shape::EdgeUp(Edge::XMax),
        Shape::EdgeDown(Edge::XMax),
        |x, _, h| hinge(1.0 - x, h),
        HINGES,
    ),
    (
        Shape::EdgeUp(Edge::YMin),
        Shape::EdgeDown(Edge::YMin),
        |_, y, h| hinge(y, h),
        HINGES,
    ),
    (
        Shape::EdgeUp(Edge::YMax),
        Shape::EdgeDown(Edge::YMax),
        |_, y, h| hinge(1.0 - y, h),
        HINGES,
    ),
    (
        Shape::EdgeUp(Edge::XMin),
        Shape::EdgeDown(Edge::XMin),
        |x, _, h| sq(hinge(x, 1.5 * h)),
        HINGES,
    ),
    (
        Shape::EdgeUp(Edge::XMax),
        Shape::EdgeDown(Edge::XMax),
        |x, _, h| sq(hinge(1.0 - x, 1.5 * h)),
        HINGES,
    ),
    (
        Shape::EdgeUp(Edge::YMin),
        Shape::EdgeDown(Edge::YMin),
        |_, y, h| sq(hinge(y, 1.5 * h)),
        HINGES,
    ),
    (
        Shape::EdgeUp(Edge::YMax),
        Shape::EdgeDown(Edge::YMax),
        |_, y, h| sq(hinge(1.0 - y, 1.5 * h)),
        HINGES,
    ),
    (
        Shape::CornerUp(Corner::XMinYMin),
        Shape::CornerDown(Corner::XMinYMin),
        |x, y, h| hinge(x + y, h),
        LEGS,
    ),
    (
        Shape::CornerUp(Corner::XMaxYMin),
        Shape::CornerDown(Corner::XMaxYMin),
        |x, y, h| hinge(1.0 - x + y, h),
        LEGS,
    ),
    (
        Shape::CornerUp(Corner::XMinYMax),
        Shape::CornerDown(Corner::XMinYMax),
        |x, y, h| hinge(x + 1.0 - y, h),
        LEGS,
    ),
    (
        Shape::CornerUp(Corner::XMaxYMax),
        Shape::CornerDown(Corner::XMaxYMax),
        |x, y, h| hinge(2.0 - x - y, h),
        LEGS,
    ),
    (
        Shape::CornerUp(Corner::XMinYMin),
        Shape::CornerDown(Corner::XMinYMin),
        |x, y, h| sq(hinge(x + y, 1.5 * h)),
        LEGS,
    ),
    (
        Shape::CornerUp(Corner::XMaxYMin),
        Shape::CornerDown(Corner::XMaxYMin),
        |x, y, h| sq(hinge(1.0 - x + y, 1.5 * h)),
        LEGS,
    ),
    (
        Shape::CornerUp(Corner::XMinYMax),
        Shape::CornerDown(Corner::XMinYMax),
        |x, y, h| sq(hinge(x + 1.0 - y, 1.5 * h)),
        LEGS,
    ),
    (
        Shape::CornerUp(Corner::XMaxYMax),
        Shape::CornerDown(Corner::XMaxYMax),
        |x, y, h| sq(hinge(2.0 - x - y, 1.5 * h)),
        LEGS,
    ),
    (
        Shape::Dome,
        Shape::Dish,
        |x, y, _| 1.0 - 0.5 * (u2(x) + u2(y)),
        ONCE,
    ),
    (
        Shape::Dome,
        Shape::Dish,
        |x, y, _| (1.0 - u2(x)) * (1.0 - u2(y)),
        ONCE,
    ),
    (
        Shape::Ridge(Axis::Y),
        Shape::Trough(Axis::Y),
        |x, _, _| 1.0 - u2(x),
        ONCE,
    ),
    (
        Shape::Ridge(Axis::X),
        Shape::Trough(Axis::X),
        |_, y, _| 1.0 - u2(y),
        ONCE,
    ),
    (
        Shape::Saddle,
        Shape::Saddle,
        |x, y, _| 0.5 * (u2(x) - u2(y)),
        ONCE,
    ),
    (
        Shape::Saddle,
        Shape::Saddle,
        |x, y, _| (2.0 * x - 1.0) * (2.0 * y - 1.0),
        ONCE,
    ),
];

fn sq(v: f64) -> f64 {
    v * v
}

/// Square of the distance from the middle, 0 there and 1 at the edge.
fn u2(x: f64) -> f64 {
    sq(2.0 * x - 1.0)
}

fn fit_all(levels: &Levels, plane: &Plane) -> Vec<Form> {
    let points = levels.points();
    let bounds = |of: fn(&super::Level) -> f64| {
        points
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| {
                (l.min(of(p)), h.max(of(p)))
            })
    };
    let ((x0, x1), (y0, y1)) = (bounds(|p| p.x), bounds(|p| p.y));
    let unit: Vec<(f64, f64)> = points
        .iter()
        .map(|p| ((p.x - x0) / (x1 - x0), (p.y - y0) / (y1 - y0)))
        .collect();
    let residuals = plane.residuals(levels);
    let project = Projection::of(&unit);
    let mut forms = Vec::new();
    for &(up, down, form, reaches) in CANDIDATES {
        for &reach in reaches {
            let mut column: Vec<f64> = unit.iter().map(|&(x, y)| form(x, y, reach)).collect();
            project.take_plane(&unit, &mut column);
            let norm2: f64 = column.iter().map(|c| c * c).sum();
            if norm2 < 1e-3 {
                continue; // the layout can't show this form
            }
            let dot: f64 = column.iter().zip(&residuals).map(|(c, r)| c * r).sum();
            let amplitude = dot / norm2;
            let shape = if amplitude >= 0.0 { up } else { down };
            forms.push(Form {
                shape,
                drop: dot * dot / norm2,
                amplitude,
                norm: norm2.sqrt(),
            });
        }
    }
    forms
}

/// Takes the best plane out of a column.
struct Projection {
    mean: (f64, f64),
    inverse: [f64; 3],
}

impl Projection {
    fn of(unit: &[(f64, f64)]) -> Self {
        let n = unit.len() as f64;
        let mean = (
            unit.iter().map(|u| u.0).sum::<f64>() / n,
            unit.iter().map(|u| u.1).sum::<f64>() / n,
        );
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for &(x, y) in unit {
            let (x, y) = (x - mean.0, y - mean.1);
            xx += x * x;
            xy += x * y;
            yy += y * y;
        }
        let det = xx * yy - xy * xy;
        Self {
            mean,
            inverse: [yy / det, -xy / det, xx / det],
        }
    }

    fn take_plane(&self, unit: &[(f64, f64)], column: &mut [f64]) {
        let level = column.iter().sum::<f64>() / column.len() as f64;
        let (mut xc, mut yc) = (0.0, 0.0);
        for (&(x, y), c) in unit.iter().zip(column.iter()) {
            xc += (x - self.mean.0) * c;
            yc += (y - self.mean.1) * c;
        }
        let [a, b, d] = self.inverse;
        let (gx, gy) = (a * xc + b * yc, b * xc + d * yc);
        for (&(x, y), c) in unit.iter().zip(column.iter_mut()) {
            *c -= level + gx * (x - self.mean.0) + gy * (y - self.mean.1);
        }
    }
}
