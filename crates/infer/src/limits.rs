//! How much work an answer may take, and what is said when there is none.

use thiserror::Error;

use crate::Var;

/// How much work a solution may take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// The largest table allowed, as the binary logarithm of its entries (at most 28 is used).
    /// For boolean variables it is the number of variables that have to be held together. All
    /// tables of a solution together may have four times as many entries, of 8 bytes each; what is
    /// run eight side by side (leaving out, looks) takes eight times that.
    pub width: usize,
}

impl Default for Limits {
    /// Tables of up to 2^20 entries (8 MiB).
    fn default() -> Self {
        Self { width: 20 }
    }
}

impl Limits {
    pub(crate) fn capped(&self) -> Self {
        Self {
            width: self.width.min(28),
        }
    }

    /// Most entries of all tables together.
    pub(crate) fn entries(&self) -> usize {
        4 << self.width.min(28)
    }
}

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum SolveError {
    /// The findings have probability 0 in this network.
    #[error("the findings contradict each other or the network: their probability is 0")]
    Impossible,
    /// The exact answer would need a table larger than [`Limits::width`] allows.
    #[error("too tangled: {} variables would have to be held together (width {width}, limit {limit})", vars.len())]
    TooTangled {
        /// Binary logarithm of the table needed, rounded up. It equals the limit where no single
        /// table but all of them together are too large.
        width: usize,
        /// The limit that was set.
        limit: usize,
        /// The variables that hang together, in their order.
        vars: Vec<Var>,
    },
    /// A finding, or something asked for, does not fit its variable.
    #[error("variable {}: {what}", var.index())]
    Mismatch {
        /// The variable.
        var: Var,
        /// What is wrong.
        what: &'static str,
    },
}
