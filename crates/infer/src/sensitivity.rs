//! One-way sensitivity: a posterior as a function of one number of the network.

use crate::core::Trial;
use crate::gradient::Gradient;
use crate::network::Family;
use std::sync::Arc;

use crate::{Evidence, Finding, Limits, Network, SolveError, Solved, Var};

/// One number of a network: an entry of a row that is a distribution.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Parameter {
    /// The chance of `state` in row `row` of a table (a prior is row 0).
    Table {
        /// The variable whose table it is.
        var: Var,
        /// The configuration of the parents, the last fastest.
        row: usize,
        /// The state of the variable.
        state: usize,
    },
    /// The chance of `state` in the leak of a noisy-MAX.
    Leak {
        /// The noisy-MAX.
        var: Var,
        /// The state of the variable.
        state: usize,
    },
    /// The chance that one cause of a noisy-MAX produces `state`.
    Cause {
        /// The noisy-MAX.
        var: Var,
        /// The number of the cause, in the order given.
        cause: usize,
        /// The state of the parent.
        row: usize,
        /// The state of the variable.
        state: usize,
    },
}

/// A posterior as a function of one parameter `t`: `(a + b·t) / (c + d·t)`.
///
/// The other entries of the parameter's row change in proportion, so that it still sums to 1
/// (the usual co-variation; in a boolean row it is the only one). The denominator is
/// P(evidence) at `t` over P(evidence) now.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SensitivityFunction {
    /// Constant term of the numerator.
    pub a: f64,
    /// Slope of the numerator.
    pub b: f64,
    /// Constant term of the denominator.
    pub c: f64,
    /// Slope of the denominator.
    pub d: f64,
    /// The parameter as it is now.
    pub now: f64,
}

impl SensitivityFunction {
    /// The posterior at `t`, 0 to 1. Not a number where the evidence would be impossible.
    pub fn at(&self, t: f64) -> f64 {
        (self.a + self.b * t) / (self.c + self.d * t)
    }

    /// The one `t` in 0 to 1 at which the posterior is `p`, if there is one.
    pub fn crossing(&self, p: f64) -> Option<f64> {
        let slope = self.b - p * self.d;
        let t = (p * self.c - self.a) / slope;
        (slope != 0.0 && (0.0..=1.0).contains(&t)).then_some(t)
    }

    /// The slope of the posterior now.
    pub fn slope(&self) -> f64 {
        let below = self.c + self.d * self.now;
        (self.b * self.c - self.a * self.d) / (below * below)
    }
}

/// All one-way sensitivity functions of one posterior.
#[derive(Clone, Debug)]
pub struct Sensitivities {
    net: Network,
    evidence: Evidence,
    limits: Limits,
    of: (Var, usize),
    posterior: f64,
    /// Of P(evidence), over P(evidence).
    all: Gradient,
    /// Of P(target and evidence), over P(target and evidence).
    target: Gradient,
}

impl Solved {
    /// The one-way sensitivity functions of P(`target` in `state` | evidence) to every number in
    /// the network: two more runs of two passes, whatever the number of parameters.
    ///
    /// # Errors
    /// [`SolveError::Mismatch`] if there is no such target or its state is known;
    /// [`SolveError::TooTangled`] if a target that was left out of the solution cannot be
    /// brought in.
    pub fn sensitivities(&self, target: Var, state: usize) -> Result<Sensitivities, SolveError> {
        let mismatch = |what| Err(SolveError::Mismatch { var: target, what });
        if state >= self.core.net.states(target) {
            return mismatch("there is no such state");
        }
        if matches!(self.evidence.get(target), Some(Finding::State(_))) {
            return mismatch("its state is known");
        }
        let Some(k) = self.core.plan.bucket_of(target) else {
            let solved = self.with_live(&[target])?;
            if solved.core.plan.bucket_of(target).is_none() {
                return mismatch("it cannot be kept live");
            }
            return solved.sensitivities(target, state);
        };
        let all = self.core.gradient(&self.evidence, &Trial::default());
        let clamped = self.core.clamp(k, state);
        let of = (target, state);
        let target = self.core.gradient(&self.evidence, &clamped);
        Ok(Sensitivities {
            posterior: target.total.over(all.total),
            net: self.core.net.clone(),
            evidence: self.evidence.clone(),
            limits: self.limits,
            of,
            all,
            target,
        })
    }

    /// The posterior of `var` if its own rows were these (a table's rows, or a prior), and the
    /// factor by which P(evidence) would change. Exact, from the belief of its family.
    ///
    /// # Errors
    /// [`SolveError::Mismatch`] if `var` is not a table or `rows` has the wrong length or is
    /// negative; [`SolveError::Impossible`] if the evidence would be.
    pub fn with_rows(&self, var: Var, rows: &[f64]) -> Result<(Vec<f64>, f64), SolveError> {
        let mismatch = |what| Err(SolveError::Mismatch { var, what });
        let node = self.core.net.model.nodes.get(var.index());
        let Some(Family::Table(old)) = node.map(|n| &n.family) else {
            return mismatch("it is not a table");
        };
        if old.len() != rows.len() || !rows.iter().all(|x| x.is_finite() && *x >= 0.0) {
            return mismatch("as many non-negative numbers as its table has");
        }
        let hard = matches!(self.evidence.get(var), Some(Finding::State(_)));
        if self.core.plan.bucket_of(var).is_none() && !hard {
            return self.with_live(&[var])?.with_rows(var, rows);
        }
        let gradient = self.core.gradient(&self.evidence, &Trial::default());
        let start = gradient.start[var.index()];
        let states = self.core.net.states(var);
        let mut p = vec![0.0; states];
        for (i, (g, x)) in gradient.values[start..].iter().zip(rows).enumerate() {
            p[i % states] += g * x;
        }
        let total: f64 = p.iter().sum();
        if total <= 0.0 {
            return Err(SolveError::Impossible);
        }
        p.iter_mut().for_each(|x| *x /= total);
        Ok((p, total))
    }
}

impl Sensitivities {
    /// The slope of P(target and evidence) over P(evidence), which is linear in the parameter and 0 now, from one solution
    /// with the parameter elsewhere.
    fn slope_by_solving(&self, parameter: Parameter, now: f64) -> f64 {
        let t = if now < 0.5 { 1.0 } else { 0.0 };
        let Some(net) = self.net.with_parameter(parameter, t) else {
            return 0.0;
        };
        match crate::queries::ln_with(&net, &self.evidence, &[self.of], &self.limits) {
            Ok(ln) => libm::exp(ln - self.all.total.ln()) / (t - now),
            Err(_) => f64::NAN,
        }
    }

    /// The posterior as it is.
    pub fn posterior(&self) -> f64 {
        self.posterior
    }

    /// The function for one parameter; `None` if the network has no such parameter.
    pub fn of(&self, parameter: Parameter) -> Option<SensitivityFunction> {
        let (row, at, state) = row_of(&self.net, parameter)?;
        let now = row[state];
        let moves = |g: usize| movement(row, state, g);
        let slope = |gradient: &Gradient| -> f64 {
            let start = gradient.start[parameter.var().index()] + at;
            (0..row.len()).map(|g| gradient.values[start + g] * moves(g)).sum()
        };
        let b = if self.posterior > 0.0 {
            self.posterior * slope(&self.target)
        } else {
            self.slope_by_solving(parameter, now)
        };
        let d = slope(&self.all);
        Some(SensitivityFunction {
            a: self.posterior - b * now,
            b,
            c: 1.0 - d * now,
            d,
            now,
        })
    }

    /// Every parameter the posterior can depend on, with its function, in the order of the
    /// variables.
    pub fn iter(&self) -> impl Iterator<Item = (Parameter, SensitivityFunction)> + '_ {
        self.net
            .vars()
            .flat_map(move |var| self.parameters(var))
            .filter_map(|p| Some((p, self.of(p)?)))
            .filter(|(_, f)| f.b != 0.0 || f.d != 0.0)
    }

    fn parameters(&self, var: Var) -> Vec<Parameter> {
        let node = &self.net.model.nodes[var.index()];
        let states = 0..node.states;
        match &node.family {
            Family::Table(rows) => (0..rows.len() / node.states)
                .flat_map(|row| states.clone().map(move |state| Parameter::Table { var, row, state }))
                .collect(),
            Family::NoisyMax(n) => {
                let leak = states.clone().map(move |state| Parameter::Leak { var, state });
                let causes = n.causes.iter().enumerate().flat_map(|(cause, c)| {
                    let states = states.clone();
                    (0..c.rows.len()).flat_map(move |row| {
                        let states = states.clone();
                        states.map(move |state| Parameter::Cause { var, cause, row, state })
                    })
                });
                leak.chain(causes).collect()
            }
        }
    }
}

impl Parameter {
    /// The variable whose number it is.
    pub fn var(self) -> Var {
        match self {
            Self::Table { var, .. } | Self::Leak { var, .. } | Self::Cause { var, .. } => var,
        }
    }
}

/// How entry `g` of a row moves as the entry at `state` does: in proportion, so that the sum
/// stays; equally if the others are all 0.
fn movement(row: &[f64], state: usize, g: usize) -> f64 {
    let rest = 1.0 - row[state];
    if g == state {
        1.0
    } else if rest > 1e-12 {
        -row[g] / rest
    } else {
        -1.0 / (row.len() - 1) as f64
    }
}

/// The row a parameter is in, the row's place among its variable's numbers, and its state.
fn row_of(net: &Network, parameter: Parameter) -> Option<(&[f64], usize, usize)> {
    let node = net.model.nodes.get(parameter.var().index())?;
    let r = node.states;
    let (row, at, state) = match (parameter, &node.family) {
        (Parameter::Table { row, state, .. }, Family::Table(rows)) => {
            let at = row.checked_mul(r)?;
            (rows.get(at..at.checked_add(r)?)?, at, state)
        }
        (Parameter::Leak { state, .. }, Family::NoisyMax(n)) => (n.leak.as_slice(), 0, state),
        (Parameter::Cause { cause, row, state, .. }, Family::NoisyMax(n)) => {
            let own = n.causes.get(cause)?.rows.get(row)?;
            let before: usize = n.causes[..cause].iter().map(|c| c.rows.len()).sum();
            (own.as_slice(), (1 + before + row) * r, state)
        }
        _ => return None,
    };
    (state < r).then_some((row, at, state))
}

impl Network {
    /// The network with one number set to `t` (0 to 1), the rest of its row changed in
    /// proportion; `None` if there is no such number or `t` is out of range.
    pub fn with_parameter(&self, parameter: Parameter, t: f64) -> Option<Network> {
        let (row, at, state) = row_of(self, parameter)?;
        if !(0.0..=1.0).contains(&t) {
            return None;
        }
        let by = t - row[state];
        let moved: Vec<f64> = (0..row.len())
            .map(|g| match g == state {
                true => t,
                false => (row[g] + by * movement(row, state, g)).max(0.0),
            })
            .collect();
        let mut out = self.clone();
        let node = &mut Arc::make_mut(&mut out.model).nodes[parameter.var().index()];
        match (&mut node.family, parameter) {
            (Family::Table(rows), _) => rows[at..at + moved.len()].copy_from_slice(&moved),
            (Family::NoisyMax(n), Parameter::Cause { cause, row, .. }) => {
                n.causes[cause].rows[row] = moved;
            }
            (Family::NoisyMax(n), _) => n.leak = moved,
        }
        if let Family::NoisyMax(n) = &mut node.family {
            n.combine(&node.parents);
        }
        Some(out)
    }
}
