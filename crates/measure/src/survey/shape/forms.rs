//! The bent forms that a floor is compared with.

use super::{Axis, Corner, Edge, Part, Shape};
use crate::least_squares::fit;
use crate::survey::{Level, Levels, Plane};

/// One form fitted beside a plane.
pub(super) struct Form {
    pub shape: Shape,
    /// Which candidate it is, and its reach.
    candidate: (usize, f64),
    /// Sum of squares it explains beyond the plane, mm².
    pub drop: f64,
    /// Height of the form, mm.
    pub amplitude: f64,
    /// Root of the sum of squares of the form less its best plane.
    pub norm: f64,
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
    (Shape::Dome, Shape::Dish, |x, y, _| 1.0 - 0.5 * (u2(x) + u2(y)), ONCE),
    (Shape::Dome, Shape::Dish, |x, y, _| (1.0 - u2(x)) * (1.0 - u2(y)), ONCE),
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
    (Shape::Saddle, Shape::Saddle, |x, y, _| 0.5 * (u2(x) - u2(y)), ONCE),
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

/// Places on the unit square.
fn unit_square(levels: &Levels) -> Vec<(f64, f64)> {
    let points = levels.points();
    let bounds = |of: fn(&Level) -> f64| {
        points
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| {
                (low.min(of(p)), high.max(of(p)))
            })
    };
    let ((x0, x1), (y0, y1)) = (bounds(|p| p.x), bounds(|p| p.y));
    points
        .iter()
        .map(|p| ((p.x - x0) / (x1 - x0), (p.y - y0) / (y1 - y0)))
        .collect()
}

/// Every form fitted to the heights, in a fixed order. A form that the layout
/// can't show is left out.
pub(super) fn fit_all(levels: &Levels, plane: &Plane) -> Vec<Form> {
    let unit = unit_square(levels);
    let flat = Flat::of(&unit);
    let mut residuals = plane.residuals(levels);
    flat.take_out(&unit, &mut residuals);
    let mut forms = Vec::new();
    for (number, &(up, down, form, reaches)) in CANDIDATES.iter().enumerate() {
        for &reach in reaches {
            let (mut sums, mut dot) = (Sums::default(), 0.0);
            for (&(x, y), r) in unit.iter().zip(&residuals) {
                let c = form(x, y, reach);
                sums.add(x - flat.mean.0, y - flat.mean.1, c);
                dot += c * r; // the residuals have no plane in them
            }
            let norm2 = flat.left_of(&sums);
            if norm2 < 1e-3 {
                continue;
            }
            let amplitude = dot / norm2;
            let shape = if amplitude >= 0.0 { up } else { down };
            forms.push(Form {
                shape,
                candidate: (number, reach),
                drop: dot * dot / norm2,
                amplitude,
                norm: norm2.sqrt(),
            });
        }
    }
    forms
}

/// Height at each part of the plan from the flat to its end, beside the plane
/// and the form named: (part, height in mm, its standard deviation for an
/// error of 1 mm a reading). A part that the layout can't show is left out.
pub(super) fn parts(levels: &Levels, plane: &Plane, named: Shape) -> (Vec<(Part, f64, f64)>, f64) {
    let unit = unit_square(levels);
    let column = |(number, reach): (usize, f64)| -> Vec<f64> {
        let form = CANDIDATES[number].2;
        unit.iter().map(|&(x, y)| form(x, y, reach)).collect()
    };
    let best = fit_all(levels, plane)
        .into_iter()
        .filter(|form| form.shape == named)
        .reduce(|a, b| if b.drop > a.drop { b } else { a });
    let flat: [Vec<f64>; 3] = [
        vec![1.0; unit.len()],
        unit.iter().map(|u| u.0).collect(),
        unit.iter().map(|u| u.1).collect(),
    ];
    let heights: Vec<f64> = levels.points().iter().map(|p| p.z).collect();
    let weights = vec![1.0; unit.len()];
    let (mut found, mut own_columns) = (Vec::new(), Vec::new());
    for part in Part::ALL {
        let own = best.as_ref().filter(|form| Part::of(form.shape) == Some(part));
        let mut columns = flat.to_vec();
        columns.extend(best.as_ref().map(|form| column(form.candidate)));
        if own.is_none() {
            columns.push(column(part.usual()));
        }
        if let Some(fit) = fit(&columns, &heights, &weights) {
            let last = columns.len() - 1;
            found.push((part, fit.coefficients[last], fit.sd(last)));
            let column = columns.pop().unwrap_or_default();
            own_columns.extend(crate::least_squares::fit(&columns, &column, &weights).map(|rest| rest.residuals));
        }
    }
    (found, overlap(&own_columns))
}

/// By how much the errors of several numbers from the same points are to be widened, so that together they count as
/// the number of independent ones that they amount to: with correlations `r` of `k` numbers, the square root of the
/// sum of `r²` over `k`. (Effective number of degrees of freedom, Bretherton and others 1999; from memory.)
fn overlap(columns: &[Vec<f64>]) -> f64 {
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let sizes: Vec<f64> = columns.iter().map(|c| dot(c, c)).collect();
    let mut sum = 0.0;
    for (a, aa) in columns.iter().zip(&sizes) {
        for (b, bb) in columns.iter().zip(&sizes) {
            let r = dot(a, b);
            sum += r * r / (aa * bb).max(f64::MIN_POSITIVE);
        }
    }
    libm::sqrt(sum / columns.len().max(1) as f64).max(1.0)
}

impl Part {
    /// The candidate that shows it when no form is named there: its place in
    /// the list, with a middling reach.
    fn usual(self) -> (usize, f64) {
        let first = |shape: Shape| CANDIDATES.iter().position(|c| c.0 == shape).unwrap_or(0);
        match self {
            Part::Edge(edge) => (first(Shape::EdgeUp(edge)), 0.3),
            Part::Corner(corner) => (first(Shape::CornerUp(corner)), 0.5),
            Part::Middle => (first(Shape::Dome), 0.0),
        }
    }
}

/// The best plane over the unit square.
struct Flat {
    count: f64,
    mean: (f64, f64),
    /// Inverse of the scatter: xx, xy, yy.
    inverse: [f64; 3],
}

/// Sums of a column with the plane's columns, about the mean place.
#[derive(Default)]
struct Sums {
    c: f64,
    xc: f64,
    yc: f64,
    cc: f64,
}

impl Sums {
    fn add(&mut self, x: f64, y: f64, c: f64) {
        self.c += c;
        self.xc += x * c;
        self.yc += y * c;
        self.cc += c * c;
    }
}

impl Flat {
    fn of(unit: &[(f64, f64)]) -> Self {
        let count = unit.len() as f64;
        let sum = |of: fn(&(f64, f64)) -> f64| unit.iter().map(of).sum::<f64>();
        let mean = (sum(|u| u.0) / count, sum(|u| u.1) / count);
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for &(x, y) in unit {
            let (x, y) = (x - mean.0, y - mean.1);
            xx += x * x;
            xy += x * y;
            yy += y * y;
        }
        let det = xx * yy - xy * xy;
        Self {
            count,
            mean,
            inverse: [yy / det, -xy / det, xx / det],
        }
    }

    fn slopes(&self, sums: &Sums) -> (f64, f64) {
        let [a, b, d] = self.inverse;
        (a * sums.xc + b * sums.yc, b * sums.xc + d * sums.yc)
    }

    /// Sum of squares left once the best plane is taken out.
    fn left_of(&self, sums: &Sums) -> f64 {
        let (gx, gy) = self.slopes(sums);
        sums.cc - sums.c * sums.c / self.count - gx * sums.xc - gy * sums.yc
    }

    fn take_out(&self, unit: &[(f64, f64)], column: &mut [f64]) {
        let mut sums = Sums::default();
        for (&(x, y), &c) in unit.iter().zip(column.iter()) {
            sums.add(x - self.mean.0, y - self.mean.1, c);
        }
        let (level, (gx, gy)) = (sums.c / self.count, self.slopes(&sums));
        for (&(x, y), c) in unit.iter().zip(column.iter_mut()) {
            *c -= level + gx * (x - self.mean.0) + gy * (y - self.mean.1);
        }
    }
}
