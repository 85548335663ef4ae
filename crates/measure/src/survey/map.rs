//! Contours of a floor, and a map in plain text.

use contour::ContourBuilder;
use spade::Point2;

use super::neighbours::triangulate;
use super::{Levels, SurveyError};

/// Steps of the grid along the longer side.
const GRID: usize = 60;

/// One contour, as broken lines.
#[derive(Debug, Clone, PartialEq)]
pub struct ContourLine {
    /// Height, mm.
    pub height_mm: f64,
    /// Lines of places (x, y), mm.
    pub lines: Vec<Vec<(f64, f64)>>,
}

struct Grid {
    values: Vec<f64>,
    inside: Vec<bool>,
    columns: usize,
    rows: usize,
    origin: (f64, f64),
    step: (f64, f64),
}

/// Values at the points carried to a grid by natural neighbours; outside the
/// hull the nearest point's value.
fn grid(levels: &Levels, values: &[f64], columns: usize, rows: usize) -> Result<Grid, SurveyError> {
    let points = levels.points();
    if points.len() < 3 {
        return Err(SurveyError::TooFewPoints {
            found: points.len(),
            needed: 3,
            what: "for a map",
        });
    }
    let mesh = triangulate(levels)?;
    let natural = mesh.natural_neighbor();
    let bound = |of: fn(&super::Level) -> f64| {
        points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| {
            (l.min(of(p)), h.max(of(p)))
        })
    };
    let ((x0, x1), (y0, y1)) = (bound(|p| p.x), bound(|p| p.y));
    let step = ((x1 - x0) / (columns - 1) as f64, (y1 - y0) / (rows - 1) as f64);
    let (mut out, mut inside) = (Vec::with_capacity(columns * rows), Vec::with_capacity(columns * rows));
    for row in 0..rows {
        for column in 0..columns {
            let place = Point2::new(x0 + column as f64 * step.0, y0 + row as f64 * step.1);
            let value = natural.interpolate(|v| values[v.index()], place);
            inside.push(value.is_some());
            out.push(
                value
                    .or_else(|| mesh.nearest_neighbor(place).map(|v| values[v.index()]))
                    .unwrap_or(0.0),
            );
        }
    }
    Ok(Grid {
        values: out,
        inside,
        columns,
        rows,
        origin: (x0, y0),
        step,
    })
}

/// Contours of values at the points (heights, or residuals from the plane).
///
/// `every_mm` is the interval; contours fall on whole multiples of it, at
/// most 200 of them (the interval is doubled until they fit).
///
/// # Errors
///
/// Fewer than three points, points that can't be triangulated, values that
/// don't match the points, an interval that is not above zero.
pub fn contours(levels: &Levels, values: &[f64], every_mm: f64) -> Result<Vec<ContourLine>, SurveyError> {
    let absurd = |mm| SurveyError::Absurd {
        point: String::new(),
        what: "a contour interval",
        mm,
        limit_mm: 2e4,
    };
    if !(every_mm > 0.0 && every_mm <= 2e4) || values.len() != levels.points().len() {
        return Err(absurd(every_mm));
    }
    if let Some(&bad) = values.iter().find(|v| !v.is_finite()) {
        return Err(absurd(bad));
    }
    let g = grid(levels, values, GRID, GRID)?;
    let (low, high) = values
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), &v| (l.min(v), h.max(v)));
    let mut every = every_mm;
    while (high - low) / every > 200.0 {
        every *= 2.0;
    }
    let first = libm::ceil(low / every) as i64;
    let last = libm::floor(high / every) as i64;
    let thresholds: Vec<f64> = (first..=last).map(|k| k as f64 * every).collect();
    let lines = ContourBuilder::new(g.columns, g.rows, true)
        .lines(&g.values, &thresholds)
        .map_err(|_| SurveyError::Collinear)?;
    let place = |c: &contour_coord::Coord| {
        // The builder's cells are centred on half steps.
        ((c.x - 0.5) * g.step.0 + g.origin.0, (c.y - 0.5) * g.step.1 + g.origin.1)
    };
    let within = |c: &contour_coord::Coord| {
        let (i, j) = (libm::round(c.x - 0.5), libm::round(c.y - 0.5));
        let inner = c.x > 0.5 && c.y > 0.5 && c.x < g.columns as f64 - 0.5 && c.y < g.rows as f64 - 0.5;
        inner
            && i >= 0.0
            && j >= 0.0
            && g.inside
                .get(j as usize * g.columns + i as usize)
                .copied()
                .unwrap_or(false)
    };
    Ok(lines
        .iter()
        .map(|line| {
            let mut parts = Vec::new();
            for part in &line.geometry().0 {
                for run in part.0.split(|c| !within(c)).filter(|run| run.len() > 1) {
                    parts.push(run.iter().map(place).collect());
                }
            }
            ContourLine {
                height_mm: line.threshold(),
                lines: parts,
            }
        })
        .collect())
}

mod contour_coord {
    /// A grid place as the contour builder gives it.
    pub(super) type Coord = geo_types::Coord<f64>;
}

/// A map of values in plain text, `columns` wide (10 to 200), north (large y)
/// up: a digit 0 to 9 from lowest to highest, blank outside the points.
///
/// # Errors
///
/// As [`contours`].
pub fn text_map(levels: &Levels, values: &[f64], columns: usize) -> Result<String, SurveyError> {
    if values.len() != levels.points().len() {
        return Err(SurveyError::TooFewPoints {
            found: values.len(),
            needed: levels.points().len(),
            what: "for a map",
        });
    }
    let columns = columns.clamp(10, 200);
    let g = grid(levels, values, columns, (columns / 3).max(4))?;
    let (low, high) = values
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), &v| (l.min(v), h.max(v)));
    let span = (high - low).max(1e-9);
    let mut text = String::new();
    for row in (0..g.rows).rev() {
        let line: String = (0..g.columns)
            .map(|c| {
                let k = row * g.columns + c;
                let digit = libm::floor((g.values[k] - low) / span * 9.999).clamp(0.0, 9.0) as u8;
                if g.inside[k] { char::from(b'0' + digit) } else { ' ' }
            })
            .collect();
        text.push_str(line.trim_end());
        text.push('\n');
    }
    Ok(text)
}
