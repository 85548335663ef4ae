//! Rows thinned by a finding of one kind, and a noisy-MAX taken one parent at a time.

use smallvec::{SmallVec, smallvec};

use crate::network::NoisyMax;
use crate::noisy::{self, Axis, Grade, Scratch, spread, thinned};
use crate::{Finding, Var};

/// Whether a finding thins the rows to one kind.
pub(crate) enum Thin {
    Plain,
    Thinned,
}

impl Thin {
    /// Leaves the thinned leak and rows in `out` if the finding is of a kind.
    pub fn of(noisy: &NoisyMax, parents: &[Var], finding: Option<&Finding>, out: &mut Vec<f64>) -> Self {
        let Some(Finding::OfKind { leak_share, shares, .. }) = finding else {
            return Self::Plain;
        };
        out.clear();
        out.extend(thinned(&noisy.leak, *leak_share));
        out.extend(noisy::combined_rows(
            noisy.leak.len(),
            parents,
            &noisy.causes,
            |(i, s), row| thinned(row, shares[i][s]),
        ));
        Self::Thinned
    }

    pub fn parts<'a>(&self, noisy: &'a NoisyMax, thin: &'a [f64], states: usize) -> (&'a [f64], &'a [f64]) {
        match self {
            Self::Plain => (&noisy.leak, &noisy.rows),
            Self::Thinned => thin.split_at(states),
        }
    }
}

/// A noisy-MAX taken one parent at a time.
pub(crate) struct Chain<'a> {
    pub leak: &'a [f64],
    pub rows: &'a [f64],
    pub fixed: &'a [usize],
    pub axes: &'a [Axis],
}

impl Chain<'_> {
    /// Fills one step: before fastest, then the parent's state, then after.
    pub fn fill(
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
            start.copy_from_slice(&scratch.acc);
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
}
