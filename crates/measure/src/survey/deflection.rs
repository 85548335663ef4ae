//! Deflection ratio along every admissible line.

use crate::estimate::COVER_90;
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
    /// Most points searched line by line; above, a spread of half that many
    /// is searched and the result says so. The default is 400.
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

impl WorstLine {
    /// The ratio as evidence: the worst of many lines is worst partly by
    /// noise, so the truth lies between [`at_least`](Self::at_least) and the
    /// ratio read. The middle of that span, with an error whose 90 % interval
    /// is the span (or the error read, when that is larger).
    pub fn allowing_for_search(&self) -> Estimate<DeflectionRatio> {
        let (read, least) = (self.ratio.value.value(), self.at_least.value());
        let sd = (0.5 * (read - least).abs() / COVER_90).max(self.ratio.sd);
        Estimate {
            value: DeflectionRatio::raw(0.5 * (read + least)),
            sd,
        }
    }
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
    let spots: Vec<Spot> = chosen
        .iter()
        .map(|&i| (levels.points()[i].x, levels.points()[i].y, residuals[i]))
        .collect();
    let best = search(&spots, limits.corridor.as_mm(), limits.min_span.as_mm().max(1.0));
    let allowance = search_allowance(chosen.len());
    let line = |found: Option<Found>, sign: f64| {
        found.map(|f| {
            let line = f.line.map(|k| chosen[k]);
            describe(levels, line, f.along, sign * f.size, allowance)
        })
    };
    LineSearch {
        hogging: line(best[0], 1.0),
        sagging: line(best[1], -1.0),
        exact,
        searched: chosen.len(),
    }
}

/// Place and residual of a point, mm.
type Spot = (f64, f64, f64);

#[derive(Clone, Copy)]
struct Found {
    line: [usize; 3],
    along: f64,
    size: f64,
}

/// The worst hogging and the worst sagging line, by place in `spots`.
fn search(spots: &[Spot], corridor: f64, min_span: f64) -> [Option<Found>; 2] {
    let mut best: [Option<Found>; 2] = [None, None];
    let standing = |b: Option<Found>| b.map_or(0.0, |f| f.size);
    let (low, high) = spots
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), s| (l.min(s.2), h.max(s.2)));
    for (a, &(ax, ay, ra)) in spots.iter().enumerate() {
        for (b, &(bx, by, rb)) in spots.iter().enumerate().skip(a + 1) {
            let (dx, dy) = (bx - ax, by - ay);
            let chord2 = dx * dx + dy * dy;
            if chord2 < min_span * min_span {
                continue;
            }
            let chord = chord2.sqrt();
            // When no middle can beat what stands, skip the chord.
            let hog = (high - ra.min(rb)) / chord > standing(best[0]);
            let sag = (ra.max(rb) - low) / chord > standing(best[1]);
            if !hog && !sag {
                continue;
            }
            let reach = corridor * chord;
            for (m, &(mx, my, rm)) in spots.iter().enumerate() {
                let (ex, ey) = (mx - ax, my - ay);
                if (ex * dy - ey * dx).abs() > reach {
                    continue;
                }
                let along = (ex * dx + ey * dy) / chord2;
                if along <= 0.0 || along >= 1.0 || m == a || m == b {
                    continue;
                }
                let ratio = (rm - ra - along * (rb - ra)) / chord;
                let slot = &mut best[usize::from(ratio < 0.0)];
                if ratio.abs() > standing(*slot) {
                    *slot = Some(Found {
                        line: [a, m, b],
                        along,
                        size: ratio.abs(),
                    });
                }
            }
        }
    }
    best
}

fn describe(levels: &Levels, line: [usize; 3], along: f64, ratio: f64, allowance: f64) -> WorstLine {
    let [a, m, b] = line;
    let (pa, pb) = (&levels.points()[a], &levels.points()[b]);
    let chord_mm = libm::hypot(pb.x - pa.x, pb.y - pa.y);
    let sd = levels.variance(&[(m, 1.0), (a, along - 1.0), (b, -along)]).sqrt();
    let least = (ratio.abs() - allowance * sd / chord_mm).max(0.0).copysign(ratio);
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
/// Lines that share points are alike: `n` points give about `4 n` independent
/// lines, each in two senses (found by simulation; it errs wide).
fn search_allowance(n: usize) -> f64 {
    normal_upper_tail_point(0.05 / (8.0 * (n as f64).max(1.0)))
}

/// All points when there are at most `most`; else half as many, the extremes
/// and an even spread.
fn choose(levels: &Levels, residuals: &[f64], most: usize) -> Vec<usize> {
    let n = levels.points().len();
    let most = most.clamp(3, 2000);
    if n <= most {
        return (0..n).collect();
    }
    let most = most.div_ceil(2).max(3);
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
