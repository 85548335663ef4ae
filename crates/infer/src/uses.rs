//! How often each number of the network was used: the expected count of causes that acted, given the evidence.

use crate::core::Trial;
use crate::gradient::Gradient;
use crate::network::Family;
use crate::scaled::Scaled;
use crate::{Network, SolveError, Solved, Var};

/// The chance that a cause acted, and that it could have and did not, given everything supposed.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Use {
    /// It made something, 0–1.
    pub acted: f64,
    /// It was there and made nothing, 0–1.
    pub idle: f64,
}

/// What each leak and cause did, given the evidence and some variables in states. Both chances are 0 for what is below all
/// evidence, and count only what is of its kind where a finding is of one kind.
#[derive(Clone, Debug)]
pub struct Uses {
    net: Network,
    gradient: Gradient,
}

impl Solved {
    /// What each leak and cause did, given the evidence and these variables in these states: one pass with derivatives.
    ///
    /// # Errors
    /// [`SolveError::Mismatch`] for a variable that is observed or below all evidence.
    ///
    /// ```
    /// use wythe_infer::{Cause, Evidence, Finding, Limits, Network, solve};
    ///
    /// let mut net = Network::new();
    /// let moved = net.table(2, &[], vec![0.9, 0.1])?;
    /// let crack = net.noisy_max(vec![0.8, 0.2], vec![Cause::boolean(moved, 0.5)])?;
    /// let seen = Evidence::new().with(crack, Finding::State(1));
    /// let uses = solve(&net, &seen, &Limits::default())?.uses(&[])?;
    /// // Whether the ground's movement made a crack, given that there is one.
    /// let acted = uses.cause(crack, 0, |state| state == 1).map(|one| one.acted);
    /// assert!(acted.is_some_and(|p| (p - 0.1 * 0.5 / 0.24).abs() < 1e-12));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn uses(&self, states: &[(Var, usize)]) -> Result<Uses, SolveError> {
        let mut trial = Trial::default();
        for &(var, state) in states {
            let Some(k) = self.core.plan.bucket_of(var) else {
                let what = "it is observed or below all evidence";
                return Err(SolveError::Mismatch { var, what });
            };
            trial.set.extend(self.core.clamp(k, state).set);
        }
        Ok(Uses {
            net: self.core.net.clone(),
            gradient: self.core.gradient(&self.evidence, &trial),
        })
    }
}

impl Uses {
    /// ln P(evidence and what is supposed).
    pub fn ln(&self) -> f64 {
        Scaled::ln(self.gradient.total)
    }

    /// What the leak of a noisy-MAX did; none for a table.
    pub fn leak(&self, var: Var) -> Option<Use> {
        let node = self.net.model.nodes.get(var.index())?;
        let Family::NoisyMax(noisy) = &node.family else {
            return None;
        };
        Some(self.row(self.gradient.start[var.index()], &noisy.leak))
    }

    /// Whether a variable without parents and with two states was in its second (acted) or its first (idle): what its prior
    /// did. None for any other.
    pub fn prior(&self, var: Var) -> Option<Use> {
        let node = self.net.model.nodes.get(var.index())?;
        match &node.family {
            Family::Table(row) if node.parents.is_empty() && row.len() == 2 => {
                Some(self.row(self.gradient.start[var.index()], row))
            }
            _ => None,
        }
    }

    /// What one cause of a noisy-MAX did in those of its parent's states that `active` chooses.
    pub fn cause(&self, var: Var, cause: usize, active: impl Fn(usize) -> bool) -> Option<Use> {
        let node = self.net.model.nodes.get(var.index())?;
        let Family::NoisyMax(noisy) = &node.family else {
            return None;
        };
        let own = noisy.causes.get(cause)?;
        let before: usize = noisy.causes[..cause].iter().map(|c| c.rows.len()).sum();
        let start = self.gradient.start[var.index()] + (1 + before) * node.states;
        let mut sum = Use::default();
        for (state, row) in own.rows.iter().enumerate().filter(|(state, _)| active(*state)) {
            let one = self.row(start + state * node.states, row);
            sum.acted += one.acted;
            sum.idle += one.idle;
        }
        Some(sum)
    }

    fn row(&self, start: usize, row: &[f64]) -> Use {
        let at = |g: usize| row[g] * self.gradient.values[start + g];
        Use {
            acted: (1..row.len()).map(at).sum(),
            idle: at(0),
        }
    }
}
