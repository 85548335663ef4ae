//! Every answer against plain enumeration, on small networks with every feature.
//!
//! The networks, their enumeration and the definitions it goes by are in `support/described.rs`,
//! apart from the crate. Tight limits make the crate lay wide parts out in its other ways.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, missing_docs)]

#[path = "support/described.rs"]
mod described;

use described::{Described, Family, described};
use proptest::prelude::*;
use wythe_infer::{
    Limits, Parameter, SolveError, Solved, Solver, Var, joint, most_probable_explanation, probability_of, sequence,
    solve,
};

const TOLERANCE: f64 = 1e-9;
/// Enumeration goes by differences, which are good to 1e-9 of the total only above this.
const RARE: f64 = 1e-6;

fn var(v: usize) -> Var {
    Var::from_index(v)
}

fn close(found: f64, expected: f64, what: &str) -> Result<(), TestCaseError> {
    prop_assert!(
        (found - expected).abs() <= TOLERANCE,
        "{what}: {found}, by enumeration {expected}"
    );
    Ok(())
}

fn all_close(found: &[f64], expected: &[f64], what: &str) -> Result<(), TestCaseError> {
    prop_assert_eq!(found.len(), expected.len(), "{}", what);
    found.iter().zip(expected).try_for_each(|(f, e)| close(*f, *e, what))
}

/// The solution, unless the case is too rare to check or rightly refused.
fn solved(d: &Described, limits: &Limits) -> Result<Option<Solved>, TestCaseError> {
    let total = d.enumerate().total();
    match solve(&d.network(), &d.evidence(), limits) {
        Ok(solved) => Ok((total > RARE).then_some(solved)),
        Err(SolveError::Impossible) => {
            prop_assert!(total < RARE, "called impossible");
            Ok(None)
        }
        Err(SolveError::TooTangled { width, .. }) => {
            prop_assert!(limits.width < 20, "refused, width {}", width);
            Ok(None)
        }
        Err(other) => Err(TestCaseError::fail(other.to_string())),
    }
}

fn width() -> impl Strategy<Value = Limits> {
    prop_oneof![1 => Just(20), 1 => 2usize..7].prop_map(|width| Limits { width })
}

/// A number of the network: row 0 of a noisy-MAX is its leak, then each cause's rows follow.
fn parameter(d: &Described, v: usize, row: usize, state: usize) -> Parameter {
    let var = var(v);
    let (Family::NoisyMax(_, causes), Some(mut at)) = (&d.families[v], row.checked_sub(1)) else {
        return match &d.families[v] {
            Family::Table(..) => Parameter::Table { var, row, state },
            Family::NoisyMax(..) => Parameter::Leak { var, state },
        };
    };
    for (cause, (_, rows)) in causes.iter().enumerate() {
        if at < rows.len() {
            let row = at;
            return Parameter::Cause { var, cause, row, state };
        }
        at -= rows.len();
    }
    panic!("no row {row}");
}

/// Picks one of `n`.
fn pick(at: &prop::sample::Index, n: usize) -> usize {
    at.index(n)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 5000, failure_persistence: None, ..ProptestConfig::default() })]

    /// All posteriors, ln P(evidence), and the chance of chosen states.
    #[test]
    fn posteriors(d in described(), limits in width(), a in any::<prop::sample::Index>(), b in any::<prop::sample::Index>()) {
        let Some(solved) = solved(&d, &limits)? else { return Ok(()) };
        let all = d.enumerate();
        close(solved.ln_evidence(), all.total().ln(), "ln P(e)")?;
        for v in 0..d.states.len() {
            all_close(solved.posterior(var(v)), &all.posterior(v), "posterior")?;
        }
        let (a, b) = (pick(&a, d.states.len()), pick(&b, d.states.len()));
        let mut states = vec![(a, d.states[a] - 1)];
        if a != b {
            states.push((b, 0));
        }
        let asked: Vec<(Var, usize)> = states.iter().map(|(v, s)| (var(*v), *s)).collect();
        if let Ok(p) = probability_of(&d.network(), &d.evidence(), &asked, &limits) {
            close(p, all.weight_of(&states) / all.total(), "chance of states")?;
        }
        if let Ok(table) = joint(&d.network(), &d.evidence(), &[var(0), var(1)], &limits) {
            for (i, p) in table.iter().enumerate() {
                let states = [(0, i / d.states[1]), (1, i % d.states[1])];
                close(*p, all.weight_of(&states) / all.total(), "joint")?;
            }
        }
    }

    /// Each finding left out in turn; findings entered in two groups; the same through a kept plan.
    #[test]
    fn part_of_the_evidence(d in described(), limits in width(), cut in any::<prop::sample::Index>()) {
        let Some(solved) = solved(&d, &limits)? else { return Ok(()) };
        let net = d.network();
        if let Ok(each) = solved.leave_one_out() {
            for (left, without) in each {
                let less = d.keeping(|v| var(v) != left);
                let all = less.enumerate();
                close(without.ln_evidence(), all.total().ln(), "ln P without")?;
                for v in [left.index(), pick(&cut, d.states.len())] {
                    let found = without.posterior(var(v));
                    // Solved for when asked for, which tight limits may refuse.
                    if limits.width == 20 || !found.is_empty() {
                        all_close(found, &all.posterior(v), "posterior without")?;
                    }
                }
            }
        }
        let cut = pick(&cut, d.states.len() + 1);
        let groups = [(0..cut).map(var).collect(), (cut..d.states.len()).map(var).collect::<Vec<_>>()];
        let mut solver = Solver::new(&net, &limits);
        prop_assert!(solver.solve(&d.evidence()).is_ok());
        let first = d.keeping(|v| v < cut);
        let all = first.enumerate();
        if let Ok(ln) = solver.solve(&first.evidence()) {
            close(ln, all.total().ln(), "ln P, plan kept")?;
            for v in 0..d.states.len() {
                if let Some(p) = solver.posterior(var(v)) {
                    all_close(&p.collect::<Vec<_>>(), &all.posterior(v), "posterior, plan kept")?;
                }
            }
        }
        if let Ok(steps) = sequence(&net, &d.evidence(), &groups, &limits) {
            close(steps[0].ln_evidence(), all.total().ln(), "ln P so far")?;
            close(steps[1].ln_evidence(), d.enumerate().total().ln(), "ln P at the end")?;
            if limits.width == 20 {
                for v in 0..d.states.len() {
                    all_close(steps[0].posterior(var(v)), &all.posterior(v), "posterior so far")?;
                }
            }
        }
    }

    /// What each target would be given each state of each variable without a finding.
    #[test]
    fn looks(d in described(), target in any::<prop::sample::Index>()) {
        let Some(solved) = solved(&d, &Limits::default())? else { return Ok(()) };
        let free: Vec<Var> = (0..d.states.len()).filter(|v| d.findings[*v].is_none()).map(var).collect();
        let target = pick(&target, d.states.len());
        let all = d.enumerate();
        for look in solved.looks(&free, &[var(target)]).unwrap() {
            let v = look.var().index();
            let mut information = 0.0;
            for s in 0..d.states[v] {
                let chance = all.weight_of(&[(v, s)]) / all.total();
                close(look.chances()[s], chance, "chance of a look")?;
                for t in 0..d.states[target] {
                    let both = all.weight_of(&[(v, s), (target, t)]) / all.total();
                    let given = look.given(s, var(target)).unwrap()[t];
                    close(given * chance, both, "target at a look")?;
                    let alone = all.weight_of(&[(target, t)]) / all.total();
                    if both > 0.0 {
                        information += both * (both / (chance * alone)).ln();
                    }
                }
            }
            close(look.information(var(target)).unwrap(), information, "information")?;
        }
    }

    /// One parameter moved anywhere: the sensitivity function and the network moved there.
    #[test]
    fn sensitivities(d in described(), limits in width(), pick_var in any::<prop::sample::Index>(),
        pick_row in any::<prop::sample::Index>(), pick_state in any::<prop::sample::Index>(), t in 0.1..0.9f64) {
        let Some(solved) = solved(&d, &limits)? else { return Ok(()) };
        let Some(target) = (0..d.states.len()).find(|v| !matches!(d.findings[*v], Some(wythe_infer::Finding::State(_)))) else {
            return Ok(());
        };
        let Ok(functions) = solved.sensitivities(var(target), 0) else { return Ok(()) };
        let v = pick(&pick_var, d.states.len());
        if d.states[v] == 1 {
            return Ok(());
        }
        let state = pick(&pick_state, d.states[v]);
        let row = pick(&pick_row, d.rows(v));
        let f = functions.of(parameter(&d, v, row, state)).unwrap();
        let before = d.enumerate();
        close(f.at(f.now), before.posterior(target)[0], "now")?;
        let mut moved = d.clone();
        let numbers = moved.row(v, row);
        close(numbers[state], f.now, "the parameter")?;
        let left = 1.0 - numbers[state];
        for (g, x) in numbers.iter_mut().enumerate() {
            *x = match (g == state, left > 1e-12) {
                (true, _) => t,
                (false, true) => *x * (1.0 - t) / left,
                (false, false) => (1.0 - t) / (d.states[v] - 1) as f64,
            };
        }
        let after = moved.enumerate();
        let ratio = after.total() / before.total();
        prop_assert!((f.c + f.d * t - ratio).abs() <= TOLERANCE * ratio.max(1.0), "P(e): {} {}", f.c + f.d * t, ratio);
        if after.total() > RARE {
            close(f.at(t), after.posterior(target)[0], "moved")?;
        }
    }

    /// No configuration is more probable than the explanation; the conflict is its definition.
    #[test]
    fn explanation_and_conflict(d in described(), limits in width()) {
        let Some(solved) = solved(&d, &limits)? else { return Ok(()) };
        let all = d.enumerate();
        if let Ok(found) = most_probable_explanation(&d.network(), &d.evidence(), &limits) {
            let best = all.weights.iter().copied().fold(0.0f64, f64::max);
            close(found.ln_joint, best.ln(), "best joint")?;
            let states: Vec<(usize, usize)> = found.states.iter().copied().enumerate().collect();
            close(all.weight_of(&states) / best, 1.0, "the states found")?;
        }
        let base = d.keeping(|_| false).enumerate().total();
        let mut conflict = -(all.total() / base).ln();
        for v in (0..d.states.len()).filter(|v| d.findings[*v].is_some()) {
            conflict += (d.keeping(|w| w == v).enumerate().total() / base).ln();
        }
        if let Ok(found) = solved.conflict() {
            close(found, conflict, "conflict")?;
        }
    }
}
