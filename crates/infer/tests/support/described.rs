//! Small networks with every feature, described apart from the crate: drawn by proptest, built
//! through the crate's face, and enumerated from the definitions only.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, missing_docs)]

use proptest::prelude::*;
use wythe_infer::{Cause, Evidence, Finding, Network, Var};

/// Most configurations of a network.
const MOST: usize = 2000;

#[derive(Clone, Debug)]
pub enum Family {
    /// A row a configuration of the parents, the last fastest.
    Table(Vec<usize>, Vec<Vec<f64>>),
    /// The leak, and each cause's parent with a row for each of its states.
    NoisyMax(Vec<f64>, Vec<(usize, Vec<Vec<f64>>)>),
}

#[derive(Clone, Debug)]
pub struct Described {
    pub states: Vec<usize>,
    pub families: Vec<Family>,
    pub constraints: Vec<(Vec<usize>, Vec<f64>)>,
    pub findings: Vec<Option<Finding>>,
}

/// What one variable is made of; numbers are read from `draws` in turn, round and round.
#[derive(Clone, Debug)]
struct Raw {
    states: usize,
    noisy: bool,
    parents: Vec<usize>,
    repeat: bool,
    rests: bool,
    draws: Vec<u8>,
    finding: u8,
}

fn raw() -> impl Strategy<Value = Raw> {
    let states = prop_oneof![1 => Just(1usize), 5 => Just(2), 2 => Just(3), 1 => Just(4)];
    let draws = prop::collection::vec(prop_oneof![1 => Just(0u8), 9 => 1u8..=20], 1..40);
    let parents = prop::collection::vec(0usize..8, 0..=5);
    (
        states,
        any::<bool>(),
        parents,
        prop::bool::weighted(0.2),
        prop::bool::weighted(0.7),
        draws,
        0u8..20,
    )
        .prop_map(|(states, noisy, parents, repeat, rests, draws, finding)| Raw {
            states,
            noisy,
            parents,
            repeat,
            rests,
            draws,
            finding,
        })
}

/// Reads draws round and round.
struct Reader<'a>(&'a [u8], usize);

impl Reader<'_> {
    fn next(&mut self) -> f64 {
        self.1 += 1;
        f64::from(self.0[self.1 % self.0.len()])
    }
    /// Zeros happen, and so does certainty.
    fn row(&mut self, n: usize) -> Vec<f64> {
        let row: Vec<f64> = (0..n).map(|_| self.next()).collect();
        let total: f64 = row.iter().sum();
        match total > 0.0 {
            true => row.iter().map(|x| x / total).collect(),
            false => (0..n).map(|i| f64::from(u8::from(i == 0))).collect(),
        }
    }
    fn share(&mut self) -> f64 {
        self.next() / 20.0
    }
}

fn rest(n: usize) -> Vec<f64> {
    (0..n).map(|i| f64::from(u8::from(i == 0))).collect()
}

/// A finding of each form: hard, soft, level up to a grade, falling, and of one kind.
fn finding(raw: &Raw, states: &[usize], family: &Family, reader: &mut Reader<'_>) -> Option<Finding> {
    let n = raw.states;
    let mut soft: Vec<f64> = (0..n).map(|_| reader.share()).collect();
    match raw.finding {
        0..=2 => return Some(Finding::State(0)),
        3..=4 => return Some(Finding::State(n - 1)),
        5 => soft = (0..n).map(|s| if s <= n / 2 { 0.5 } else { 0.0 }).collect(),
        6..=7 => soft.sort_by(|a, b| b.total_cmp(a)),
        8..=9 => {}
        10..=12 => {
            let Family::NoisyMax(_, causes) = family else {
                return None;
            };
            if raw.finding == 10 {
                soft = (0..n).map(|s| f64::from(u8::from(s == n - 1))).collect();
            }
            let leak_share = reader.share();
            let shares = causes
                .iter()
                .map(|(p, _)| (0..states[*p]).map(|_| reader.share()).collect());
            return Some(Finding::OfKind {
                likelihood: soft,
                leak_share,
                shares: shares.collect(),
            });
        }
        _ => return None,
    }
    Some(Finding::Likelihood(soft))
}

pub fn described() -> impl Strategy<Value = Described> {
    let constraint = prop::option::weighted(
        0.25,
        (
            prop::collection::vec(0usize..8, 1..=3),
            prop::collection::vec(0u8..=20, 1..9),
        ),
    );
    (prop::collection::vec(raw(), 2..=8), constraint).prop_map(|(raws, constraint)| {
        let mut out = Described {
            states: Vec::new(),
            families: Vec::new(),
            constraints: Vec::new(),
            findings: Vec::new(),
        };
        for mut raw in raws {
            let size: usize = out.states.iter().product();
            if size * raw.states > MOST {
                raw.states = 1;
            }
            let mut reader = Reader(&raw.draws, 0);
            let mut parents: Vec<usize> = Vec::new();
            for p in &raw.parents {
                let known = out.states.len();
                if known > 0 && !parents.contains(&(p % known)) {
                    parents.push(p % known);
                }
            }
            let family = if raw.noisy {
                if let (true, Some(p)) = (raw.repeat, parents.first()) {
                    parents.push(*p);
                }
                let leak = reader.row(raw.states);
                let causes = parents.iter().map(|p| {
                    let mut rows: Vec<Vec<f64>> = (0..out.states[*p]).map(|_| reader.row(raw.states)).collect();
                    if raw.rests {
                        rows[0] = rest(raw.states);
                    }
                    (*p, rows)
                });
                Family::NoisyMax(leak, causes.collect())
            } else {
                parents.truncate(3);
                let rows: usize = parents.iter().map(|p| out.states[*p]).product();
                let rows = (0..rows).map(|_| reader.row(raw.states)).collect();
                Family::Table(parents, rows)
            };
            out.findings.push(finding(&raw, &out.states, &family, &mut reader));
            out.states.push(raw.states);
            out.families.push(family);
        }
        if let Some((over, draws)) = constraint {
            let mut vars: Vec<usize> = Vec::new();
            for v in over {
                if !vars.contains(&(v % out.states.len())) {
                    vars.push(v % out.states.len());
                }
            }
            let size: usize = vars.iter().map(|v| out.states[*v]).product();
            let mut reader = Reader(&draws, 0);
            out.constraints
                .push((vars, (0..size).map(|_| reader.share()).collect()));
        }
        out
    })
}

impl Described {
    pub fn network(&self) -> Network {
        let mut net = Network::new();
        let var = |v: &usize| Var::from_index(*v);
        for (n, family) in self.states.iter().zip(&self.families) {
            match family {
                Family::Table(parents, rows) => {
                    let parents: Vec<Var> = parents.iter().map(var).collect();
                    net.table(*n, &parents, rows.concat()).unwrap();
                }
                Family::NoisyMax(leak, causes) => {
                    let causes = causes.iter().map(|(p, rows)| Cause {
                        parent: var(p),
                        rows: rows.clone(),
                    });
                    net.noisy_max(leak.clone(), causes.collect()).unwrap();
                }
            }
        }
        for (over, weights) in &self.constraints {
            let over: Vec<Var> = over.iter().map(var).collect();
            net.constraint(&over, weights.clone()).unwrap();
        }
        net
    }

    pub fn evidence(&self) -> Evidence {
        let found = self.findings.iter().enumerate();
        found
            .filter_map(|(v, f)| Some((Var::from_index(v), f.clone()?)))
            .collect()
    }

    /// The same without some findings.
    pub fn keeping(&self, keep: impl Fn(usize) -> bool) -> Self {
        let mut out = self.clone();
        for (v, f) in out.findings.iter_mut().enumerate() {
            if !keep(v) {
                *f = None;
            }
        }
        out
    }

    /// How many rows of numbers a variable has.
    pub fn rows(&self, v: usize) -> usize {
        match &self.families[v] {
            Family::Table(_, rows) => rows.len(),
            Family::NoisyMax(_, causes) => 1 + causes.iter().map(|c| c.1.len()).sum::<usize>(),
        }
    }

    /// One of them: a table's row, or the leak (0) or one of the causes' after it.
    pub fn row(&mut self, v: usize, row: usize) -> &mut Vec<f64> {
        match &mut self.families[v] {
            Family::Table(_, rows) => &mut rows[row],
            Family::NoisyMax(leak, _) if row == 0 => leak,
            Family::NoisyMax(_, causes) => causes.iter_mut().flat_map(|c| &mut c.1).nth(row - 1).unwrap(),
        }
    }

    pub fn enumerate(&self) -> Enumerated<'_> {
        let size: usize = self.states.iter().product();
        let weights = (0..size).map(|i| {
            let x = config(&self.states, i);
            let families = (0..x.len()).map(|v| self.factor(v, &x));
            let constraints = self.constraints.iter().map(|(over, w)| w[self.at(over, &x)]);
            families.chain(constraints).product()
        });
        Enumerated {
            of: self,
            weights: weights.collect(),
        }
    }

    /// The place of a configuration of these variables, the last fastest.
    fn at(&self, over: &[usize], x: &[usize]) -> usize {
        over.iter().fold(0, |at, v| at * self.states[*v] + x[*v])
    }

    /// P(v | parents) times its finding's likelihood.
    fn factor(&self, v: usize, x: &[usize]) -> f64 {
        let finding = self.findings[v].as_ref();
        let likelihood = match finding {
            None => 1.0,
            Some(Finding::State(s)) => f64::from(u8::from(*s == x[v])),
            Some(Finding::Likelihood(l) | Finding::OfKind { likelihood: l, .. }) => l[x[v]],
        };
        let p = match &self.families[v] {
            Family::Table(parents, rows) => rows[self.at(parents, x)][x[v]],
            Family::NoisyMax(leak, causes) => {
                // Grade x and all of the kind: a difference of products of [F(0) + (F(x) - F(0)) q].
                let upto = |g: usize| {
                    let term = |row: &[f64], q: f64| row[0] + row[1..=g].iter().sum::<f64>() * q;
                    let (leak_share, shares) = match finding {
                        Some(Finding::OfKind { leak_share, shares, .. }) => (*leak_share, Some(shares)),
                        _ => (1.0, None),
                    };
                    let one = |(i, (p, rows)): (usize, &(usize, Vec<Vec<f64>>))| {
                        term(&rows[x[*p]], shares.map_or(1.0, |q| q[i][x[*p]]))
                    };
                    term(leak, leak_share) * causes.iter().enumerate().map(one).product::<f64>()
                };
                upto(x[v]) - if x[v] == 0 { 0.0 } else { upto(x[v] - 1) }
            }
        };
        p * likelihood
    }
}

/// Every configuration with its weight.
pub struct Enumerated<'a> {
    of: &'a Described,
    pub weights: Vec<f64>,
}

impl Enumerated<'_> {
    pub fn total(&self) -> f64 {
        self.weights.iter().sum()
    }

    pub fn weight_of(&self, states: &[(usize, usize)]) -> f64 {
        let holds = |i: usize| {
            let x = config(&self.of.states, i);
            states.iter().all(|(v, s)| x[*v] == *s)
        };
        let all = self.weights.iter().enumerate();
        all.filter(|(i, _)| holds(*i)).map(|(_, w)| w).sum()
    }

    pub fn posterior(&self, v: usize) -> Vec<f64> {
        let mut p = vec![0.0; self.of.states[v]];
        for (i, w) in self.weights.iter().enumerate() {
            p[config(&self.of.states, i)[v]] += w;
        }
        let total = self.total();
        p.iter().map(|x| x / total).collect()
    }
}

/// The `i`-th configuration, the last variable fastest.
fn config(states: &[usize], mut i: usize) -> Vec<usize> {
    let mut x = vec![0; states.len()];
    for (x, n) in x.iter_mut().zip(states).rev() {
        *x = i % n;
        i /= n;
    }
    x
}
