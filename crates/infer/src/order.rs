//! The order of elimination: greedy least fill-in on bit sets.
//!
//! The fill-in of a variable is the number of pairs of its neighbours that are not joined, or the
//! sum over them of the product of their states. Variables without any come first, found without
//! counting; from then on it is kept up to date edge by edge instead of being counted again.

use crate::plan::Along;

/// Every variable's bucket: itself and the neighbours it had when it was eliminated.
#[derive(Clone, Debug, Default)]
pub(crate) struct Elimination {
    /// Variables in the order they are eliminated.
    pub order: Vec<u32>,
    /// For each place in the order, where its bucket starts in `members`; and where the last ends.
    pub starts: Vec<u32>,
    /// The variable and its neighbours not yet eliminated at that time, one bucket after the other.
    pub members: Vec<u32>,
}

impl Elimination {
    /// The variables of the bucket at each place, its own first.
    pub fn buckets(&self) -> impl Iterator<Item = &[u32]> {
        let ends = self.starts.iter().zip(&self.starts[1..]);
        ends.map(|(a, b)| &self.members[*a as usize..*b as usize])
    }

    fn take(&mut self, v: u32, others: impl FnOnce(&mut Vec<u32>)) {
        self.order.push(v);
        self.members.push(v);
        others(&mut self.members);
        self.starts.push(self.members.len() as u32);
    }
}

/// Eliminates `weights.len()` variables joined by `cliques`, each time the one with the least
/// fill-in; ties go to the smaller sum of weights over the bucket, then to the lower index.
/// With `heavy`, a pair counts by that, else each by 1. `None` if more than 4096 are joined to
/// others.
pub(crate) fn eliminate<'a>(
    weights: &[u32],
    heavy: Option<&[usize]>,
    cliques: impl Iterator<Item = &'a [Along]> + Clone,
) -> Option<Elimination> {
    const ALONE: u32 = u32::MAX;
    let mut number = vec![ALONE; weights.len()];
    let mut joined = Vec::with_capacity(weights.len());
    for clique in cliques.clone().filter(|c| c.len() > 1) {
        for along in clique {
            if number[along.bucket as usize] == ALONE {
                number[along.bucket as usize] = 0;
            }
        }
    }
    let n = weights.len();
    let mut out = Elimination {
        order: Vec::with_capacity(n),
        starts: Vec::with_capacity(n + 1),
        members: Vec::with_capacity(8 * n),
    };
    out.starts.push(0);
    for (v, n) in number.iter_mut().enumerate() {
        if *n == ALONE {
            out.take(v as u32, |_| ());
        } else {
            *n = joined.len() as u32;
            joined.push(v as u32);
        }
    }
    let job = Job {
        joined: &joined,
        number: &number,
        weights,
        heavy,
    };
    let words = joined.len().div_ceil(64);
    if heavy.is_some() {
        job.sized::<true>(words, cliques, &mut out)?;
    } else {
        job.sized::<false>(words, cliques, &mut out)?;
    }
    Some(out)
}

struct Job<'a> {
    joined: &'a [u32],
    number: &'a [u32],
    weights: &'a [u32],
    heavy: Option<&'a [usize]>,
}

impl Job<'_> {
    fn sized<'a, const HEAVY: bool>(
        &self,
        words: usize,
        cliques: impl Iterator<Item = &'a [Along]>,
        out: &mut Elimination,
    ) -> Option<()> {
        match words {
            0 => {}
            1 => self.run::<1, HEAVY>(cliques, out),
            2 => self.run::<2, HEAVY>(cliques, out),
            3..=4 => self.run::<4, HEAVY>(cliques, out),
            5..=8 => self.run::<8, HEAVY>(cliques, out),
            9..=16 => self.run::<16, HEAVY>(cliques, out),
            17..=64 => self.run::<64, HEAVY>(cliques, out),
            _ => return None,
        }
        Some(())
    }

    fn run<'a, const W: usize, const HEAVY: bool>(
        &self,
        cliques: impl Iterator<Item = &'a [Along]>,
        out: &mut Elimination,
    ) {
        let weight = self.joined.iter().map(|v| self.weights[*v as usize]);
        let heavy = self
            .heavy
            .into_iter()
            .flat_map(|all| self.joined.iter().map(|v| all[*v as usize] as u64));
        let mut graph = Graph::<W, HEAVY>::new(weight.collect(), heavy.collect());
        for clique in cliques.filter(|c| c.len() > 1) {
            graph.join_all(clique.iter().map(|along| self.number[along.bucket as usize]));
        }
        let mut take = |v: u32, row: &Bits<W>| {
            let joined = |u: u32| self.joined[u as usize];
            out.take(joined(v), |members| each(row, |u| members.push(joined(u))));
        };
        // First all that join nothing anew, as long as there are such: nothing need be counted for that. What one leaves
        // behind can have come free only next to it.
        let mut alive = graph.all_vertices();
        let mut maybe = alive;
        while let Some(v) = first(&maybe) {
            unset(&mut maybe, v);
            if graph.is_simplicial(v) {
                let row = graph.rows[v as usize];
                take(v, &row);
                graph.take_out(v);
                unset(&mut alive, v);
                maybe = zip(&maybe, &row, |a, b| a | b);
            }
        }
        graph.count(&alive);
        while let Some(v) = graph.best(&alive) {
            take(v, &graph.rows[v as usize]);
            graph.eliminate(v);
            unset(&mut alive, v);
        }
    }
}

pub(crate) type Bits<const W: usize> = [u64; W];

pub(crate) fn each<const W: usize>(bits: &Bits<W>, mut f: impl FnMut(u32)) {
    for (w, &word) in bits.iter().enumerate() {
        let mut rest = word;
        while rest != 0 {
            f((w * 64) as u32 + rest.trailing_zeros());
            rest &= rest - 1;
        }
    }
}

/// Whether it holds for all, which are looked at no further than the first for which it does not.
fn all<const W: usize>(bits: &Bits<W>, mut f: impl FnMut(u32) -> bool) -> bool {
    for (w, &word) in bits.iter().enumerate() {
        let mut rest = word;
        while rest != 0 {
            if !f((w * 64) as u32 + rest.trailing_zeros()) {
                return false;
            }
            rest &= rest - 1;
        }
    }
    true
}

/// The lowest that is in the set.
fn first<const W: usize>(bits: &Bits<W>) -> Option<u32> {
    let (w, word) = bits.iter().enumerate().find(|(_, word)| **word != 0)?;
    Some((w * 64) as u32 + word.trailing_zeros())
}

fn zip<const W: usize>(a: &Bits<W>, b: &Bits<W>, f: impl Fn(u64, u64) -> u64) -> Bits<W> {
    std::array::from_fn(|w| f(a[w], b[w]))
}

pub(crate) fn set<const W: usize>(bits: &mut Bits<W>, v: u32) {
    bits[v as usize / 64] |= 1 << (v % 64);
}

fn unset<const W: usize>(bits: &mut Bits<W>, v: u32) {
    bits[v as usize / 64] &= !(1 << (v % 64));
}

/// An undirected graph as rows of bits.
struct Graph<const W: usize, const HEAVY: bool> {
    rows: Vec<Bits<W>>,
    /// The fill-in of every vertex, and the weight of its bucket.
    key: Vec<(u64, u32)>,
    weight: Vec<u32>,
    /// If `HEAVY`, what a vertex puts into each of its pairs; else that is 1.
    heavy: Vec<u64>,
}

impl<const W: usize, const HEAVY: bool> Graph<W, HEAVY> {
    fn new(weight: Vec<u32>, heavy: Vec<u64>) -> Self {
        Self {
            rows: vec![[0; W]; weight.len()],
            key: weight.iter().map(|w| (0, *w)).collect(),
            weight,
            heavy,
        }
    }

    /// What a vertex puts into a pair.
    fn one(&self, v: u32) -> u64 {
        if HEAVY { self.heavy[v as usize] } else { 1 }
    }

    /// What several put into their pairs with another.
    fn all(&self, bits: &Bits<W>) -> u64 {
        if !HEAVY {
            return bits.iter().map(|w| u64::from(w.count_ones())).sum();
        }
        let mut sum = 0;
        each(bits, |v| sum += self.heavy[v as usize]);
        sum
    }

    fn join(&mut self, a: u32, b: u32) {
        set(&mut self.rows[a as usize], b);
        set(&mut self.rows[b as usize], a);
    }

    fn join_all(&mut self, clique: impl Iterator<Item = u32> + Clone) {
        let mut all = [0; W];
        clique.clone().for_each(|v| set(&mut all, v));
        for v in clique {
            let row = &mut self.rows[v as usize];
            *row = zip(row, &all, |a, b| a | b);
            unset(row, v);
        }
    }

    fn all_vertices(&self) -> Bits<W> {
        let mut all = [0; W];
        (0..self.rows.len() as u32).for_each(|v| set(&mut all, v));
        all
    }

    /// Whether all its neighbours are joined to each other.
    fn is_simplicial(&self, v: u32) -> bool {
        let row = &self.rows[v as usize];
        all(row, |u| {
            let mut missing = zip(row, &self.rows[u as usize], |a, b| a & !b);
            unset(&mut missing, u);
            missing == [0; W]
        })
    }

    /// The first with nothing to join, else the one with the least.
    fn best(&self, alive: &Bits<W>) -> Option<u32> {
        let mut best = (u64::MAX, u32::MAX);
        let mut at = None;
        all(alive, |v| {
            let key = self.key[v as usize];
            if key < best {
                (best, at) = (key, Some(v));
            }
            key.0 > 0
        });
        at
    }

    /// Takes out one whose neighbours are all joined to each other, before anything is counted.
    fn take_out(&mut self, v: u32) {
        let row = self.rows[v as usize];
        each(&row, |u| unset(&mut self.rows[u as usize], v));
    }

    /// Counts the fill-in of these from nothing.
    fn count(&mut self, of: &Bits<W>) {
        each(of, |v| {
            let row = self.rows[v as usize];
            let all = self.all(&row);
            let mut joined = 0;
            let mut weight = self.weight[v as usize];
            each(&row, |u| {
                let own = self.one(u);
                joined += own * (own + self.all(&zip(&row, &self.rows[u as usize], |a, b| a & b)));
                weight += self.weight[u as usize];
            });
            self.key[v as usize] = ((all * all - joined) / 2, weight);
        });
    }

    /// Joins the neighbours of `v` to each other and takes `v` out.
    fn eliminate(&mut self, v: u32) {
        let row = self.rows[v as usize];
        if self.key[v as usize].0 > 0 {
            each(&row, |u| {
                let missing = zip(&row, &self.rows[u as usize], |a, b| a & !b);
                each(&missing, |w| {
                    if w > u {
                        self.add_edge(u, w);
                    }
                });
            });
        }
        let own = self.one(v);
        each(&row, |u| {
            // Pairs of `v` with what it was not joined to.
            let apart = zip(&self.rows[u as usize], &row, |a, b| a & !b);
            self.key[u as usize].0 -= own * (self.all(&apart) - own);
            self.key[u as usize].1 -= self.weight[v as usize];
            unset(&mut self.rows[u as usize], v);
        });
    }

    fn add_edge(&mut self, a: u32, b: u32) {
        let (ra, rb) = (self.rows[a as usize], self.rows[b as usize]);
        let (own_a, own_b) = (self.one(a), self.one(b));
        each(&zip(&ra, &rb, |x, y| x & y), |x| {
            self.key[x as usize].0 -= own_a * own_b
        });
        let new_a = own_b * self.all(&zip(&ra, &rb, |x, y| x & !y));
        let new_b = own_a * self.all(&zip(&rb, &ra, |x, y| x & !y));
        self.key[a as usize].0 += new_a;
        self.key[a as usize].1 += self.weight[b as usize];
        self.key[b as usize].0 += new_b;
        self.key[b as usize].1 += self.weight[a as usize];
        self.join(a, b);
    }
}
