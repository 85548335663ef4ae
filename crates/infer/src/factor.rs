//! Non-negative tables over sorted variables.

use crate::solve::Info;
use crate::{Cause, Finding, Limits, SolveError, Var};

/// Row-major over `over` (ascending variables), the last fastest.
#[derive(Clone, Debug)]
pub(crate) struct Factor {
    pub over: Vec<usize>,
    pub dims: Vec<usize>,
    pub data: Vec<f64>,
}

impl Factor {
    pub fn ones(over: &[usize], dims: &[usize]) -> Self {
        let d: Vec<usize> = over.iter().map(|v| dims[*v]).collect();
        let size = d.iter().product();
        Self {
            over: over.to_vec(),
            dims: d,
            data: vec![1.0; size],
        }
    }

    /// From a table in any order of variables.
    pub fn new(over: &[usize], dims: &[usize], data: Vec<f64>) -> Self {
        let mut sorted = over.to_vec();
        sorted.sort_unstable();
        let mut f = Self::ones(&sorted, dims);
        let mut strides = vec![0; over.len()];
        let mut stride = 1;
        for i in (0..over.len()).rev() {
            let at = sorted.iter().position(|v| *v == over[i]);
            strides[at.unwrap_or(0)] = stride;
            stride *= dims[over[i]];
        }
        for (i, x) in f.data.iter_mut().enumerate() {
            *x = data[dot(i, &f.dims, &strides)];
        }
        f
    }

    pub fn indicator(v: usize, states: usize, holds: impl Fn(usize) -> bool) -> Self {
        Self {
            over: vec![v],
            dims: vec![states],
            data: (0..states).map(|s| f64::from(u8::from(holds(s)))).collect(),
        }
    }

    fn strides_in(&self, small: &Factor) -> Vec<usize> {
        let mut strides = vec![0; self.over.len()];
        let mut stride = 1;
        for i in (0..small.over.len()).rev() {
            if let Some(at) = self.over.iter().position(|v| *v == small.over[i]) {
                strides[at] = stride;
            }
            stride *= small.dims[i];
        }
        strides
    }

    /// Multiplies by a factor over some of the same variables.
    pub fn multiply(&mut self, small: &Factor) {
        let strides = self.strides_in(small);
        for i in 0..self.data.len() {
            self.data[i] *= small.data[dot(i, &self.dims, &strides)];
        }
    }

    /// Sums out every variable but those in `keep`.
    pub fn onto(&self, keep: &[usize]) -> Factor {
        let kept: Vec<usize> = keep
            .iter()
            .filter_map(|v| self.over.iter().position(|u| u == v))
            .map(|at| self.dims[at])
            .collect();
        let size = kept.iter().product();
        let mut out = Factor {
            over: keep.to_vec(),
            dims: kept,
            data: vec![0.0; size],
        };
        let strides = self.strides_in(&out);
        for i in 0..self.data.len() {
            out.data[dot(i, &self.dims, &strides)] += self.data[i];
        }
        out
    }
}

fn dot(mut i: usize, dims: &[usize], strides: &[usize]) -> usize {
    let mut at = 0;
    for k in (0..dims.len()).rev() {
        at += (i % dims[k]) * strides[k];
        i /= dims[k];
    }
    at
}

/// The factors a noisy-MAX variable contributes.
#[allow(clippy::too_many_arguments)]
pub(crate) fn noisy_max_factors(
    v: usize,
    leak: &[f64],
    causes: &[Cause],
    info: Option<Info<'_>>,
    inner: bool,
    dims: &[usize],
    out: &mut Vec<Factor>,
    limits: &Limits,
) -> Result<(), SolveError> {
    let r = leak.len();
    // Rows thinned to one kind: what is not of the kind must not be seen at all.
    let thin = |row: &[f64], q: f64| -> Vec<f64> {
        let keep = |(k, p): (usize, &f64)| if k == 0 { *p } else { *p * q };
        row.iter().enumerate().map(keep).collect()
    };
    let (likelihood, leak_q, shares): (Option<Vec<f64>>, f64, Option<&Vec<Vec<f64>>>) = match info {
        None => (None, 1.0, None),
        Some(Info::AtMost(s)) => (
            Some((0..r).map(|x| if x <= s { 1.0 } else { 0.0 }).collect()),
            1.0,
            None,
        ),
        Some(Info::Finding(Finding::State(s))) => (
            Some((0..r).map(|x| if x == *s { 1.0 } else { 0.0 }).collect()),
            1.0,
            None,
        ),
        Some(Info::Finding(Finding::Likelihood(l))) => (Some(l.clone()), 1.0, None),
        Some(Info::Finding(Finding::OfKind {
            likelihood,
            leak_share,
            shares,
        })) => (Some(likelihood.clone()), *leak_share, Some(shares)),
    };
    let leak = thin(leak, leak_q);
    let row = |i: usize, s: usize| thin(&causes[i].rows[s], shares.map_or(1.0, |q| q[i][s]));
    let step = likelihood.as_ref().and_then(|l| {
        let last = l.iter().rposition(|x| *x > 0.0)?;
        (!inner && l[..=last].iter().all(|x| *x == l[0])).then_some((last, l[0]))
    });
    if let Some((last, weight)) = step {
        let upto = |p: &[f64]| p[..=last].iter().sum::<f64>();
        out.push(Factor {
            over: vec![],
            dims: vec![],
            data: vec![weight * upto(&leak)],
        });
        for (i, c) in causes.iter().enumerate() {
            let p = c.parent.index();
            let data = (0..dims[p]).map(|s| upto(&row(i, s))).collect();
            out.push(Factor::new(&[p], dims, data));
        }
        return Ok(());
    }
    let mut over: Vec<usize> = causes.iter().map(|c| c.parent.index()).collect();
    over.push(v);
    over.sort_unstable();
    over.dedup();
    let width = over
        .iter()
        .map(|u| (dims[*u] as f64).log2())
        .sum::<f64>()
        .ceil() as usize;
    if width > limits.width {
        return Err(SolveError::TooTangled {
            width,
            limit: limits.width,
            vars: over.iter().map(|v| Var(*v as u32)).collect(),
        });
    }
    let mut f = Factor::ones(&over, dims);
    let at_v = over.iter().position(|u| *u == v).unwrap_or(0);
    let mut config = vec![0usize; over.len()];
    for i in 0..f.data.len() {
        let mut rest = i;
        for k in (0..over.len()).rev() {
            config[k] = rest % f.dims[k];
            rest /= f.dims[k];
        }
        let mut max = leak.clone();
        for (j, c) in causes.iter().enumerate() {
            let at = over.binary_search(&c.parent.index()).unwrap_or(0);
            let row = row(j, config[at]);
            let (mut below, mut upto) = (0.0, 0.0);
            for k in 0..r {
                upto += row[k];
                let own = max[k];
                max[k] = own * upto + below * row[k];
                below += own;
            }
        }
        f.data[i] = max[config[at_v]] * likelihood.as_ref().map_or(1.0, |l| l[config[at_v]]);
    }
    out.push(f);
    Ok(())
}
