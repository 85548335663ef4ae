//! From the derivatives of a table's entries to those of the rows it is made of.

use super::{Job, kind_share, leak_share, share_of};
use crate::backward::Backward;
use crate::dense::Dense;
use crate::network::Family;
use crate::noisy::{self, Grade, max_into};
use crate::plan::{Along, Kind, Role, Slot};
use crate::relevance::finding_grades;
use crate::sweep_gradient::Marks;
use crate::thin::Thin;
use crate::{Finding, Var};

impl Job<'_> {
    /// From the derivatives of a slot's entries to those of the numbers they are made of.
    pub(super) fn pass_on(&mut self, i: usize, slot: &Slot, k: &[[f64; 1]]) {
        let core = self.core;
        if matches!(slot.kind, Kind::Constraint(_)) {
            return;
        }
        let var = Var(slot.var);
        let start = self.start[var.index()];
        let node = &core.net.model.nodes[var.index()];
        let noisy = match &node.family {
            Family::Table(_) => {
                let base = start + core.numbers.base[i];
                for (v, k) in self.values[base..].iter_mut().zip(k) {
                    *v += k[0];
                }
                return;
            }
            Family::NoisyMax(noisy) => noisy,
        };
        if node.states == 1 {
            return;
        }
        let finding = self.evidence.get(var);
        let (mut back, mut room) = (std::mem::take(&mut self.back), std::mem::take(&mut self.room));
        if matches!(core.plan.roles[var.index()], Role::Live(_)) {
            back.grades.clear();
            let all = (1..=node.states).map(|end| Grade { end, weight: 1.0 });
            back.grades.extend(all);
        } else {
            finding_grades(finding, node.states, &mut back.grades);
        }
        let parts = Thin::of(noisy, &node.parents, finding, &mut room).parts(noisy, &room, node.states);
        back.start(node.states, parts.1.len());
        let fixed = self.axes(var);
        let own = core.plan.roles[var.index()];
        if slot.is_whole() {
            let parents = slot.axes.iter().rev().filter(|along| own != Role::Live(along.bucket));
            let states = |along: &Along| core.plan.buckets[along.bucket as usize].states;
            self.ops.truncate(fixed);
            self.ops
                .extend(parents.map(|along| (along.rows as usize, states(along))));
        }
        let axes = &self.ops[fixed..];
        match slot.kind {
            Kind::Step { step, before, after } if before > 1 => {
                back.step(axes[step as usize], before.into(), after.into(), k);
            }
            Kind::Step { step, after, .. } => {
                let axis = axes[step as usize];
                self.ops.truncate(fixed);
                self.ops.push(axis);
                back.by_entry(k, axis.1, (after > 1).then_some(axis.1));
                back.run(parts, &self.ops);
            }
            Kind::Factor { parent } => back.factor(axes[parent as usize], k),
            Kind::Mixture => back.mixture(parts, &self.ops[..fixed], k),
            kind => {
                let size = axes.iter().map(|a| a.1).product();
                let within = slot.stride_of(own);
                back.by_entry(k, size, (kind == Kind::Family).then_some(within));
                back.run(parts, &self.ops);
            }
        }
        self.spread_out(var, finding, &back);
        (self.back, self.room) = (back, room);
    }

    /// From the derivatives by the numbers of a sweep to those of the numbers they are made of.
    pub(super) fn swept(&mut self, dense: &Dense, marks: &Marks) {
        let core = self.core;
        for (f, finding) in dense.findings.iter().enumerate() {
            let var = Var(finding.var);
            let node = &core.net.model.nodes[var.index()];
            let Family::NoisyMax(noisy) = &node.family else {
                continue;
            };
            let finding = self.evidence.get(var);
            let (mut back, mut room) = (std::mem::take(&mut self.back), std::mem::take(&mut self.room));
            finding_grades(finding, node.states, &mut back.grades);
            let parts = Thin::of(noisy, &node.parents, finding, &mut room).parts(noisy, &room, node.states);
            back.start(node.states, parts.1.len());
            let fixed = self.axes(var);
            if let Some(start) = marks.starts[f].get(..back.grades.len()) {
                back.d.clear();
                back.d.extend_from_slice(start);
                back.run(parts, &self.ops[..fixed]);
            }
            for step in &dense.steps {
                let mut at = 0;
                for p in node.parents.iter().take_while(|p| p.0 != step.var) {
                    at += core.net.states(*p) * node.states;
                }
                for (_, link) in step.links.iter().filter(|(of, _)| usize::from(*of) == f) {
                    let d = &marks.links[*link as usize];
                    for (s, d) in d.chunks_exact(d.len().max(step.states) / step.states).enumerate() {
                        back.add_row(at + s * node.states, d);
                    }
                }
            }
            self.spread_out(var, finding, &back);
            (self.back, self.room) = (back, room);
        }
    }

    /// Row offsets and numbers of states of the fixed parents, then of the live ones; and how many are fixed.
    fn axes(&mut self, var: Var) -> usize {
        let core = self.core;
        let node = &core.net.model.nodes[var.index()];
        self.ops.clear();
        let mut fixed = 0;
        for live in [false, true] {
            let mut rows = 0;
            for p in &node.parents {
                let states = core.net.states(*p);
                match core.plan.roles[p.index()] {
                    Role::Live(_) if live => self.ops.push((rows, states)),
                    Role::Live(_) => {}
                    _ if live => {}
                    _ => self.ops.push((rows + core.numbers.state[p.index()] * node.states, 1)),
                }
                rows += states * node.states;
            }
            if !live {
                fixed = self.ops.len();
            }
        }
        fixed
    }

    /// From combined and thinned rows to those of each cause.
    fn spread_out(&mut self, var: Var, finding: Option<&Finding>, back: &Backward) {
        let node = &self.core.net.model.nodes[var.index()];
        let Family::NoisyMax(noisy) = &node.family else {
            return;
        };
        let r = node.states;
        let start = self.start[var.index()];
        let leak_q = finding.map_or(1.0, leak_share);
        for (g, d) in back.d_leak.iter().enumerate() {
            self.values[start + g] += d * share_of(g, leak_q);
        }
        let mut at = start + r;
        // Of one cause to each parent the rows are those of the causes.
        let single = noisy.causes.len() == node.parents.len();
        if single && !matches!(finding, Some(Finding::OfKind { .. })) {
            self.values[at..]
                .iter_mut()
                .zip(&back.d_rows)
                .for_each(|(sum, d)| *sum += d);
            return;
        }
        for (c, cause) in noisy.causes.iter().enumerate() {
            let mut rows_at = 0;
            for p in node.parents.iter().take_while(|p| **p != cause.parent) {
                rows_at += self.core.net.states(*p) * r;
            }
            for s in 0..cause.rows.len() {
                let d = &back.d_rows[rows_at + s * r..][..r];
                let q = finding.map_or(1.0, |f| kind_share(f, c, s));
                if single {
                    for (h, d) in d.iter().enumerate() {
                        self.values[at + h] += d * share_of(h, q);
                    }
                    at += r;
                    continue;
                }
                let mut others = vec![0.0; r];
                others[0] = 1.0;
                for (o, other) in noisy.causes.iter().enumerate() {
                    if o != c && other.parent == cause.parent {
                        let row = finding.map_or(other.rows[s].clone(), |f| thin_row(f, o, s, &other.rows[s]));
                        max_into(&mut others, &row);
                    }
                }
                // combined_g = others_g · Σ_{h≤g} own_h + Σ_{h<g} others_h · own_g
                for h in 0..r {
                    let below: f64 = others[..h].iter().sum();
                    let upper: f64 = (h..r).map(|g| d[g] * others[g]).sum();
                    self.values[at + h] += (upper + d[h] * below) * share_of(h, q);
                }
                at += r;
            }
        }
    }
}

fn thin_row(finding: &Finding, cause: usize, s: usize, row: &[f64]) -> Vec<f64> {
    noisy::thinned(row, kind_share(finding, cause, s)).collect()
}
