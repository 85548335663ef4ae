//! The two runs of a sweep: forwards for the total, backwards for the posteriors.

use smallvec::SmallVec;

use crate::dense::Dense;
use crate::dense_numbers::DenseNumbers;
use crate::mover::{Mover, stride};
use crate::scaled::{Scaled, exponent_of, power};
use crate::sweep_gradient::Marks;

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
            let mover = Mover::<false> {
                dense,
                n,
                skip,
                step,
                open: &self.open,
            };
            mover.mix(&weight, &mut self.now, &mut self.moved, &mut self.sum, |_, _| {});
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
    /// with the derivative of ln P with respect to the weight there, and notes in `marks` those by all other numbers.
    pub fn backward(
        &mut self,
        dense: &Dense,
        n: &DenseNumbers,
        skip: Option<u16>,
        weight: impl Fn(usize) -> f64,
        mut set: impl FnMut(usize, f64),
        mut marks: Option<&mut Marks>,
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
            let mover = Mover::<true> {
                dense,
                n,
                skip,
                step,
                open,
            };
            let behind = if marks.is_some() { back.clone() } else { Vec::new() };
            cavities.clear();
            cavities.resize(step.states, 0.0);
            mover.mix(&weight, &mut back, &mut self.moved, &mut self.sum, |s, moved| {
                cavities[s] = dot(moved, before);
            });
            let parts = cavities.iter().enumerate();
            let total: f64 = parts.map(|(s, c)| weight(step.unary + s) * c).sum();
            for (s, cavity) in cavities.iter().enumerate() {
                let share = if total > 0.0 { cavity / total } else { 0.0 };
                set(step.unary + s, share);
            }
            std::mem::swap(&mut back, &mut self.sum);
            if let Some(marks) = marks.as_deref_mut() {
                marks.at_links((dense, n, step), open, &weight, (before, &behind), total);
            }
            for &f in step.opens.iter().rev().filter(|f| Some(**f) != skip) {
                let start = n.start(f);
                if let Some(marks) = marks.as_deref_mut() {
                    marks.at_start(f, start, &back, total);
                }
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
