//! The pattern of a floor, by comparing models rather than by eye.
//!
//! Each candidate is a plane plus one bent form. All candidates have the same
//! number of parameters, so their evidence is how much of the scatter they
//! explain, against the error of the readings and of what no form explains.

mod forms;

use forms::{Form, fit_all};

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

/// A part of the plan that may stand off the rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Part {
    Edge(Edge),
    Corner(Corner),
    Middle,
}

impl Part {
    const ALL: [Part; 9] = [
        Part::Edge(Edge::XMin),
        Part::Edge(Edge::XMax),
        Part::Edge(Edge::YMin),
        Part::Edge(Edge::YMax),
        Part::Corner(Corner::XMinYMin),
        Part::Corner(Corner::XMaxYMin),
        Part::Corner(Corner::XMinYMax),
        Part::Corner(Corner::XMaxYMax),
        Part::Middle,
    ];

    /// The part that a pattern is about; none for patterns of the whole.
    pub fn of(shape: Shape) -> Option<Part> {
        match shape {
            Shape::EdgeDown(edge) | Shape::EdgeUp(edge) => Some(Part::Edge(edge)),
            Shape::CornerDown(corner) | Shape::CornerUp(corner) => Some(Part::Corner(corner)),
            Shape::Dome | Shape::Dish => Some(Part::Middle),
            _ => None,
        }
    }
}

/// How far each part of the plan stands off the rest, up, once the tilt and
/// the pattern named are taken out: height from the flat to its end, mm. None
/// where the pattern has no one part (a ridge, a saddle, an unclear bend).
///
/// With it, by how much their errors are to be widened for what they share.
pub(super) fn part_heights(levels: &Levels, plane: &Plane, fit: &ShapeFit) -> (Vec<(Part, Estimate<f64>)>, f64) {
    let plain = matches!(fit.shape, Shape::NoPattern | Shape::PlainTilt);
    if !plain && Part::of(fit.shape).is_none() {
        return (Vec::new(), 1.0);
    }
    let (parts, overlap) = forms::parts(levels, plane, fit.shape);
    let heights = parts
        .into_iter()
        .map(|(part, value, unit)| {
            let sd = unit * fit.noise_mm;
            (part, Estimate { value, sd })
        })
        .collect();
    (heights, overlap)
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
/// How often it is right, by simulation: 1,000 floors of each shape, 56 points
/// on a loose grid over 14 by 11 m, tilted, the form 5 to 60 mm high with
/// hinges and curvature drawn anew, one reading's error 1.5 mm (seeded; the
/// test `survey_simulation` prints it). In per cent:
///
/// | shape | right | no pattern | unclear | wrong |
/// |---|---|---|---|---|
/// | no pattern | 99.7 | | 0.2 | 0.1 |
/// | plain tilt | 97.6 | 2.3 | 0.0 | 0.1 |
/// | edge down, at x | 96.0 | 0.1 | 3.6 | 0.3 |
/// | edge down, at y | 95.9 | 0.1 | 3.9 | 0.1 |
/// | edge up | 95.3 | 0.0 | 4.6 | 0.1 |
/// | corner down | 98.2 | 1.2 | 0.6 | 0.0 |
/// | corner up | 98.2 | 1.1 | 0.7 | 0.0 |
/// | dome | 99.8 | 0.0 | 0.2 | 0.0 |
/// | dish | 100.0 | 0.0 | 0.0 | 0.0 |
/// | ridge | 98.1 | 0.0 | 1.8 | 0.1 |
/// | trough | 98.5 | 0.0 | 1.5 | 0.0 |
/// | saddle | 99.9 | 0.0 | 0.1 | 0.0 |
///
/// On the same floors 90 % intervals of a slope held the truth 89.9 % of the
/// time, and those of a line fixed beforehand 89.8 %. The worst of many lines
/// is worst partly by noise: taken as if it had been fixed beforehand, its
/// interval holds the truth 0 to 62 % of the time; allowing for the search
/// ([`WorstLine::interval_90`](super::WorstLine::interval_90))
/// it holds 89 to 92 %.
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
    let mut ranked: Vec<(Shape, f64)> = names.iter().map(|&(s, w, c)| (s, w / c.max(1) as f64)).collect();
    ranked.sort_by(|a, b| b.1.total_cmp(&a.1));
    let total: f64 = ranked.iter().map(|r| r.1).sum();
    let (nearest, share) = (ranked[0].0, ranked[0].1 / total);
    let gain = best.drop / (2.0 * noise2) - 0.5 * libm::log(n as f64);
    let top = forms
        .iter()
        .filter(|f| f.shape == nearest)
        .fold(best, |a, f| if a.shape != nearest || f.drop > a.drop { f } else { a });
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

fn best_of(forms: &[Form]) -> Option<&Form> {
    forms.iter().reduce(|a, b| if b.drop > a.drop { b } else { a })
}
