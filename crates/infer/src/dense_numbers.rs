//! The numbers of a sweep.

use crate::network::Family;
use crate::noisy::{self, Grade, spread};
use crate::numbers::Numbers;
use crate::plan::{Plan, Role};
use crate::thin::Thin;
use crate::{Evidence, Network, Var};

/// What a sweep multiplies by.
#[derive(Clone, Debug, Default)]
pub(crate) struct DenseNumbers {
    values: Vec<f64>,
    /// Where each finding's start and weights are, and its number of grades.
    findings: Vec<(usize, usize)>,
    /// Where each link's rows are, and its number of grades.
    links: Vec<(usize, usize)>,
}

impl DenseNumbers {
    fn clear(&mut self) {
        self.values.clear();
        self.findings.clear();
        self.links.clear();
    }

    fn add_finding(&mut self, start: &[f64], grades: &[Grade]) {
        self.findings.push((self.values.len(), grades.len()));
        self.values.extend_from_slice(start);
        self.values.extend(grades.iter().map(|g| g.weight));
    }

    /// The chance of each grade before any live cause.
    pub fn start(&self, finding: u16) -> &[f64] {
        let (at, n) = self.findings[finding as usize];
        &self.values[at..at + n]
    }

    /// The likelihood of each grade.
    pub fn weights(&self, finding: u16) -> &[f64] {
        let (at, n) = self.findings[finding as usize];
        &self.values[at + n..at + 2 * n]
    }

    /// The chance of each grade by a link alone while its cause is in this state.
    pub fn row(&self, link: u32, state: usize) -> &[f64] {
        let (at, n) = self.links[link as usize];
        &self.values[at + state * n..][..n]
    }
}

impl Numbers {
    /// Fills in what the sweeps multiply by.
    pub(crate) fn load_dense(&mut self, plan: &Plan, net: &Network, evidence: &Evidence) {
        self.dense.resize_with(plan.dense.len(), DenseNumbers::default);
        for (i, dense) in plan.dense.iter().enumerate() {
            let mut out = std::mem::take(&mut self.dense[i]);
            out.clear();
            for f in &dense.findings {
                let var = Var(f.var);
                let node = &net.model.nodes[var.index()];
                let Family::NoisyMax(noisy) = &node.family else {
                    continue;
                };
                self.set_grades(plan, var, evidence.get(var), node.states);
                self.set_axes(plan, net, var);
                let finding = evidence.get(var);
                let thin = Thin::of(noisy, &node.parents, finding, &mut self.thin);
                let (leak, rows) = thin.parts(noisy, &self.thin, node.states);
                let fixed = self.fixed.iter().copied();
                spread(node.states, leak, rows, fixed, &[], &mut self.scratch);
                let grades = &self.scratch.grades;
                out.add_finding(&self.scratch.acc[..grades.len()], grades);
            }
            for step in &dense.steps {
                for (f, _) in &step.links {
                    let var = Var(dense.findings[*f as usize].var);
                    let node = &net.model.nodes[var.index()];
                    let Family::NoisyMax(noisy) = &node.family else {
                        continue;
                    };
                    let finding = evidence.get(var);
                    self.set_grades(plan, var, finding, node.states);
                    let thin = Thin::of(noisy, &node.parents, finding, &mut self.thin);
                    let (_, rows) = thin.parts(noisy, &self.thin, node.states);
                    let mut at = 0;
                    for p in &node.parents {
                        if plan.roles[p.index()] == Role::Live(step.bucket) {
                            break;
                        }
                        at += net.states(*p) * node.states;
                    }
                    out.links.push((out.values.len(), self.scratch.grades.len()));
                    for s in 0..step.states {
                        let row = &rows[at + s * node.states..][..node.states];
                        noisy::by_grade(&self.scratch.grades, row, &mut self.scratch.p);
                        out.values.extend_from_slice(&self.scratch.p);
                    }
                }
            }
            self.dense[i] = out;
        }
    }
}
