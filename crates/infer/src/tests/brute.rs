//! Plain enumeration of every configuration, from the definitions only.

use crate::network::Family;
use crate::*;

/// Every configuration with its weight, given the evidence.
pub struct Brute {
    pub dims: Vec<usize>,
    pub weights: Vec<f64>,
}

fn upto(row: &[f64], g: usize) -> f64 {
    row[..=g].iter().sum()
}

/// P(child = x and what is seen is of the kind | parents), by differences of products.
fn noisy(net: &Network, var: Var, config: &[usize], x: usize, finding: Option<&Finding>) -> f64 {
    let Family::NoisyMax(n) = &net.model.nodes[var.index()].family else {
        unreachable!()
    };
    let upto_g = |g: usize| -> f64 {
        let (leak_share, shares) = match finding {
            Some(Finding::OfKind { leak_share, shares, .. }) => (*leak_share, Some(shares)),
            _ => (1.0, None),
        };
        let term = |row: &[f64], q: f64| row[0] + (upto(row, g) - row[0]) * q;
        let mut d = term(&n.leak, leak_share);
        for (i, c) in n.causes.iter().enumerate() {
            let s = config[c.parent.index()];
            d *= term(&c.rows[s], shares.map_or(1.0, |q| q[i][s]));
        }
        d
    };
    upto_g(x) - if x == 0 { 0.0 } else { upto_g(x - 1) }
}

impl Brute {
    pub fn new(net: &Network, evidence: &Evidence) -> Self {
        let dims: Vec<usize> = net.vars().map(|v| net.states(v)).collect();
        let size: usize = dims.iter().product();
        let mut weights = Vec::with_capacity(size);
        for i in 0..size {
            let config = config(&dims, i);
            let mut w = 1.0;
            for var in net.vars() {
                let x = config[var.index()];
                let finding = evidence.get(var);
                w *= match &net.model.nodes[var.index()].family {
                    Family::Table(rows) => {
                        let mut at = 0;
                        for p in net.parents(var) {
                            at = at * dims[p.index()] + config[p.index()];
                        }
                        rows[at * dims[var.index()] + x]
                    }
                    Family::NoisyMax(_) => noisy(net, var, &config, x, finding),
                };
                w *= match finding {
                    None => 1.0,
                    Some(Finding::State(s)) => f64::from(u8::from(*s == x)),
                    Some(Finding::Likelihood(l) | Finding::OfKind { likelihood: l, .. }) => l[x],
                };
            }
            for c in &net.model.constraints {
                let mut at = 0;
                for v in &c.over {
                    at = at * dims[v.index()] + config[v.index()];
                }
                w *= c.weights[at];
            }
            weights.push(w);
        }
        Self { dims, weights }
    }

    pub fn total(&self) -> f64 {
        self.weights.iter().sum()
    }

    /// Unnormalised weight of a partial assignment.
    pub fn weight_of(&self, states: &[(Var, usize)]) -> f64 {
        let holds = |i: usize| {
            let config = config(&self.dims, i);
            states.iter().all(|(v, s)| config[v.index()] == *s)
        };
        (0..self.weights.len())
            .filter(|i| holds(*i))
            .map(|i| self.weights[i])
            .sum()
    }

    pub fn posterior(&self, var: Var) -> Vec<f64> {
        let mut p = vec![0.0; self.dims[var.index()]];
        for (i, w) in self.weights.iter().enumerate() {
            p[config(&self.dims, i)[var.index()]] += w;
        }
        let total = self.total();
        p.iter().map(|x| x / total).collect()
    }
}

/// The `i`-th configuration, the last variable fastest.
pub fn config(dims: &[usize], mut i: usize) -> Vec<usize> {
    let mut config = vec![0; dims.len()];
    for k in (0..dims.len()).rev() {
        config[k] = i % dims[k];
        i /= dims[k];
    }
    config
}
