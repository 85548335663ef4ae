//! How one cause moves the state of a sweep, forwards and back.

use crate::dense::{Dense, Step};
use crate::dense_numbers::DenseNumbers;

/// One cause of a sweep, taken forwards, or `BACK` by the transposes in the opposite order.
pub(crate) struct Mover<'a, const BACK: bool> {
    pub dense: &'a Dense,
    pub n: &'a DenseNumbers,
    pub skip: Option<u16>,
    pub step: &'a Step,
    /// The findings that are open, the slowest last.
    pub open: &'a [u16],
}

impl<const BACK: bool> Mover<'_, BACK> {
    /// In `sum`: the state as each state of the cause would move it, weighted. Each is shown to
    /// `see`. The state given is used up.
    pub fn mix(
        &self,
        weight: &impl Fn(usize) -> f64,
        now: &mut Vec<f64>,
        moved: &mut Vec<f64>,
        sum: &mut Vec<f64>,
        mut see: impl FnMut(usize, &[f64]),
    ) {
        sum.clear();
        let last = self.step.states - 1;
        for s in 0..=last {
            let w = weight(self.step.unary + s);
            if w == 0.0 && !BACK && s < last {
                continue;
            }
            let moved = match s == last {
                true => &mut *now,
                false if self.stays(s) => &mut *now,
                false => {
                    moved.clone_from(now);
                    &mut *moved
                }
            };
            self.turn(s, moved);
            see(s, moved);
            if sum.is_empty() {
                sum.extend(moved.iter().map(|m| w * m));
                continue;
            }
            for (x, m) in sum.iter_mut().zip(moved.iter()) {
                *x += w * m;
            }
        }
    }

    fn links(&self) -> impl DoubleEndedIterator<Item = &(u16, u32)> {
        self.step.links.iter().filter(|l| Some(l.0) != self.skip)
    }

    /// Whether the cause produces nothing while in this state.
    fn stays(&self, s: usize) -> bool {
        self.links().all(|(_, link)| self.n.row(*link, s)[0] == 1.0)
    }

    fn turn(&self, s: usize, state: &mut [f64]) {
        let one = |(f, link): &(u16, u32)| {
            let stride = stride(self.dense, self.open, *f);
            turn::<BACK>(state, stride, self.n.row(*link, s));
        };
        if BACK {
            self.links().rev().for_each(one);
        } else {
            self.links().for_each(one);
        }
    }
}

/// One more contribution with grade chances `p` to the finding of this stride, or the transpose:
/// grade t of the outcome has P(p ≤ t) of its own, and what moves between two grades moves with
/// the chance of the higher.
pub(crate) fn turn<const BACK: bool>(state: &mut [f64], stride: usize, p: &[f64]) {
    if p[0] == 1.0 {
        return;
    }
    if let [p0, p1] = *p {
        let upto = p0 + p1;
        for block in state.chunks_exact_mut(2 * stride) {
            let (low, high) = block.split_at_mut(stride);
            for (l, h) in low.iter_mut().zip(high) {
                if BACK {
                    *l = *l * p0 + *h * p1;
                    *h *= upto;
                } else {
                    *h = *h * upto + *l * p1;
                    *l *= p0;
                }
            }
        }
        return;
    }
    let n = p.len();
    for block in state.chunks_exact_mut(n * stride) {
        for i in 0..n {
            // Those that are still to be read come last.
            let to = if BACK { i } else { n - 1 - i };
            let upto: f64 = p[..=to].iter().sum();
            block[to * stride..][..stride].iter_mut().for_each(|x| *x *= upto);
            let from = if BACK { to + 1..n } else { 0..to };
            for from in from {
                let (low, high) = block.split_at_mut(from.max(to) * stride);
                let (low, high) = (&mut low[from.min(to) * stride..][..stride], &mut high[..stride]);
                let p = p[from.max(to)];
                for (l, h) in low.iter_mut().zip(high) {
                    if BACK {
                        *l += *h * p;
                    } else {
                        *h += *l * p;
                    }
                }
            }
        }
    }
}

/// How far apart the grades of an open finding are.
pub(crate) fn stride(dense: &Dense, open: &[u16], finding: u16) -> usize {
    let before = open.iter().take_while(|f| **f != finding);
    before.map(|f| dense.findings[*f as usize].grades).product()
}
