//! The algebra of noisy-MAX: distributions of a maximum, kept as non-negative sums.
//!
//! With `a` the distribution of the largest so far and `p` that of one more contribution,
//! `P(max = g) = a_g·P(p ≤ g) + P(a < g)·p_g`: every term is non-negative, so nothing cancels.
//! States that a likelihood does not tell apart are one *grade*.

use crate::blocks::{pieces, pieces_mut};
use crate::{Cause, Var};

/// `a` becomes the distribution of max(a, p). Need not sum to 1.
pub(crate) fn max_into(a: &mut [f64], p: &[f64]) {
    let (mut below, mut upto) = (0.0, 0.0);
    for (a, p) in a.iter_mut().zip(p) {
        upto += p;
        let own = *a;
        *a = own * upto + below * p;
        below += own;
    }
}

/// Adds the rows of every distinct parent, those of a parent with several causes combined.
/// `thin` is called with the cause's number and the parent's state, and adds what becomes of the row to a list.
pub(crate) fn combined_rows(
    states: usize,
    parents: &[Var],
    causes: &[Cause],
    rows: &mut Vec<f64>,
    thin: impl Fn((usize, usize), &[f64], &mut Vec<f64>),
) {
    let mut own = Vec::new();
    for parent in parents {
        let first = rows.len();
        for (i, cause) in causes.iter().enumerate() {
            if cause.parent != *parent {
                continue;
            }
            let fresh = rows.len() == first;
            for (s, row) in cause.rows.iter().enumerate() {
                if fresh {
                    thin((i, s), row, rows);
                } else {
                    own.clear();
                    thin((i, s), row, &mut own);
                    max_into(&mut rows[first + s * states..][..states], &own);
                }
            }
        }
    }
}

/// A row thinned to the share `q` that is of one kind: whatever is not of it must not be seen.
pub(crate) fn thinned(row: &[f64], q: f64) -> impl Iterator<Item = f64> {
    let keep = move |(k, p): (usize, &f64)| if k == 0 { *p } else { p * q };
    row.iter().enumerate().map(keep)
}

/// One grade: the states up to `end` (exclusive) from where the previous one ended, and the
/// likelihood they share.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Grade {
    pub end: usize,
    pub weight: f64,
}

/// Runs of equal likelihood, up to the last that is not 0.
pub(crate) fn grades_of(likelihood: impl Iterator<Item = f64>, out: &mut Vec<Grade>) {
    out.clear();
    for (k, weight) in likelihood.enumerate() {
        match out.last_mut() {
            Some(last) if last.weight == weight => last.end = k + 1,
            _ => out.push(Grade { end: k + 1, weight }),
        }
    }
    while out.len() > 1 && out.last().is_some_and(|g| g.weight == 0.0) {
        out.pop();
    }
}

/// How many grades [`grades_of`] would find.
pub(crate) fn count_grades(likelihood: impl Iterator<Item = f64>) -> usize {
    let (mut grades, mut kept, mut last) = (0, 1, f64::NAN);
    for weight in likelihood {
        if weight != last {
            grades += 1;
            last = weight;
        }
        if weight != 0.0 {
            kept = grades;
        }
    }
    kept
}

/// The chance of each grade in a row.
pub(crate) fn by_grade(grades: &[Grade], row: &[f64], out: &mut Vec<f64>) {
    out.clear();
    let mut at = 0;
    out.extend(grades.iter().map(|g| run(row, &mut at, g.end)));
}

/// The sum of a row from one state up to another (exclusive), which is where the next sum starts.
#[inline]
fn run(row: &[f64], at: &mut usize, end: usize) -> f64 {
    let mut sum = 0.0;
    while *at < end {
        sum += row[*at];
        *at += 1;
    }
    sum
}

/// One live parent of a table being built: the offset of its rows and its number of states.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Axis {
    pub rows: usize,
    pub states: usize,
}

/// Room for [`spread`] that is kept between calls.
#[derive(Clone, Debug, Default)]
pub(crate) struct Scratch {
    pub grades: Vec<Grade>,
    pub p: Vec<f64>,
    pub acc: Vec<f64>,
}

/// Fills the start of `scratch.acc` with, for each grade in turn, its probability at every configuration of
/// the axes, the first axis fastest. `fixed` are row offsets of parents whose state is known.
/// Returns the number of configurations.
pub(crate) fn spread(
    states: usize,
    leak: &[f64],
    rows: &[f64],
    fixed: impl Iterator<Item = usize>,
    axes: &[Axis],
    scratch: &mut Scratch,
) -> usize {
    let Scratch { grades, p, acc } = scratch;
    let size: usize = axes.iter().map(|a| a.states).product();
    let n = grades.len();
    by_grade(grades, leak, p);
    // Every entry is written before it is read.
    acc.resize(acc.len().max(size * n), 0.0);
    for (g, x) in p.iter().enumerate() {
        acc[g * size] = *x;
    }
    if let [low, _] = **grades {
        let (below, own) = acc[..2 * size].split_at_mut(size);
        let end = grades[1].end;
        let split = |row: &[f64]| {
            let mut at = 0;
            [run(row, &mut at, low.end), run(row, &mut at, end)]
        };
        for at in fixed {
            let p = split(&rows[at..at + states]);
            pair(below, own, 0, 1, p);
        }
        let mut len = 1;
        for axis in axes {
            for s in (0..axis.states).rev() {
                let p = split(&rows[axis.rows + s * states..][..states]);
                pair(below, own, s * len, len, p);
            }
            len *= axis.states;
        }
        return size;
    }
    for at in fixed {
        by_grade(grades, &rows[at..at + states], p);
        combine(&mut acc[..n * size], size, n, 0, 1, p);
    }
    let mut len = 1;
    for axis in axes {
        for s in (0..axis.states).rev() {
            by_grade(grades, &rows[axis.rows + s * states..][..states], p);
            combine(&mut acc[..n * size], size, n, s * len, len, p);
        }
        len *= axis.states;
    }
    size
}

/// [`combine`] for two grades.
#[inline]
fn pair(below: &mut [f64], own: &mut [f64], to: usize, len: usize, [p0, p1]: [f64; 2]) {
    let upto = p0 + p1;
    if to == 0 {
        if p0 == 1.0 && p1 == 0.0 {
            return;
        }
        for (b, o) in below[..len].iter_mut().zip(&mut own[..len]) {
            *o = *o * upto + *b * p1;
            *b *= p0;
        }
        return;
    }
    let (low, low_to) = below.split_at_mut(to);
    let (high, high_to) = own.split_at_mut(to);
    let from = low[..len].iter().zip(&high[..len]);
    let into = low_to[..len].iter_mut().zip(&mut high_to[..len]);
    for ((b, o), (to_b, to_o)) in from.zip(into) {
        *to_o = o * upto + b * p1;
        *to_b = b * p0;
    }
}

/// Writes the first `len` configurations, combined with one more contribution `p`, at `to`.
fn combine(acc: &mut [f64], size: usize, n: usize, to: usize, len: usize, p: &[f64]) {
    let mut upto: f64 = p.iter().sum();
    if to == 0 && p[0] == 1.0 && upto == 1.0 {
        // What produces nothing changes nothing.
        return;
    }
    for g in (0..n).rev() {
        let pg = p[g];
        let (lower, own) = acc.split_at_mut(g * size);
        if to == 0 {
            own[..len].iter_mut().for_each(|x| *x *= upto);
        } else {
            let (from, rest) = own.split_at_mut(to);
            for (x, f) in rest[..len].iter_mut().zip(&from[..len]) {
                *x = f * upto;
            }
        }
        if pg > 0.0 {
            for below in pieces(lower, size) {
                for (x, b) in own[to..to + len].iter_mut().zip(&below[..len]) {
                    *x += b * pg;
                }
            }
        }
        upto -= pg;
        if g > 0 {
            // Summed again rather than subtracted, so that nothing cancels.
            upto = p[..g].iter().sum();
        }
    }
}

/// After [`spread`]: the likelihood-weighted sum over the grades, with one more axis, the slowest, if there is one. With `a`
/// the distribution so far and `p` that of what the axis adds,
///
/// > Σ_g w(g)·P(max = g) = Σ_h a(h)·(w(h)·(p(0) + … + p(h)) + Σ_(g > h) w(g)·p(g)).
pub(crate) fn weigh(states: usize, rows: &[f64], axis: Option<Axis>, scratch: &mut Scratch, out: &mut [f64]) {
    let Scratch { grades, p, acc } = scratch;
    let size = axis.map_or(out.len(), |axis| out.len() / axis.states);
    for (s, out) in pieces_mut(out, size).enumerate() {
        match axis {
            Some(axis) => by_grade(grades, &rows[axis.rows + s * states..][..states], p),
            None => {
                p.clear();
                p.resize(grades.len(), 0.0);
                p[0] = 1.0;
            }
        }
        // From each grade's own chance to what it is multiplied by.
        let mut upto: f64 = p.iter().sum();
        let mut above = 0.0;
        for h in (0..p.len()).rev() {
            let own = p[h];
            p[h] = grades[h].weight * upto + above;
            above += grades[h].weight * own;
            upto = p[..h].iter().sum();
        }
        if let [low, high] = **p {
            let (below, own) = acc.split_at(size);
            for (o, (a, b)) in out.iter_mut().zip(below.iter().zip(own)) {
                *o = a * low + b * high;
            }
            continue;
        }
        out.fill(0.0);
        for (by, a) in p.iter().zip(pieces(acc, size)) {
            out.iter_mut().zip(a).for_each(|(o, a)| *o += by * a);
        }
    }
}

/// After [`spread`] to `size` configurations: the grades `within` apart, between the axes slower and faster than that.
pub(crate) fn interleave(acc: &[f64], size: usize, grades: usize, within: usize, out: &mut [f64]) {
    for (g, own) in pieces(acc, size).take(grades).enumerate() {
        if within == 1 {
            for (to, from) in pieces_mut(out, grades).zip(own) {
                to[g] = *from;
            }
            continue;
        }
        for (to, from) in pieces_mut(out, within * grades).zip(pieces(own, within)) {
            to[g * within..][..within].copy_from_slice(from);
        }
    }
}
