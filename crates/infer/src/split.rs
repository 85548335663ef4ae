//! A noisy-MAX taken one parent at a time, so that no table holds all its parents.
//!
//! Either as a chain of helpers, each the largest so far; or, for a finding whose likelihood never
//! rises with the grade, as a mixture of products: with w the likelihood, and 0 beyond its end,
//!
//! > Σ_x w(x)·P(X = x) = Σ_g (w(g) − w(g+1))·P(X ≤ g), P(X ≤ g) = Π_i F_i(g),
//!
//! all of it non-negative. One helper says which of the products; given it the parents are apart.

use smallvec::{SmallVec, smallvec};

use crate::noisy::{self, Axis, Grade, Scratch, spread};

/// A noisy-MAX and where its parents' rows are.
pub(crate) struct Split<'a> {
    pub leak: &'a [f64],
    pub rows: &'a [f64],
    pub fixed: &'a [usize],
    pub axes: &'a [Axis],
}

impl Split<'_> {
    /// One step of a chain: before fastest, then the parent's state, then after.
    pub fn step(
        &self,
        step: usize,
        before: usize,
        after: usize,
        states: usize,
        scratch: &mut Scratch,
        out: &mut [f64],
    ) {
        let axis = self.axes[step];
        let grades: SmallVec<[Grade; 8]> = SmallVec::from_slice(&scratch.grades);
        let n = grades.len();
        // The distribution before: the leak and what is fixed, or one grade for certain.
        let mut start: SmallVec<[f64; 8]> = smallvec![0.0; n];
        if before == 1 {
            let fixed = self.fixed.iter().copied();
            spread(states, self.leak, self.rows, fixed, &[], scratch);
            start.copy_from_slice(&scratch.acc[..n]);
        }
        for s in 0..axis.states {
            noisy::by_grade(&grades, &self.rows[axis.rows + s * states..][..states], &mut scratch.p);
            for b in 0..before {
                let mut a = if before == 1 { start.clone() } else { smallvec![0.0; n] };
                if before > 1 {
                    a[b] = 1.0;
                }
                noisy::max_into(&mut a, &scratch.p);
                let at = b + s * before;
                let stride = before * axis.states;
                if after == 1 {
                    out[at] = a.iter().zip(&grades).map(|(a, g)| a * g.weight).sum();
                } else {
                    for (g, a) in a.iter().enumerate() {
                        out[at + g * stride] = *a;
                    }
                }
            }
        }
    }

    /// The weight of each product of a mixture by itself, with the leak and what is fixed.
    pub fn weights(&self, states: usize, grades: &[Grade], out: &mut [f64]) {
        for (g, (grade, out)) in grades.iter().zip(out).enumerate() {
            let next = grades.get(g + 1).map_or(0.0, |next| next.weight);
            let rows = self.fixed.iter().map(|at| &self.rows[*at..at + states]);
            let upto = |row: &[f64]| row[..grade.end].iter().sum::<f64>();
            *out = rows.fold((grade.weight - next) * upto(self.leak), |x, row| x * upto(row));
        }
    }

    /// One parent's factor in each product of a mixture: the product fastest, then the parent's state.
    pub fn factor(&self, parent: usize, states: usize, grades: &[Grade], out: &mut [f64]) {
        let rows = self.rows[self.axes[parent].rows..].chunks_exact(states);
        for (out, row) in out.chunks_exact_mut(grades.len()).zip(rows) {
            for (out, grade) in out.iter_mut().zip(grades) {
                *out = row[..grade.end].iter().sum();
            }
        }
    }
}
