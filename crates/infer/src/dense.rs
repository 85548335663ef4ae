//! The second exact method, for many causes of few positive findings: a sweep over the causes.
//!
//! The state of the sweep is, for every finding that is open, the largest grade reached so far.
//! A cause in some state moves each of its findings by `P(max = g) = a_g·P(p ≤ g) + P(a < g)·p_g`,
//! so every number is a sum of non-negative ones. A finding opens at its first cause and closes,
//! weighted by its likelihood, at its last. The cost is the number of links times the product of
//! the grades of the open findings: 2 for a hard positive finding whatever its grade, none for a
//! negative one, and at most the number of states for a soft one. The number of causes enters only
//! linearly.

use smallvec::SmallVec;

use crate::dense_numbers::DenseNumbers;
use crate::scaled::{Scaled, exponent_of, power};

/// One finding of a sweep.
#[derive(Clone, Debug)]
pub(crate) struct Finding {
    pub var: u32,
    pub grades: usize,
}

/// One cause: which findings open, move and close with it.
#[derive(Clone, Debug)]
pub(crate) struct Step {
    pub bucket: u32,
    pub states: usize,
    pub unary: usize,
    pub opens: Vec<u16>,
    /// Finding, and the link's number.
    pub links: Vec<(u16, u32)>,
    pub closes: Vec<u16>,
}

/// A connected part that is swept.
#[derive(Clone, Debug)]
pub(crate) struct Dense {
    pub findings: Vec<Finding>,
    pub steps: Vec<Step>,
    /// Largest state, and all states kept for the way back.
    pub largest: usize,
    pub entries: usize,
    /// Multiplications of one forward sweep, roughly.
    pub cost: usize,
}

impl Dense {
    /// Orders the causes so that few findings are open at a time. `links` are, for each cause,
    /// its findings. Each entry of `causes` is (bucket, states, unary offset).
    pub fn new(causes: &[(u32, usize, usize)], links: &[Vec<u16>], findings: Vec<Finding>) -> Self {
        let mut left = vec![0u32; findings.len()];
        links.iter().flatten().for_each(|f| left[*f as usize] += 1);
        let mut open = vec![false; findings.len()];
        let mut todo: Vec<usize> = (0..causes.len()).collect();
        let mut dense = Self {
            findings,
            steps: Vec::with_capacity(causes.len()),
            largest: 1,
            entries: 0,
            cost: 0,
        };
        let mut size = 1usize;
        let mut next_link = 0;
        while !todo.is_empty() {
            // The cause after which the state is smallest; ties to the one that opens least.
            let key = |c: &usize| {
                let (mut opened, mut closed) = (1.0, 1.0);
                for f in &links[*c] {
                    let g = dense.findings[*f as usize].grades as f64;
                    opened *= if open[*f as usize] { 1.0 } else { g };
                    closed *= if left[*f as usize] == 1 { g } else { 1.0 };
                }
                (opened / closed, opened)
            };
            let best = todo.iter().enumerate().map(|(i, c)| (key(c), i));
            let best = best.min_by(|a, b| {
                a.0.0
                    .total_cmp(&b.0.0)
                    .then(a.0.1.total_cmp(&b.0.1))
                    .then(a.1.cmp(&b.1))
            });
            let c = todo.remove(best.map_or(0, |b| b.1));
            let (bucket, states, unary) = causes[c];
            let mut step = Step {
                bucket,
                states,
                unary,
                opens: Vec::new(),
                links: Vec::new(),
                closes: Vec::new(),
            };
            for &f in &links[c] {
                if !open[f as usize] {
                    open[f as usize] = true;
                    step.opens.push(f);
                    size = size.saturating_mul(dense.findings[f as usize].grades);
                }
                step.links.push((f, next_link));
                next_link += 1;
                left[f as usize] -= 1;
                if left[f as usize] == 0 {
                    step.closes.push(f);
                }
            }
            dense.largest = dense.largest.max(size);
            dense.entries = dense.entries.saturating_add(size);
            dense.cost = dense.cost.saturating_add(size.saturating_mul(links[c].len() * states));
            for f in &step.closes {
                size /= dense.findings[*f as usize].grades;
            }
            dense.steps.push(step);
        }
        dense
    }
}

/// Room for sweeps, kept between calls.
#[derive(Clone, Debug, Default)]
pub(crate) struct Sweep {
    /// The state before each step's causes act, one after the other.
    kept: Vec<f64>,
    now: Vec<f64>,
    moved: Vec<f64>,
    sum: Vec<f64>,
    /// The findings that are open, the slowest last.
    open: Vec<u16>,
    /// At each step: where its state starts in `kept`, and its open findings in `shapes`.
    at: Vec<(usize, usize)>,
    shapes: Vec<u16>,
    back: Vec<f64>,
    room: Vec<f64>,
}

impl Sweep {
    /// The total over the causes, their weights given by `weight(unary offset)`; `skip` is a
    /// finding to leave out. Keeps what [`Sweep::backward`] needs.
    pub fn forward(
        &mut self,
        dense: &Dense,
        n: &DenseNumbers,
        skip: Option<u16>,
        weight: impl Fn(usize) -> f64,
    ) -> Scaled {
        self.kept.clear();
        self.shapes.clear();
        self.at.clear();
        self.open.clear();
        self.now.clear();
        self.now.push(1.0);
        let mut total = Scaled::ONE;
        for step in &dense.steps {
            for &f in step.opens.iter().filter(|f| Some(**f) != skip) {
                let start = n.start(f);
                let len = self.now.len();
                for x in &start[1..] {
                    for i in 0..len {
                        self.now.push(self.now[i] * x);
                    }
                }
                self.now[..len].iter_mut().for_each(|x| *x *= start[0]);
                self.open.push(f);
            }
            self.at.push((self.kept.len(), self.shapes.len()));
            self.shapes.extend_from_slice(&self.open);
            self.kept.extend_from_slice(&self.now);
            self.sum.clear();
            self.sum.resize(self.now.len(), 0.0);
            for s in 0..step.states {
                let w = weight(step.unary + s);
                if w == 0.0 {
                    continue;
                }
                self.moved.clone_from(&self.now);
                for &(f, link) in step.links.iter().filter(|l| Some(l.0) != skip) {
                    let stride = stride(dense, &self.open, f);
                    advance(&mut self.moved, stride, n.row(link, s));
                }
                for (x, m) in self.sum.iter_mut().zip(&self.moved) {
                    *x += w * m;
                }
            }
            std::mem::swap(&mut self.now, &mut self.sum);
            for &f in step.closes.iter().filter(|f| Some(**f) != skip) {
                let stride = stride(dense, &self.open, f);
                self.sum.clear();
                contract(&self.now, stride, n.weights(f), &mut self.sum);
                std::mem::swap(&mut self.now, &mut self.sum);
                self.open.retain(|o| *o != f);
            }
            let e = rescale(&mut self.now);
            total = total.shift(e.into());
        }
        total.times(self.now[0])
    }

    /// After [`Sweep::forward`] with the same weights: hands `set` each cause's unary offsets
    /// with the derivative of ln P with respect to the weight there.
    pub fn backward(
        &mut self,
        dense: &Dense,
        n: &DenseNumbers,
        skip: Option<u16>,
        weight: impl Fn(usize) -> f64,
        mut set: impl FnMut(usize, f64),
    ) {
        let mut back = std::mem::take(&mut self.back);
        let mut room = std::mem::take(&mut self.room);
        back.clear();
        back.push(1.0);
        let mut cavities: SmallVec<[f64; 16]> = SmallVec::new();
        let mut end = self.shapes.len();
        for (i, step) in dense.steps.iter().enumerate().rev() {
            let (at, from) = self.at[i];
            let open = &self.shapes[from..end];
            end = from;
            // Open again what this step closed, in the opposite order.
            let mut after: SmallVec<[u16; 64]> = open.into();
            let mut strides: SmallVec<[(u16, usize); 64]> = SmallVec::new();
            for &f in step.closes.iter().filter(|f| Some(**f) != skip) {
                strides.push((f, stride(dense, &after, f)));
                after.retain(|o| *o != f);
            }
            for (f, stride) in strides.into_iter().rev() {
                expand(&back, stride, n.weights(f), &mut room);
                std::mem::swap(&mut back, &mut room);
            }
            let before = &self.kept[at..at + back.len()];
            self.sum.clear();
            self.sum.resize(back.len(), 0.0);
            cavities.clear();
            let mut total = 0.0;
            for s in 0..step.states {
                let w = weight(step.unary + s);
                self.moved.clone_from(&back);
                for &(f, link) in step.links.iter().rev().filter(|l| Some(l.0) != skip) {
                    retreat(&mut self.moved, stride(dense, open, f), n.row(link, s));
                }
                let cavity = dot(&self.moved, before);
                total += w * cavity;
                cavities.push(cavity);
                for (x, m) in self.sum.iter_mut().zip(&self.moved) {
                    *x += w * m;
                }
            }
            for (s, cavity) in cavities.iter().enumerate() {
                let share = if total > 0.0 { cavity / total } else { 0.0 };
                set(step.unary + s, share);
            }
            std::mem::swap(&mut back, &mut self.sum);
            for &f in step.opens.iter().rev().filter(|f| Some(**f) != skip) {
                let start = n.start(f);
                let stride = back.len() / start.len();
                room.clear();
                contract(&back, stride, start, &mut room);
                std::mem::swap(&mut back, &mut room);
            }
            rescale(&mut back);
        }
        self.back = back;
        self.room = room;
    }
}

fn stride(dense: &Dense, open: &[u16], finding: u16) -> usize {
    let before = open.iter().take_while(|f| **f != finding);
    before.map(|f| dense.findings[*f as usize].grades).product()
}

/// One more contribution with grade chances `p` to the finding of this stride.
fn advance(state: &mut [f64], stride: usize, p: &[f64]) {
    if p[0] == 1.0 {
        return;
    }
    if let [p0, p1] = *p {
        let upto = p0 + p1;
        for block in state.chunks_exact_mut(2 * stride) {
            let (low, high) = block.split_at_mut(stride);
            for (l, h) in low.iter_mut().zip(high) {
                *h = *h * upto + *l * p1;
                *l *= p0;
            }
        }
        return;
    }
    for block in state.chunks_exact_mut(p.len() * stride) {
        for i in 0..stride {
            let (mut below, mut upto) = (0.0, 0.0);
            for (g, p) in p.iter().enumerate() {
                upto += p;
                let own = block[g * stride + i];
                block[g * stride + i] = own * upto + below * p;
                below += own;
            }
        }
    }
}

/// The transpose of [`advance`].
fn retreat(state: &mut [f64], stride: usize, p: &[f64]) {
    if p[0] == 1.0 {
        return;
    }
    if let [p0, p1] = *p {
        let upto = p0 + p1;
        for block in state.chunks_exact_mut(2 * stride) {
            let (low, high) = block.split_at_mut(stride);
            for (l, h) in low.iter_mut().zip(high) {
                *l = *l * p0 + *h * p1;
                *h *= upto;
            }
        }
        return;
    }
    for block in state.chunks_exact_mut(p.len() * stride) {
        for i in 0..stride {
            let mut above = 0.0;
            for g in (0..p.len()).rev() {
                let upto: f64 = p[..=g].iter().sum();
                let own = block[g * stride + i];
                block[g * stride + i] = own * upto + above;
                above += own * p[g];
            }
        }
    }
}

/// Sums an axis out with weights.
fn contract(state: &[f64], stride: usize, weights: &[f64], out: &mut Vec<f64>) {
    for block in state.chunks_exact(weights.len() * stride) {
        let at = out.len();
        out.resize(at + stride, 0.0);
        for (part, w) in block.chunks_exact(stride).zip(weights) {
            for (o, x) in out[at..].iter_mut().zip(part) {
                *o += w * x;
            }
        }
    }
}

/// The transpose of [`contract`].
fn expand(state: &[f64], stride: usize, weights: &[f64], out: &mut Vec<f64>) {
    out.clear();
    for block in state.chunks_exact(stride) {
        for w in weights {
            out.extend(block.iter().map(|x| x * w));
        }
    }
}

/// Brings the largest entry into [1, 2) and returns the exponent taken out.
fn rescale(state: &mut [f64]) -> i32 {
    let most = state.iter().fold(0.0f64, |a, b| if *b > a { *b } else { a });
    let e = exponent_of(most).clamp(-1000, 1000);
    let scale = power(-e);
    state.iter_mut().for_each(|x| *x *= scale);
    e
}

/// Pairwise.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    if a.len() > 64 {
        let half = a.len() / 2;
        return dot(&a[..half], &b[..half]) + dot(&a[half..], &b[half..]);
    }
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
