//! Seeded networks and cases of four kinds, the same in every language: all draws are whole
//! numbers (SplitMix64), all probabilities whole ten-thousandths. The Python twin of this file is
//! `kinds.py` beside the reference values.

#![allow(dead_code, clippy::unwrap_used, missing_docs)]

use wythe_infer::{Cause, Evidence, Finding, Network, Var};

/// What a kind is made of.
#[derive(Clone, Copy, Debug)]
pub struct Kind {
    pub name: &'static str,
    pub causes: usize,
    pub places: usize,
    pub responses: usize,
    pub clues: usize,
    /// Fewest and most parents of a clue.
    pub parents: (usize, usize),
    pub observed: usize,
    pub positive: usize,
    pub soft: usize,
}

const fn kind(name: &'static str, n: [usize; 4], parents: (usize, usize), e: [usize; 3]) -> Kind {
    let [causes, places, responses, clues] = n;
    let [observed, positive, soft] = e;
    Kind {
        name,
        causes,
        places,
        responses,
        clues,
        parents,
        observed,
        positive,
        soft,
    }
}

pub const WALL: Kind = kind("wall", [8, 1, 0, 15], (2, 5), [10, 4, 1]);
pub const HOUSE: Kind = kind("house", [40, 10, 20, 120], (2, 6), [40, 12, 4]);
/// The house without hidden responses.
pub const PLAIN_HOUSE: Kind = kind("plain-house", [40, 10, 0, 120], (2, 6), [40, 12, 4]);
pub const BIG: Kind = kind("big", [80, 20, 0, 300], (2, 6), [60, 18, 6]);
/// Dense, as large as table engines can go.
pub const SMALL_DENSE: Kind = kind("small-dense", [14, 0, 0, 40], (5, 10), [20, 8, 2]);
pub const DENSE: Kind = kind("dense", [40, 0, 0, 100], (6, 15), [40, 12, 0]);
pub const DENSE_SOFT: Kind = kind("dense-soft", [40, 0, 0, 100], (6, 15), [40, 12, 4]);

pub struct Draw(u64);

impl Draw {
    pub fn new(name: &str, seed: u64) -> Self {
        let salt = name
            .bytes()
            .fold(seed, |h, b| h.wrapping_mul(31).wrapping_add(b.into()));
        let mut draw = Self(salt);
        draw.next();
        draw
    }
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    /// From 0 up to but not including `n`.
    pub fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }
    /// From `a` to `b`, both included.
    pub fn from(&mut self, a: usize, b: usize) -> usize {
        a + self.below(b - a + 1)
    }
    fn shuffle<T>(&mut self, xs: &mut [T]) {
        for i in (1..xs.len()).rev() {
            xs.swap(i, self.below(i + 1));
        }
    }
}

/// A noisy-MAX in ten-thousandths: a row for the leak, then one for each parent when present.
pub struct Family {
    pub parents: Vec<usize>,
    pub leak: Vec<usize>,
    pub rows: Vec<Vec<usize>>,
}

pub struct Made {
    pub kind: Kind,
    pub seed: u64,
    pub priors: Vec<usize>,
    /// Responses, then clues; parents are numbered causes first, then responses.
    pub families: Vec<Family>,
}

fn row(draw: &mut Draw, states: usize, strength: usize) -> Vec<usize> {
    let weights: Vec<usize> = (1..states).map(|_| draw.from(1, 10)).collect();
    let total: usize = weights.iter().sum();
    let mut row = vec![10_000 - strength];
    row.extend(weights.iter().map(|w| strength * w / total));
    let sum: usize = row.iter().sum();
    row[states - 1] += 10_000 - sum;
    row
}

fn family(draw: &mut Draw, parents: Vec<usize>, states: usize) -> Family {
    let strength = draw.from(50, 600);
    let leak = row(draw, states, strength);
    let rows = parents
        .iter()
        .map(|_| {
            let strength = draw.from(1500, 9000);
            row(draw, states, strength)
        })
        .collect();
    Family { parents, leak, rows }
}

/// Distinct causes near a place; anywhere if there are no places.
fn pick(draw: &mut Draw, kind: &Kind, place: usize, n: usize) -> Vec<usize> {
    let mut out: Vec<usize> = Vec::new();
    for _ in 0..200 {
        if out.len() == n {
            break;
        }
        let i = if kind.places < 2 {
            draw.below(kind.causes)
        } else {
            let luck = draw.below(100);
            let at = match luck {
                0..10 => (place + 1) % kind.places,
                10..15 => (place + kind.places - 1) % kind.places,
                _ => place,
            };
            if luck >= 97 {
                draw.below(2)
            } else {
                at + kind.places * draw.below(kind.causes / kind.places)
            }
        };
        if !out.contains(&i) {
            out.push(i);
        }
    }
    out.sort_unstable();
    out
}

pub fn make(kind: Kind, seed: u64) -> Made {
    let mut draw = Draw::new(kind.name, seed);
    let priors = (0..kind.causes).map(|_| 20 + draw.below(30) * draw.below(30)).collect();
    let mut families = Vec::new();
    for j in 0..kind.responses {
        let n = draw.from(2, 4);
        let parents = pick(&mut draw, &kind, j % kind.places.max(1), n);
        families.push(family(&mut draw, parents, 2));
    }
    for j in 0..kind.clues {
        let place = j % kind.places.max(1);
        let n = draw.from(kind.parents.0, kind.parents.1);
        let mut parents = pick(&mut draw, &kind, place, n);
        if kind.responses > 0 && draw.below(10) < 4 {
            parents.truncate(n - 1);
            let per = kind.responses / kind.places;
            parents.push(kind.causes + place + kind.places * draw.below(per));
        }
        let states = [2, 2, 3, 4][draw.below(4)];
        families.push(family(&mut draw, parents, states));
    }
    Made {
        kind,
        seed,
        priors,
        families,
    }
}

impl Made {
    /// The network; causes come first, then responses, then clues.
    pub fn network(&self) -> Network {
        let p = |x: usize| x as f64 / 10_000.0;
        let mut net = Network::new();
        let mut vars = Vec::new();
        for prior in &self.priors {
            vars.push(net.table(2, &[], vec![p(10_000 - prior), p(*prior)]).unwrap());
        }
        for f in &self.families {
            let mut absent = vec![0.0; f.leak.len()];
            absent[0] = 1.0;
            let causes = f.parents.iter().zip(&f.rows).map(|(parent, row)| Cause {
                parent: vars[*parent],
                rows: vec![absent.clone(), row.iter().map(|x| p(*x)).collect()],
            });
            let leak = f.leak.iter().map(|x| p(*x)).collect();
            vars.push(net.noisy_max(leak, causes.collect()).unwrap());
        }
        net
    }

    pub fn clue(&self, j: usize) -> Var {
        let at = self.kind.causes + self.kind.responses + j;
        self.network_var(at)
    }

    fn network_var(&self, at: usize) -> Var {
        Var::from_index(at)
    }

    /// Evidence with just as many positive and soft findings as the kind says; at first each
    /// positive or soft finding is where sampling put it.
    pub fn case(&self, number: u64) -> Evidence {
        let kind = &self.kind;
        let mut draw = Draw::new(kind.name, self.seed * 1_000_003 + number + 17);
        let hit = |draw: &mut Draw, row: &[usize]| {
            let mut u = draw.below(10_000);
            for (g, p) in row.iter().enumerate() {
                if u < *p {
                    return g;
                }
                u -= p;
            }
            row.len() - 1
        };
        loop {
            let mut value: Vec<usize> = self
                .priors
                .iter()
                .map(|p| usize::from(draw.below(10_000) < *p))
                .collect();
            for _ in 0..2 {
                let i = draw.below(kind.causes);
                value[i] = 1;
            }
            for f in &self.families {
                let mut most = hit(&mut draw, &f.leak);
                for (parent, row) in f.parents.iter().zip(&f.rows) {
                    if value[*parent] > 0 {
                        most = most.max(hit(&mut draw, row));
                    }
                }
                value.push(most);
            }
            let clues = &value[kind.causes + kind.responses..];
            let (mut positive, mut none): (Vec<usize>, Vec<usize>) = (0..kind.clues).partition(|j| clues[*j] > 0);
            if positive.len() < kind.positive || none.len() < kind.observed - kind.positive {
                continue;
            }
            draw.shuffle(&mut positive);
            draw.shuffle(&mut none);
            let mut seen = positive[..kind.positive].to_vec();
            seen.extend(&none[..kind.observed - kind.positive]);
            let mut order: Vec<usize> = (0..seen.len()).collect();
            draw.shuffle(&mut order);
            let mut evidence = Evidence::new();
            for (rank, at) in order.into_iter().enumerate() {
                let j = seen[at];
                let states = self.families[kind.responses + j].leak.len();
                let finding = if rank < kind.soft {
                    let mut l: Vec<f64> = (0..states).map(|_| draw.from(20, 400) as f64 / 1000.0).collect();
                    l[clues[j]] = 1.0;
                    Finding::Likelihood(l)
                } else {
                    Finding::State(clues[j])
                };
                evidence.insert(self.clue(j), finding);
            }
            return evidence;
        }
    }
}
