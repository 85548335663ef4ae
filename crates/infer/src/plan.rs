//! The plan: what the structure of a network and the pattern of its evidence decide.
//!
//! Which variables stay, how they are eliminated, and where every number goes. A plan holds no
//! probability, so it serves all evidence of the same pattern.

use smallvec::SmallVec;

use crate::dense::{self, Dense};
use crate::network::Family;
use crate::noisy::{Grade, count_grades, grades_of};
use crate::order::{Elimination, eliminate};
use crate::{Evidence, Finding, Limits, Network, SolveError, Var};

/// What becomes of a variable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Role {
    /// Neither observed nor above anything observed: sums to 1 and drops out.
    Barren,
    /// Its state is known: it drops out of every table.
    Fixed,
    /// An observed noisy-MAX that factorises over its parents.
    Product,
    /// An observed noisy-MAX with nothing live below it, whose finding is a table over its parents.
    Seen,
    /// Summed over in this bucket.
    Live(u32),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Kind {
    /// A slice of the table of `var`.
    Table,
    /// A slice of the constraint of this number.
    Constraint(u32),
    /// The finding about noisy-MAX `var` as a function of its parents.
    Finding,
    /// The family of noisy-MAX `var`, the child's state slowest.
    Family,
    /// One step of the family or finding of noisy-MAX `var`, from `before` grades to `after`,
    /// by its `step`-th live parent: before fastest, then the parent, then after.
    Step { step: u16, before: u16, after: u16 },
}

/// Live variables with their strides.
pub(crate) type Axes = SmallVec<[(u32, u32); 7]>;

/// A table that multiplies into one bucket.
#[derive(Clone, Debug)]
pub(crate) struct Slot {
    pub var: u32,
    pub kind: Kind,
    pub bucket: u32,
    /// Live variables of the table with their strides in it.
    pub axes: Axes,
    /// Entries, and where they are kept if they are computed.
    pub size: usize,
    pub store: usize,
    /// Where the map from the bucket's entries to the table's starts.
    pub map: usize,
}

/// A child bucket and the map from its parent's entries to its message's.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Child {
    pub bucket: u32,
    pub map: usize,
    pub same: bool,
}

pub(crate) const NONE: u32 = u32::MAX;

#[derive(Clone, Debug)]
pub(crate) struct Bucket {
    pub states: usize,
    /// Offsets: of the variable's unary weights, the table, the message.
    pub unary: usize,
    pub table: usize,
    pub message: usize,
    /// Entries of the table and of the message.
    pub size: usize,
    pub sep: usize,
    pub parent: u32,
    /// Summed over by a sweep instead.
    pub dense: bool,
    /// Ranges in `children` and `slots`.
    pub children: (u32, u32),
    pub slots: (u32, u32),
}

impl Bucket {
    /// Whether its variable is joined to no other.
    pub fn is_alone(&self) -> bool {
        self.size == self.states
            && self.parent == NONE
            && self.children.0 == self.children.1
            && self.slots.0 == self.slots.1
    }
}

#[derive(Clone, Debug)]
pub(crate) struct Plan {
    pub roles: Vec<Role>,
    /// The variable of each bucket; `None` for a helper.
    pub vars: Vec<Option<Var>>,
    pub buckets: Vec<Bucket>,
    pub children: Vec<Child>,
    /// Sorted by bucket; those of one variable or none come last, from `single` on.
    pub slots: Vec<Slot>,
    pub single: usize,
    pub maps: Vec<u32>,
    /// The buckets of each message's variables, in order, and where each bucket's start.
    pub scopes: Vec<u32>,
    pub scope_starts: Vec<u32>,
    pub products: Vec<Var>,
    /// Variables whose state is known and matters to others.
    pub fixed: Vec<Var>,
    /// Parts that are swept.
    pub dense: Vec<Dense>,
    /// Grades tracked for each variable that is seen.
    pub grades: Vec<u16>,
    pub unary_len: usize,
    pub table_len: usize,
    pub message_len: usize,
    pub store_len: usize,
    /// Binary logarithm of the largest table.
    pub width: usize,
}

/// The likelihood a finding amounts to, state by state.
pub(crate) fn likelihood(finding: Option<&Finding>, state: usize) -> f64 {
    match finding {
        None => 1.0,
        Some(Finding::State(s)) => f64::from(u8::from(*s == state)),
        Some(Finding::Likelihood(l) | Finding::OfKind { likelihood: l, .. }) => l[state],
    }
}

pub(crate) fn finding_grades(finding: Option<&Finding>, states: usize, out: &mut Vec<Grade>) {
    if let Some(Finding::State(s)) = finding {
        out.clear();
        if *s > 0 {
            out.push(Grade {
                end: *s,
                weight: 0.0,
            });
        }
        out.push(Grade {
            end: s + 1,
            weight: 1.0,
        });
        return;
    }
    grades_of((0..states).map(|s| likelihood(finding, s)), out);
}

/// How noisy-MAX tables are laid out.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Style {
    /// A noisy-MAX with more live parents than this is built step by step with helpers.
    pub chain_above: usize,
    /// Parts made of nothing but independent causes and findings are swept.
    pub sweep: bool,
    /// Most entries of all tables together; beyond, the plan is given up before it is drawn.
    pub most: usize,
}

/// Causes and findings that hang together, each in order.
struct Part {
    causes: Vec<Var>,
    findings: Vec<Var>,
}

struct Draft {
    roles: Vec<Role>,
    /// Before elimination `Live` holds the number here.
    live: Vec<Option<Var>>,
    states: Vec<usize>,
    slots: Vec<Slot>,
    products: Vec<Var>,
    grades: Vec<u16>,
}

impl Plan {
    /// Plans for a pattern of evidence, keeping `extra` and what is above them live.
    pub fn new(
        net: &Network,
        evidence: &Evidence,
        extra: &[Var],
        style: Style,
        limits: &Limits,
    ) -> Result<Self, SolveError> {
        let mut draft = Draft::new(net, evidence, extra, style);
        let parts = if style.sweep {
            draft.take_parts()
        } else {
            Vec::new()
        };
        draft.check_slots(net, limits)?;
        let mut plan = draft.compile(limits, style.most)?;
        for part in parts {
            let dense = plan.part(net, part);
            if dense.largest > 1 << limits.width || dense.entries > limits.entries() {
                let width = bits(dense.findings.iter().map(|f| f.grades));
                let vars = dense.findings.iter().map(|f| Var(f.var)).collect();
                return Err(too_tangled(width, limits, vars));
            }
            plan.dense.push(dense);
        }
        Ok(plan)
    }

    /// What a pass costs, as entries of tables.
    pub fn cost(&self) -> usize {
        let sweeps = self.dense.iter().map(|d| d.cost);
        sweeps.fold(self.table_len, usize::saturating_add)
    }

    /// A sweep over these causes (with their findings), now that their buckets are known.
    fn part(&mut self, net: &Network, part: Part) -> Dense {
        let mut findings = Vec::with_capacity(part.findings.len());
        let mut causes = Vec::with_capacity(part.causes.len());
        let mut links = vec![Vec::new(); part.causes.len()];
        for v in &part.causes {
            let k = self.bucket_of(*v).unwrap_or(0);
            self.buckets[k].dense = true;
            causes.push((k as u32, self.buckets[k].states, self.buckets[k].unary));
        }
        for (f, var) in part.findings.iter().enumerate() {
            findings.push(dense::Finding {
                var: var.0,
                grades: usize::from(self.grades[var.index()]),
            });
            for p in net.parents(*var) {
                if let Ok(c) = part.causes.binary_search(p) {
                    links[c].push(f as u16);
                }
            }
        }
        Dense::new(&causes, &links, findings)
    }

    /// Whether evidence of this pattern can be loaded.
    pub fn fits(&self, net: &Network, evidence: &Evidence) -> bool {
        let found = evidence.iter().all(|(var, finding)| {
            let Some(role) = self.roles.get(var.index()) else {
                return false;
            };
            match role {
                Role::Barren => false,
                Role::Live(_) => true,
                Role::Fixed if !net.is_noisy_max(var) => matches!(finding, Finding::State(_)),
                Role::Fixed | Role::Product | Role::Seen => {
                    if let Finding::State(s) = finding {
                        return u16::from(*s > 0) < self.grades[var.index()];
                    }
                    let states = 0..net.states(var);
                    let n = count_grades(states.map(|s| likelihood(Some(finding), s)));
                    n <= usize::from(self.grades[var.index()])
                }
            }
        });
        let fixed = self.fixed.iter().all(|v| is_hard(evidence, *v));
        found && fixed && self.roles.len() == net.len()
    }

    /// What would have to be live as well for the posterior of a barren variable to follow from
    /// weights on single live variables.
    pub fn missing(&self, net: &Network, evidence: &Evidence, var: Var) -> Vec<Var> {
        if !net.is_noisy_max(var) {
            return vec![var];
        }
        let at_hand = |p: &&Var| self.bucket_of(**p).is_some() || is_hard(evidence, **p);
        net.parents(var)
            .iter()
            .filter(|p| !at_hand(p))
            .copied()
            .collect()
    }

    /// Whether a variable's finding is part of a sweep.
    pub fn is_swept(&self, var: Var) -> bool {
        let mut findings = self.dense.iter().flat_map(|d| &d.findings);
        findings.any(|f| f.var == var.0)
    }

    pub fn bucket_of(&self, var: Var) -> Option<usize> {
        match self.roles.get(var.index()) {
            Some(Role::Live(k)) => Some(*k as usize),
            _ => None,
        }
    }

    /// The buckets of the variables of a bucket's message.
    pub fn scope_of(&self, k: usize) -> &[u32] {
        &self.scopes[self.scope_starts[k] as usize..self.scope_starts[k + 1] as usize]
    }

    pub fn children_of(&self, k: usize) -> &[Child] {
        let (a, b) = self.buckets[k].children;
        &self.children[a as usize..b as usize]
    }
}

/// For each variable: 0 barren; 1 observed, with nothing relevant below; 2 relevant otherwise.
pub(crate) fn relevance(net: &Network, evidence: &Evidence, extra: &[Var]) -> Vec<u8> {
    let nodes = &net.model.nodes;
    let mut mark = vec![0u8; nodes.len()];
    evidence.iter().for_each(|(v, _)| mark[v.index()] = 1);
    extra.iter().for_each(|v| mark[v.index()] = 2);
    for c in &net.model.constraints {
        c.over.iter().for_each(|v| mark[v.index()] = 2);
    }
    for v in (0..nodes.len()).rev() {
        if mark[v] > 0 {
            let parents = &nodes[v].parents;
            parents.iter().for_each(|p| mark[p.index()] = 2);
        }
    }
    mark
}

/// Variables that are not above any evidence but have to be live for every posterior to follow
/// from weights on single live variables: barren tables, and what barren noisy-MAX ones rest on.
pub(crate) fn deep(net: &Network, evidence: &Evidence) -> Vec<Var> {
    let mark = relevance(net, evidence, &[]);
    let mut wanted = vec![false; net.len()];
    for (v, node) in net.model.nodes.iter().enumerate() {
        if mark[v] > 0 || node.parents.is_empty() {
            continue;
        }
        if matches!(node.family, Family::Table(_)) {
            wanted[v] = true;
            continue;
        }
        for p in &node.parents {
            let out = match mark[p.index()] {
                0 => !net.parents(*p).is_empty(),
                1 => net.is_noisy_max(*p) && !is_hard(evidence, *p),
                _ => false,
            };
            wanted[p.index()] |= out;
        }
    }
    net.vars().filter(|v| wanted[v.index()]).collect()
}

pub(crate) fn is_hard(evidence: &Evidence, var: Var) -> bool {
    matches!(evidence.get(var), Some(Finding::State(_)))
}

impl Draft {
    fn new(net: &Network, evidence: &Evidence, extra: &[Var], style: Style) -> Self {
        let nodes = &net.model.nodes;
        let n = nodes.len();
        let mark = relevance(net, evidence, extra);
        let mut draft = Self {
            roles: vec![Role::Barren; n],
            live: Vec::new(),
            states: Vec::new(),
            slots: Vec::new(),
            products: Vec::new(),
            grades: vec![0; n],
        };
        let mut grades = Vec::new();
        for (v, node) in nodes.iter().enumerate() {
            let var = Var(v as u32);
            if mark[v] == 0 {
                if node.parents.is_empty() {
                    draft.push_live(Some(var), node.states);
                    draft.family(net, v, style);
                }
                continue;
            }
            let finding = evidence.get(var);
            let noisy = matches!(node.family, Family::NoisyMax(_));
            if noisy && finding.is_some() {
                finding_grades(finding, node.states, &mut grades);
                draft.grades[v] = grades.len() as u16;
            }
            match finding {
                Some(Finding::State(_)) if noisy && grades.len() == 1 => {
                    draft.products.push(var);
                    let below = mark[v] == 2;
                    draft.roles[v] = if below { Role::Fixed } else { Role::Product };
                }
                Some(Finding::State(_)) => {
                    let below = mark[v] == 2 || !noisy;
                    draft.roles[v] = if below { Role::Fixed } else { Role::Seen };
                    draft.family(net, v, style);
                }
                Some(_) if noisy && mark[v] == 1 && grades.len() == 1 => {
                    draft.products.push(var);
                    draft.roles[v] = Role::Product;
                }
                Some(_) if noisy && mark[v] == 1 => {
                    draft.roles[v] = Role::Seen;
                    draft.family(net, v, style);
                }
                _ => {
                    draft.push_live(Some(var), node.states);
                    draft.family(net, v, style);
                }
            }
        }
        for (i, c) in net.model.constraints.iter().enumerate() {
            let mut axes = Axes::new();
            let mut stride = 1u32;
            for v in c.over.iter().rev() {
                if let Role::Live(k) = draft.roles[v.index()] {
                    axes.push((k, stride));
                }
                stride *= nodes[v.index()].states as u32;
            }
            draft.push_slot(NONE, Kind::Constraint(i as u32), axes);
        }
        draft
    }

    fn push_live(&mut self, var: Option<Var>, states: usize) -> u32 {
        let k = self.live.len() as u32;
        self.live.push(var);
        self.states.push(states);
        if let Some(var) = var {
            self.roles[var.index()] = Role::Live(k);
        }
        k
    }

    fn push_slot(&mut self, var: u32, kind: Kind, axes: Axes) {
        let mut size = 1usize;
        for (k, _) in &axes {
            size = size.saturating_mul(self.states[*k as usize]);
        }
        self.slots.push(Slot {
            var,
            kind,
            bucket: NONE,
            axes,
            size,
            store: 0,
            map: 0,
        });
    }

    /// The slots of a variable's family, sliced at what is known.
    fn family(&mut self, net: &Network, v: usize, style: Style) {
        let node = &net.model.nodes[v];
        let own = match self.roles[v] {
            Role::Live(k) => Some(k),
            _ => None,
        };
        if matches!(node.family, Family::Table(_)) {
            let mut axes = Axes::new();
            axes.extend(own.map(|k| (k, 1)));
            let mut stride = node.states as u32;
            for p in node.parents.iter().rev() {
                if let Role::Live(k) = self.roles[p.index()] {
                    axes.push((k, stride));
                }
                stride *= net.states(*p) as u32;
            }
            self.push_slot(v as u32, Kind::Table, axes);
            return;
        }
        let parents: SmallVec<[u32; 16]> = node
            .parents
            .iter()
            .filter_map(|p| match self.roles[p.index()] {
                Role::Live(k) => Some(k),
                _ => None,
            })
            .collect();
        if parents.len() > style.chain_above.max(1) {
            self.chain(v, own, &parents);
            return;
        }
        let mut axes = Axes::new();
        let mut stride = 1u32;
        for k in parents {
            axes.push((k, stride));
            stride = stride.saturating_mul(self.states[k as usize] as u32);
        }
        axes.extend(own.map(|k| (k, stride)));
        let kind = if own.is_some() {
            Kind::Family
        } else {
            Kind::Finding
        };
        self.push_slot(v as u32, kind, axes);
    }

    /// A noisy-MAX as a chain of helpers, each the largest so far.
    fn chain(&mut self, v: usize, own: Option<u32>, parents: &[u32]) {
        let grades = match own {
            Some(k) => self.states[k as usize],
            None => usize::from(self.grades[v]),
        };
        let mut before: Option<u32> = None;
        for (step, &parent) in parents.iter().enumerate() {
            let after = if step + 1 == parents.len() {
                own
            } else {
                Some(self.push_live(None, grades))
            };
            let n = |k: Option<u32>| if k.is_some() { grades } else { 1 };
            let (b, a) = (n(before), n(after));
            let mut axes = Axes::new();
            axes.extend(before.map(|k| (k, 1)));
            axes.push((parent, b as u32));
            axes.extend(after.map(|k| (k, (b * self.states[parent as usize]) as u32)));
            let kind = Kind::Step {
                step: step as u16,
                before: b as u16,
                after: a as u16,
            };
            self.push_slot(v as u32, kind, axes);
            before = after;
        }
    }

    /// Takes out the slots of connected parts that are nothing but causes, each with weights of
    /// its own, and findings over several of them.
    fn take_parts(&mut self) -> Vec<Part> {
        let n = self.live.len();
        let mut root: Vec<usize> = (0..n).collect();
        fn find(root: &mut [usize], mut v: usize) -> usize {
            while root[v] != v {
                root[v] = root[root[v]];
                v = root[v];
            }
            v
        }
        for slot in self.slots.iter().filter(|s| s.axes.len() > 1) {
            let first = find(&mut root, slot.axes[0].0 as usize);
            for (k, _) in &slot.axes[1..] {
                let other = find(&mut root, *k as usize);
                root[other] = first;
            }
        }
        let mut good = vec![true; n];
        for slot in self.slots.iter().filter(|s| s.axes.len() > 1) {
            if slot.kind != Kind::Finding {
                good[find(&mut root, slot.axes[0].0 as usize)] = false;
            }
        }
        let mut number = vec![usize::MAX; n];
        let mut parts: Vec<Part> = Vec::new();
        self.slots.retain(|slot| {
            let Some((k, _)) = slot.axes.first().filter(|_| slot.axes.len() > 1) else {
                return true;
            };
            let r = find(&mut root, *k as usize);
            if !good[r] {
                return true;
            }
            if number[r] == usize::MAX {
                number[r] = parts.len();
                parts.push(Part {
                    causes: Vec::new(),
                    findings: Vec::new(),
                });
            }
            parts[number[r]].findings.push(Var(slot.var));
            false
        });
        for v in 0..n {
            let r = find(&mut root, v);
            if let (Some(part), Some(var)) = (parts.get_mut(number[r]), self.live[v]) {
                part.causes.push(var);
            }
        }
        parts
    }

    /// No single table may be over the limit, even before elimination.
    fn check_slots(&self, net: &Network, limits: &Limits) -> Result<(), SolveError> {
        for slot in &self.slots {
            let width = bits(slot.axes.iter().map(|(k, _)| self.states[*k as usize]));
            if width > limits.width {
                let vars = slot.axes.iter().filter_map(|(k, _)| self.live[*k as usize]);
                return Err(too_tangled(width, limits, vars.collect()));
            }
        }
        debug_assert_eq!(self.roles.len(), net.len());
        Ok(())
    }

    fn compile(self, limits: &Limits, most: usize) -> Result<Plan, SolveError> {
        let weights: Vec<u32> = self
            .states
            .iter()
            .map(|s| match s {
                0 | 1 => 0,
                2 => 100,
                s => (libm::log2(*s as f64) * 100.0) as u32,
            })
            .collect();
        let cliques = self.slots.iter().map(|s| s.axes.as_slice());
        match eliminate(&weights, cliques) {
            Some(elimination) => self.lay_out(&elimination, limits, most),
            None => Err(too_tangled(limits.width, limits, Vec::new())),
        }
    }

    fn lay_out(
        mut self,
        e: &Elimination,
        limits: &Limits,
        most: usize,
    ) -> Result<Plan, SolveError> {
        let n = self.live.len();
        let mut place = vec![0u32; n];
        for (k, v) in e.order.iter().enumerate() {
            place[*v as usize] = k as u32;
        }
        let mut plan = Plan {
            roles: self.roles,
            vars: e.order.iter().map(|v| self.live[*v as usize]).collect(),
            buckets: Vec::with_capacity(n),
            children: Vec::with_capacity(n),
            slots: Vec::new(),
            single: 0,
            maps: Vec::new(),
            scopes: Vec::new(),
            scope_starts: Vec::new(),
            products: self.products,
            fixed: Vec::new(),
            dense: Vec::new(),
            grades: self.grades,
            unary_len: 0,
            table_len: 0,
            message_len: 0,
            store_len: 0,
            width: 0,
        };
        for (v, role) in plan.roles.iter_mut().enumerate() {
            match role {
                Role::Live(k) => *k = place[*k as usize],
                Role::Fixed => plan.fixed.push(Var(v as u32)),
                _ => {}
            }
        }
        // Scopes as places, each sorted; the bucket's own variable is the lowest.
        let mut scopes = Vec::with_capacity(e.neighbours.len());
        let states: Vec<usize> = e.order.iter().map(|v| self.states[*v as usize]).collect();
        for k in 0..n {
            let from = e.starts[k] as usize;
            let to = e
                .starts
                .get(k + 1)
                .map_or(e.neighbours.len(), |s| *s as usize);
            let start = scopes.len();
            scopes.extend(e.neighbours[from..to].iter().map(|v| place[*v as usize]));
            let scope = &mut scopes[start..];
            scope.sort_unstable();
            let width = bits(scope.iter().map(|p| states[*p as usize]).chain([states[k]]));
            plan.width = plan.width.max(width);
            if width > limits.width {
                let all = scope.iter().copied().chain([k as u32]);
                let vars = all.filter_map(|p| plan.vars[p as usize]).collect();
                return Err(too_tangled(width, limits, vars));
            }
            let sep: usize = scope.iter().map(|p| states[*p as usize]).product();
            plan.buckets.push(Bucket {
                states: states[k],
                unary: plan.unary_len,
                table: plan.table_len,
                message: plan.message_len,
                size: sep * states[k],
                sep,
                parent: scope.first().copied().unwrap_or(NONE),
                dense: false,
                children: (0, 0),
                slots: (0, 0),
            });
            plan.unary_len += states[k];
            plan.table_len += sep * states[k];
            plan.message_len += sep;
        }
        if plan.table_len > most.min(limits.entries()) {
            let widest = (0..n).max_by_key(|k| plan.buckets[*k].size).unwrap_or(0);
            let vars = plan.vars[widest].into_iter().collect();
            return Err(too_tangled(plan.width, limits, vars));
        }
        for slot in &mut self.slots {
            slot.axes
                .iter_mut()
                .for_each(|(k, _)| *k = place[*k as usize]);
            slot.axes.sort_unstable();
            slot.bucket = slot.axes.first().map_or(NONE, |(k, _)| *k);
            if !matches!(slot.kind, Kind::Table | Kind::Constraint(_)) {
                slot.store = plan.store_len;
                plan.store_len += slot.size;
            }
        }
        plan.slots = self.slots;
        plan.scopes = scopes;
        plan.scope_starts.clone_from(&e.starts);
        plan.scope_starts.push(plan.scopes.len() as u32);
        plan.wire(&states);
        Ok(plan)
    }
}

impl Plan {
    /// Sorts slots and children by bucket and draws the maps.
    fn wire(&mut self, states: &[usize]) {
        let scopes = std::mem::take(&mut self.scopes);
        let n = self.buckets.len();
        let several = |s: &Slot| s.axes.len() >= 2;
        let (mut many, few): (Vec<Slot>, Vec<Slot>) = self.slots.drain(..).partition(several);
        many.sort_unstable_by_key(|s| (s.bucket, s.var, s.kind));
        self.slots = many;
        self.slots.extend(few);
        self.single = self.slots.partition_point(|s| s.axes.len() >= 2);
        let mut next = vec![0u32; n + 1];
        for b in self.buckets.iter().filter(|b| b.parent != NONE) {
            next[b.parent as usize + 1] += 1;
        }
        for k in 0..n {
            next[k + 1] += next[k];
            self.buckets[k].children = (next[k], next[k]);
        }
        let none = Child {
            bucket: 0,
            map: 0,
            same: false,
        };
        self.children.resize(next[n] as usize, none);
        for c in 0..n {
            let parent = self.buckets[c].parent;
            if parent != NONE {
                let at = &mut self.buckets[parent as usize].children.1;
                self.children[*at as usize].bucket = c as u32;
                *at += 1;
            }
        }
        let starts = std::mem::take(&mut self.scope_starts);
        let scope_of = |k: usize| &scopes[starts[k] as usize..starts[k + 1] as usize];
        let mut room = 0;
        for b in &self.buckets {
            let children = (b.children.1 - b.children.0) as usize;
            room += b.size * children;
        }
        for slot in &self.slots[..self.single] {
            room += self.buckets[slot.bucket as usize].size;
        }
        self.maps.reserve_exact(room);
        let mut slot = 0;
        let mut strides: Vec<(usize, u32)> = Vec::new();
        for k in 0..n {
            let first = slot;
            while slot < self.single && self.slots[slot].bucket == k as u32 {
                strides.clear();
                let axes = &self.slots[slot].axes;
                let mut at = 0;
                for p in std::iter::once(k as u32).chain(scope_of(k).iter().copied()) {
                    let hit = axes.get(at).is_some_and(|(q, _)| *q == p);
                    strides.push((states[p as usize], if hit { axes[at].1 } else { 0 }));
                    at += usize::from(hit);
                }
                self.slots[slot].map = draw(&mut self.maps, &strides);
                slot += 1;
            }
            self.buckets[k].slots = (first as u32, slot as u32);
            let (a, b) = self.buckets[k].children;
            for i in a as usize..b as usize {
                let c = self.children[i].bucket as usize;
                let inner = scope_of(c);
                strides.clear();
                let mut stride = self.buckets[c].sep as u32;
                let mut at = 0;
                for p in std::iter::once(k as u32).chain(scope_of(k).iter().copied()) {
                    if inner.get(at) == Some(&p) {
                        stride /= states[p as usize] as u32;
                        strides.push((states[p as usize], stride));
                        at += 1;
                    } else {
                        strides.push((states[p as usize], 0));
                    }
                }
                self.children[i].same = at == strides.len();
                if !self.children[i].same {
                    self.children[i].map = draw(&mut self.maps, &strides);
                }
            }
        }
        self.scopes = scopes;
        self.scope_starts = starts;
    }
}

/// Appends the map of a table with these (states, stride) axes, slowest first.
fn draw(maps: &mut Vec<u32>, axes: &[(usize, u32)]) -> usize {
    let start = maps.len();
    maps.push(0);
    let mut len = 1;
    for &(states, stride) in axes.iter().rev() {
        for s in 1..states as u32 {
            maps.extend_from_within(start..start + len);
            let at = maps.len() - len;
            if stride > 0 {
                maps[at..].iter_mut().for_each(|m| *m += s * stride);
            }
        }
        len *= states;
    }
    start
}

/// Binary logarithm of a product, rounded up.
pub(crate) fn bits(states: impl Iterator<Item = usize>) -> usize {
    let mut log = 0.0;
    for s in states {
        log += match s {
            0 | 1 => 0.0,
            2 => 1.0,
            s => libm::log2(s as f64),
        };
    }
    libm::ceil(log - 1e-9) as usize
}

pub(crate) fn too_tangled(width: usize, limits: &Limits, mut vars: Vec<Var>) -> SolveError {
    vars.sort_unstable();
    SolveError::TooTangled {
        width,
        limit: limits.width,
        vars,
    }
}
