//! The numbers of one set of evidence, laid out as its plan says.

use crate::blocks::most;
use crate::dense_numbers::DenseNumbers;
use crate::memo::Memo;
use crate::network::Family;
use crate::noisy::{self, Axis, Grade, Scratch, spread, weigh};
use crate::plan::{Kind, NONE, Plan, Role, Slot};
use crate::relevance::finding_grades;
use crate::scaled::{Scaled, exponent_of, shifted};
use crate::split::Split;
use crate::thin::Thin;
use crate::{Evidence, Finding, Network, Var};

/// Below this a table or a weight is scaled up again.
pub(crate) const SMALL: f64 = 1e-120;

#[derive(Clone, Debug, Default)]
pub(crate) struct Numbers {
    /// Weights of each bucket's variable by itself.
    pub unary: Vec<f64>,
    /// 2^this was taken out of a bucket's unary weights.
    pub unary_exponent: Vec<i32>,
    /// The product of each bucket's slots; 1 where it has none.
    pub potential: Vec<f64>,
    /// 2^this was taken out of a bucket's potential.
    pub potential_exponent: Vec<i32>,
    /// Tables that are computed.
    pub store: Vec<f64>,
    /// Where a slot's slice of a given table starts; of any other slot, where its finding was last met.
    pub base: Vec<usize>,
    pub memo: Vec<Memo>,
    /// The findings that multiply into weights, as they were last.
    pub(crate) held: Vec<(Var, Memo)>,
    /// Buckets whose potential the last load formed anew.
    pub renewed: Vec<bool>,
    /// Whether the last load formed the weights anew.
    pub weights_renewed: bool,
    /// Known states.
    pub state: Vec<usize>,
    /// One for each part that is swept.
    pub dense: Vec<DenseNumbers>,
    /// What multiplies everything.
    pub constant: Option<Scaled>,
    pub(crate) scratch: Scratch,
    axes: Vec<Axis>,
    pub(crate) fixed: Vec<usize>,
    pub(crate) thin: Vec<f64>,
}

impl Numbers {
    /// Fills everything in, but what the last time under this plan left as it has to be. The evidence must fit the plan.
    pub fn load(&mut self, plan: &Plan, net: &Network, evidence: &Evidence) {
        let first = self.memo.is_empty();
        if first {
            self.make_room(plan);
        }
        let anew = first || !plan.fixed.is_empty();
        if anew {
            self.state.clear();
            self.state.resize(net.len(), 0);
            for (var, finding) in evidence.iter() {
                if let (Role::Fixed, Finding::State(s)) = (plan.roles[var.index()], finding) {
                    self.state[var.index()] = *s;
                }
            }
        }
        self.weights_renewed = self.weigh_otherwise(plan, evidence) | anew;
        self.fill_slots(plan, net, evidence, |memo| anew || !matches!(memo, Memo::Given));
    }

    /// The same after some rows of the network changed, with the evidence that was loaded last: what does not hang on them
    /// is as it has to be.
    pub fn load_changed(&mut self, plan: &Plan, net: &Network, evidence: &Evidence) {
        let held = self.held.iter().any(|(_, memo)| matches!(memo, Memo::Unknown));
        self.weights_renewed = held && self.weigh_otherwise(plan, evidence);
        self.fill_slots(plan, net, evidence, |memo| matches!(memo, Memo::Unknown));
    }

    /// Whether everything is as it was loaded last.
    pub fn is_loaded(&self) -> bool {
        let known = |memo: &Memo| !matches!(memo, Memo::Unknown);
        self.memo.iter().all(known) && self.held.iter().all(|(_, memo)| known(memo))
    }

    /// Fills in those slots that may have changed, and what is formed of them.
    fn fill_slots(&mut self, plan: &Plan, net: &Network, evidence: &Evidence, may: impl Fn(&Memo) -> bool) {
        self.renewed.clear();
        self.renewed.resize(plan.buckets.len(), false);
        for (i, slot) in plan.slots.iter().enumerate() {
            if !may(&self.memo[i]) {
                continue;
            }
            let given = matches!(slot.kind, Kind::Table | Kind::Constraint(_));
            if given {
                let base = self.base_of(net, slot);
                if matches!(self.memo[i], Memo::Given) && self.base[i] == base {
                    continue;
                }
                self.base[i] = base;
                self.memo[i] = Memo::Given;
            } else {
                let live = matches!(plan.roles[slot.var as usize], Role::Live(_));
                let finding = evidence.get_near(Var(slot.var), &mut self.base[i]);
                if self.memo[i].renew(finding, live) && plan.fixed.is_empty() {
                    continue;
                }
                self.compute(plan, net, finding, slot);
            }
            if i < plan.single {
                self.renewed[slot.bucket as usize] = true;
            } else {
                self.weights_renewed = true;
            }
        }
        if self.weights_renewed {
            self.set_weights(plan, net, evidence);
        }
        self.load_dense(plan, net, evidence);
        for k in 0..plan.buckets.len() {
            if self.renewed[k] {
                self.fill_potential(plan, net, k);
            }
        }
    }

    fn make_room(&mut self, plan: &Plan) {
        self.held.clear();
        // All of it is formed anew before it is read.
        self.potential.resize(plan.potential_len, 1.0);
        self.potential_exponent.clear();
        self.potential_exponent.resize(plan.buckets.len(), 0);
        self.store.resize(plan.store_len, 0.0);
        self.memo.resize_with(plan.slots.len(), Memo::default);
        self.base.clear();
        self.base.extend(plan.slots.iter().map(|s| s.met as usize));
    }

    /// Before another plan: nothing computed so far may be used again.
    pub fn forget(&mut self) {
        self.memo.clear();
    }

    /// What multiplies the total: constants, and powers of two taken out of potentials.
    pub fn start(&self) -> Scaled {
        let constant = self.constant.unwrap_or(Scaled::ONE);
        let taken = &self.potential_exponent;
        constant.shift(taken.iter().map(|e| i64::from(*e)).sum())
    }

    /// The entries of a slot, from its first.
    pub fn data<'a>(&'a self, plan: &Plan, net: &'a Network, i: usize) -> &'a [f64] {
        let slot = &plan.slots[i];
        match slot.kind {
            Kind::Table => match &net.model.nodes[slot.var as usize].family {
                Family::Table(rows) => &rows[self.base[i]..],
                Family::NoisyMax(_) => &[],
            },
            Kind::Constraint(c) => &net.model.constraints[c as usize].weights[self.base[i]..],
            _ => &self.store[slot.store..slot.store + slot.size],
        }
    }

    fn base_of(&self, net: &Network, slot: &Slot) -> usize {
        let mut base = 0;
        let mut stride = 1;
        match slot.kind {
            Kind::Table => {
                let node = &net.model.nodes[slot.var as usize];
                if node.parents.is_empty() {
                    return self.state[slot.var as usize];
                }
                base = self.state[slot.var as usize];
                stride = node.states;
                for p in node.parents.iter().rev() {
                    base += self.state[p.index()] * stride;
                    stride *= net.states(*p);
                }
            }
            Kind::Constraint(c) => {
                for v in net.model.constraints[c as usize].over.iter().rev() {
                    base += self.state[v.index()] * stride;
                    stride *= net.states(*v);
                }
            }
            _ => {}
        }
        base
    }

    fn compute(&mut self, plan: &Plan, net: &Network, finding: Option<&Finding>, slot: &Slot) {
        let var = Var(slot.var);
        let Some(node) = net.model.nodes.get(var.index()) else {
            return;
        };
        let Family::NoisyMax(noisy) = &node.family else {
            return;
        };
        self.set_grades(plan, var, finding, node.states);
        if plan.fixed.is_empty() && slot.is_whole() {
            self.fixed.clear();
        } else {
            self.set_axes(plan, net, var);
        }
        if slot.is_whole() {
            self.axes.clear();
            let own = plan.roles[var.index()];
            let parents = slot.axes.iter().rev().filter(|along| own != Role::Live(along.bucket));
            self.axes.extend(parents.map(|along| Axis {
                rows: along.rows as usize,
                states: plan.buckets[along.bucket as usize].states,
            }));
        }
        let thin = Thin::of(noisy, &node.parents, finding, &mut self.thin);
        let (leak, rows) = thin.parts(noisy, &self.thin, node.states);
        let out = &mut self.store[slot.store..slot.store + slot.size];
        let split = Split {
            leak,
            rows,
            fixed: &self.fixed,
            axes: &self.axes,
        };
        let scratch = &mut self.scratch;
        match slot.kind {
            Kind::Step { step, before, after } => {
                split.step(step.into(), before.into(), after.into(), node.states, scratch, out);
            }
            Kind::Mixture => split.weights(node.states, &scratch.grades, out),
            Kind::Factor { parent } => split.factor(parent.into(), node.states, &scratch.grades, out),
            Kind::Finding => {
                let (last, before) = match self.axes.split_last() {
                    Some((last, before)) => (Some(*last), before),
                    None => (None, &[][..]),
                };
                let fixed = self.fixed.iter().copied();
                spread(node.states, leak, rows, fixed, before, scratch);
                weigh(node.states, rows, last, scratch, out);
            }
            _ => {
                let fixed = self.fixed.iter().copied();
                let size = spread(node.states, leak, rows, fixed, &self.axes, scratch);
                let within = slot.stride_of(plan.roles[var.index()]);
                noisy::interleave(&scratch.acc, size, node.states, within, out);
            }
        }
    }

    pub(crate) fn set_grades(&mut self, plan: &Plan, var: Var, finding: Option<&Finding>, states: usize) {
        let grades = &mut self.scratch.grades;
        match plan.roles[var.index()] {
            Role::Live(_) => {
                grades.clear();
                grades.extend((1..=states).map(|end| Grade { end, weight: 1.0 }));
            }
            _ => {
                finding_grades(finding, states, grades);
                // A coarser finding than planned for: empty grades make up the number.
                let end = grades.last().map_or(0, |g| g.end);
                while grades.len() < usize::from(plan.grades[var.index()]) {
                    grades.push(Grade { end, weight: 0.0 });
                }
            }
        }
    }

    pub(crate) fn set_axes(&mut self, plan: &Plan, net: &Network, var: Var) {
        let node = &net.model.nodes[var.index()];
        self.axes.clear();
        self.fixed.clear();
        let mut rows = 0;
        for p in &node.parents {
            let states = net.states(*p);
            match plan.roles[p.index()] {
                Role::Live(_) => self.axes.push(Axis { rows, states }),
                _ => self.fixed.push(rows + self.state[p.index()] * node.states),
            }
            rows += states * node.states;
        }
    }

    fn fill_potential(&mut self, plan: &Plan, net: &Network, k: usize) {
        if plan.buckets[k].slots.0 == plan.buckets[k].slots.1 {
            return;
        }
        let b = &plan.buckets[k];
        let mut out = std::mem::take(&mut self.potential);
        let e = self.potential_without(plan, net, k, NONE, &mut out[b.potential..b.potential + b.size]);
        self.potential = out;
        self.potential_exponent[k] = e;
    }

    /// The product of a bucket's slots but one, and the power of two taken out of it.
    pub fn potential_without(&self, plan: &Plan, net: &Network, k: usize, skip: u32, out: &mut [f64]) -> i32 {
        let mut exponent = 0;
        let mut first = true;
        let (from, to) = plan.buckets[k].slots;
        for i in (from..to).filter(|i| *i != skip) {
            let data = self.data(plan, net, i as usize);
            let blocks = &plan.slots[i as usize].blocks;
            if first {
                blocks.copy(&plan.maps, out, data);
                first = false;
                continue;
            }
            let entries = out.as_chunks_mut::<1>().0;
            blocks.multiply(&plan.maps, entries, data.as_chunks::<1>().0);
            let [most] = most(entries);
            if most < SMALL && most > 0.0 {
                let e = exponent_of(most);
                out.iter_mut().for_each(|x| *x = shifted(*x, -e));
                exponent += e;
            }
        }
        if first {
            out.fill(1.0);
        }
        exponent
    }
}
