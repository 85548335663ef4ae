//! Exact inference over discrete cause-effect networks with noisy-MAX.

mod core;
mod dense;
mod evidence;
mod explain;
mod gradient;
mod limits;
mod looks;
mod network;
mod noisy;
mod numbers;
mod order;
mod pass;
mod plan;
mod queries;
mod scaled;
mod sensitivity;
mod solve;
mod trials;
mod variant;

pub use evidence::{Evidence, Finding};
pub use explain::{Explanation, most_probable_causes, most_probable_explanation};
pub use limits::{Limits, SolveError};
pub use looks::Look;
pub use network::{Cause, MAX_STATES, MAX_TABLE, Network, NetworkError, Var};
pub use queries::{joint, probability_of};
pub use sensitivity::{Parameter, Sensitivities, SensitivityFunction};
pub use solve::{Solved, Solver, solve};
pub use variant::{Variant, leave_one_out, sequence};

#[cfg(test)]
mod tests;
