//! The first half of a plan: each variable's role, and which tables tie the live ones together.

use smallvec::SmallVec;

use crate::blocks::Blocks;
use crate::dense::{self, Dense, Swept};
use crate::network::Family;
use crate::plan::{Along, Axes, Kind, NONE, Role, Slot, Style};
use crate::relevance::{falls, grade_count, relevance};
use crate::{Evidence, Finding, Network, Var};

/// What becomes of each variable, and the tables over the live ones.
pub(crate) struct Draft {
    pub roles: Vec<Role>,
    /// Before elimination `Live` holds the number here.
    pub live: Vec<Option<Var>>,
    pub states: Vec<usize>,
    /// Tables over two or more live variables.
    pub slots: Vec<Slot>,
    /// Those over one, or none.
    pub singles: Vec<Slot>,
    pub products: Vec<Var>,
    pub grades: Vec<u16>,
    pub sweeps: Vec<Dense>,
    /// The place in the evidence of the finding about the variable at hand.
    met: u32,
}

impl Draft {
    pub fn new(net: &Network, evidence: &Evidence, extra: &[Var], style: Style<'_>) -> Self {
        let nodes = &net.model.nodes;
        let n = nodes.len();
        let mark = relevance(net, evidence, extra);
        let mut draft = Self {
            roles: vec![Role::Barren; n],
            live: Vec::with_capacity(n),
            states: Vec::with_capacity(n),
            slots: Vec::with_capacity(evidence.len()),
            singles: Vec::with_capacity(n),
            products: Vec::with_capacity(evidence.len()),
            grades: vec![0; n],
            sweeps: Vec::new(),
            met: 0,
        };
        let mut findings = evidence.walk();
        for (v, node) in nodes.iter().enumerate() {
            let var = Var(v as u32);
            if mark[v] == 0 {
                if node.parents.is_empty() {
                    draft.push_live(Some(var), node.states);
                    draft.family(net, v, style);
                }
                continue;
            }
            let finding = findings.get(var);
            draft.met = findings.place as u32;
            let noisy = matches!(node.family, Family::NoisyMax(_));
            let grades = finding.filter(|_| noisy).map_or(0, |f| grade_count(f, node.states));
            draft.grades[v] = grades as u16;
            match finding {
                Some(Finding::State(_)) if noisy && grades == 1 => {
                    draft.products.push(var);
                    let below = mark[v] == 2;
                    draft.roles[v] = if below { Role::Fixed } else { Role::Product };
                }
                Some(Finding::State(_)) => {
                    let below = mark[v] == 2 || !noisy;
                    draft.roles[v] = if below { Role::Fixed } else { Role::Seen };
                    draft.family(net, v, style);
                }
                Some(_) if noisy && mark[v] == 1 && grades == 1 => {
                    draft.products.push(var);
                    draft.roles[v] = Role::Product;
                }
                Some(finding) if noisy && mark[v] == 1 => {
                    let live = |p: &&Var| matches!(draft.roles[p.index()], Role::Live(_));
                    let several = || node.parents.iter().filter(live).count() > style.mix_above;
                    let mixed = style.mix_above < node.parents.len() && several() && falls(finding, node.states);
                    draft.roles[v] = if mixed { Role::Mixed } else { Role::Seen };
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
                    axes.push(Along::new(k, stride));
                }
                stride *= nodes[v.index()].states as u32;
            }
            draft.push_slot(NONE, Kind::Constraint(i as u32), axes);
        }
        if style.sweep {
            draft.take_sweeps();
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
        for along in &axes {
            size = size.saturating_mul(self.states[along.bucket as usize]);
        }
        let slots = match axes.len() {
            0 | 1 => &mut self.singles,
            _ => &mut self.slots,
        };
        slots.push(Slot {
            var,
            kind,
            bucket: NONE,
            axes,
            size,
            met: self.met,
            store: 0,
            blocks: Blocks::default(),
        });
    }

    /// The slots of a variable's family, sliced at what is known.
    fn family(&mut self, net: &Network, v: usize, style: Style<'_>) {
        let node = &net.model.nodes[v];
        let own = match self.roles[v] {
            Role::Live(k) => Some(k),
            _ => None,
        };
        let mut axes = Axes::new();
        if let (true, Some(k)) = (node.parents.is_empty(), own)
            && matches!(node.family, Family::Table(_))
        {
            axes.push(Along::new(k, 1));
            self.singles.push(Slot {
                var: v as u32,
                axes,
                size: node.states,
                ..Slot::default()
            });
            return;
        }
        if matches!(node.family, Family::Table(_)) {
            if let Some(k) = own {
                axes.push(Along::new(k, 1));
            }
            let mut stride = node.states as u32;
            for p in node.parents.iter().rev() {
                if let Role::Live(k) = self.roles[p.index()] {
                    axes.push(Along::new(k, stride));
                }
                stride *= net.states(*p) as u32;
            }
            self.push_slot(v as u32, Kind::Table, axes);
            return;
        }
        let mut rows = 0;
        for p in &node.parents {
            if let Role::Live(bucket) = self.roles[p.index()] {
                // The stride is set once there is an order of elimination.
                let rows = rows as u32;
                axes.push(Along {
                    rows,
                    ..Along::new(bucket, 0)
                });
            }
            rows += net.states(*p) * node.states;
        }
        if self.roles[v] == Role::Mixed {
            self.mixture(v, &axes);
            return;
        }
        if axes.len() > style.chain_above.max(1) {
            self.chain(v, own, &axes, style.along);
            return;
        }
        let kind = match own {
            Some(k) => {
                axes.push(Along::new(k, 0));
                Kind::Family
            }
            None => Kind::Finding,
        };
        self.push_slot(v as u32, kind, axes);
    }

    /// A finding as a mixture of products, each with a factor a parent.
    fn mixture(&mut self, v: usize, parents: &[Along]) {
        let products = u32::from(self.grades[v]);
        let which = self.push_live(None, products as usize);
        self.push_slot(v as u32, Kind::Mixture, Axes::from_slice(&[Along::new(which, 1)]));
        for (i, parent) in parents.iter().enumerate() {
            let axes = Axes::from_slice(&[Along::new(which, 1), Along::new(parent.bucket, products)]);
            self.push_slot(v as u32, Kind::Factor { parent: i as u16 }, axes);
        }
    }

    /// A noisy-MAX as a chain of helpers, each the largest so far. The parents that are
    /// eliminated last come first.
    fn chain(&mut self, v: usize, own: Option<u32>, parents: &[Along], along: &[u32]) {
        let grades = match own {
            Some(k) => self.states[k as usize],
            None => usize::from(self.grades[v]),
        };
        let when = |i: &usize| {
            let var = self.live[parents[*i].bucket as usize];
            var.and_then(|v| along.get(v.index())).copied().unwrap_or(0)
        };
        let mut order: SmallVec<[usize; 16]> = (0..parents.len()).collect();
        order.sort_by_key(|i| std::cmp::Reverse(when(i)));
        let mut before: Option<u32> = None;
        for (at, &step) in order.iter().enumerate() {
            let parent = parents[step].bucket;
            let after = if at + 1 == parents.len() {
                own
            } else {
                Some(self.push_live(None, grades))
            };
            let n = |k: Option<u32>| if k.is_some() { grades } else { 1 };
            let (b, a) = (n(before), n(after));
            let mut axes = Axes::new();
            axes.extend(before.map(|k| Along::new(k, 1)));
            axes.push(Along::new(parent, b as u32));
            axes.extend(after.map(|k| Along::new(k, (b * self.states[parent as usize]) as u32)));
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
    fn take_sweeps(&mut self) {
        let n = self.live.len();
        let mut root: Vec<usize> = (0..n).collect();
        fn find(root: &mut [usize], mut v: usize) -> usize {
            while root[v] != v {
                root[v] = root[root[v]];
                v = root[v];
            }
            v
        }
        for slot in &self.slots {
            let first = find(&mut root, slot.axes[0].bucket as usize);
            for along in &slot.axes[1..] {
                let other = find(&mut root, along.bucket as usize);
                root[other] = first;
            }
        }
        let mut good = vec![true; n];
        for slot in &self.slots {
            if slot.kind != Kind::Finding {
                good[find(&mut root, slot.axes[0].bucket as usize)] = false;
            }
        }
        let mut number = vec![usize::MAX; n];
        let mut parts: Vec<(Vec<Swept>, Vec<dense::Finding>)> = Vec::new();
        let mut findings = vec![Vec::new(); n];
        let grades = &self.grades;
        self.slots.retain(|slot| {
            let r = find(&mut root, slot.axes[0].bucket as usize);
            if !good[r] {
                return true;
            }
            if number[r] == usize::MAX {
                number[r] = parts.len();
                parts.push(Default::default());
            }
            let of_part = &mut parts[number[r]].1;
            slot.axes
                .iter()
                .for_each(|along| findings[along.bucket as usize].push(of_part.len() as u16));
            of_part.push(dense::Finding {
                var: slot.var,
                grades: usize::from(grades[slot.var as usize]),
            });
            false
        });
        for (v, findings) in findings.into_iter().enumerate() {
            let r = find(&mut root, v);
            if let (Some(part), Some(var)) = (parts.get_mut(number[r]), self.live[v]) {
                part.0.push(Swept {
                    var: var.0,
                    states: self.states[v],
                    findings,
                });
            }
        }
        let sweeps = parts
            .into_iter()
            .map(|(causes, findings)| Dense::new(&causes, findings));
        self.sweeps = sweeps.collect();
    }
}
