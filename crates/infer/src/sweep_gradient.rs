//! Derivatives of ln P by the numbers of a sweep, on its way back.

use crate::dense::{Dense, Step};
use crate::dense_numbers::DenseNumbers;
use crate::mover::{stride, turn};

/// Derivatives of ln P by the chance of each grade.
#[derive(Clone, Debug, Default)]
pub(crate) struct Marks {
    /// Of each finding before any live cause.
    pub starts: Vec<Vec<f64>>,
    /// Of each link, one state of its cause after the other.
    pub links: Vec<Vec<f64>>,
    front: Vec<f64>,
    rear: Vec<f64>,
}

impl Marks {
    pub fn new(dense: &Dense) -> Self {
        let links = dense.steps.iter().map(|step| step.links.len()).sum();
        Self {
            starts: vec![Vec::new(); dense.findings.len()],
            links: vec![Vec::new(); links],
            ..Self::default()
        }
    }

    /// What the links of one cause do: `before` it and `back` behind it are the state and the derivatives by it, whose
    /// product with everything between is `total`.
    pub fn at_links(
        &mut self,
        (dense, n, step): (&Dense, &DenseNumbers, &Step),
        open: &[u16],
        weight: &impl Fn(usize) -> f64,
        (before, back): (&[f64], &[f64]),
        total: f64,
    ) {
        for s in 0..step.states {
            let by = weight(step.unary + s) / total;
            self.front.clear();
            self.front.extend_from_slice(before);
            for (j, (finding, link)) in step.links.iter().enumerate() {
                let row = n.row(*link, s);
                let stride_of = |f: u16| stride(dense, open, f);
                self.rear.clear();
                self.rear.extend_from_slice(back);
                for (f, link) in step.links[j + 1..].iter().rev() {
                    turn::<true>(&mut self.rear, stride_of(*f), n.row(*link, s));
                }
                let from = self.links[*link as usize].len();
                self.links[*link as usize].resize(from + row.len(), 0.0);
                let out = &mut self.links[*link as usize][from..];
                by_row(&self.front, &self.rear, stride_of(*finding), out);
                out.iter_mut().for_each(|x| *x *= by);
                turn::<false>(&mut self.front, stride_of(*finding), row);
            }
        }
        self.front.clear();
        self.front.extend_from_slice(before);
    }

    /// What a finding opened with, the last one opened first: `back` are the derivatives by the state with it.
    pub fn at_start(&mut self, finding: u16, start: &[f64], back: &[f64], total: f64) {
        let stride = back.len() / start.len();
        let most = (0..start.len()).max_by(|a, b| start[*a].total_cmp(&start[*b]));
        let Some(most) = most.filter(|g| start[*g] > 0.0) else {
            return;
        };
        // The state before it was opened.
        self.front.copy_within(most * stride..(most + 1) * stride, 0);
        self.front.truncate(stride);
        self.front.iter_mut().for_each(|x| *x /= start[most]);
        let front = &self.front;
        let by = |back: &[f64]| back.iter().zip(front).map(|(b, x)| b * x).sum::<f64>() / total;
        self.starts[finding as usize] = back.chunks_exact(stride).map(by).collect();
    }
}

/// Derivatives of `rear · move(front)` by the chance of each grade of the contribution that moves it: a grade keeps what is
/// at it or higher, and lifts to it what is lower.
fn by_row(front: &[f64], rear: &[f64], stride: usize, out: &mut [f64]) {
    let n = out.len();
    for (front, rear) in front.chunks_exact(n * stride).zip(rear.chunks_exact(n * stride)) {
        for i in 0..stride {
            let at = |g: usize| (front[g * stride + i], rear[g * stride + i]);
            let mut kept = 0.0;
            for g in (0..n).rev() {
                let (own, back) = at(g);
                kept += own * back;
                out[g] += kept;
            }
            let mut lower = 0.0;
            for (g, out) in out.iter_mut().enumerate() {
                let (own, back) = at(g);
                *out += lower * back;
                lower += own;
            }
        }
    }
}
