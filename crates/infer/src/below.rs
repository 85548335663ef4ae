//! A change of some weights, followed through the tree of a solution only as far as its variables lie apart.
//!
//! "At most x" for a noisy-MAX not looked at is a product of weights on its parents, P(v ≤ x | parents) = Π F_i(x); a
//! finding left out is the reciprocal of what it put in. The factor by which P(everything supposed) changes is the mean of
//! such a product of weights f over the beliefs of a pass up and down. Where the variables meet in one bucket k it is
//!
//! > Σ B_k·g_k·f,
//!
//! and where they do not, the messages that lie between them are formed anew, as ratios to what they were,
//!
//! > r_k = Σ_(x_k) B_k·f·Π r_c / m_k over the children c with a change below them,
//!
//! up to the bucket in which all branches with a change have met. One pass up and down then answers for every change.

use smallvec::SmallVec;

use crate::blocks::{dot, plus, times};
use crate::core::{Core, Trial};
use crate::pass::{TINY, Work, reciprocal};
use crate::plan::{NONE, Plan};
use crate::scaled::{Scaled, power};

/// A change of weights, as steps through the tree.
#[derive(Clone, Debug, Default)]
pub(crate) struct Walk {
    constant: f64,
    steps: SmallVec<[Step; 1]>,
    /// Entries of all messages between.
    room: usize,
}

#[derive(Clone, Debug)]
struct Step {
    bucket: usize,
    /// On the bucket's entries; on the states of its variable alone if that is all; none if nothing but messages change.
    weights: SmallVec<[f64; 4]>,
    /// Which of the plan's children changed, and where their messages are.
    children: SmallVec<[(usize, usize); 2]>,
    end: End,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum End {
    /// The message goes here.
    Message(usize),
    /// All is met: the belief is summed.
    Belief,
    /// All is on one variable: its posterior is summed.
    Posterior,
}

impl Walk {
    /// Entries of the tables that are summed on the way.
    pub fn entries(&self, plan: &Plan) -> usize {
        let tables = self.steps.iter().filter(|step| step.end != End::Posterior);
        tables.map(|step| plan.buckets[step.bucket].size).sum()
    }

    /// The buckets that are read on the way.
    pub fn buckets(&self) -> impl Iterator<Item = usize> {
        self.steps.iter().map(|step| step.bucket)
    }

    /// Whether it is read in one place.
    pub fn is_short(&self) -> bool {
        self.steps.len() <= 1
    }
}

impl Core {
    /// The walk of a trial that multiplies weights; none for one that sets them, and through a sweep.
    pub fn walk(&self, trial: &Trial) -> Option<Walk> {
        if !trial.set.is_empty() || trial.left_out.is_some() {
            return None;
        }
        let plan = &*self.plan;
        let mut walk = Walk {
            constant: trial.constant.over(Scaled::ONE),
            steps: SmallVec::new(),
            room: 0,
        };
        // By their buckets, in order.
        let mut by: SmallVec<[(usize, SmallVec<[f64; 4]>); 8]> = SmallVec::new();
        for (at, x) in &trial.times {
            let k = plan.bucket_at(*at);
            let b = &plan.buckets[k];
            let slot = by.partition_point(|(other, _)| *other < k);
            if by.get(slot).is_none_or(|(other, _)| *other != k) {
                by.insert(slot, (k, SmallVec::from_elem(1.0, b.states)));
            }
            by[slot].1[at - b.unary] *= x;
        }
        // The buckets to be gone through, those that come last first.
        let mut next: SmallVec<[usize; 8]> = by.iter().rev().map(|(k, _)| *k).collect();
        let mut instead = None;
        if let Some((k, potential, exponent)) = &trial.potential {
            instead = Some((*k, self.instead(*k, potential, *exponent)?));
            put(&mut next, *k);
        }
        if walk.constant < TINY || (by.len() > 1 && next.iter().any(|k| plan.buckets[*k].dense)) {
            return None;
        }
        // Messages on the way: to which bucket, by which of the plan's children, and where they are.
        let mut sent: SmallVec<[(usize, usize, usize); 4]> = SmallVec::new();
        // Children come before their parents.
        while let Some(k) = next.pop() {
            let b = &plan.buckets[k];
            let own = instead.take_if(|(at, _)| *at == k);
            let mut children = SmallVec::new();
            sent.retain(|(to, child, at)| {
                if *to == k {
                    children.push((*child, *at));
                }
                *to != k
            });
            let alone = own.is_none() && children.is_empty();
            let mut met: SmallVec<[_; 4]> = SmallVec::new();
            let mut stride = b.size;
            for axis in plan.scope_of(k).iter().map(|k| *k as usize) {
                let states = plan.buckets[axis].states;
                stride /= states;
                if let Some(at) = by.iter().position(|(k, _)| *k == axis) {
                    met.push((axis, stride, by.remove(at).1));
                }
            }
            if alone && met.is_empty() {
                continue;
            }
            if by.is_empty() {
                // What is left of these has been met already.
                let waits =
                    |k: &usize| sent.iter().any(|(to, ..)| to == k) || instead.as_ref().is_some_and(|(at, _)| at == k);
                next.retain(|k| waits(k));
            }
            let last = next.is_empty() || b.parent == NONE;
            let mut step = Step {
                bucket: k,
                weights: SmallVec::new(),
                children,
                end: End::Belief,
            };
            match met.as_mut_slice() {
                [(axis, _, by)] if last && alone && *axis == k => {
                    step.weights = std::mem::take(by);
                    step.end = End::Posterior;
                }
                met => {
                    step.weights = own.map(|(_, weights)| weights.into()).unwrap_or_default();
                    for (_, stride, by) in met {
                        step.weights.resize(b.size, 1.0);
                        let blocks = step.weights.chunks_exact_mut(*stride);
                        for (block, f) in blocks.zip(by.iter().cycle()) {
                            block.iter_mut().for_each(|weight| *weight *= f);
                        }
                    }
                }
            }
            if !last {
                step.end = End::Message(walk.room);
                let parent = b.parent as usize;
                let (from, to) = plan.buckets[parent].children;
                let child = (from as usize..to as usize).find(|c| plan.children[*c].bucket as usize == k)?;
                sent.push((parent, child, walk.room));
                put(&mut next, parent);
                walk.room += b.sep;
            }
            walk.steps.push(step);
        }
        Some(walk)
    }

    /// Another potential in the place of a bucket's own, as weights.
    fn instead(&self, k: usize, potential: &[f64], exponent: i32) -> Option<Vec<f64>> {
        let b = &self.plan.buckets[k];
        if b.dense || b.slots.0 == b.slots.1 {
            return None;
        }
        let own = &self.numbers.potential[b.potential..b.potential + b.size];
        let scale = power(exponent - self.numbers.potential_exponent[k]);
        let weight = |(other, own): (&f64, &f64)| match (*other > 0.0, *own >= TINY) {
            (false, _) => Some(0.0),
            (true, true) => Some(other / own * scale),
            (true, false) => None,
        };
        potential.iter().zip(own).map(weight).collect()
    }
}

/// Adds a bucket to a list in falling order, once.
fn put(falling: &mut SmallVec<[usize; 8]>, k: usize) {
    let at = falling.partition_point(|other| *other > k);
    if falling.get(at) != Some(&k) {
        falling.insert(at, k);
    }
}

/// Room for the messages of a walk and the product of the bucket at hand.
#[derive(Clone, Debug)]
pub(crate) struct Room<const L: usize> {
    messages: Vec<[f64; L]>,
    table: Vec<[f64; L]>,
}

impl<const L: usize> Default for Room<L> {
    fn default() -> Self {
        Self {
            messages: Vec::new(),
            table: Vec::new(),
        }
    }
}

impl<const L: usize> Work<L> {
    /// After a pass up and down: the factor by which the total of each lane changes. Of buckets that are not marked as
    /// changed the products are those of the solution beside.
    pub fn follow(
        &self,
        plan: &Plan,
        walk: &Walk,
        beside: Option<(&Work<1>, &[bool])>,
        room: &mut Room<L>,
    ) -> [f64; L] {
        let mut factor = [walk.constant; L];
        if room.messages.len() < walk.room {
            room.messages.resize(walk.room, [0.0; L]);
        }
        for step in &walk.steps {
            let b = &plan.buckets[step.bucket];
            if step.end == End::Posterior {
                let mut all = [0.0; L];
                for (p, weight) in self.posterior[b.unary..b.unary + b.states].iter().zip(&step.weights) {
                    plus(&mut all, &p.map(|p| p * weight));
                }
                times(&mut factor, &all);
                continue;
            }
            let own = b.table..b.table + b.size;
            match beside.filter(|(_, changed)| !changed[step.bucket]) {
                Some((base, _)) => step.product(plan, &base.table[own], room),
                None => step.product(plan, &self.table[own], room),
            }
            let table = &room.table[..b.size];
            let End::Message(at) = step.end else {
                let down = &self.down[b.message..b.message + b.sep];
                let mut all = [0.0; L];
                table
                    .chunks_exact(b.sep)
                    .for_each(|block| plus(&mut all, &dot(block, down)));
                times(&mut factor, &all);
                continue;
            };
            let out = &mut room.messages[at..at + b.sep];
            let (first, rest) = table.split_at(b.sep);
            out.copy_from_slice(first);
            for block in rest.chunks_exact(b.sep) {
                out.iter_mut().zip(block).for_each(|(o, t)| plus(o, t));
            }
            let scale = self.exponent[step.bucket].map(|e| power(-e));
            for (o, m) in out.iter_mut().zip(&self.message[b.message..]) {
                for l in 0..L {
                    o[l] *= reciprocal(m[l]) * scale[l];
                }
            }
        }
        factor
    }
}

impl Step {
    /// A bucket's own product, which may be the same in every lane, with the step's weights and messages.
    fn product<const M: usize, const L: usize>(&self, plan: &Plan, own: &[[f64; M]], room: &mut Room<L>) {
        if room.table.len() < own.len() {
            room.table.resize(own.len(), [0.0; L]);
        }
        let table = &mut room.table[..own.len()];
        let messages = &room.messages;
        let message = |(child, at): &(usize, usize)| {
            let child = &plan.children[*child];
            let sep = plan.buckets[child.bucket as usize].sep;
            (child, &messages[*at..at + sep])
        };
        let mut children = self.children.iter().map(message);
        let lane = |l: usize| if M == 1 { 0 } else { l };
        if !self.weights.is_empty() {
            for (out, (t, weight)) in table.iter_mut().zip(own.iter().zip(&self.weights)) {
                *out = std::array::from_fn(|l| t[lane(l)] * weight);
            }
        } else if let Some((child, message)) = children.next() {
            child.blocks.product(&plan.maps, table, own, message);
        } else {
            let each = table.iter_mut().zip(own);
            each.for_each(|(out, t)| *out = std::array::from_fn(|l| t[lane(l)]));
        }
        for (child, message) in children {
            child.blocks.multiply(&plan.maps, table, message);
        }
    }
}
