//! The two passes over the tree of buckets, for `L` sets of weights side by side.
//!
//! Every lane does the same operations in the same order whatever `L` is, so an answer does not
//! depend on what was computed beside it.

use crate::blocks::{dot, most, pieces, pieces_mut, plus, sum, times};
use crate::dense::Dense;
use crate::numbers::Numbers;
use crate::plan::{Bucket, Child, NONE, Plan};
use crate::scaled::{Scaled, exponent_of, power, shifted};
use crate::sweep::Sweep;
use crate::sweep_gradient::Marks;

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
    /// The belief of one bucket.
    pub belief: Vec<[f64; L]>,
    spare: Vec<[f64; L]>,
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
            belief: Vec::new(),
            spare: Vec::new(),
            sweeps: Vec::new(),
        }
    }
}

impl<const L: usize> Work<L> {
    /// Makes room; after the first time for a plan this allocates nothing.
    pub fn fit(&mut self, plan: &Plan) {
        room(&mut self.unary, plan.unary_len);
        room(&mut self.posterior, plan.unary_len);
        room(&mut self.table, plan.table_len);
        room(&mut self.message, plan.message_len);
        room(&mut self.down, plan.message_len);
        self.exponent.resize(plan.buckets.len(), [0; L]);
        room(&mut self.belief, plan.largest);
        if !plan.dense.is_empty() {
            room(&mut self.cavity, plan.unary_len);
        }
        let sweep = || std::array::from_fn(|_| Sweep::default());
        self.sweeps.resize_with(plan.dense.len(), sweep);
    }

    /// What most of it takes.
    pub fn bytes(&self) -> usize {
        size_of_val(self.table.as_slice())
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
        let unary = &self.unary[b.unary..b.unary + b.states];
        fill(table, unary, potential(plan, n, k), b.sep);
        for other in others.iter().filter(|o| o.bucket == k) {
            let l = other.lane;
            for (i, p) in other.potential.iter().enumerate() {
                table[i][l] = unary[i / b.sep][l] * p;
            }
            self.total[l] = self.total[l].shift(other.exponent.into());
        }
        for child in plan.children_of(k) {
            let c = &plan.buckets[child.bucket as usize];
            let message = &self.message[c.message..c.message + c.sep];
            child.blocks.multiply(&plan.maps, table, message);
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
                self.sweeps[part][l].backward(dense, &n.dense[part], skip, |at| unary[at][l], set, None);
            }
        }
    }

    /// The derivatives of ln P by the numbers of a sweep, after both passes.
    pub(crate) fn marks(&mut self, dense: &Dense, n: &Numbers, part: usize) -> Marks {
        let mut marks = Marks::new(dense);
        let unary = &self.unary;
        let sweep = &mut self.sweeps[part][0];
        sweep.backward(
            dense,
            &n.dense[part],
            None,
            |at| unary[at][0],
            |_, _| {},
            Some(&mut marks),
        );
        marks
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
                self.share(b);
                continue;
            }
            if b.parent == NONE {
                self.start_down(b, k);
            }
            if cavities {
                self.rescue(plan, k, n);
            }
            self.believe(b);
            for child in plan.children_of(k) {
                let c = &plan.buckets[child.bucket as usize];
                let message = &self.message[c.message..c.message + c.sep];
                if cavities && message.iter().any(|m| m.iter().any(|x| *x < TINY)) {
                    continue;
                }
                self.derive(plan, b, child);
            }
        }
    }

    /// The posterior of a variable that hangs together with no other.
    pub(crate) fn share(&mut self, b: &Bucket) {
        let share = self.down[b.message];
        let unary = &self.unary[b.unary..b.unary + b.states];
        let posterior = &mut self.posterior[b.unary..b.unary + b.states];
        for (p, u) in posterior.iter_mut().zip(unary) {
            *p = *u;
            times(p, &share);
        }
    }

    /// The derivative of ln P by a root's message.
    pub(crate) fn start_down(&mut self, b: &Bucket, k: usize) {
        let e = self.exponent[k];
        let m = self.message[b.message];
        self.down[b.message] = std::array::from_fn(|l| shifted(reciprocal(m[l]), -e[l]));
    }

    /// The derivative of ln P by a child's message, from the belief at hand.
    pub(crate) fn derive(&mut self, plan: &Plan, b: &Bucket, child: &Child) {
        let c = &plan.buckets[child.bucket as usize];
        let out = &mut self.down[c.message..c.message + c.sep];
        let message = &self.message[c.message..c.message + c.sep];
        child.blocks.gather(&plan.maps, out, &self.belief[..b.size]);
        let e = &self.exponent[child.bucket as usize];
        let scale: [f64; L] = std::array::from_fn(|l| power(-e[l]));
        for (o, m) in out.iter_mut().zip(message) {
            for l in 0..L {
                o[l] *= reciprocal(m[l]) * scale[l];
            }
        }
    }

    /// A bucket's belief, if a child wants it, and its variable's posterior.
    pub(crate) fn believe(&mut self, b: &Bucket) {
        let table = &self.table[b.table..b.table + b.size];
        let down = &self.down[b.message..b.message + b.sep];
        let posterior = &mut self.posterior[b.unary..b.unary + b.states];
        believe(table, down, posterior, &mut self.belief, b.children.0 == b.children.1);
    }

    /// After the way down: a bucket's product times its derivative.
    pub(crate) fn belief_of(&self, b: &Bucket, belief: &mut Vec<[f64; L]>) {
        belief.clear();
        belief.extend_from_slice(&self.table[b.table..b.table + b.size]);
        let down = &self.down[b.message..b.message + b.sep];
        for block in pieces_mut(belief, b.sep) {
            block.iter_mut().zip(down).for_each(|(t, d)| times(t, d));
        }
    }

    /// For children of `k` whose message has zeros: their derivative without dividing.
    fn rescue(&mut self, plan: &Plan, k: usize, n: &Numbers) {
        for (i, child) in plan.children_of(k).iter().enumerate() {
            let c = &plan.buckets[child.bucket as usize];
            let message = &self.message[c.message..c.message + c.sep];
            if message.iter().all(|m| m.iter().all(|x| *x >= TINY)) {
                continue;
            }
            let mut spare = std::mem::take(&mut self.spare);
            self.product_without(plan, k, potential(plan, n, k), Some(i), true, &mut spare);
            let out = &mut self.down[c.message..c.message + c.sep];
            child.blocks.gather(&plan.maps, out, &spare);
            let e = &self.exponent[child.bucket as usize];
            for o in out.iter_mut() {
                for l in 0..L {
                    o[l] = shifted(o[l], -e[l]);
                }
            }
            self.spare = spare;
        }
    }

    /// In `out`: weights if wanted, the given potential (1 if there is none), every child's message but one, and the derivative.
    pub fn product_without(
        &self,
        plan: &Plan,
        k: usize,
        potential: Option<&[f64]>,
        skip: Option<usize>,
        weighted: bool,
        out: &mut Vec<[f64; L]>,
    ) {
        let b = &plan.buckets[k];
        let down = &self.down[b.message..b.message + b.sep];
        out.clear();
        for i in 0..b.size {
            let p = potential.map_or(1.0, |all| all[i]);
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
                times(t, &message[child.blocks.at(&plan.maps, i)]);
            }
        }
    }
}

/// A bucket's posterior, and its belief but at a leaf, from its product, which may be the same in every lane.
pub(crate) fn believe<const M: usize, const L: usize>(
    table: &[[f64; M]],
    down: &[[f64; L]],
    posterior: &mut [[f64; L]],
    belief: &mut [[f64; L]],
    leaf: bool,
) {
    let blocks = pieces(table, down.len()).zip(posterior);
    if leaf {
        blocks.for_each(|(block, p)| *p = dot(block, down));
        return;
    }
    let belief = pieces_mut(&mut belief[..table.len()], down.len());
    for ((block, p), out) in blocks.zip(belief) {
        for (o, (t, d)) in out.iter_mut().zip(block.iter().zip(down)) {
            *o = std::array::from_fn(|l| t[if M == 1 { 0 } else { l }] * d[l]);
        }
        *p = sum(out);
    }
}

/// A bucket's potential; `None` if it is 1 everywhere.
pub(crate) fn potential<'a>(plan: &Plan, n: &'a Numbers, k: usize) -> Option<&'a [f64]> {
    let b = &plan.buckets[k];
    (b.slots.0 != b.slots.1).then(|| &n.potential[b.potential..b.potential + b.size])
}

/// A bucket's potential times its variable's weights.
pub(crate) fn fill<const L: usize>(table: &mut [[f64; L]], unary: &[[f64; L]], potential: Option<&[f64]>, sep: usize) {
    let blocks = pieces_mut(table, sep);
    let Some(potential) = potential else {
        blocks.zip(unary).for_each(|(block, u)| block.fill(*u));
        return;
    };
    for ((block, u), p) in blocks.zip(unary).zip(pieces(potential, sep)) {
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
    for block in pieces(&table[sep..], sep) {
        message.iter_mut().zip(block).for_each(|(m, t)| plus(m, t));
    }
    let most = most(message);
    let e: [i32; L] = std::array::from_fn(|l| exponent_of(most[l]).clamp(-1000, 1000));
    let scale: [f64; L] = std::array::from_fn(|l| power(-e[l]));
    message.iter_mut().for_each(|m| times(m, &scale));
    e
}

/// Room for so many entries; new room is zeros that the system gives as they are touched.
fn room<const L: usize>(entries: &mut Vec<[f64; L]>, n: usize) {
    if entries.is_empty() {
        *entries = vec![[0.0; L]; n];
    } else {
        entries.resize(n, [0.0; L]);
    }
}

fn left_out(left: &[LeftOut], lane: usize, part: usize) -> Option<u16> {
    let found = left.iter().find(|l| l.lane == lane && l.part == part);
    found.map(|l| l.finding)
}

pub(crate) fn reciprocal(x: f64) -> f64 {
    if x >= TINY { 1.0 / x } else { 0.0 }
}
