//! Joints of chosen states.

use crate::solve::ln_evidence;
use crate::{Evidence, Finding, Limits, Network, SolveError, Var, evidence};

/// The probability, given the evidence, that every one of these variables is in its state.
///
/// Two upward passes; never a table over the variables, however many.
///
/// # Errors
/// [`SolveError`].
pub fn probability_of(
    net: &Network,
    evidence: &Evidence,
    states: &[(Var, usize)],
    limits: &Limits,
) -> Result<f64, SolveError> {
    let before = ln_before(net, evidence, limits)?;
    Ok(libm::exp(ln_with(net, evidence, states, limits)? - before))
}

/// The joint distribution of a few variables given the evidence, row-major, last fastest: one
/// upward pass for each configuration.
///
/// # Errors
/// [`SolveError`]; [`SolveError::TooTangled`] if the table asked for is over the limit, or has
/// more than 2^16 entries.
///
/// ```
/// use wythe_infer::{Cause, Evidence, Limits, Network, joint};
///
/// let mut net = Network::new();
/// let moved = net.table(2, &[], vec![0.9, 0.1])?;
/// let crack = net.noisy_max(vec![0.8, 0.2], vec![Cause::boolean(moved, 0.5)])?;
/// let door = net.noisy_max(vec![0.9, 0.1], vec![Cause::boolean(moved, 0.6)])?;
/// let table = joint(&net, &Evidence::new(), &[crack, door], &Limits::default())?;
/// // No crack and a free door; no crack and a stuck one; …
/// assert!((table[0] - (0.9 * 0.8 * 0.9 + 0.1 * 0.4 * 0.36)).abs() < 1e-12);
/// assert!((table.iter().sum::<f64>() - 1.0).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn joint(net: &Network, evidence: &Evidence, vars: &[Var], limits: &Limits) -> Result<Vec<f64>, SolveError> {
    let before = ln_before(net, evidence, limits)?;
    for &var in vars {
        evidence::check_one(net, var, &Finding::State(0))?;
    }
    let width = crate::plan::bits(vars.iter().map(|v| net.states(*v)));
    if width > limits.width.min(16) {
        return Err(crate::plan::too_tangled(width, limits, vars.to_vec()));
    }
    let size = vars.iter().map(|v| net.states(*v)).product();
    let mut states: Vec<(Var, usize)> = vars.iter().map(|v| (*v, 0)).collect();
    (0..size)
        .map(|mut i: usize| {
            for (var, s) in states.iter_mut().rev() {
                *s = i % net.states(*var);
                i /= net.states(*var);
            }
            Ok(libm::exp(ln_with(net, evidence, &states, limits)? - before))
        })
        .collect()
}

fn ln_before(net: &Network, evidence: &Evidence, limits: &Limits) -> Result<f64, SolveError> {
    evidence::check(net, evidence)?;
    match ln_evidence(net, evidence, limits)? {
        f64::NEG_INFINITY => Err(SolveError::Impossible),
        before => Ok(before),
    }
}

/// ln P(evidence and these states); minus infinity where that is 0.
pub(crate) fn ln_with(
    net: &Network,
    evidence: &Evidence,
    states: &[(Var, usize)],
    limits: &Limits,
) -> Result<f64, SolveError> {
    let mut with = evidence.clone();
    for &(var, state) in states {
        evidence::check_one(net, var, &Finding::State(state))?;
        let only = |l: &[f64]| -> Vec<f64> {
            let keep = |(s, x): (usize, &f64)| if s == state { *x } else { 0.0 };
            l.iter().enumerate().map(keep).collect()
        };
        let narrowed = match with.remove(var) {
            None => Finding::State(state),
            Some(Finding::State(s)) if s == state => Finding::State(state),
            Some(Finding::State(_)) => return Ok(f64::NEG_INFINITY),
            Some(Finding::Likelihood(l)) => Finding::Likelihood(only(&l)),
            Some(Finding::OfKind {
                likelihood,
                leak_share,
                shares,
            }) => Finding::OfKind {
                likelihood: only(&likelihood),
                leak_share,
                shares,
            },
        };
        with.insert(var, narrowed);
    }
    ln_evidence(net, &with, limits)
}
