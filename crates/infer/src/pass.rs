//! The two passes over the tree of buckets, for `L` sets of weights side by side.
//!
//! Every lane does the same operations in the same order whatever `L` is, so an answer does not
//! depend on what was computed beside it.

use crate::numbers::Numbers;
use crate::plan::{Bucket, NONE, Plan};
use crate::scaled::{Scaled, exponent_of, power, shifted};
use crate::sweep::Sweep;

/// Messages whose smallest entry is below this are not divided by.
pub(crate) const TINY: f64 = 1e-290;

/// Another potential for one bucket in one lane.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Other<'a> {
    pub lane: usize,
    pub bucket: usize,
    pub potential: &'a [f64],
    pub exponent: i32,
}

/// The tables of a run.
#[derive(Clone, Debug)]
pub(crate) struct Work<const L: usize> {
    /// Weights of each variable by itself: the input.
    pub unary: Vec<[f64; L]>,
    /// Each bucket's product on the way up.
    pub table: Vec<[f64; L]>,
    /// Messages up, scaled by a power of two.
    pub message: Vec<[f64; L]>,
    /// Derivatives of ln P with respect to the messages before scaling.
    pub down: Vec<[f64; L]>,
    /// The exponent taken out of each message.
    pub exponent: Vec<[i32; L]>,
    /// Posteriors, where the unary weights are.
    pub posterior: Vec<[f64; L]>,
    /// The total in each lane.
    pub total: [Scaled; L],
    /// Derivatives of ln P with respect to the weights of causes that are swept.
    pub cavity: Vec<[f64; L]>,
    spare: Vec<[f64; L]>,
    /// Of the bucket at hand on the way down.
    belief: Vec<[f64; L]>,
    sweeps: Vec<[Sweep; L]>,
}

/// One finding of one sweep left out in one lane.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LeftOut {
    pub lane: usize,
    pub part: usize,
    pub finding: u16,
}

impl<const L: usize> Default for Work<L> {
    fn default() -> Self {
        Self {
            unary: Vec::new(),
            table: Vec::new(),
            message: Vec::new(),
            down: Vec::new(),
            exponent: Vec::new(),
            posterior: Vec::new(),
            total: [Scaled::ONE; L],
            cavity: Vec::new(),
            spare: Vec::new(),
            belief: Vec::new(),
            sweeps: Vec::new(),
        }
    }
}

impl<const L: usize> Work<L> {
    /// Makes room; after the first time for a plan this allocates nothing.
    pub fn fit(&mut self, plan: &Plan) {
        let zero = [0.0; L];
        self.unary.resize(plan.unary_len, zero);
        self.posterior.resize(plan.unary_len, zero);
        self.table.resize(plan.table_len, zero);
        self.message.resize(plan.message_len, zero);
        self.down.resize(plan.message_len, zero);
        self.exponent.resize(plan.buckets.len(), [0; L]);
        if !plan.dense.is_empty() {
            self.cavity.resize(plan.unary_len, zero);
        }
        let sweep = || std::array::from_fn(|_| Sweep::default());
        self.sweeps.resize_with(plan.dense.len(), sweep);
    }

    /// Sets the same weights in every lane.
    pub fn set_unary(&mut self, unary: &[f64]) {
        for (u, x) in self.unary.iter_mut().zip(unary) {
            *u = [*x; L];
        }
    }

    /// From the leaves to the roots: messages and totals. Returns nothing; a lane whose total
    /// is 0 is impossible.
    pub fn up(&mut self, plan: &Plan, n: &Numbers, others: &[Other<'_>], left: &[LeftOut]) {
        self.total = [n.start(); L];
        for (k, b) in plan.buckets.iter().enumerate().filter(|(_, b)| !b.dense) {
            if b.is_alone() {
                self.alone(b);
            } else {
                self.join(plan, b, k, n, others);
                self.count(b, k);
            }
        }
        for (part, dense) in plan.dense.iter().enumerate() {
            for l in 0..L {
                let skip = left_out(left, l, part);
                let unary = &self.unary;
                let sweep = &mut self.sweeps[part][l];
                let sum = sweep.forward(dense, &n.dense[part], skip, |at| unary[at][l]);
                self.total[l] = self.total[l].times(sum.mantissa).shift(sum.exponent);
            }
        }
    }

    /// A bucket's product and message.
    pub(crate) fn join(&mut self, plan: &Plan, b: &Bucket, k: usize, n: &Numbers, others: &[Other<'_>]) {
        let table = &mut self.table[b.table..b.table + b.size];
        fill(
            table,
            &self.unary[b.unary..b.unary + b.states],
            potential(plan, n, k),
            b.sep,
        );
        for other in others.iter().filter(|o| o.bucket == k) {
            let l = other.lane;
            for (i, p) in other.potential.iter().enumerate() {
                table[i][l] = self.unary[b.unary + i / b.sep][l] * p;
            }
            self.total[l] = self.total[l].shift(other.exponent.into());
        }
        for child in plan.children_of(k) {
            let c = &plan.buckets[child.bucket as usize];
            let message = &self.message[c.message..c.message + c.sep];
            if child.same {
                table.iter_mut().zip(message).for_each(|(t, m)| times(t, m));
            } else {
                let map = &plan.maps[child.map..child.map + b.size];
                table
                    .iter_mut()
                    .zip(map)
                    .for_each(|(t, at)| times(t, &message[*at as usize]));
            }
        }
        self.exponent[k] = send(table, &mut self.message[b.message..b.message + b.sep]);
    }

    fn sweep_down(&mut self, plan: &Plan, n: &Numbers, left: &[LeftOut]) {
        for (part, dense) in plan.dense.iter().enumerate() {
            for l in 0..L {
                let skip = left_out(left, l, part);
                let (unary, posterior, cavity) = (&self.unary, &mut self.posterior, &mut self.cavity);
                let set = |at: usize, d: f64| {
                    cavity[at][l] = d;
                    posterior[at][l] = d * unary[at][l];
                };
                self.sweeps[part][l].backward(dense, &n.dense[part], skip, |at| unary[at][l], set);
            }
        }
    }

    /// A variable that hangs together with no other.
    pub(crate) fn alone(&mut self, b: &Bucket) {
        let mut sum = [0.0; L];
        let unary = &self.unary[b.unary..b.unary + b.states];
        unary.iter().for_each(|u| plus(&mut sum, u));
        self.down[b.message] = std::array::from_fn(|l| reciprocal(sum[l]));
        for (total, sum) in self.total.iter_mut().zip(sum) {
            if sum != 1.0 {
                *total = total.times(sum);
            }
        }
    }

    /// What a bucket's message adds to the total.
    pub(crate) fn count(&mut self, b: &Bucket, k: usize) {
        for l in 0..L {
            self.total[l] = self.total[l].shift(self.exponent[k][l].into());
            if b.parent == NONE {
                self.total[l] = self.total[l].times(self.message[b.message][l]);
            }
        }
    }

    /// From the roots to the leaves: beliefs and posteriors.
    ///
    /// With `cavities`, also right where a message is 0: the derivative is then taken from the
    /// product of everything else instead of by division.
    pub fn down(&mut self, plan: &Plan, n: &Numbers, cavities: bool, left: &[LeftOut]) {
        self.sweep_down(plan, n, left);
        for (k, b) in plan.buckets.iter().enumerate().rev() {
            if b.dense {
                continue;
            }
            if b.is_alone() {
                let share = self.down[b.message];
                let unary = &self.unary[b.unary..b.unary + b.states];
                let posterior = &mut self.posterior[b.unary..b.unary + b.states];
                for (p, u) in posterior.iter_mut().zip(unary) {
                    *p = *u;
                    times(p, &share);
                }
                continue;
            }
            if b.parent == NONE {
                let e = self.exponent[k];
                let m = self.message[b.message];
                self.down[b.message] = std::array::from_fn(|l| shifted(reciprocal(m[l]), -e[l]));
            }
            if cavities {
                self.rescue(plan, k, &n.potential);
            }
            let mut belief = std::mem::take(&mut self.belief);
            self.belief_of(b, &mut belief);
            let posterior = &mut self.posterior[b.unary..b.unary + b.states];
            for (block, p) in belief.chunks_exact(b.sep).zip(posterior) {
                *p = sum(block);
            }
            for child in plan.children_of(k) {
                let c = &plan.buckets[child.bucket as usize];
                let out = &mut self.down[c.message..c.message + c.sep];
                let message = &self.message[c.message..c.message + c.sep];
                if cavities && message.iter().any(|m| m.iter().any(|x| *x < TINY)) {
                    continue;
                }
                gather(out, &belief, child.same, &plan.maps[child.map..]);
                let e = &self.exponent[child.bucket as usize];
                let scale: [f64; L] = std::array::from_fn(|l| power(-e[l]));
                for (o, m) in out.iter_mut().zip(message) {
                    for l in 0..L {
                        o[l] *= reciprocal(m[l]) * scale[l];
                    }
                }
            }
            self.belief = belief;
        }
    }

    /// On the way down or after it: a bucket's product times its derivative.
    pub(crate) fn belief_of(&self, b: &Bucket, belief: &mut Vec<[f64; L]>) {
        belief.clear();
        belief.extend_from_slice(&self.table[b.table..b.table + b.size]);
        let down = &self.down[b.message..b.message + b.sep];
        for block in belief.chunks_exact_mut(b.sep) {
            block.iter_mut().zip(down).for_each(|(t, d)| times(t, d));
        }
    }

    /// For children of `k` whose message has zeros: their derivative without dividing.
    fn rescue(&mut self, plan: &Plan, k: usize, potential: &[f64]) {
        let b = &plan.buckets[k];
        for (i, child) in plan.children_of(k).iter().enumerate() {
            let c = &plan.buckets[child.bucket as usize];
            let message = &self.message[c.message..c.message + c.sep];
            if message.iter().all(|m| m.iter().all(|x| *x >= TINY)) {
                continue;
            }
            let mut spare = std::mem::take(&mut self.spare);
            self.product_without(
                plan,
                k,
                &potential[b.table..b.table + b.size],
                Some(i),
                true,
                &mut spare,
            );
            let out = &mut self.down[c.message..c.message + c.sep];
            gather(out, &spare, child.same, &plan.maps[child.map..]);
            let e = &self.exponent[child.bucket as usize];
            for o in out.iter_mut() {
                for l in 0..L {
                    o[l] = shifted(o[l], -e[l]);
                }
            }
            self.spare = spare;
        }
    }

    /// In `out`: weights if wanted, the given potential, every child's message but one, and the derivative.
    pub fn product_without(
        &self,
        plan: &Plan,
        k: usize,
        potential: &[f64],
        skip: Option<usize>,
        weighted: bool,
        out: &mut Vec<[f64; L]>,
    ) {
        let b = &plan.buckets[k];
        let down = &self.down[b.message..b.message + b.sep];
        out.clear();
        for (i, p) in potential.iter().enumerate() {
            let (u, d) = (&self.unary[b.unary + i / b.sep], &down[i % b.sep]);
            let u = if weighted { *u } else { [1.0; L] };
            out.push(std::array::from_fn(|l| u[l] * p * d[l]));
        }
        for (j, child) in plan.children_of(k).iter().enumerate() {
            if Some(j) == skip {
                continue;
            }
            let c = &plan.buckets[child.bucket as usize];
            let message = &self.message[c.message..c.message + c.sep];
            for (i, t) in out.iter_mut().enumerate() {
                let at = if child.same {
                    i
                } else {
                    plan.maps[child.map + i] as usize
                };
                times(t, &message[at]);
            }
        }
    }
}

/// A bucket's potential; `None` if it is 1 everywhere.
pub(crate) fn potential<'a>(plan: &Plan, n: &'a Numbers, k: usize) -> Option<&'a [f64]> {
    let b = &plan.buckets[k];
    (b.slots.0 != b.slots.1).then(|| &n.potential[b.table..b.table + b.size])
}

/// A bucket's potential times its variable's weights.
pub(crate) fn fill<const L: usize>(table: &mut [[f64; L]], unary: &[[f64; L]], potential: Option<&[f64]>, sep: usize) {
    let blocks = table.chunks_exact_mut(sep);
    let Some(potential) = potential else {
        blocks.zip(unary).for_each(|(block, u)| block.fill(*u));
        return;
    };
    for ((block, u), p) in blocks.zip(unary).zip(potential.chunks_exact(sep)) {
        for (t, p) in block.iter_mut().zip(p) {
            for l in 0..L {
                t[l] = u[l] * p;
            }
        }
    }
}

/// Sums a bucket's variable out and scales what is left. Returns the exponent taken out.
pub(crate) fn send<const L: usize>(table: &[[f64; L]], message: &mut [[f64; L]]) -> [i32; L] {
    let sep = message.len();
    message.copy_from_slice(&table[..sep]);
    for block in table[sep..].chunks_exact(sep) {
        for (m, t) in message.iter_mut().zip(block) {
            plus(m, t);
        }
    }
    let mut most = [0.0f64; L];
    for m in message.iter() {
        for l in 0..L {
            most[l] = if m[l] > most[l] { m[l] } else { most[l] };
        }
    }
    let e: [i32; L] = std::array::from_fn(|l| exponent_of(most[l]).clamp(-1000, 1000));
    let scale: [f64; L] = std::array::from_fn(|l| power(-e[l]));
    message.iter_mut().for_each(|m| times(m, &scale));
    e
}

fn left_out(left: &[LeftOut], lane: usize, part: usize) -> Option<u16> {
    let found = left.iter().find(|l| l.lane == lane && l.part == part);
    found.map(|l| l.finding)
}

/// Sums a table into the entries its map names.
pub(crate) fn gather<const L: usize>(out: &mut [[f64; L]], table: &[[f64; L]], same: bool, map: &[u32]) {
    if same {
        out.copy_from_slice(table);
        return;
    }
    out.fill([0.0; L]);
    for (t, at) in table.iter().zip(map) {
        plus(&mut out[*at as usize], t);
    }
}

pub(crate) fn reciprocal(x: f64) -> f64 {
    if x >= TINY { 1.0 / x } else { 0.0 }
}

pub(crate) fn times<const L: usize>(a: &mut [f64; L], b: &[f64; L]) {
    for l in 0..L {
        a[l] *= b[l];
    }
}

pub(crate) fn plus<const L: usize>(a: &mut [f64; L], b: &[f64; L]) {
    for l in 0..L {
        a[l] += b[l];
    }
}

#[inline]
fn sum<const L: usize>(xs: &[[f64; L]]) -> [f64; L] {
    if xs.len() > 64 {
        return pairwise(xs);
    }
    let mut total = [0.0; L];
    xs.iter().for_each(|x| plus(&mut total, x));
    total
}

/// Pairwise, so that the error grows with the logarithm of the length.
fn pairwise<const L: usize>(xs: &[[f64; L]]) -> [f64; L] {
    let (a, b) = xs.split_at(xs.len() / 2);
    let (mut a, b) = (sum(a), sum(b));
    plus(&mut a, &b);
    a
}
