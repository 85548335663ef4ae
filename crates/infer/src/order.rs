//! The order of elimination: greedy least fill-in on bit sets.

/// The bucket of one variable: itself and the neighbours it had when it was eliminated.
#[derive(Clone, Debug)]
pub(crate) struct Elimination {
    /// Variables in the order they are eliminated.
    pub order: Vec<u32>,
    /// For the variable at each place in the order, where its neighbours start in `neighbours`.
    pub starts: Vec<u32>,
    /// Neighbours not yet eliminated at that time, one bucket after the other.
    pub neighbours: Vec<u32>,
}

/// An undirected graph as rows of bits.
#[derive(Clone, Debug)]
pub(crate) struct Graph {
    n: usize,
    words: usize,
    rows: Vec<u64>,
}

impl Graph {
    pub fn new(n: usize) -> Self {
        let words = n.div_ceil(64).max(1);
        let rows = vec![0; n * words];
        Self { n, words, rows }
    }

    /// Joins every two of these variables.
    pub fn clique(&mut self, scope: &[u32]) {
        for (i, &a) in scope.iter().enumerate() {
            for &b in &scope[..i] {
                if a != b {
                    self.rows[a as usize * self.words + b as usize / 64] |= 1 << (b % 64);
                    self.rows[b as usize * self.words + a as usize / 64] |= 1 << (a % 64);
                }
            }
        }
    }

    fn row(&self, v: usize) -> &[u64] {
        &self.rows[v * self.words..(v + 1) * self.words]
    }

    fn list(&self, v: usize, out: &mut Vec<u32>) {
        out.clear();
        for (w, &word) in self.row(v).iter().enumerate() {
            let mut bits = word;
            while bits != 0 {
                out.push((w * 64) as u32 + bits.trailing_zeros());
                bits &= bits - 1;
            }
        }
    }

    /// Pairs of neighbours of `v` that are not joined.
    fn missing(&self, v: usize, neighbours: &[u32]) -> u32 {
        let mine = self.row(v);
        let degree = neighbours.len() as u32;
        let mut joined = 0;
        for &u in neighbours {
            let theirs = self.row(u as usize);
            joined += mine
                .iter()
                .zip(theirs)
                .map(|(a, b)| (a & b).count_ones())
                .sum::<u32>();
        }
        (degree * degree.saturating_sub(1) - joined) / 2
    }

    /// Eliminates all variables, each time the one with the least fill-in; ties go to the
    /// smaller bucket (as the sum of `bits`, hundredths of a bit a variable), then to the lower index.
    pub fn eliminate(mut self, bits: &[u32]) -> Elimination {
        let n = self.n;
        let mut out = Elimination {
            order: Vec::with_capacity(n),
            starts: Vec::with_capacity(n),
            neighbours: Vec::with_capacity(4 * n),
        };
        let mut list = Vec::with_capacity(n);
        let mut key = vec![(0u32, 0u32); n];
        let mut dirty = vec![true; n];
        let mut alive: Vec<u32> = (0..n as u32).collect();
        while !alive.is_empty() {
            let mut best = (u32::MAX, u32::MAX);
            let mut at = 0;
            for (i, &v) in alive.iter().enumerate() {
                let v = v as usize;
                if dirty[v] {
                    self.list(v, &mut list);
                    let weight = bits[v] + list.iter().map(|u| bits[*u as usize]).sum::<u32>();
                    key[v] = (self.missing(v, &list), weight);
                    dirty[v] = false;
                }
                if key[v] < best {
                    best = key[v];
                    at = i;
                    if best.0 == 0 {
                        break;
                    }
                }
            }
            let v = alive.remove(at);
            self.remove(v, best.0 > 0, &mut list, &mut dirty);
            out.order.push(v);
            out.starts.push(out.neighbours.len() as u32);
            out.neighbours.extend_from_slice(&list);
        }
        out
    }

    /// Takes `v` out and joins its neighbours (left in `list`); marks whose fill-in may differ.
    fn remove(&mut self, v: u32, fills: bool, list: &mut Vec<u32>, dirty: &mut [bool]) {
        self.list(v as usize, list);
        let words = self.words;
        let mine: Vec<u64> = if fills {
            self.row(v as usize).to_vec()
        } else {
            Vec::new()
        };
        let mut near = vec![0u64; if fills { words } else { 0 }];
        for &u in list.iter() {
            let u = u as usize;
            dirty[u] = true;
            self.rows[u * words + v as usize / 64] &= !(1 << (v % 64));
            if fills {
                for w in 0..words {
                    self.rows[u * words + w] |= mine[w];
                    near[w] |= self.rows[u * words + w];
                }
                self.rows[u * words + u / 64] &= !(1 << (u % 64));
            }
        }
        for (w, &word) in near.iter().enumerate() {
            let mut bits = word;
            while bits != 0 {
                dirty[w * 64 + bits.trailing_zeros() as usize] = true;
                bits &= bits - 1;
            }
        }
    }
}
