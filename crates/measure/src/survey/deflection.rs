//! Deflection ratio along every admissible line.

use crate::{DeflectionRatio, Estimate, Length, normal_upper_tail_point};

use super::{Levels, Plane};

/// Which lines are admissible.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SearchLimits {
    /// Shortest chord. The default is 20 ft: over shorter ones the reading
    /// error dominates (common practice, from memory).
    pub min_span: Length,
    /// How far off the chord a middle reading may lie. The default is 1 ft.
    pub corridor: Length,
    /// Most points searched line by line; above, a spread of that many is
    /// searched and the result says so. The default is 400.
    pub exact_up_to: usize,
}

impl Default for SearchLimits {
    fn default() -> Self {
        Self {
            min_span: Length::from_nm(6_096_000_000),
            corridor: Length::from_nm(304_800_000),
            exact_up_to: 400,
        }
    }
}

/// The line that bends most in one sense.
#[derive(Debug, Clone, PartialEq)]
pub struct WorstLine {
    /// Point indices: one end, the middle reading, the other end.
    pub line: [usize; 3],
    /// Length of the chord, mm.
    pub chord_mm: f64,
    /// Offset of the middle from the chord, mm; above 0 it is high.
    pub offset_mm: Estimate<f64>,
    /// Offset over chord; the error is that of this line had it been chosen
    /// beforehand.
    pub ratio: Estimate<DeflectionRatio>,
    /// The least ratio in magnitude that the readings support once the search
    /// over many lines is allowed for (95 %), 0 when noise alone could do it.
    pub at_least: DeflectionRatio,
}

/// What the search found.
#[derive(Debug, Clone, PartialEq)]
pub struct LineSearch {
    /// Worst line with its middle high.
    pub hogging: Option<WorstLine>,
    /// Worst line with its middle low.
    pub sagging: Option<WorstLine>,
    /// Whether every admissible line was looked at.
    pub exact: bool,
    /// How many points were searched.
    pub searched: usize,
}

impl LineSearch {
    /// The worse of the two in magnitude.
    pub fn worst(&self) -> Option<&WorstLine> {
        let size = |w: &WorstLine| w.ratio.value.value().abs();
        match (&self.hogging, &self.sagging) {
            (Some(h), Some(s)) => Some(if size(s) > size(h) { s } else { h }),
            (h, s) => h.as_ref().or(s.as_ref()),
        }
    }
}

/// Search chords between two readings for the largest deflection ratios.
///
/// The chord's ends are readings at least `min_span` apart; the middle is a
/// reading within the corridor between them. Offsets are taken on the
/// residuals from the plane, so tilt and datum do not enter, even when the
/// middle lies a little off the chord. Ties go to the line found first, by
/// index.
pub fn worst_lines(levels: &Levels, plane: &Plane, limits: &SearchLimits) -> LineSearch {
    let residuals = plane.residuals(levels);
    let chosen = choose(levels, &residuals, limits.exact_up_to);
    let exact = chosen.len() == levels.points().len();
    let mut best: [Option<([usize; 3], f64, f64)>; 2] = [None, None];
    let (low, high) = chosen
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), &i| {
            (l.min(residuals[i]), h.max(residuals[i]))
        });
    let (corridor, min_span) = (limits.corridor.as_mm(), limits.min_span.as_mm().max(1.0));
    let at = |i: usize| (levels.points()[i].x, levels.points()[i].y);
    for (p, &a) in chosen.iter().enumerate() {
        let (ax, ay) = at(a);
        for &b in &chosen[p + 1..] {
            let (bx, by) = at(b);
            let (dx, dy) = (bx - ax, by - ay);
            let chord2 = dx * dx + dy * dy;
            if chord2 < min_span * min_span {
                continue;
            }
            let (ra, rb) = (residuals[a], residuals[b]);
            let chord = chord2.sqrt();
            // No middle can beat what stands: skip the chord.
            let hog = (high - ra.min(rb)) / chord > best[0].map_or(0.0, |w| w.2);
            let sag = (ra.max(rb) - low) / chord > best[1].map_or(0.0, |w| w.2);
            if !hog && !sag {
                continue;
            }
            for &m in &chosen {
                let (mx, my) = at(m);
                let (ex, ey) = (mx - ax, my - ay);
                let along = (ex * dx + ey * dy) / chord2;
                if along <= 0.0 || along >= 1.0 || (ex * dy - ey * dx).abs() > corridor * chord {
                    continue;
                }
                if m == a || m == b {
                    continue;
                }
                let ratio = (residuals[m] - ra - along * (rb - ra)) / chord;
                let slot = &mut best[usize::from(ratio < 0.0)];
                if ratio.abs() > slot.map_or(0.0, |w| w.2) {
                    *slot = Some(([a, m, b], along, ratio.abs()));
                }
            }
        }
    }
    let allowance = search_allowance(chosen.len());
    let line = |found: Option<([usize; 3], f64, f64)>, sign: f64| {
        found.map(|(line, along, size)| describe(levels, line, along, sign * size, allowance))
    };
    LineSearch {
        hogging: line(best[0], 1.0),
        sagging: line(best[1], -1.0),
        exact,
        searched: chosen.len(),
    }
}

fn describe(
    levels: &Levels,
    line: [usize; 3],
    along: f64,
    ratio: f64,
    allowance: f64,
) -> WorstLine {
    let [a, m, b] = line;
    let (pa, pb) = (&levels.points()[a], &levels.points()[b]);
    let chord_mm = libm::hypot(pb.x - pa.x, pb.y - pa.y);
    let sd = levels
        .variance(&[(m, 1.0), (a, along - 1.0), (b, -along)])
        .sqrt();
    let least = (ratio.abs() - allowance * sd / chord_mm)
        .max(0.0)
        .copysign(ratio);
    WorstLine {
        line,
        chord_mm,
        offset_mm: Estimate {
            value: ratio * chord_mm,
            sd,
        },
        ratio: Estimate {
            value: DeflectionRatio::raw(ratio),
            sd: sd / chord_mm,
        },
        at_least: DeflectionRatio::raw(least),
    }
}

/// How many standard deviations the worst of all lines on `n` points can show
/// by noise alone, 95 %.
///
/// Three heights set an offset, and no offset exceeds the sum of the extremes
/// of `n` normal errors; over n the bound is that of `n²` independent offsets,
/// which errs wide (checked by simulation).
fn search_allowance(n: usize) -> f64 {
    let lines = (n as f64) * (n as f64);
    normal_upper_tail_point(0.05 / (2.0 * lines.max(1.0)))
}

/// All points, or the extremes and an even spread of `most` of them.
fn choose(levels: &Levels, residuals: &[f64], most: usize) -> Vec<usize> {
    let n = levels.points().len();
    let most = most.clamp(3, 2000);
    if n <= most {
        return (0..n).collect();
    }
    // A quarter from each end of the residuals, the rest evenly by index along
    // a sweep of the plan.
    let mut by_residual: Vec<usize> = (0..n).collect();
    by_residual.sort_by(|&a, &b| residuals[a].total_cmp(&residuals[b]).then(a.cmp(&b)));
    let quarter = most / 4;
    let mut taken = vec![false; n];
    for k in 0..quarter {
        taken[by_residual[k]] = true;
        taken[by_residual[n - 1 - k]] = true;
    }
    let mut sweep: Vec<usize> = (0..n).collect();
    let key = |i: usize| (levels.points()[i].x, levels.points()[i].y);
    sweep.sort_by(|&a, &b| {
        let ((ax, ay), (bx, by)) = (key(a), key(b));
        ax.total_cmp(&bx).then(ay.total_cmp(&by)).then(a.cmp(&b))
    });
    let rest = most - 2 * quarter;
    for k in 0..rest {
        taken[sweep[k * n / rest]] = true;
    }
    (0..n).filter(|&i| taken[i]).collect()
}
