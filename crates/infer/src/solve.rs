//! Exact inference by a bucket tree with two passes.

use std::sync::OnceLock;

use thiserror::Error;

use crate::factor::{Factor, noisy_max_factors};
use crate::network::Family;
use crate::{Evidence, Finding, Network, Var, evidence};

/// How much work a solution may take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// The largest table allowed, as the binary logarithm of its entries. For boolean variables
    /// it is the number of variables that have to be held together.
    pub width: usize,
}

impl Default for Limits {
    /// Tables of up to 2^22 entries (32 MiB).
    fn default() -> Self {
        Self { width: 22 }
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
        /// Binary logarithm of the table needed, rounded up.
        width: usize,
        /// The limit that was set.
        limit: usize,
        /// The variables that hang together.
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

/// Every posterior, and the probability of the evidence.
#[derive(Clone, Debug)]
pub struct Solved {
    net: Network,
    evidence: Evidence,
    ln_evidence: f64,
    known: Vec<Option<Vec<f64>>>,
    barren: Vec<OnceLock<Vec<f64>>>,
}

impl Solved {
    /// The natural logarithm of the probability of the evidence.
    ///
    /// With constraints it is that of the weighted total, not divided by the total without
    /// evidence. Likelihoods count at the scale they were given.
    pub fn ln_evidence(&self) -> f64 {
        self.ln_evidence
    }

    /// The distribution of a variable given the evidence; empty if it is not in the network.
    pub fn posterior(&self, var: Var) -> &[f64] {
        match self.known.get(var.index()) {
            None => &[],
            Some(Some(p)) => p,
            Some(None) => self.barren[var.index()].get_or_init(|| self.forward(var)),
        }
    }

    fn forward(&self, var: Var) -> Vec<f64> {
        let limits = Limits { width: 30 };
        let chance = |info: Info<'_>| {
            let mut infos = infos(&self.evidence);
            infos.push((var, info));
            match run(&self.net, &infos, &limits, false) {
                Ok(up) => (up.ln_total - self.ln_evidence).exp(),
                Err(SolveError::Impossible) => 0.0,
                Err(_) => f64::NAN,
            }
        };
        let states = self.net.states(var);
        if self.net.is_noisy_max(var) {
            let mut below = 0.0;
            (0..states)
                .map(|s| {
                    let at_most = chance(Info::AtMost(s));
                    let p = at_most - below;
                    below = at_most;
                    p.max(0.0)
                })
                .collect()
        } else {
            (0..states)
                .map(|s| chance(Info::Finding(&Finding::State(s))))
                .collect()
        }
    }
}

#[derive(Clone, Copy)]
pub(crate) enum Info<'a> {
    Finding(&'a Finding),
    /// The variable is at most in this state.
    AtMost(usize),
}

fn infos(evidence: &Evidence) -> Vec<(Var, Info<'_>)> {
    evidence
        .iter()
        .map(|(v, f)| (v, Info::Finding(f)))
        .collect()
}

/// All posteriors given the evidence.
///
/// # Errors
/// [`SolveError`].
pub fn solve(net: &Network, evidence: &Evidence, limits: &Limits) -> Result<Solved, SolveError> {
    evidence::check(net, evidence)?;
    let run = run(net, &infos(evidence), limits, true)?;
    Ok(Solved {
        net: net.clone(),
        evidence: evidence.clone(),
        ln_evidence: run.ln_total,
        known: run.posteriors,
        barren: vec![OnceLock::new(); net.len()],
    })
}

/// The probability, given the evidence, that every one of these variables is in its state.
///
/// # Errors
/// [`SolveError`].
pub fn probability_of(
    net: &Network,
    evidence: &Evidence,
    states: &[(Var, usize)],
    limits: &Limits,
) -> Result<f64, SolveError> {
    evidence::check(net, evidence)?;
    let before = run(net, &infos(evidence), limits, false)?.ln_total;
    Ok((ln_with(net, evidence, states, limits)? - before).exp())
}

/// ln P(evidence and these states); minus infinity where that is 0.
fn ln_with(
    net: &Network,
    evidence: &Evidence,
    states: &[(Var, usize)],
    limits: &Limits,
) -> Result<f64, SolveError> {
    let mut with = evidence.clone();
    for &(var, state) in states {
        let state_only = Finding::State(state);
        evidence::check_one(net, var, &state_only)?;
        let only = |l: &[f64]| -> Vec<f64> {
            let keep = |(s, x): (usize, &f64)| if s == state { *x } else { 0.0 };
            l.iter().enumerate().map(keep).collect()
        };
        let narrowed = match with.remove(var) {
            None => state_only,
            Some(Finding::State(s)) if s == state => state_only,
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
    match run(net, &infos(&with), limits, false) {
        Ok(run) => Ok(run.ln_total),
        Err(SolveError::Impossible) => Ok(f64::NEG_INFINITY),
        Err(e) => Err(e),
    }
}

/// The joint distribution of a few variables given the evidence, row-major, last fastest.
///
/// # Errors
/// [`SolveError`].
pub fn joint(
    net: &Network,
    evidence: &Evidence,
    vars: &[Var],
    limits: &Limits,
) -> Result<Vec<f64>, SolveError> {
    evidence::check(net, evidence)?;
    let before = run(net, &infos(evidence), limits, false)?.ln_total;
    let dims: Vec<usize> = vars.iter().map(|v| net.states(*v)).collect();
    let size: usize = dims.iter().product();
    let mut out = Vec::with_capacity(size);
    for mut i in 0..size {
        let mut states = vec![(Var(0), 0); vars.len()];
        for k in (0..vars.len()).rev() {
            states[k] = (vars[k], i % dims[k]);
            i /= dims[k];
        }
        out.push((ln_with(net, evidence, &states, limits)? - before).exp());
    }
    Ok(out)
}

/// Every solution with one finding left out, in the order of the evidence.
///
/// # Errors
/// [`SolveError`].
pub fn leave_one_out(
    net: &Network,
    evidence: &Evidence,
    limits: &Limits,
) -> Result<Vec<(Var, Solved)>, SolveError> {
    evidence
        .iter()
        .map(|(var, _)| {
            let mut without = evidence.clone();
            without.remove(var);
            Ok((var, solve(net, &without, limits)?))
        })
        .collect()
}

/// Findings entered group after group: the solution after each group.
///
/// # Errors
/// [`SolveError`].
pub fn sequence(
    net: &Network,
    evidence: &Evidence,
    groups: &[Vec<Var>],
    limits: &Limits,
) -> Result<Vec<Solved>, SolveError> {
    let mut so_far = Evidence::new();
    groups
        .iter()
        .map(|group| {
            for &var in group {
                if let Some(finding) = evidence.get(var) {
                    so_far.insert(var, finding.clone());
                }
            }
            solve(net, &so_far, limits)
        })
        .collect()
}

struct Run {
    ln_total: f64,
    posteriors: Vec<Option<Vec<f64>>>,
}

fn run(
    net: &Network,
    infos: &[(Var, Info<'_>)],
    limits: &Limits,
    down: bool,
) -> Result<Run, SolveError> {
    let n = net.len();
    let mut info: Vec<Option<Info<'_>>> = vec![None; n];
    for (v, i) in infos {
        info[v.index()] = Some(*i);
    }
    let mut relevant: Vec<bool> = info.iter().map(Option::is_some).collect();
    for c in &net.model.constraints {
        c.over.iter().for_each(|v| relevant[v.index()] = true);
    }
    for v in (0..n).rev() {
        if relevant[v] {
            let parents = &net.model.nodes[v].parents;
            parents.iter().for_each(|p| relevant[p.index()] = true);
        }
    }
    let mut inner = vec![false; n];
    for v in (0..n).filter(|v| relevant[*v]) {
        let parents = &net.model.nodes[v].parents;
        parents.iter().for_each(|p| inner[p.index()] = true);
    }
    for c in &net.model.constraints {
        c.over.iter().for_each(|v| inner[v.index()] = true);
    }

    let mut factors = Vec::new();
    let dims: Vec<usize> = net.model.nodes.iter().map(|n| n.states).collect();
    for v in (0..n).filter(|v| relevant[*v]) {
        let node = &net.model.nodes[v];
        match &node.family {
            Family::Table(rows) => {
                let mut over: Vec<usize> = node.parents.iter().map(|p| p.index()).collect();
                over.push(v);
                factors.push(Factor::new(&over, &dims, rows.clone()));
                match info[v] {
                    None => {}
                    Some(Info::Finding(Finding::State(s))) => {
                        factors.push(Factor::indicator(v, dims[v], |x| x == *s));
                    }
                    Some(Info::AtMost(s)) => {
                        factors.push(Factor::indicator(v, dims[v], |x| x <= s));
                    }
                    Some(Info::Finding(
                        Finding::Likelihood(l) | Finding::OfKind { likelihood: l, .. },
                    )) => factors.push(Factor::new(&[v], &dims, l.clone())),
                }
            }
            Family::NoisyMax { leak, causes } => {
                noisy_max_factors(
                    v,
                    leak,
                    causes,
                    info[v],
                    inner[v],
                    &dims,
                    &mut factors,
                    limits,
                )?;
            }
        }
    }
    for c in &net.model.constraints {
        let over: Vec<usize> = c.over.iter().map(|v| v.index()).collect();
        factors.push(Factor::new(&over, &dims, c.weights.clone()));
    }
    eliminate(n, &dims, factors, limits, down)
}

fn eliminate(
    n: usize,
    dims: &[usize],
    factors: Vec<Factor>,
    limits: &Limits,
    down: bool,
) -> Result<Run, SolveError> {
    let mut ln_total = 0.0;
    let mut pool: Vec<(Option<usize>, Factor)> = Vec::new();
    let mut alive = vec![false; n];
    for f in factors {
        if f.over.is_empty() {
            ln_total += f.data[0].ln();
        } else {
            f.over.iter().for_each(|v| alive[*v] = true);
            pool.push((None, f));
        }
    }
    // (variable, bucket table, message, children)
    struct Bucket {
        var: usize,
        table: Factor,
        message: Factor,
        children: Vec<usize>,
    }
    let mut buckets: Vec<Bucket> = Vec::new();
    loop {
        let mut best: Option<(f64, usize, Vec<usize>)> = None;
        for v in (0..n).filter(|v| alive[*v]) {
            let mut scope: Vec<usize> = pool
                .iter()
                .filter(|(_, f)| f.over.contains(&v))
                .flat_map(|(_, f)| f.over.iter().copied())
                .collect();
            scope.sort_unstable();
            scope.dedup();
            let cost: f64 = scope.iter().map(|u| (dims[*u] as f64).log2()).sum();
            if best.as_ref().is_none_or(|(c, _, _)| cost < *c) {
                best = Some((cost, v, scope));
            }
        }
        let Some((cost, var, scope)) = best else {
            break;
        };
        let width = cost.ceil() as usize;
        if width > limits.width {
            return Err(SolveError::TooTangled {
                width,
                limit: limits.width,
                vars: scope.iter().map(|v| Var(*v as u32)).collect(),
            });
        }
        let (mine, rest): (Vec<_>, Vec<_>) =
            pool.into_iter().partition(|(_, f)| f.over.contains(&var));
        pool = rest;
        let mut table = Factor::ones(&scope, dims);
        let mut children = Vec::new();
        for (from, f) in mine {
            table.multiply(&f);
            children.extend(from);
        }
        let scale = table.data.iter().fold(0.0f64, |a, b| a.max(*b));
        if scale == 0.0 {
            return Err(SolveError::Impossible);
        }
        table.data.iter_mut().for_each(|x| *x /= scale);
        ln_total += scale.ln();
        let keep: Vec<usize> = scope.into_iter().filter(|u| *u != var).collect();
        let message = table.onto(&keep);
        alive[var] = false;
        if keep.is_empty() {
            ln_total += message.data[0].ln();
        } else {
            pool.push((Some(buckets.len()), message.clone()));
        }
        buckets.push(Bucket {
            var,
            table,
            message,
            children,
        });
    }
    if ln_total == f64::NEG_INFINITY {
        return Err(SolveError::Impossible);
    }
    let mut posteriors = vec![None; n];
    if down {
        for k in (0..buckets.len()).rev() {
            let belief = buckets[k].table.clone();
            let mut p = belief.onto(&[buckets[k].var]).data;
            let total: f64 = p.iter().sum();
            p.iter_mut().for_each(|x| *x /= total);
            posteriors[buckets[k].var] = Some(p);
            for c in buckets[k].children.clone() {
                let mut ratio = belief.onto(&buckets[c].message.over);
                for (r, m) in ratio.data.iter_mut().zip(&buckets[c].message.data) {
                    *r = if *m > 0.0 { *r / *m } else { 0.0 };
                }
                let scale: f64 = ratio.data.iter().fold(0.0, |a, b| a.max(*b));
                ratio.data.iter_mut().for_each(|x| *x /= scale);
                buckets[c].table.multiply(&ratio);
            }
        }
    }
    Ok(Run {
        ln_total,
        posteriors,
    })
}
