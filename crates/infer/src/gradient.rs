//! Derivatives of ln P(evidence) with respect to every number of the network.
//!
//! P(evidence) is linear in each of them. Where a number is above 0 its derivative is read from a
//! belief by division; where it is 0 the product of everything else is formed instead.

use crate::backward::{Backward, Op};
use crate::core::{Core, Trial};
use crate::network::Family;
use crate::pass::{TINY, Work, potential};
use crate::plan::{Along, NONE, Role, Slot};
use crate::relevance::{first_grade, likelihood};
use crate::scaled::{Scaled, power, shifted};
use crate::spare;
use crate::{Evidence, Finding, Var};

mod rows;

/// Derivatives, one for every entry of every table, leak and cause.
#[derive(Clone, Debug)]
pub(crate) struct Gradient {
    pub total: Scaled,
    /// Where each variable's numbers start: a table's rows; or the leak, then each cause's rows.
    pub start: Vec<usize>,
    pub values: Vec<f64>,
}

impl Core {
    /// The gradient under a trial that changes unary weights only.
    pub fn gradient(&self, evidence: &Evidence, trial: &Trial) -> Gradient {
        let mut job = Job::new(self, evidence, trial);
        job.run();
        let Job {
            work, start, values, ..
        } = job;
        let (total, bytes) = (work.total[0], work.bytes());
        spare::put(work, bytes);
        Gradient { total, start, values }
    }
}

struct Job<'a> {
    core: &'a Core,
    evidence: &'a Evidence,
    work: Box<Work<1>>,
    start: Vec<usize>,
    values: Vec<f64>,
    spare: Vec<[f64; 1]>,
    /// The belief of one bucket, and which.
    belief: Vec<[f64; 1]>,
    believed: u32,
    back: Backward,
    /// Parents of a table, as [`Backward::run`] takes them.
    ops: Vec<Op>,
    room: Vec<f64>,
    /// Unary weights the trial sets.
    forbidden: Vec<usize>,
}

impl<'a> Job<'a> {
    fn new(core: &'a Core, evidence: &'a Evidence, trial: &Trial) -> Self {
        let mut start = Vec::with_capacity(core.net.len());
        let mut at = 0;
        for node in &core.net.model.nodes {
            start.push(at);
            at += match &node.family {
                Family::Table(rows) => rows.len(),
                Family::NoisyMax(n) => {
                    let rows: usize = n.causes.iter().map(|c| c.rows.len()).sum();
                    (rows + 1) * node.states
                }
            };
        }
        let mut work = spare::take::<Work<1>>();
        work.fit(&core.plan);
        work.set_unary(&core.numbers.unary);
        trial.set.iter().for_each(|(i, x)| work.unary[*i][0] = *x);
        work.up(&core.plan, &core.numbers, &[], &[]);
        if work.total[0].mantissa > 0.0 {
            work.down(&core.plan, &core.numbers, true, &[]);
        }
        Self {
            core,
            evidence,
            work,
            start,
            values: vec![0.0; at],
            spare: Vec::new(),
            belief: Vec::new(),
            believed: NONE,
            back: Backward::default(),
            ops: Vec::new(),
            room: Vec::new(),
            forbidden: trial.set.iter().map(|(i, _)| *i).collect(),
        }
    }

    fn run(&mut self) {
        if self.work.total[0].mantissa <= 0.0 {
            return;
        }
        let plan = &*self.core.plan;
        // The derivatives of a slot's entries.
        let mut k = Vec::new();
        for i in 0..plan.single {
            let slot = &plan.slots[i];
            k.clear();
            k.resize(self.extent(slot), [0.0]);
            self.cavity(i, slot, &mut k);
            self.pass_on(i, slot, &k);
        }
        for i in plan.single..plan.slots.len() {
            let slot = &plan.slots[i];
            k.clear();
            k.resize(self.extent(slot), [0.0]);
            let data = self.core.numbers.data(plan, &self.core.net, i);
            if slot.bucket == NONE {
                k[0][0] = if data[0] > 0.0 { 1.0 / data[0] } else { 0.0 };
            } else {
                let b = &plan.buckets[slot.bucket as usize];
                let stride = slot.axes[0].stride as usize;
                for s in 0..b.states {
                    let x = data[s * stride];
                    k[s * stride][0] = self.unary_share(slot.bucket as usize, s, x, Skip::Slot(i));
                }
            }
            self.pass_on(i, slot, &k);
        }
        for (part, dense) in plan.dense.iter().enumerate() {
            let marks = self.work.marks(dense, &self.core.numbers, part);
            self.swept(dense, &marks);
        }
        for var in &plan.products {
            if let Some(finding) = self.evidence.get(*var) {
                self.product(*var, finding);
            }
        }
    }

    /// Entries from the slot's first to its last.
    fn extent(&self, slot: &Slot) -> usize {
        let last = |a: &Along| (self.core.plan.buckets[a.bucket as usize].states - 1) * a.stride as usize;
        1 + slot.axes.iter().map(last).sum::<usize>()
    }

    /// d ln P / d each entry of a slot.
    fn cavity(&mut self, i: usize, slot: &Slot, out: &mut [[f64; 1]]) {
        let plan = &*self.core.plan;
        let numbers = &self.core.numbers;
        let k = slot.bucket as usize;
        let b = &plan.buckets[k];
        let data = numbers.data(plan, &self.core.net, i);
        let met = |at: usize| data[slot.blocks.at(&plan.maps, at)];
        if data.iter().take(out.len()).all(|x| *x >= TINY) || (0..b.size).all(|at| met(at) >= TINY) {
            if self.believed != slot.bucket {
                self.work.belief_of(b, &mut self.belief);
                self.believed = slot.bucket;
            }
            slot.blocks.gather(&plan.maps, out, &self.belief);
            for (o, x) in out.iter_mut().zip(data) {
                o[0] = if *x > 0.0 { o[0] / x } else { 0.0 };
            }
            return;
        }
        let mut potential = vec![1.0; b.size];
        let e = numbers.potential_without(plan, &self.core.net, k, i as u32, &mut potential);
        let net_exponent = e - numbers.potential_exponent[k];
        self.work
            .product_without(plan, k, Some(&potential), None, true, &mut self.spare);
        slot.blocks.gather(&plan.maps, out, &self.spare);
        out.iter_mut().for_each(|o| o[0] = shifted(o[0], net_exponent));
    }

    /// d ln P / d a factor `x` of the unary weight of state `s`.
    fn unary_share(&mut self, k: usize, s: usize, x: f64, skip: Skip) -> f64 {
        let b = &self.core.plan.buckets[k];
        let u = self.work.unary[b.unary + s][0];
        if u >= TINY && x >= TINY {
            return self.work.posterior[b.unary + s][0] / x;
        }
        if self.forbidden.contains(&(b.unary + s)) {
            return 0.0;
        }
        if b.dense {
            let rest = self.work.cavity[b.unary + s][0];
            return rest * self.unary_without(k, s, skip);
        }
        let b = b.clone();
        let potential = potential(&self.core.plan, &self.core.numbers, k);
        let mut spare = std::mem::take(&mut self.spare);
        let work = &self.work;
        work.product_without(&self.core.plan, k, potential, None, false, &mut spare);
        let rest: f64 = spare[s * b.sep..(s + 1) * b.sep].iter().map(|x| x[0]).sum();
        self.spare = spare;
        rest * self.unary_without(k, s, skip)
    }

    /// The unary weight of state `s` without one of its factors.
    fn unary_without(&self, k: usize, s: usize, skip: Skip) -> f64 {
        let (plan, net) = (&*self.core.plan, &self.core.net);
        let Some(var) = plan.vars[k] else {
            return 1.0;
        };
        let mut u = likelihood(self.evidence.get(var), s);
        for (i, slot) in plan.slots.iter().enumerate().skip(plan.single) {
            if slot.bucket == k as u32 && skip != Skip::Slot(i) {
                let data = self.core.numbers.data(plan, net, i);
                u *= data[s * slot.axes[0].stride as usize];
            }
        }
        for other in &plan.products {
            let Some(finding) = self.evidence.get(*other) else {
                continue;
            };
            let node = &net.model.nodes[other.index()];
            let Family::NoisyMax(noisy) = &node.family else {
                continue;
            };
            let end = first_grade(finding, node.states).end;
            for (c, cause) in noisy.causes.iter().enumerate() {
                if cause.parent == var && skip != Skip::Cause(*other, c) {
                    u *= upto(&cause.rows[s], end, kind_share(finding, c, s));
                }
            }
        }
        u * power(-self.core.numbers.unary_exponent[k].clamp(-1000, 1000))
    }

    /// A finding that is a product over its parents.
    fn product(&mut self, var: Var, finding: &Finding) {
        let core = self.core;
        let node = &core.net.model.nodes[var.index()];
        let Family::NoisyMax(noisy) = &node.family else {
            return;
        };
        let (r, end) = (node.states, first_grade(finding, node.states).end);
        let mut at = self.start[var.index()];
        let leak_q = leak_share(finding);
        let under = upto(&noisy.leak, end, leak_q);
        for g in 0..end {
            self.values[at + g] = share_of(g, leak_q) * if under > 0.0 { 1.0 / under } else { 0.0 };
        }
        at += r;
        for (c, cause) in noisy.causes.iter().enumerate() {
            for (s, row) in cause.rows.iter().enumerate() {
                let under = upto(row, end, kind_share(finding, c, s));
                let d = match (core.plan.roles[cause.parent.index()], self.evidence.get(cause.parent)) {
                    (Role::Live(k), _) => self.unary_share(k as usize, s, under, Skip::Cause(var, c)),
                    (_, Some(Finding::State(x))) if *x == s && under > 0.0 => 1.0 / under,
                    _ => 0.0,
                };
                for g in 0..end {
                    self.values[at + g] = d * share_of(g, kind_share(finding, c, s));
                }
                at += r;
            }
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Skip {
    Slot(usize),
    Cause(Var, usize),
}

fn leak_share(finding: &Finding) -> f64 {
    match finding {
        Finding::OfKind { leak_share, .. } => *leak_share,
        _ => 1.0,
    }
}

fn kind_share(finding: &Finding, cause: usize, s: usize) -> f64 {
    match finding {
        Finding::OfKind { shares, .. } => shares[cause][s],
        _ => 1.0,
    }
}

fn share_of(g: usize, q: f64) -> f64 {
    if g == 0 { 1.0 } else { q }
}

/// The chance of the grades below `end` in a row thinned by `q`.
fn upto(row: &[f64], end: usize, q: f64) -> f64 {
    let above: f64 = row[1..end].iter().sum();
    row[0] + q * above
}
