//! Exact inference over discrete cause-effect networks with noisy-MAX.

mod evidence;
mod factor;
mod network;
mod solve;

pub use evidence::{Evidence, Finding};
pub use network::{Cause, MAX_STATES, MAX_TABLE, Network, NetworkError, Var};
pub use solve::{
    Limits, SolveError, Solved, joint, leave_one_out, probability_of, sequence, solve,
};

#[cfg(test)]
mod tests;
