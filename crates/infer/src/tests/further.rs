//! Looks, sensitivities, explanations and conflict against plain enumeration.

use std::sync::Arc;

use super::agreement::{case, close};
use super::brute::{Brute, config};
use crate::network::Family;
use crate::plan::{Plan, Style};
use crate::*;

const NETWORKS: u64 = 2000;

#[test]
fn looks_agree_with_enumeration() {
    let mut compared = 0;
    for seed in 0..NETWORKS {
        let Some((_, net, evidence, solved)) = case(seed) else {
            continue;
        };
        let brute = Brute::new(&net, &evidence);
        let vars: Vec<Var> = net.vars().filter(|v| evidence.get(*v).is_none()).collect();
        let targets: Vec<Var> = net.vars().collect();
        for look in solved.looks(&vars, &targets).unwrap() {
            let mut expected_gain = vec![0.0; targets.len()];
            for s in 0..net.states(look.var()) {
                let chance = brute.weight_of(&[(look.var(), s)]) / brute.total();
                close(look.chances()[s], chance, "chance of a look", seed);
                for (i, target) in targets.iter().enumerate() {
                    for t in 0..net.states(*target) {
                        let both = [(look.var(), s), (*target, t)];
                        let joint = brute.weight_of(&both) / brute.total();
                        let p = look.given(s, *target).unwrap()[t];
                        close(p * chance, joint, "target at a look", seed);
                        if chance > 1e-6 {
                            close(p, joint / chance, "target given a look", seed);
                        }
                        let alone = brute.weight_of(&[(*target, t)]) / brute.total();
                        if joint > 0.0 {
                            expected_gain[i] += joint * (joint / (alone * chance)).ln();
                        }
                        compared += 1;
                    }
                }
            }
            for (i, target) in targets.iter().enumerate() {
                let gain = look.information(*target).unwrap();
                close(gain, expected_gain[i], "information", seed);
            }
        }
    }
    assert!(compared > 20_000, "{compared}");
}

fn parameters(net: &Network) -> Vec<Parameter> {
    let mut out = Vec::new();
    for (var, node) in net.vars().zip(&net.model.nodes) {
        for state in 0..node.states {
            match &node.family {
                Family::Table(rows) => {
                    let rows = 0..rows.len() / node.states;
                    out.extend(rows.map(|row| Parameter::Table { var, row, state }));
                }
                Family::NoisyMax(n) => {
                    out.push(Parameter::Leak { var, state });
                    for (cause, c) in n.causes.iter().enumerate() {
                        let rows = 0..c.rows.len();
                        out.extend(rows.map(|row| Parameter::Cause { var, cause, row, state }));
                    }
                }
            }
        }
    }
    out
}

#[test]
fn sensitivity_functions_agree_with_moved_networks() {
    let mut compared = 0;
    for seed in 0..NETWORKS / 2 {
        let Some((mut r, net, evidence, solved)) = case(seed) else {
            continue;
        };
        let free = |v: &Var| !matches!(evidence.get(*v), Some(Finding::State(_)));
        let Some(target) = net.vars().filter(free).nth(r.below(3)) else {
            continue;
        };
        let state = r.below(net.states(target));
        let style = Style {
            chain_above: 1,
            mix_above: 1,
            ..Style::TABLES
        };
        let limits = Limits::default();
        let plan = Plan::new(&net, &evidence, &[target], style, &limits).unwrap();
        let chained = solve::solve_by(&net, &evidence, &limits, Arc::new(plan)).unwrap();
        let a = solved.sensitivities(target, state).unwrap();
        let b = chained.sensitivities(target, state).unwrap();
        let all = parameters(&net);
        for _ in 0..12 {
            let parameter = all[r.below(all.len())];
            let t = 0.1 + 0.8 * r.unit();
            let (f, g) = (a.of(parameter).unwrap(), b.of(parameter).unwrap());
            let (Parameter::Table { var, .. } | Parameter::Leak { var, .. } | Parameter::Cause { var, .. }) = parameter;
            if net.states(var) == 1 {
                continue;
            }
            close(f.at(f.now), solved.posterior(target)[state], "now", seed);
            let brute = Brute::new(&net.with_parameter(parameter, t).unwrap(), &evidence);
            let total = Brute::new(&net, &evidence).total();
            for h in [f, g] {
                let ratio = brute.total() / total;
                assert!(
                    ((h.c + h.d * t) - ratio).abs() <= 1e-9 * ratio.max(1.0),
                    "evidence, {seed}, {parameter:?}: {} {ratio}",
                    h.c + h.d * t
                );
                if ratio > 1e-6 {
                    close(h.at(t), brute.posterior(target)[state], "moved", seed);
                }
            }
            compared += 1;
        }
    }
    assert!(compared > 4_000, "{compared}");
}

#[test]
fn replaced_rows_agree_with_enumeration() {
    for seed in 0..NETWORKS / 2 {
        let Some((mut r, net, evidence, solved)) = case(seed) else {
            continue;
        };
        for var in net.vars() {
            let Family::Table(old) = &net.model.nodes[var.index()].family else {
                continue;
            };
            let n = net.states(var);
            let rows: Vec<f64> = (0..old.len() / n).flat_map(|_| r.distribution(n)).collect();
            let mut other = Network::new();
            for (v, node) in net.vars().zip(&net.model.nodes) {
                match &node.family {
                    Family::Table(t) => {
                        let t = if v == var { rows.clone() } else { t.clone() };
                        other.table(node.states, &node.parents, t).unwrap();
                    }
                    Family::NoisyMax(m) => {
                        other.noisy_max(m.leak.clone(), m.causes.clone()).unwrap();
                    }
                }
            }
            for c in &net.model.constraints {
                other.constraint(&c.over, c.weights.clone()).unwrap();
            }
            let brute = Brute::new(&other, &evidence);
            match solved.with_rows(var, &rows) {
                Ok((p, _)) => {
                    for (a, b) in p.iter().zip(brute.posterior(var)) {
                        close(*a, b, "with other rows", seed);
                    }
                }
                Err(e) => {
                    assert_eq!(e, SolveError::Impossible);
                    assert!(brute.total() < 1e-12, "network {seed}");
                }
            }
        }
    }
}

#[test]
fn explanations_agree_with_enumeration() {
    for seed in 0..NETWORKS {
        let Some((_, net, evidence, _)) = case(seed) else {
            continue;
        };
        let brute = Brute::new(&net, &evidence);
        let best = brute.weights.iter().fold(0.0f64, |a, b| a.max(*b));
        let found = most_probable_explanation(&net, &evidence, &Limits::default()).unwrap();
        close(found.ln_joint, best.ln(), "best joint", seed);
        close(found.share, best / brute.total(), "share", seed);
        let at = (0..brute.weights.len()).find(|i| config(&brute.dims, *i) == found.states);
        close(brute.weights[at.unwrap()] / best, 1.0, "the states found", seed);
    }
}

#[test]
fn conflict_agrees_with_enumeration() {
    for seed in 0..NETWORKS {
        let Some((_, net, evidence, solved)) = case(seed) else {
            continue;
        };
        let base = Brute::new(&net, &Evidence::new()).total();
        let mut expected = -(Brute::new(&net, &evidence).total() / base).ln();
        for (var, finding) in evidence.iter() {
            let only = Evidence::new().with(var, finding.clone());
            expected += (Brute::new(&net, &only).total() / base).ln();
        }
        close(solved.conflict().unwrap(), expected, "conflict", seed);
    }
}

#[test]
fn watched_assignments_agree_with_enumeration_from_evidence_to_evidence() {
    let mut asked = 0;
    for seed in 0..NETWORKS {
        let Some((_, net, evidence, _)) = case(seed) else {
            continue;
        };
        let free: Vec<Var> = net.vars().filter(|var| evidence.get(*var).is_none()).collect();
        let sets: Vec<Vec<(Var, usize)>> = (0..free.len())
            .map(|i| {
                free[i..]
                    .iter()
                    .take(2)
                    .map(|var| (*var, seed as usize % net.states(*var)))
                    .collect()
            })
            .collect();
        let mut solver = Solver::new(&net, &Limits::default()).keeping(&free).watching(&sets);
        let findings: Vec<(Var, Finding)> = evidence.iter().map(|(var, finding)| (var, finding.clone())).collect();
        // All, none, then one more at a time; between two of them something else is asked.
        let parts = std::iter::once(findings.len()).chain(0..=findings.len());
        for part in parts {
            let part: Evidence = findings[..part].iter().cloned().collect();
            if solver.solve(&part).is_err() {
                continue;
            }
            let (Some(watched), Some(with)) = (solver.ln_watched(), solver.ln_with(&sets)) else {
                continue;
            };
            let brute = Brute::new(&net, &part);
            for ((set, watched), with) in sets.iter().zip(watched).zip(with) {
                let holds = |at: usize| {
                    let states = config(&brute.dims, at);
                    set.iter().all(|(var, state)| states[var.index()] == *state)
                };
                let sum: f64 = (0..brute.weights.len())
                    .filter(|at| holds(*at))
                    .map(|at| brute.weights[at])
                    .sum();
                close(watched.exp(), sum, "watched", seed);
                assert_eq!(watched.to_bits(), with.to_bits(), "to the last bit, {seed}");
                asked += 1;
            }
        }
    }
    assert!(asked > 1000, "only {asked} asked");
}
