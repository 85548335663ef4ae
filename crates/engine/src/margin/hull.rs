//! How far a conclusion's log odds can be between points at which they are known.
//!
//! Let a number's odds at one place be moved by the factor e^θ from x, and z = 1 − x + x·e^θ. Of `n` places, a state of the
//! house in which it acted `a` times and stood idle `b` times then weighs e^(aθ) · z^(−a−b) as much. Times z^n, which is the
//! same for all states, each weight is e^(aθ) · z^(n−a−b): its logarithm is convex in θ, and so is that of any sum of them.
//! The two logarithms, with the conclusion and without it, thus lie under the chords between the points at which they are
//! known, and above the same chords drawn on beyond them, and above their tangents; they rise by 0 at least and by n at most.
//! Where they are known to lie between two values, a chord is drawn between the higher ones, and on beyond them from a higher
//! one to a lower. The difference of the two is how far the log odds have moved.

/// One of the two logarithms, at points in order, and its slope at 0.
#[derive(Clone, Debug)]
pub(super) struct Convex {
    pub points: Vec<Point>,
    pub slope: f64,
    pub most: f64,
}

/// What is known of it at a point.
#[derive(Clone, Copy, Debug)]
pub(super) struct Point {
    pub at: f64,
    pub low: f64,
    pub high: f64,
}

/// A straight line through a point.
#[derive(Clone, Copy, Debug)]
struct Line {
    at: f64,
    value: f64,
    slope: f64,
}

impl Line {
    fn at(&self, x: f64) -> f64 {
        self.value + self.slope * (x - self.at)
    }
}

impl Convex {
    /// The chord over a stretch between two neighbouring points, and the lines that it lies above there.
    fn lines(&self, (from, to): (f64, f64)) -> Option<(Line, Vec<Line>)> {
        let i = self
            .points
            .windows(2)
            .position(|pair| pair[0].at <= from && to <= pair[1].at)?;
        let point = |at: usize| self.points.get(at).copied();
        let (left, right) = (point(i)?, point(i + 1)?);
        let from = |point: Point, slope: f64| Line {
            at: point.at,
            value: point.low,
            slope,
        };
        let mut below = vec![
            Line {
                at: 0.0,
                value: 0.0,
                slope: self.slope,
            },
            from(left, 0.0),
            from(right, self.most),
        ];
        let steep = |before: Point| (left.low - before.high) / (left.at - before.at);
        below.extend(i.checked_sub(1).and_then(point).map(|before| from(left, steep(before))));
        let steep = |after: Point| (after.high - right.low) / (after.at - right.at);
        below.extend(point(i + 2).map(|after| from(right, steep(after))));
        let chord = Line {
            at: left.at,
            value: left.high,
            slope: (right.high - left.high) / (right.at - left.at),
        };
        Some((chord, below))
    }
}

/// Bounds of the difference of two such logarithms over a stretch between two neighbouring points of both.
pub(super) fn difference(with: &Convex, without: &Convex, stretch: (f64, f64)) -> Option<(f64, f64)> {
    let (over, under) = (with.lines(stretch)?, without.lines(stretch)?);
    // A chord less a line is a line: most at an end.
    let most = |chord: &Line, lines: &[Line]| {
        let ends = |line: &Line| {
            let at = |x: f64| chord.at(x) - line.at(x);
            at(stretch.0).max(at(stretch.1))
        };
        lines.iter().map(ends).fold(f64::INFINITY, f64::min)
    };
    let (high, low) = (most(&over.0, &under.1), -most(&under.0, &over.1));
    // A little room for rounding.
    let room = 1e-7;
    (low.is_finite() && high.is_finite()).then_some((low - room, high + room))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sums of such weights stay within the bounds that few of their points give.
    #[test]
    fn sums_lie_within() {
        let (x, n) = (0.2_f64, 5.0);
        let z = |t: f64| 1.0 - x + x * t.exp();
        let states = [(0.3, 0.0, 0.0), (0.2, 1.0, 2.0), (0.4, 2.0, 5.0), (0.1, 4.0, 4.0)];
        let others = [(0.6, 0.0, 1.0), (0.3, 3.0, 3.0), (0.1, 1.0, 5.0)];
        let ln = |of: &[(f64, f64, f64)], t: f64| {
            let one = |(p, a, m): &(f64, f64, f64)| p * (a * t).exp() * z(t).powf(n - m);
            of.iter().map(one).sum::<f64>().ln()
        };
        let known = |of: &[(f64, f64, f64)], at: f64, room: f64| Point {
            at,
            low: ln(of, at) - room,
            high: ln(of, at) + room,
        };
        let convex = |of: &[(f64, f64, f64)]| Convex {
            points: vec![
                known(of, -2.3, 0.0),
                known(of, -1.2, 0.01),
                known(of, 0.0, 0.0),
                known(of, 2.3, 0.0),
            ],
            slope: (ln(of, 1e-6) - ln(of, -1e-6)) / 2e-6,
            most: n,
        };
        let (with, without) = (convex(&states), convex(&others));
        for step in -23..23 {
            let stretch = (f64::from(step) / 10.0, f64::from(step + 1) / 10.0);
            let (low, high) = difference(&with, &without, stretch).unwrap();
            for part in 0..=4 {
                let t = stretch.0 + f64::from(part) * 0.025;
                let is = ln(&states, t) - ln(&others, t);
                assert!(low <= is && is <= high, "{t}: {low} {is} {high}");
            }
            assert!(high - low < 4.0, "{stretch:?}: {low} {high}");
        }
    }
}
