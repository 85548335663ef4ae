//! The numbers of one set of evidence, laid out as its plan says.

use crate::dense_numbers::DenseNumbers;
use crate::network::Family;
use crate::noisy::{Axis, Grade, Scratch, spread};
use crate::plan::{Kind, NONE, Plan, Role, Slot};
use crate::relevance::{finding_grades, likelihood};
use crate::scaled::{Scaled, exponent_of, shifted};
use crate::split::Split;
use crate::thin::Thin;
use crate::{Evidence, Finding, Network, Var};

/// Below this a table or a weight is scaled up again.
const SMALL: f64 = 1e-120;

/// What a slot was computed from.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) enum Memo {
    #[default]
    Unknown,
    Given(usize),
    Family,
    Nothing,
    State(usize),
    Likelihood(Vec<f64>),
    OfKind(Box<Finding>),
}

impl Memo {
    /// Puts the same down in the room there is. Says whether it was that before.
    fn renew(&mut self, finding: Option<&Finding>, live: bool) -> bool {
        let now = match (finding, &mut *self) {
            (Some(Finding::Likelihood(l)), Self::Likelihood(old)) if !live => {
                let same = old == l;
                old.clone_from(l);
                return same;
            }
            (Some(finding), Self::OfKind(old)) if **old == *finding => return true,
            (Some(Finding::State(s)), _) => Self::State(*s),
            (Some(Finding::Likelihood(_)) | None, _) if live => Self::Family,
            (Some(Finding::Likelihood(l)), _) => Self::Likelihood(l.clone()),
            (None, _) => Self::Nothing,
            (Some(finding @ Finding::OfKind { .. }), _) => Self::OfKind(Box::new(finding.clone())),
        };
        let same = *self == now;
        *self = now;
        same
    }
}

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
    /// Where a slot's slice of a given table starts.
    pub base: Vec<usize>,
    pub memo: Vec<Memo>,
    /// Buckets whose potential has to be formed again.
    stale: Vec<bool>,
    /// Buckets whose potential the last load formed anew.
    pub renewed: Vec<bool>,
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
    /// Fills everything in. The evidence must fit the plan.
    pub fn load(&mut self, plan: &Plan, net: &Network, evidence: &Evidence) {
        self.unary.clear();
        self.unary.resize(plan.unary_len, 1.0);
        self.store.resize(plan.store_len, 0.0);
        if self.memo.is_empty() {
            self.potential_exponent.clear();
            self.potential.clear();
        }
        self.potential.resize(plan.table_len, 1.0);
        self.unary_exponent.clear();
        self.unary_exponent.resize(plan.buckets.len(), 0);
        self.potential_exponent.resize(plan.buckets.len(), 0);
        self.stale.clear();
        self.stale.resize(plan.buckets.len(), false);
        self.state.clear();
        self.state.resize(net.len(), 0);
        self.constant = Some(Scaled::ONE);
        for (var, finding) in evidence.iter() {
            match plan.roles[var.index()] {
                Role::Fixed => {
                    if let Finding::State(s) = finding {
                        self.state[var.index()] = *s;
                    }
                }
                Role::Live(k) => {
                    let b = &plan.buckets[k as usize];
                    for (s, u) in self.unary[b.unary..][..b.states].iter_mut().enumerate() {
                        *u *= likelihood(Some(finding), s);
                    }
                }
                _ => {}
            }
        }
        for var in &plan.products {
            if let Some(finding) = evidence.get(*var) {
                self.product(plan, net, *var, finding);
            }
        }
        self.memo.resize(plan.slots.len(), Memo::Unknown);
        self.base.clear();
        for slot in &plan.slots {
            let given = matches!(slot.kind, Kind::Table | Kind::Constraint(_));
            let base = if given { self.base_of(net, slot) } else { 0 };
            self.base.push(base);
            let i = self.base.len() - 1;
            let same = if given {
                std::mem::replace(&mut self.memo[i], Memo::Given(base)) == Memo::Given(base)
            } else {
                let live = matches!(plan.roles[slot.var as usize], Role::Live(_));
                self.memo[i].renew(evidence.get(Var(slot.var)), live) && plan.fixed.is_empty()
            };
            if same {
                continue;
            }
            if i < plan.single {
                self.stale[slot.bucket as usize] = true;
            }
            if !given {
                self.compute(plan, net, evidence, slot);
            }
        }
        for i in plan.single..plan.slots.len() {
            self.single(plan, net, i);
        }
        self.load_dense(plan, net, evidence);
        for k in 0..plan.buckets.len() {
            if self.stale[k] {
                self.fill_potential(plan, net, k);
            }
        }
        std::mem::swap(&mut self.stale, &mut self.renewed);
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

    fn compute(&mut self, plan: &Plan, net: &Network, evidence: &Evidence, slot: &Slot) {
        let var = Var(slot.var);
        let Some(node) = net.model.nodes.get(var.index()) else {
            return;
        };
        let Family::NoisyMax(noisy) = &node.family else {
            return;
        };
        let finding = evidence.get(var);
        self.set_grades(plan, var, finding, node.states);
        self.set_axes(plan, net, var);
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
            _ => {
                let fixed = self.fixed.iter().copied();
                let size = spread(node.states, leak, rows, fixed, &self.axes, scratch);
                if slot.kind == Kind::Family {
                    out.copy_from_slice(&scratch.acc);
                } else {
                    weigh(&scratch.grades, &scratch.acc, size, out);
                }
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

    /// Multiplies a finding that factorises into the weights of its parents.
    fn product(&mut self, plan: &Plan, net: &Network, var: Var, finding: &Finding) {
        let node = &net.model.nodes[var.index()];
        let Family::NoisyMax(noisy) = &node.family else {
            return;
        };
        finding_grades(Some(finding), node.states, &mut self.scratch.grades);
        let thin = Thin::of(noisy, &node.parents, Some(finding), &mut self.thin);
        let (leak, rows) = thin.parts(noisy, &self.thin, node.states);
        let Some(Grade { end, weight }) = self.scratch.grades.first().copied() else {
            return;
        };
        let upto = |row: &[f64]| match end {
            1 => row[0],
            _ => row[..end].iter().sum::<f64>(),
        };
        let mut constant = self.constant.unwrap_or(Scaled::ONE);
        constant = constant.times(weight).times(upto(leak));
        let mut at = 0;
        for p in &node.parents {
            let states = net.states(*p);
            let rows = &rows[at..at + states * node.states];
            at += rows.len();
            if let Some(k) = plan.bucket_of(*p) {
                let b = &plan.buckets[k];
                let unary = &mut self.unary[b.unary..][..b.states];
                let mut most = 0.0f64;
                for (u, row) in unary.iter_mut().zip(rows.chunks_exact(node.states)) {
                    *u *= upto(row);
                    most = if *u > most { *u } else { most };
                }
                if most < SMALL {
                    let e = exponent_of(most);
                    unary.iter_mut().for_each(|u| *u = shifted(*u, -e));
                    constant = constant.shift(e.into());
                    self.unary_exponent[k] += e;
                }
            } else {
                let s = self.state[p.index()];
                constant = constant.times(upto(&rows[s * node.states..][..node.states]));
            }
        }
        self.constant = Some(constant);
    }

    /// Multiplies a slot of at most one live variable into that variable's weights.
    fn single(&mut self, plan: &Plan, net: &Network, i: usize) {
        let slot = &plan.slots[i];
        let mut constant = self.constant.unwrap_or(Scaled::ONE);
        if slot.bucket == NONE {
            constant = constant.times(self.data(plan, net, i)[0]);
        } else {
            let b = &plan.buckets[slot.bucket as usize];
            let stride = slot.axes[0].1 as usize;
            let mut most = 0.0f64;
            let mut unary = std::mem::take(&mut self.unary);
            let data = self.data(plan, net, i);
            for (s, u) in unary[b.unary..b.unary + b.states].iter_mut().enumerate() {
                *u *= data[s * stride];
                most = if *u > most { *u } else { most };
            }
            self.unary = unary;
            if most < SMALL {
                let e = exponent_of(most);
                let unary = &mut self.unary[b.unary..][..b.states];
                unary.iter_mut().for_each(|u| *u = shifted(*u, -e));
                constant = constant.shift(e.into());
                self.unary_exponent[slot.bucket as usize] += e;
            }
        }
        self.constant = Some(constant);
    }

    fn fill_potential(&mut self, plan: &Plan, net: &Network, k: usize) {
        let b = &plan.buckets[k];
        let mut out = std::mem::take(&mut self.potential);
        let e = self.potential_without(plan, net, k, NONE, &mut out[b.table..b.table + b.size]);
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
            let map = &plan.maps[plan.slots[i as usize].map..][..out.len()];
            if first {
                for (x, m) in out.iter_mut().zip(map) {
                    *x = data[*m as usize];
                }
                first = false;
                continue;
            }
            let mut most = 0.0f64;
            for (x, m) in out.iter_mut().zip(map) {
                *x *= data[*m as usize];
                most = most.max(*x);
            }
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

/// The likelihood-weighted sum over the grades.
fn weigh(grades: &[Grade], acc: &[f64], size: usize, out: &mut [f64]) {
    if let [low, high] = grades
        && low.weight == 0.0
    {
        for (o, a) in out.iter_mut().zip(&acc[size..]) {
            *o = high.weight * a;
        }
        return;
    }
    out.fill(0.0);
    for (g, grade) in grades.iter().enumerate() {
        if grade.weight != 0.0 {
            for (o, a) in out.iter_mut().zip(&acc[g * size..(g + 1) * size]) {
                *o += grade.weight * a;
            }
        }
    }
}
