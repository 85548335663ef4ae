//! Random small networks with every feature, and evidence on them.

use crate::*;

/// SplitMix64 (Steele, Lea & Flood 2014): small, and the same everywhere.
pub struct Random(pub u64);

impl Random {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    pub fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }
    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }
    pub fn chance(&mut self, p: f64) -> bool {
        self.unit() < p
    }
    /// Sometimes with zeros, sometimes certain.
    pub fn distribution(&mut self, n: usize) -> Vec<f64> {
        if self.chance(0.08) {
            let at = self.below(n);
            return (0..n).map(|i| f64::from(u8::from(i == at))).collect();
        }
        let mut w: Vec<f64> = (0..n)
            .map(|_| if self.chance(0.1) { 0.0 } else { self.unit() + 0.01 })
            .collect();
        if w.iter().all(|x| *x == 0.0) {
            w[0] = 1.0;
        }
        let total: f64 = w.iter().sum();
        w.iter_mut().for_each(|x| *x /= total);
        w
    }
    fn some_of(&mut self, vars: &[Var], most: usize) -> Vec<Var> {
        let mut pool = vars.to_vec();
        let n = self.below(most.min(pool.len()) + 1);
        (0..n).map(|_| pool.swap_remove(self.below(pool.len()))).collect()
    }
}

pub fn network(r: &mut Random) -> Network {
    let mut net = Network::new();
    let n = 2 + r.below(7);
    let mut size = 1;
    for _ in 0..n {
        let vars: Vec<Var> = net.vars().collect();
        let mut states = [1, 2, 2, 2, 2, 3, 3, 4][r.below(8)];
        if size * states > 3000 {
            states = 1;
        }
        size *= states;
        if r.chance(0.45) || vars.is_empty() {
            let parents = r.some_of(&vars, 3);
            let rows: usize = parents.iter().map(|p| net.states(*p)).product();
            let rows = (0..rows).flat_map(|_| r.distribution(states)).collect();
            net.table(states, &parents, rows).unwrap();
        } else {
            let mut parents = r.some_of(&vars, 5);
            if r.chance(0.2) && !parents.is_empty() {
                parents.push(parents[0]);
            }
            let causes = parents
                .into_iter()
                .map(|parent| {
                    let mut rows: Vec<Vec<f64>> = (0..net.states(parent)).map(|_| r.distribution(states)).collect();
                    if r.chance(0.7) {
                        rows[0] = vec![0.0; states];
                        rows[0][0] = 1.0;
                    }
                    Cause { parent, rows }
                })
                .collect();
            let leak = r.distribution(states);
            net.noisy_max(leak, causes).unwrap();
        }
    }
    if r.chance(0.25) {
        let vars: Vec<Var> = net.vars().collect();
        let over = r.some_of(&vars, 3);
        let size: usize = over.iter().map(|v| net.states(*v)).product();
        let weights = (0..size)
            .map(|_| if r.chance(0.2) { 0.0 } else { 2.0 * r.unit() })
            .collect();
        net.constraint(&over, weights).unwrap();
    }
    net
}

/// Independent causes and findings over several of them, each cause with a contribution or two.
pub fn two_layers(r: &mut Random) -> Network {
    let mut net = Network::new();
    let causes = 2 + r.below(4);
    for _ in 0..causes {
        let states = 2 + r.below(4) / 3;
        let prior = r.distribution(states);
        net.table(states, &[], prior).unwrap();
    }
    let roots: Vec<Var> = net.vars().collect();
    for _ in 0..1 + r.below(4) {
        let states = 2 + r.below(2);
        let mut parents = r.some_of(&roots, 5);
        parents.extend(r.some_of(&roots, 1));
        let causes = parents
            .into_iter()
            .map(|parent| Cause {
                parent,
                rows: (0..net.states(parent)).map(|_| r.distribution(states)).collect(),
            })
            .collect();
        let leak = r.distribution(states);
        net.noisy_max(leak, causes).unwrap();
    }
    net
}

pub fn finding(r: &mut Random, net: &Network, var: Var) -> Finding {
    let states = net.states(var);
    let likelihood = |r: &mut Random| -> Vec<f64> {
        let step = r.chance(0.3);
        let end = r.below(states) + 1;
        (0..states)
            .map(|s| match step {
                true => f64::from(u8::from(s < end)) * 0.5,
                false if r.chance(0.15) => 0.0,
                false => r.unit(),
            })
            .collect()
    };
    match r.below(10) {
        0..5 => Finding::State(if r.chance(0.4) { 0 } else { r.below(states) }),
        5..7 if net.is_noisy_max(var) => {
            let share = |r: &mut Random| match r.below(5) {
                0 => 0.0,
                1 => 1.0,
                _ => r.unit(),
            };
            let shares = net
                .causes(var)
                .iter()
                .map(|c| c.rows.iter().map(|_| share(r)).collect())
                .collect();
            let hard = r.below(states);
            let likelihood = match r.chance(0.5) {
                true => (0..states).map(|s| f64::from(u8::from(s == hard))).collect(),
                false => likelihood(r),
            };
            Finding::OfKind {
                likelihood,
                leak_share: share(r),
                shares,
            }
        }
        _ => Finding::Likelihood(likelihood(r)),
    }
}

pub fn evidence(r: &mut Random, net: &Network) -> Evidence {
    let mut evidence = Evidence::new();
    for var in net.vars() {
        if r.chance(0.4) {
            let finding = finding(r, net, var);
            evidence.insert(var, finding);
        }
    }
    evidence
}
