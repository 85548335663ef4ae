//! Deflection ratio along every admissible line.

use crate::estimate::COVER_90;
use crate::{DeflectionRatio, Estimate, Length, normal_upper_tail_point};

use super::chosen::Chosen;
use super::slabs::{Slabs, Spot};
use super::{Levels, Plane};

/// Which lines are admissible.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SearchLimits {
    /// Shortest chord. The default is 20 ft: over shorter ones the reading
    /// error dominates (common practice, from memory).
    pub min_span: Length,
    /// How far off the chord a middle reading may lie. The default is 1 ft.
    pub corridor: Length,
    /// Most points searched line by line; above, a spread of a third as many
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
    /// What the search says of it, along its own sign.
    chosen: Chosen,
}

impl WorstLine {
    /// The ratio as evidence: the worst of many lines is worst partly by
    /// noise, so the truth lies between [`at_least`](Self::at_least) and the
    /// ratio read. The middle of that span, with an error whose 90 % interval
    /// is the span (or the error read, when that is larger). It errs wide, and
    /// a wider stated error never sharpens it; for an interval that holds as
    /// often as it says see [`interval_90`](Self::interval_90).
    pub fn allowing_for_search(&self) -> Estimate<DeflectionRatio> {
        let (read, least) = (self.ratio.value.value(), self.at_least.value());
        let sd = (0.5 * (read - least).abs() / COVER_90).max(self.ratio.sd);
        Estimate {
            value: DeflectionRatio::raw(0.5 * (read + least)),
            sd,
        }
    }

    /// The 90 % interval of this line's true ratio, along its own sign. The
    /// worst of many lines is worst partly by noise; this is the interval of a
    /// reading chosen for being the largest. It reckons with the layout at
    /// hand, by what the readings of all other lines would have had to be.
    ///
    /// How often it holds, by simulation (1,000 floors a cell, forms 5 to
    /// 60 mm high, one reading's error 1.5 mm unless stated; seeded, the test
    /// `survey_simulation` prints it). In per cent:
    ///
    /// | layout | plain tilt | corner down | edge down | dome | all | half-width over a fixed line's |
    /// |---|---|---|---|---|---|---|
    /// | grid of 5 by 5, 10 by 8 m | 91.4 | 90.0 | 89.3 | 90.8 | 90.4 | 1.5 |
    /// | grid of 9 by 8, 16 by 12 m, 3 mm | 92.4 | 92.8 | 89.1 | 89.8 | 91.0 | 1.8 |
    /// | strip of 12 by 3, 20 by 5 m, 1 mm | 91.2 | 91.8 | 89.7 | 89.4 | 90.5 | 1.6 |
    /// | 30 points at random, 13 by 11 m | 90.6 | 89.1 | 89.6 | 91.3 | 90.2 | 1.6 |
    /// | an L of 8 by 8, 15 by 15 m | 89.6 | 90.9 | 91.0 | 90.0 | 90.4 | 1.7 |
    ///
    /// On the loose grid of 8 by 7 of [`shape`](super::shape()) it holds 89.2
    /// to 91.5 % over twelve shapes. A cell is good to ± 1.9 points. An error
    /// that stations or coverings share enters the line's own error, not the
    /// reckoning of the choice; of a survey that was searched by a sample the
    /// choice of the sample is left out.
    pub fn interval_90(&self) -> (f64, f64) {
        self.chosen.interval_90(self.ratio.value.value().abs(), self.ratio.sd)
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
    let limits = Admissible {
        corridor: limits.corridor.as_mm(),
        min_span: limits.min_span.as_mm().max(1.0),
    };
    let slabs = Slabs::of(&spots);
    let best = limits.search(&spots, &slabs, &[]);
    let size = |b: Option<Found>| b.map_or(0.0, |f| f.size);
    let line = |at: usize, sign: f64| {
        best[at].map(|found| {
            // The worse of the two was chosen over lines of both signs.
            let both = size(best[at]) >= size(best[1 - at]);
            let own = |k: usize| 1.0 / f64::from(levels.points()[chosen[k]].readings.max(1));
            let chosen_from = limits.chosen((&spots, &slabs), &found, sign, both, own);
            describe(levels, &found, sign, &chosen, chosen_from)
        })
    };
    LineSearch {
        hogging: line(0, 1.0),
        sagging: line(1, -1.0),
        exact,
        searched: chosen.len(),
    }
}

#[derive(Clone, Copy)]
struct Found {
    line: [usize; 3],
    along: f64,
    chord: f64,
    size: f64,
}

impl Found {
    /// The weight of each of its points in its ratio.
    fn weights(&self) -> [(usize, f64); 3] {
        let [a, m, b] = self.line;
        [
            (a, (self.along - 1.0) / self.chord),
            (m, 1.0 / self.chord),
            (b, -self.along / self.chord),
        ]
    }
}

/// Which lines are admissible, mm.
struct Admissible {
    corridor: f64,
    min_span: f64,
}

impl Admissible {
    /// The worst hogging and the worst sagging line, by place in `spots`,
    /// without the points in `skip`. Of equal ones the first by index.
    fn search(&self, spots: &[Spot], slabs: &Slabs, skip: &[usize]) -> [Option<Found>; 2] {
        let mut best: [Option<Found>; 2] = [None, None];
        let standing = |b: Option<Found>| b.map_or(0.0, |f| f.size);
        let (low, high) = spots
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), s| (l.min(s.2), h.max(s.2)));
        for (a, &from) in spots.iter().enumerate().filter(|(a, _)| !skip.contains(a)) {
            for (b, &to) in spots.iter().enumerate().skip(a + 1) {
                let (dx, dy) = (to.0 - from.0, to.1 - from.1);
                let chord2 = dx * dx + dy * dy;
                if chord2 < self.min_span * self.min_span || skip.contains(&b) {
                    continue;
                }
                // When no middle can beat what stands, skip the chord.
                let chord = chord2.sqrt();
                let hog = (high - from.2.min(to.2)) / chord >= standing(best[0]);
                let sag = (from.2.max(to.2) - low) / chord >= standing(best[1]);
                if !hog && !sag {
                    continue;
                }
                slabs.near(from, to, self.corridor, |m| {
                    if m == a || m == b || skip.contains(&m) {
                        return;
                    }
                    if let Some((found, ratio)) = self.line(spots, [a, m, b]) {
                        let slot = &mut best[usize::from(ratio < 0.0)];
                        let size = standing(*slot);
                        let first = slot.is_some_and(|old| found.size == old.size && found.line < old.line);
                        if found.size > size || first {
                            *slot = Some(found);
                        }
                    }
                });
            }
        }
        best
    }

    /// One line and its ratio, when it is admissible.
    fn line(&self, spots: &[Spot], [a, m, b]: [usize; 3]) -> Option<(Found, f64)> {
        let ((ax, ay, ra), (mx, my, rm), (bx, by, rb)) = (spots[a], spots[m], spots[b]);
        let (dx, dy, ex, ey) = (bx - ax, by - ay, mx - ax, my - ay);
        let chord2 = dx * dx + dy * dy;
        let off = ex * dy - ey * dx;
        if chord2 < self.min_span * self.min_span || off * off > self.corridor * self.corridor * chord2 {
            return None;
        }
        let along = (ex * dx + ey * dy) / chord2;
        if along <= 0.0 || along >= 1.0 {
            return None;
        }
        let chord = chord2.sqrt();
        let ratio = (rm - ra - along * (rb - ra)) / chord;
        let found = Found {
            line: [a, m, b],
            along,
            chord,
            size: ratio.abs(),
        };
        Some((found, ratio))
    }

    /// What the choice of `best` says: over lines of its own sign, or of
    /// `both`. `own` is a point's variance for a reading's variance of 1; an
    /// error that stations or coverings share is not in it.
    fn chosen(
        &self,
        (spots, slabs): (&[Spot], &Slabs),
        best: &Found,
        sign: f64,
        both: bool,
        own: impl Fn(usize) -> f64,
    ) -> Chosen {
        let n = spots.len();
        let mut chosen = Chosen::among((n * n.saturating_sub(1) * n.saturating_sub(2) / 2) as f64);
        let mut over = |ratio: f64, share: f64| {
            chosen.over(best.size, sign * ratio, share);
            if both {
                chosen.over(best.size, -sign * ratio, -share);
            }
        };
        // Lines that share no point with it: the largest decides.
        let [hog, sag] = self.search(spots, slabs, &best.line);
        if let Some(found) = hog {
            over(found.size, 0.0);
        }
        if let Some(found) = sag {
            over(-found.size, 0.0);
        }
        // Lines that share a point, each once.
        let mine = best.weights();
        let variance: f64 = mine.iter().map(|(i, w)| w * w * own(*i)).sum();
        let mut weigh = |line: [usize; 3]| {
            if line == best.line {
                return;
            }
            if let Some((found, ratio)) = self.line(spots, line) {
                let theirs = found.weights();
                let shared = |(i, w): &(usize, f64)| {
                    let other = theirs.iter().find(|(j, _)| j == i);
                    other.map_or(0.0, |(_, v)| w * v * own(*i))
                };
                let covariance: f64 = mine.iter().map(shared).sum();
                over(ratio, covariance / variance);
            }
        };
        for (rank, &point) in best.line.iter().enumerate() {
            // Those with an earlier point of the line were met before.
            let fresh = |k: usize| k != point && !best.line[..rank].contains(&k);
            for one in (0..n).filter(|&k| fresh(k)) {
                let line = |m: usize| if point < one { [point, m, one] } else { [one, m, point] };
                slabs.near(spots[point.min(one)], spots[point.max(one)], self.corridor, |m| {
                    if m != one && fresh(m) {
                        weigh(line(m));
                    }
                });
                for two in (one + 1..n).filter(|&k| fresh(k)) {
                    weigh([one, point, two]);
                }
            }
        }
        chosen
    }
}

fn describe(levels: &Levels, found: &Found, sign: f64, points: &[usize], chosen: Chosen) -> WorstLine {
    let (line, searched) = (found.line.map(|k| points[k]), points.len());
    let [a, m, b] = line;
    let (chord_mm, along) = (found.chord, found.along);
    let sd = levels.variance(&[(m, 1.0), (a, along - 1.0), (b, -along)]).sqrt();
    let least = (found.size - search_allowance(searched) * sd / chord_mm).max(0.0);
    WorstLine {
        line,
        chord_mm,
        offset_mm: Estimate {
            value: sign * found.size * chord_mm,
            sd,
        },
        ratio: Estimate {
            value: DeflectionRatio::raw(sign * found.size),
            sd: sd / chord_mm,
        },
        at_least: DeflectionRatio::raw(sign * least),
        chosen,
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

/// All points when there are at most `most`; else a third as many, the extremes
/// and an even spread.
fn choose(levels: &Levels, residuals: &[f64], most: usize) -> Vec<usize> {
    let n = levels.points().len();
    let most = most.clamp(3, 2000);
    if n <= most {
        return (0..n).collect();
    }
    let most = most.div_ceil(3).max(3);
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
