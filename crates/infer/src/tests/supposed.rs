//! Suppositions and what each number did, against plain enumeration.

use super::agreement::{case, close};
use super::brute::{Brute, config};
use super::random::Random;
use crate::grid::Grid;
use crate::network::Family;
use crate::*;

const NETWORKS: u64 = 2000;

/// The variables of a solution's plan.
fn live(net: &Network, solved: &Solved) -> Vec<Var> {
    let live = |v: &Var| solved.core.plan.bucket_of(*v).is_some();
    net.vars().filter(live).collect()
}

/// Those that nobody looked at and that may be supposed to be at most in a state.
fn below(net: &Network, evidence: &Evidence, solved: &Solved) -> Vec<Var> {
    let below = |v: &Var| net.is_noisy_max(*v) && evidence.get(*v).is_none() && solved.can_suppose(*v);
    net.vars().filter(below).collect()
}

/// Live variables may be in a state, those below all evidence at most in one, any finding left out, in any combination.
#[test]
fn suppositions_agree_with_enumeration() {
    let (mut compared, mut at_most, mut refused) = (0, 0, 0);
    for seed in 0..NETWORKS {
        let Some((mut r, net, evidence, solved)) = case(seed) else {
            continue;
        };
        // Half of them with nothing in the plan but what is above some evidence.
        let solved = match seed % 2 {
            0 => solved,
            _ => solve_seen(&net, &evidence, &Limits::default()).unwrap(),
        };
        let live = live(&net, &solved);
        let below = below(&net, &evidence, &solved);
        let seen: Vec<Var> = evidence.iter().map(|(v, _)| v).collect();
        let some = |r: &mut Random, from: &[Var], p: f64| -> Vec<(Var, usize)> {
            let mut out = Vec::new();
            if !from.is_empty() && r.chance(p) {
                let var = from[r.below(from.len())];
                out.push((var, r.below(net.states(var))));
            }
            out
        };
        for _ in 0..4 {
            let mut one = Supposition {
                states: some(&mut r, &live, 0.6),
                at_most: some(&mut r, &below, 0.7),
                without: None,
            };
            if !seen.is_empty() && r.chance(0.4) {
                one.without = Some(seen[r.below(seen.len())]);
            }
            let more = some(&mut r, &below, 0.4);
            let other = more.into_iter().find(|(v, _)| one.at_most.iter().all(|(o, _)| o != v));
            one.at_most.extend(other);
            let found = match solved.suppose(std::slice::from_ref(&one), &live) {
                Ok(found) => found,
                // Two that rest on the same variable below all evidence.
                Err(SolveError::Mismatch { .. }) if one.at_most.len() == 2 => {
                    refused += 1;
                    continue;
                }
                Err(error) => panic!("network {seed}: {error}"),
            };
            let mut less = evidence.clone();
            if let Some(var) = one.without {
                less.remove(var);
            }
            let brute = Brute::new(&net, &less);
            let mut total = 0.0;
            let mut joint: Vec<Vec<f64>> = live.iter().map(|v| vec![0.0; net.states(*v)]).collect();
            for (i, weight) in brute.weights.iter().enumerate() {
                let config = config(&brute.dims, i);
                let is = |(v, s): &(Var, usize)| config[v.index()] == *s;
                let under = |(v, s): &(Var, usize)| config[v.index()] <= *s;
                if one.states.iter().all(is) && one.at_most.iter().all(under) {
                    total += weight;
                    live.iter()
                        .zip(&mut joint)
                        .for_each(|(v, p)| p[config[v.index()]] += weight);
                }
            }
            if total < 1e-12 * brute.total() {
                assert!(
                    found[0].ln().exp() < 1e-9 * brute.total(),
                    "network {seed}: {}",
                    found[0].ln()
                );
                continue;
            }
            close(
                found[0].ln(),
                total.ln(),
                &format!("ln P of {one:?} {evidence:?}"),
                seed,
            );
            for (var, joint) in live.iter().zip(&joint) {
                for (p, joint) in found[0].posterior(*var).iter().zip(joint) {
                    close(*p, joint / total, "posterior supposed", seed);
                    compared += 1;
                }
            }
            at_most += one.at_most.len();
        }
    }
    assert!(
        compared > 10_000 && at_most > 500 && refused > 0,
        "{compared} {at_most} {refused}"
    );
}

/// Without targets, those alike in their states are read off one solution; with targets each is run by itself.
#[test]
fn many_at_once_are_as_each_alone() {
    let (mut compared, mut across, mut many_parts) = (0, 0, 0);
    for seed in 0..NETWORKS {
        let Some((mut r, net, evidence, solved)) = case(seed) else {
            continue;
        };
        let solved = match seed % 3 {
            0 => solved,
            _ => solve_seen(&net, &evidence, &Limits::default()).unwrap(),
        };
        let live = live(&net, &solved);
        if live.is_empty() {
            continue;
        }
        let mut beside = vec![Supposition::default()];
        for var in below(&net, &evidence, &solved) {
            beside.extend((0..net.states(var)).map(|state| Supposition {
                at_most: vec![(var, state)],
                ..Supposition::default()
            }));
        }
        beside.extend(evidence.iter().map(|(var, _)| Supposition {
            without: Some(var),
            ..Supposition::default()
        }));
        let mut bases = vec![Vec::new()];
        for _ in 0..3 {
            let var = live[r.below(live.len())];
            bases.push(vec![(var, r.below(net.states(var)))]);
        }
        bases.dedup();
        let mut all = Vec::new();
        for states in &bases {
            all.extend(beside.iter().map(|one| Supposition {
                states: states.clone(),
                ..one.clone()
            }));
        }
        let many = solved.suppose(&all, &[]).unwrap();
        for (one, found) in all.iter().zip(&many) {
            let alone = solved.suppose(std::slice::from_ref(one), &live).unwrap();
            let (a, b) = (found.ln(), alone[0].ln());
            if b < solved.ln_evidence() - 25.0 {
                assert!(a < solved.ln_evidence() - 20.0, "network {seed}: {one:?} {a} {b}");
                continue;
            }
            close(a, b, &format!("ln P of {one:?}"), seed);
            compared += 1;
        }
        // Each with some of them only.
        let some = |_: &Vec<(Var, usize)>| (0..beside.len()).filter(|_| r.chance(0.8)).collect();
        let asked: Vec<Vec<usize>> = bases.iter().map(some).collect();
        let found = solved.across(&bases, &beside, &asked).unwrap();
        // In parts, the last first: bit for bit the same.
        let open = solved
            .across_in_parts(bases.clone(), beside.clone(), asked.clone())
            .unwrap();
        let mut parts: Vec<AcrossPart> = (0..open.parts()).rev().map(|part| open.part(part).unwrap()).collect();
        parts.reverse();
        many_parts += usize::from(parts.len() > 1);
        let bits = |rows: &[Vec<f64>]| rows.iter().flatten().map(|x| x.to_bits()).collect::<Vec<u64>>();
        assert_eq!(bits(&open.whole(parts)), bits(&found), "network {seed}");
        for ((row, asked), many) in found.iter().zip(&asked).zip(many.chunks_exact(beside.len())) {
            for (at, (chance, other)) in row.iter().zip(many).enumerate() {
                if !asked.contains(&at) {
                    assert!(chance.is_nan(), "network {seed}: {at} was not asked");
                    continue;
                }
                close(*chance, (other.ln() - solved.ln_evidence()).exp(), "across", seed);
                across += 1;
            }
        }
    }
    assert!(compared > 10_000 && across > 1_000, "{compared} {across}");
    assert!(many_parts > 10, "{many_parts}");
}

/// A pass for each column and walks for its rows come to the same as a pass for each row; and so does a solution given the
/// states of a row, and a walk to them from none.
#[test]
fn rows_and_columns_are_as_each_alone() {
    let (mut turned, mut given, mut impossible) = (0, 0, 0);
    for seed in 0..NETWORKS {
        let Some((mut r, net, evidence, _)) = case(seed) else {
            continue;
        };
        let solved = solve_seen(&net, &evidence, &Limits::default()).unwrap();
        let mut live = live(&net, &solved);
        live.retain(|v| evidence.get(*v).is_none());
        if live.is_empty() {
            continue;
        }
        let states: Vec<Vec<(Var, usize)>> = (0..4)
            .map(|count| {
                let mut states: Vec<(Var, usize)> = (0..count)
                    .map(|_| {
                        let var = live[r.below(live.len())];
                        (var, r.below(net.states(var)))
                    })
                    .collect();
                states.sort_unstable();
                states.dedup_by_key(|(var, _)| *var);
                states
            })
            .collect();
        let mut beside = vec![Supposition::default()];
        for var in below(&net, &evidence, &solved) {
            beside.push(Supposition {
                at_most: vec![(var, r.below(net.states(var)))],
                ..Supposition::default()
            });
        }
        let rows: Vec<_> = states.iter().map(|one| solved.row(one).unwrap().unwrap()).collect();
        let columns: Vec<_> = beside
            .iter()
            .map(|one| solved.terms(&solved.plain(one)).unwrap())
            .collect();
        let asked = vec![(0..columns.len()).collect::<Vec<_>>(); rows.len()];
        let by = |pass: usize| {
            let grid = Grid::by(pass, &solved, &rows, &columns, &asked);
            let mut sums = grid.sums(rows.len(), (0..grid.parts()).map(|part| grid.found(part)));
            for (row, sums) in sums.iter_mut().enumerate() {
                let not = |(column, _): &(usize, &mut f64)| !grid.answers(row, *column);
                sums.iter_mut()
                    .enumerate()
                    .filter(not)
                    .for_each(|(_, sum)| *sum = f64::NAN);
            }
            sums
        };
        let (straight, around) = (by(usize::MAX), by(0));
        // Where either is no walk, it is not answered so.
        let both = straight.iter().flatten().zip(around.iter().flatten());
        for (a, b) in both.filter(|(a, b)| !a.is_nan() && !b.is_nan()) {
            assert!((a - b).abs() <= 1e-12 + 1e-9 * a.abs(), "network {seed}: {a} {b}");
            turned += usize::from(a.to_bits() != b.to_bits());
        }
        let joint = solved.ln_joint(&states).unwrap();
        for ((states, ln), row) in states.iter().zip(joint).zip(&straight) {
            let share = (ln - solved.ln_evidence()).exp();
            assert!(
                row[0].is_nan() || (share - row[0]).abs() <= 1e-12 + 1e-9 * share,
                "network {seed}: {share} {}",
                row[0]
            );
            match solved.given(states) {
                Ok(known) => {
                    close(known.ln_evidence(), ln, "given", seed);
                    given += 1;
                }
                Err(SolveError::Impossible) => {
                    assert!(share < 1e-12, "network {seed}: {share}");
                    impossible += 1;
                }
                Err(error) => panic!("network {seed}: {error}"),
            }
        }
    }
    assert!(
        turned > 100 && given > 1_000 && impossible > 0,
        "{turned} {given} {impossible}"
    );
}

/// The network with one contribution of a noisy-MAX (a cause, or with `None` the leak) as a variable of its own, and where
/// each variable is in it. The new one comes just before the noisy-MAX.
fn laid_out(net: &Network, var: Var, cause: Option<usize>) -> (Network, Vec<Var>, Var) {
    let mut out = Network::new();
    let mut to: Vec<Var> = Vec::new();
    let mut own = var;
    for (v, node) in net.vars().zip(&net.model.nodes) {
        let parents: Vec<Var> = node.parents.iter().map(|p| to[p.index()]).collect();
        let new = match &node.family {
            Family::Table(rows) => out.table(node.states, &parents, rows.clone()),
            Family::NoisyMax(noisy) => {
                let mut causes = noisy.causes.clone();
                causes.iter_mut().for_each(|c| c.parent = to[c.parent.index()]);
                let mut leak = noisy.leak.clone();
                if v == var {
                    let same = |s: usize| (0..node.states).map(|x| f64::from(u8::from(x == s))).collect();
                    let identity: Vec<Vec<f64>> = (0..node.states).map(same).collect();
                    let z = match cause {
                        Some(c) => {
                            let old = causes.remove(c);
                            out.table(node.states, &[old.parent], old.rows.concat())
                        }
                        None => out.table(node.states, &[], std::mem::replace(&mut leak, identity[0].clone())),
                    };
                    own = z.unwrap();
                    causes.push(Cause {
                        parent: own,
                        rows: identity,
                    });
                }
                out.noisy_max(leak, causes)
            }
        };
        to.push(new.unwrap());
    }
    for c in &net.model.constraints {
        let over: Vec<Var> = c.over.iter().map(|v| to[v.index()]).collect();
        out.constraint(&over, c.weights.clone()).unwrap();
    }
    (out, to, own)
}

/// What a leak or a cause did equals the posterior of its contribution as a variable of its own, tables and sweeps alike.
#[test]
fn uses_agree_with_contributions_as_variables() {
    let mut compared = 0;
    for seed in 0..NETWORKS {
        let Some((mut r, net, evidence, solved)) = case(seed) else {
            continue;
        };
        let plan = &solved.core.plan;
        let plain = |v: &Var| {
            let live = plan.bucket_of(*v).is_some();
            let of_kind = matches!(evidence.get(*v), Some(Finding::OfKind { .. }));
            net.is_noisy_max(*v) && net.states(*v) > 1 && !of_kind && (live || evidence.get(*v).is_some())
        };
        let some: Vec<Var> = net.vars().filter(plain).collect();
        let live: Vec<Var> = net.vars().filter(|v| plan.bucket_of(*v).is_some()).collect();
        if some.is_empty() || live.is_empty() {
            continue;
        }
        let var = some[r.below(some.len())];
        let other = live[r.below(live.len())];
        let states = match r.chance(0.5) {
            true => vec![(other, r.below(net.states(other)))],
            false => Vec::new(),
        };
        let uses = solved.uses(&states).unwrap();
        let causes = net.causes(var);
        let cause = (!causes.is_empty() && r.chance(0.8)).then(|| r.below(causes.len()));
        let (wider, to, own) = laid_out(&net, var, cause);
        let seen: Evidence = evidence.iter().map(|(v, f)| (to[v.index()], f.clone())).collect();
        let brute = Brute::new(&wider, &seen);
        let supposed: Vec<(Var, usize)> = states.iter().map(|(v, s)| (to[v.index()], *s)).collect();
        let total = brute.weight_of(&supposed);
        if total < 1e-9 * brute.total() {
            continue;
        }
        close(uses.ln(), total.ln(), "ln P", seed);
        let parent = cause.map(|c| causes[c].parent);
        // Of a cause, what it does while its parent is in its last state.
        let last = parent.map(|p| (to[p.index()], net.states(p) - 1));
        let found = match cause {
            None => uses.leak(var),
            Some(c) => uses.cause(var, c, |s| Some(s) == last.map(|(_, s)| s)),
        };
        let found = found.unwrap();
        let share = |grade: usize| {
            let mut all = supposed.clone();
            all.extend(last);
            all.push((own, grade));
            brute.weight_of(&all) / total
        };
        close(found.idle, share(0), "idle", seed);
        close(found.acted, (1..net.states(var)).map(share).sum(), "acted", seed);
        compared += 1;
    }
    assert!(compared > 500, "{compared}");
}
