//! Trials side by side: what lies above no change of any of them is not passed up anew.
//!
//! A bucket that is the same in every lane keeps one product for all of them, and one reciprocal of its message. Trials are
//! taken in an order in which those next to each other change the same branches, and passed down only to what is read.

use crate::below::{Room, Walk};
use crate::core::{Core, Trial};
use crate::numbers::Numbers;
use crate::pass::{Other, Work, believe, reciprocal};
use crate::plan::{Bucket, NONE, Plan};
use crate::scaled::{Scaled, power};
use crate::spare;
use smallvec::SmallVec;

/// One trial's posteriors, where the unary weights are.
pub(crate) enum Lane<'a> {
    /// Those of so many lanes, one after the other, and which of them is its own.
    Side(&'a [f64], usize, usize),
    /// As a run of all passes whole hands them out.
    Whole(&'a dyn Fn(usize) -> f64),
}

impl<'a> Lane<'a> {
    pub fn side<const L: usize>(posterior: &'a [[f64; L]], lane: usize) -> Self {
        Self::Side(posterior.as_flattened(), L, lane)
    }

    #[inline]
    pub fn at(&self, unary: usize) -> f64 {
        match self {
            Self::Side(posterior, lanes, lane) => posterior[unary * lanes + lane],
            Self::Whole(posterior) => posterior(unary),
        }
    }
}

/// The evidence as it is, passed up and down, and a run of several changes to it.
pub(crate) struct Lanes<'a, const L: usize> {
    core: &'a Core,
    base: &'a Work<1>,
    /// What the derivatives by a bucket's message are divided by, as they were without change.
    inverse: Vec<f64>,
    /// The bucket each weight is of.
    owner: Vec<u32>,
    work: Box<Work<L>>,
    /// Whether a bucket was formed anew in the last run.
    changed: Vec<bool>,
    /// Whether a bucket hangs together with a changed one.
    touched: Vec<bool>,
}

/// How far a run goes down.
#[derive(Clone, Copy)]
pub(crate) enum Down<'a> {
    No,
    /// To every bucket.
    All,
    /// To these, of which each one's parent is another.
    To(&'a [bool]),
}

impl Down<'_> {
    fn goes(self, k: usize) -> bool {
        match self {
            Down::No => false,
            Down::All => true,
            Down::To(wanted) => wanted[k],
        }
    }
}

impl<'a, const L: usize> Lanes<'a, L> {
    /// Beside a solution without change.
    pub fn new(core: &'a Core, base: &'a Work<1>) -> Self {
        let plan = &*core.plan;
        let mut inverse = vec![0.0; plan.message_len];
        let mut work = spare::take::<Work<L>>();
        work.fit(plan);
        for (k, b) in plan.buckets.iter().enumerate() {
            restore(&mut work, base, &core.numbers, b, k);
            if !b.is_alone() {
                let scale = power(-base.exponent[k][0]);
                let own = b.message..b.message + b.sep;
                let all = inverse[own.clone()].iter_mut().zip(&base.message[own]);
                all.for_each(|(by, message)| *by = reciprocal(message[0]) * scale);
            }
        }
        Self {
            core,
            base,
            inverse,
            owner: owners(plan),
            work,
            changed: vec![false; plan.buckets.len()],
            touched: vec![false; plan.buckets.len()],
        }
    }

    /// Runs up to as many trials as there are lanes, up, and down as far as wanted.
    pub fn run(&mut self, trials: &[&Trial], down: Down<'_>) -> &Work<L> {
        let core = self.core;
        let plan = &*core.plan;
        for (k, b) in plan.buckets.iter().enumerate().filter(|(k, _)| self.changed[*k]) {
            restore(&mut self.work, self.base, &core.numbers, b, k);
        }
        let work = &mut *self.work;
        self.changed.fill(false);
        let mut others = Vec::new();
        for (lane, trial) in trials.iter().enumerate() {
            for (at, x) in &trial.times {
                self.changed[self.owner[*at] as usize] = true;
                work.unary[*at][lane] *= x;
            }
            for (at, x) in &trial.set {
                self.changed[self.owner[*at] as usize] = true;
                work.unary[*at][lane] = *x;
            }
            if let Some((bucket, potential, exponent)) = &trial.potential {
                self.changed[*bucket] = true;
                let exponent = exponent - core.numbers.potential_exponent[*bucket];
                others.push(Other {
                    lane,
                    bucket: *bucket,
                    potential,
                    exponent,
                });
            }
        }
        self.up(plan, &others);
        if !matches!(down, Down::No) {
            self.down(plan, down);
        }
        for (total, trial) in self.work.total.iter_mut().zip(trials) {
            *total = total.times(trial.constant.mantissa).shift(trial.constant.exponent);
        }
        &self.work
    }

    /// The factor by which a walk changes the total of each lane of the last run, which went down to all that it is read
    /// from.
    pub fn follow(&self, walk: &Walk, room: &mut Room<L>) -> [f64; L] {
        let beside = Some((self.base, self.changed.as_slice()));
        self.work.follow(&self.core.plan, walk, beside, room)
    }

    fn up(&mut self, plan: &Plan, others: &[Other<'_>]) {
        let (work, base) = (&mut *self.work, self.base);
        let numbers = &self.core.numbers;
        work.total = [Scaled::ONE; L];
        // What all lanes have alike.
        let mut rest = numbers.start();
        for (k, b) in plan.buckets.iter().enumerate() {
            if b.is_alone() {
                if self.changed[k] {
                    work.alone(b);
                } else {
                    rest = rest.times(numbers.unary[b.unary..b.unary + b.states].iter().sum());
                }
            } else if self.changed[k] {
                work.join(plan, b, k, numbers, others);
                work.count(b, k);
                if b.parent != NONE {
                    self.changed[b.parent as usize] = true;
                }
            } else {
                rest = rest.shift(base.exponent[k][0].into());
                if b.parent == NONE {
                    rest = rest.times(base.message[b.message][0]);
                }
            }
        }
        for total in &mut work.total {
            *total = total.times(rest.mantissa).shift(rest.exponent);
        }
    }

    fn down(&mut self, plan: &Plan, to: Down<'_>) {
        let (work, base) = (&mut *self.work, self.base);
        for (k, b) in plan.buckets.iter().enumerate().rev().filter(|(k, _)| to.goes(*k)) {
            if b.is_alone() {
                if self.changed[k] {
                    work.share(b);
                } else {
                    as_before(work, base, b);
                }
                continue;
            }
            self.touched[k] = if b.parent == NONE {
                self.changed[k]
            } else {
                self.touched[b.parent as usize]
            };
            if !self.touched[k] {
                as_before(work, base, b);
                continue;
            }
            if b.parent == NONE {
                work.start_down(b, k);
            }
            let below = || {
                plan.children_of(k)
                    .iter()
                    .filter(|child| to.goes(child.bucket as usize))
            };
            let leaf = below().next().is_none();
            let down = &work.down[b.message..b.message + b.sep];
            let posterior = &mut work.posterior[b.unary..b.unary + b.states];
            let own = b.table..b.table + b.size;
            match self.changed[k] {
                true => believe(&work.table[own], down, posterior, &mut work.belief, leaf),
                false => believe(&base.table[own], down, posterior, &mut work.belief, leaf),
            }
            for child in below() {
                let c = &plan.buckets[child.bucket as usize];
                if self.changed[child.bucket as usize] {
                    work.derive(plan, b, child);
                    continue;
                }
                let out = &mut work.down[c.message..c.message + c.sep];
                child.blocks.gather(&plan.maps, out, &work.belief[..b.size]);
                for (o, by) in out.iter_mut().zip(&self.inverse[c.message..]) {
                    o.iter_mut().for_each(|o| *o *= by);
                }
            }
        }
    }
}

/// The trials' numbers, those that change the same branches next to each other.
pub(crate) fn order(plan: &Plan, trials: &[Trial]) -> Vec<usize> {
    let place = places(plan);
    let mut met = vec![usize::MAX; plan.buckets.len()];
    let key = |i: usize| {
        let trial = &trials[i];
        let weights = trial
            .times
            .iter()
            .chain(&trial.set)
            .map(|(at, _)| plan.bucket_at(*at) as u32);
        let potential = trial.potential.iter().map(|(k, _, _)| *k as u32);
        // What would be passed up anew.
        let mut key: SmallVec<[u32; 32]> = SmallVec::new();
        for mut k in weights.chain(potential) {
            while k != NONE && met[k as usize] != i {
                met[k as usize] = i;
                key.push(place[k as usize]);
                k = plan.buckets[k as usize].parent;
            }
        }
        key.sort_unstable();
        key
    };
    let mut keys: Vec<_> = (0..trials.len()).map(key).zip(0..).collect();
    keys.sort_unstable();
    keys.into_iter().map(|(_, i)| i).collect()
}

impl<const L: usize> Drop for Lanes<'_, L> {
    fn drop(&mut self) {
        let work = std::mem::take(&mut self.work);
        let bytes = work.bytes();
        spare::put(work, bytes);
    }
}

/// A posterior that no trial changes, and what came down to it.
fn as_before<const L: usize>(work: &mut Work<L>, base: &Work<1>, b: &Bucket) {
    let own = b.message..b.message + b.sep;
    spread(&mut work.down[own.clone()], base.down[own].iter().map(|d| d[0]));
    let own = b.unary..b.unary + b.states;
    spread(
        &mut work.posterior[own.clone()],
        base.posterior[own].iter().map(|p| p[0]),
    );
}

/// A bucket's weights and message are again what they were without change.
fn restore<const L: usize>(work: &mut Work<L>, base: &Work<1>, numbers: &Numbers, b: &Bucket, k: usize) {
    let own = b.unary..b.unary + b.states;
    spread(&mut work.unary[own.clone()], numbers.unary[own].iter().copied());
    if !b.is_alone() {
        let own = b.message..b.message + b.sep;
        spread(&mut work.message[own.clone()], base.message[own].iter().map(|m| m[0]));
        work.exponent[k] = [base.exponent[k][0]; L];
    }
}

/// The same in every lane.
fn spread<const L: usize>(lanes: &mut [[f64; L]], values: impl Iterator<Item = f64>) {
    lanes.iter_mut().zip(values).for_each(|(lanes, x)| *lanes = [x; L]);
}

fn owners(plan: &Plan) -> Vec<u32> {
    let mut owner = vec![0; plan.unary_len];
    for (k, b) in plan.buckets.iter().enumerate() {
        owner[b.unary..b.unary + b.states].fill(k as u32);
    }
    owner
}

/// Each bucket's place when every branch is written down in one piece, from its root.
fn places(plan: &Plan) -> Vec<u32> {
    let n = plan.buckets.len();
    let mut size = vec![1u32; n];
    for (k, b) in plan.buckets.iter().enumerate().filter(|(_, b)| b.parent != NONE) {
        size[b.parent as usize] += size[k];
    }
    let (mut place, mut next, mut end) = (vec![0; n], vec![0; n], 0);
    for (k, b) in plan.buckets.iter().enumerate().rev() {
        let at = if b.parent == NONE {
            &mut end
        } else {
            &mut next[b.parent as usize]
        };
        place[k] = *at;
        *at += size[k];
        next[k] = place[k] + 1;
    }
    place
}
