//! Rows thinned by a finding of one kind.

use crate::network::NoisyMax;
use crate::noisy::{self, thinned};
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
        let thin = |(i, s): (usize, usize), row: &[f64], out: &mut Vec<f64>| out.extend(thinned(row, shares[i][s]));
        noisy::combined_rows(noisy.leak.len(), parents, &noisy.causes, out, thin);
        Self::Thinned
    }

    pub fn parts<'a>(&self, noisy: &'a NoisyMax, thin: &'a [f64], states: usize) -> (&'a [f64], &'a [f64]) {
        match self {
            Self::Plain => (&noisy.leak, &noisy.rows),
            Self::Thinned => thin.split_at(states),
        }
    }
}
