//! Agreement with plain enumeration.

use std::sync::Arc;

use super::brute::Brute;
use super::random::{self, Random};
use crate::plan::{Plan, Style};
use crate::*;

const NETWORKS: u64 = 5000;
const TOLERANCE: f64 = 1e-9;

pub fn close(a: f64, b: f64, what: &str, seed: u64) {
    assert!((a - b).abs() <= TOLERANCE, "{what}, network {seed}: {a} and {b}");
}

/// Posteriors of everything and ln P(evidence), for every layout of the noisy-MAX tables.
#[test]
fn posteriors_agree_with_enumeration() {
    let (mut impossible, mut compared, mut swept) = (0, 0, 0);
    for seed in 0..NETWORKS {
        let mut r = Random(seed);
        let net = random::network(&mut r);
        let evidence = random::evidence(&mut r, &net);
        let brute = Brute::new(&net, &evidence);
        let limits = Limits::default();
        let solved = match solve(&net, &evidence, &limits) {
            Err(SolveError::Impossible) => {
                assert!(brute.total() < 1e-12, "network {seed}");
                impossible += 1;
                continue;
            }
            other => other.unwrap(),
        };
        let total = brute.total();
        close(solved.ln_evidence(), total.ln(), "ln P(e)", seed);
        let all: Vec<Var> = net.vars().collect();
        let chain = Style {
            chain_above: 1,
            mix_above: 1,
            ..Style::TABLES
        };
        let plan = Plan::new(&net, &evidence, &all, chain, &limits).unwrap();
        let chained = solve::solve_by(&net, &evidence, &limits, Arc::new(plan)).unwrap();
        close(chained.ln_evidence(), total.ln(), "ln P(e) by chains", seed);
        let plan = Plan::new(&net, &evidence, &[], chain, &limits).unwrap();
        let pruned = solve::solve_by(&net, &evidence, &limits, Arc::new(plan)).unwrap();
        let sweep = Style {
            sweep: true,
            ..Style::TABLES
        };
        let plan = Plan::new(&net, &evidence, &[], sweep, &limits).unwrap();
        swept += plan.dense.len();
        let sweeping = solve::solve_by(&net, &evidence, &limits, Arc::new(plan)).unwrap();
        close(sweeping.ln_evidence(), total.ln(), "ln P(e) by sweeps", seed);
        let all = [
            (sweeping, "ln P without, by sweeps"),
            (pruned.clone(), "ln P without, by chains"),
        ];
        for (solved, what) in all {
            for (var, without) in solved.leave_one_out().unwrap() {
                let mut less = evidence.clone();
                less.remove(var);
                close(without.ln_evidence(), Brute::new(&net, &less).total().ln(), what, seed);
            }
        }
        for var in net.vars() {
            for (s, p) in brute.posterior(var).into_iter().enumerate() {
                close(solved.posterior(var)[s], p, "posterior", seed);
                close(chained.posterior(var)[s], p, "posterior by chains", seed);
                close(pruned.posterior(var)[s], p, "posterior by pruned chains", seed);
                compared += 1;
            }
        }
        let all: Vec<Var> = net.vars().collect();
        let (a, b) = (all[r.below(all.len())], all[r.below(all.len())]);
        let (s, t) = (r.below(net.states(a)), r.below(net.states(b)));
        let states = if a == b { vec![(a, s)] } else { vec![(a, s), (b, t)] };
        let p = probability_of(&net, &evidence, &states, &limits).unwrap();
        close(p, brute.weight_of(&states) / total, "probability of states", seed);
    }
    assert!(impossible < NETWORKS / 3, "{impossible} impossible");
    assert!(swept > 50, "only {swept} sweeps");
    assert!(compared > 40_000, "only {compared} compared");
}

/// A possible case of this seed, with its enumeration.
pub fn case(seed: u64) -> Option<(Random, Network, Evidence, Solved)> {
    let mut r = Random(seed);
    let net = random::network(&mut r);
    let evidence = random::evidence(&mut r, &net);
    let solved = solve(&net, &evidence, &Limits::default()).ok()?;
    Some((r, net, evidence, solved))
}

#[test]
fn leave_one_out_agrees_with_enumeration() {
    for seed in 0..NETWORKS {
        let Some((_, net, evidence, solved)) = case(seed) else {
            continue;
        };
        for (var, without) in solved.leave_one_out().unwrap() {
            let mut less = evidence.clone();
            less.remove(var);
            let brute = Brute::new(&net, &less);
            close(without.ln_evidence(), brute.total().ln(), "ln P without", seed);
            for v in net.vars() {
                for (s, p) in brute.posterior(v).into_iter().enumerate() {
                    close(without.posterior(v)[s], p, "posterior without", seed);
                }
            }
        }
    }
}

#[test]
fn sequences_and_joints_agree_with_enumeration() {
    for seed in 0..NETWORKS / 5 {
        let Some((mut r, net, evidence, _)) = case(seed) else {
            continue;
        };
        let limits = Limits::default();
        let mut groups = vec![Vec::new(); 3];
        evidence.iter().for_each(|(v, _)| groups[r.below(3)].push(v));
        let mut so_far = Evidence::new();
        let steps = sequence(&net, &evidence, &groups, &limits).unwrap();
        for (group, step) in groups.iter().zip(steps) {
            for v in group {
                so_far.insert(*v, evidence.get(*v).unwrap().clone());
            }
            let brute = Brute::new(&net, &so_far);
            close(step.ln_evidence(), brute.total().ln(), "ln P so far", seed);
            for v in net.vars() {
                for (s, p) in brute.posterior(v).into_iter().enumerate() {
                    close(step.posterior(v)[s], p, "posterior so far", seed);
                }
            }
        }
        let brute = Brute::new(&net, &evidence);
        let vars: Vec<Var> = net.vars().take(2).collect();
        let table = joint(&net, &evidence, &vars, &limits).unwrap();
        let columns = net.states(vars[1]);
        for (i, p) in table.iter().enumerate() {
            let states = [(vars[0], i / columns), (vars[1], i % columns)];
            close(*p, brute.weight_of(&states) / brute.total(), "joint", seed);
        }
    }
}

/// The solver that keeps its plan gives the very same bits as a fresh one.
#[test]
fn a_kept_plan_gives_the_same_answers() {
    for seed in 0..NETWORKS / 5 {
        let Some((mut r, net, evidence, solved)) = case(seed) else {
            continue;
        };
        let mut solver = Solver::new(&net, &Limits::default());
        for _ in 0..3 {
            let ln = solver.ln_evidence(&evidence).unwrap();
            close(ln, solved.ln_evidence(), "ln P(e) alone", seed);
            let ln = solver.solve(&evidence).unwrap();
            close(ln, solved.ln_evidence(), "ln P(e)", seed);
            for v in net.vars() {
                for (p, q) in solver.posterior(v).into_iter().flatten().zip(solved.posterior(v)) {
                    close(p, *q, "posterior", seed);
                }
            }
            let mut other = evidence.clone();
            for (var, _) in evidence.iter() {
                other.insert(var, random::finding(&mut r, &net, var));
            }
            let _ = solver.solve(&other);
        }
    }
}

/// The sweep, on networks made for it: posteriors, leave-one-out, looks and sensitivities.
#[test]
fn sweeps_agree_with_enumeration() {
    let mut swept = 0;
    let limits = Limits::default();
    for seed in 0..NETWORKS / 2 {
        let mut r = Random(seed);
        let net = random::two_layers(&mut r);
        let mut evidence = Evidence::new();
        for var in net.vars().filter(|v| net.is_noisy_max(*v)) {
            if r.chance(0.8) {
                evidence.insert(var, random::finding(&mut r, &net, var));
            }
        }
        let style = Style {
            sweep: true,
            ..Style::TABLES
        };
        let plan = Plan::new(&net, &evidence, &[], style, &limits).unwrap();
        swept += plan.dense.len();
        let brute = Brute::new(&net, &evidence);
        let Ok(solved) = solve::solve_by(&net, &evidence, &limits, Arc::new(plan)) else {
            assert!(brute.total() < 1e-12, "network {seed}");
            continue;
        };
        close(solved.ln_evidence(), brute.total().ln(), "ln P(e)", seed);
        for var in net.vars() {
            for (s, p) in brute.posterior(var).into_iter().enumerate() {
                close(solved.posterior(var)[s], p, "posterior", seed);
            }
        }
        for (var, without) in solved.leave_one_out().unwrap() {
            let mut less = evidence.clone();
            less.remove(var);
            let other = Brute::new(&net, &less);
            close(without.ln_evidence(), other.total().ln(), "ln P without", seed);
            for v in net.vars() {
                for (s, p) in other.posterior(v).into_iter().enumerate() {
                    close(without.posterior(v)[s], p, "posterior without", seed);
                }
            }
        }
        let target = net.vars().next().unwrap();
        let free: Vec<Var> = net.vars().filter(|v| evidence.get(*v).is_none()).collect();
        for look in solved.looks(&free, &[target]).unwrap() {
            for s in 0..net.states(look.var()) {
                let joint = brute.weight_of(&[(look.var(), s), (target, 0)]) / brute.total();
                let p = look.chances()[s] * look.given(s, target).unwrap()[0];
                if look.var() != target {
                    close(p, joint, "target at a look", seed);
                }
            }
        }
        let functions = solved.sensitivities(target, 0).unwrap();
        for (parameter, f) in functions.iter().step_by(5) {
            let t = 0.1 + 0.8 * r.unit();
            let moved = Brute::new(&net.with_parameter(parameter, t).unwrap(), &evidence);
            if moved.total() > 1e-6 * brute.total() {
                close(f.at(t), moved.posterior(target)[0], "moved", seed);
            }
        }
    }
    assert!(swept > 1_000, "only {swept} sweeps");
}
