//! Weights of each variable by itself, and what multiplies everything.

use crate::blocks::pieces;
use crate::memo::Memo;
use crate::network::Family;
use crate::noisy::Grade;
use crate::numbers::{Numbers, SMALL};
use crate::plan::{NONE, Plan, Role};
use crate::relevance::{first_grade, likelihood};
use crate::scaled::{Scaled, exponent_of, shifted};
use crate::thin::Thin;
use crate::{Evidence, Finding, Network, Var};

impl Numbers {
    /// Notes the findings that multiply into weights. Says whether any is another than before.
    pub(crate) fn weigh_otherwise(&mut self, plan: &Plan, evidence: &Evidence) -> bool {
        let mut otherwise = false;
        let mut n = 0;
        for (var, finding) in evidence.iter() {
            if !matches!(plan.roles[var.index()], Role::Live(_) | Role::Product | Role::Fixed) {
                continue;
            }
            if n == self.held.len() {
                self.held.push((var, Memo::Unknown));
            }
            let held = &mut self.held[n];
            let same = held.0 == var;
            held.0 = var;
            otherwise |= !(held.1.renew(Some(finding), false) && same);
            n += 1;
        }
        otherwise |= n < self.held.len();
        self.held.truncate(n);
        otherwise
    }

    /// Forms every variable's weights, and what multiplies everything.
    pub(crate) fn set_weights(&mut self, plan: &Plan, net: &Network, evidence: &Evidence) {
        self.unary.clear();
        self.unary.resize(plan.unary_len, 1.0);
        self.unary_exponent.clear();
        self.unary_exponent.resize(plan.buckets.len(), 0);
        self.constant = Some(Scaled::ONE);
        for (var, finding) in evidence.iter() {
            if let Role::Live(k) = plan.roles[var.index()] {
                let b = &plan.buckets[k as usize];
                for (s, u) in self.unary[b.unary..][..b.states].iter_mut().enumerate() {
                    *u *= likelihood(Some(finding), s);
                }
            }
        }
        let mut findings = evidence.walk();
        for var in &plan.products {
            if let Some(finding) = findings.get(*var) {
                self.product(plan, net, *var, finding);
            }
        }
        for i in plan.single..plan.slots.len() {
            self.single(plan, net, i);
        }
    }

    /// Multiplies a finding that factorises into the weights of its parents.
    fn product(&mut self, plan: &Plan, net: &Network, var: Var, finding: &Finding) {
        let node = &net.model.nodes[var.index()];
        let Family::NoisyMax(noisy) = &node.family else {
            return;
        };
        let Grade { end, weight } = first_grade(finding, node.states);
        let thin = Thin::of(noisy, &node.parents, Some(finding), &mut self.thin);
        let (leak, rows) = thin.parts(noisy, &self.thin, node.states);
        let upto = |row: &[f64]| match end {
            1 => row[0],
            _ => row[..end].iter().sum::<f64>(),
        };
        let mut constant = self.constant.unwrap_or(Scaled::ONE);
        constant = constant.times(weight).times(upto(leak));
        let mut at = 0;
        for p in &node.parents {
            let Role::Live(k) = plan.roles[p.index()] else {
                let state = self.state[p.index()];
                constant = constant.times(upto(&rows[at + state * node.states..][..node.states]));
                at += net.states(*p) * node.states;
                continue;
            };
            let b = &plan.buckets[k as usize];
            let own = pieces(&rows[at..], node.states);
            at += b.states * node.states;
            let unary = &mut self.unary[b.unary..][..b.states];
            let mut most = 0.0f64;
            for (u, row) in unary.iter_mut().zip(own) {
                *u *= upto(row);
                most = if *u > most { *u } else { most };
            }
            if most < SMALL {
                let e = exponent_of(most);
                unary.iter_mut().for_each(|u| *u = shifted(*u, -e));
                constant = constant.shift(e.into());
                self.unary_exponent[k as usize] += e;
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
            let stride = slot.axes[0].stride as usize;
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
}
