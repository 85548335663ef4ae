//! Numbers: extremes, bits, memory and limits.

#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

#[path = "support/kinds.rs"]
mod kinds;

use wythe_infer::{
    Cause, Evidence, Finding, Limits, Network, NetworkError, SolveError, Solver, Var, joint, most_probable_causes,
    probability_of, sequence, solve,
};

/// The bits of every answer about a case.
fn bits(seed: u64) -> Vec<u64> {
    let made = kinds::make(kinds::HOUSE, seed);
    let (net, evidence) = (made.network(), made.case(0));
    let solved = solve(&net, &evidence, &Limits::default()).unwrap();
    let target = Var::from_index(5);
    let mut out = vec![solved.ln_evidence().to_bits()];
    for var in net.vars() {
        out.extend(solved.posterior(var).iter().map(|p| p.to_bits()));
    }
    for (_, without) in solved.leave_one_out().unwrap() {
        out.extend(without.posterior(target).iter().map(|p| p.to_bits()));
    }
    let unseen: Vec<Var> = net.vars().filter(|v| evidence.get(*v).is_none()).collect();
    for look in solved.looks(&unseen, &[target]).unwrap() {
        out.extend(look.chances().iter().map(|p| p.to_bits()));
    }
    for (_, f) in solved.sensitivities(target, 1).unwrap().iter() {
        out.extend([f.a.to_bits(), f.b.to_bits(), f.d.to_bits()]);
    }
    out
}

#[test]
fn answers_are_the_same_to_the_last_bit() {
    for seed in 0..5 {
        let first = bits(seed);
        assert!(first.len() > 1000);
        assert_eq!(first, bits(seed));
    }
}

/// One grade on, or back to the first, for some of the positive findings; another likelihood for some of the soft ones.
fn moved(net: &Network, evidence: &Evidence, number: usize) -> Evidence {
    let mut out = evidence.clone();
    for (i, (var, finding)) in evidence
        .iter()
        .enumerate()
        .filter(|(i, _)| (i + number).is_multiple_of(3))
    {
        let other = match finding {
            Finding::State(s @ 1..) if s + 1 < net.states(var) => Finding::State(s + 1),
            Finding::State(1..) => Finding::State(1),
            Finding::Likelihood(l) => Finding::Likelihood(l.iter().map(|x| x * x + 0.001 * i as f64).collect()),
            other => other.clone(),
        };
        out.insert(var, other);
    }
    out
}

/// Whatever a solver kept from the cases before, its answers have the same bits as those of a solver that has seen no other
/// case, if that plans alike.
#[test]
fn a_kept_plan_answers_to_the_last_bit() {
    for kind in [kinds::WALL, kinds::HOUSE, kinds::BIG, kinds::SMALL_DENSE, kinds::DENSE] {
        let made = kinds::make(kind, 1);
        let net = made.network();
        let mut evidence = made.case(0);
        let mut kept = Solver::new(&net, &Limits::default());
        let bits = |solver: &Solver| -> Vec<u64> {
            let roots = (0..kind.causes).map(Var::from_index);
            roots
                .flat_map(|v| solver.posterior(v).unwrap())
                .map(f64::to_bits)
                .collect()
        };
        let mut different = std::collections::BTreeSet::new();
        for number in 0..8 {
            evidence = moved(&net, &evidence, number);
            let mut fresh = Solver::new(&net, &Limits::default());
            let a = kept.solve(&evidence).unwrap();
            let b = fresh.solve(&evidence).unwrap();
            assert_eq!(a.to_bits(), b.to_bits(), "{} {number}", kind.name);
            assert_eq!(bits(&kept), bits(&fresh), "{} {number}", kind.name);
            different.insert(a.to_bits());
        }
        assert_eq!(kept.plans(), 1, "{}", kind.name);
        assert!(different.len() > 4, "{}", kind.name);
    }
}

/// Dense cases with soft findings differ a thousandfold in cost. What is over the limit is refused before any number is
/// computed; what is not multiplies no more than every entry allowed, by every link of a cause, in each of its states.
#[test]
fn dense_and_soft_cases_are_answered_within_the_limit_or_refused() {
    let made = kinds::make(kinds::DENSE_SOFT, 0);
    let net = made.network();
    let limits = Limits { width: 14 };
    let most = (4 << limits.width) * kinds::DENSE_SOFT.observed * 2;
    let (mut answered, mut refused) = (0, 0);
    for number in 0..30 {
        match solve(&net, &made.case(number), &limits) {
            Ok(solved) => {
                assert!(solved.entries() <= most, "case {number}: {}", solved.entries());
                answered += 1;
            }
            Err(SolveError::TooTangled { width, limit, .. }) => {
                assert!(limit == 14 && width >= 14, "case {number}: {width}");
                refused += 1;
            }
            Err(other) => panic!("case {number}: {other}"),
        }
    }
    assert!(answered > 0 && refused > 0, "{answered} answered, {refused} refused");
}

#[test]
fn a_kept_plan_allocates_nothing() {
    for kind in [kinds::WALL, kinds::HOUSE, kinds::BIG, kinds::DENSE] {
        let made = kinds::make(kind, 0);
        let net = made.network();
        let evidence = made.case(0);
        let mut other = evidence.clone();
        for (var, finding) in evidence.iter() {
            if matches!(finding, Finding::State(s) if *s > 0) {
                other.insert(var, Finding::State(net.states(var) - 1));
            }
        }
        let mut solver = Solver::new(&net, &Limits::default());
        solver.solve(&evidence).unwrap();
        solver.solve(&other).unwrap();
        solver.solve(&evidence).unwrap();
        let counted = allocation_counter::measure(|| {
            solver.solve(&other).unwrap();
            solver.solve(&evidence).unwrap();
            let sum: f64 = solver.posterior(Var::from_index(0)).unwrap().sum();
            assert!((sum - 1.0).abs() < 1e-12);
        });
        assert_eq!(counted.count_total, 0, "{}", kind.name);
        assert_eq!(solver.plans(), 1, "{}", kind.name);
    }
}

/// Four hundred findings of chance 1e-30 each: the probability is far below the smallest number.
#[test]
fn very_small_probabilities_do_not_underflow() {
    let mut net = Network::new();
    let cause = net.table(2, &[], vec![0.5, 0.5]).unwrap();
    let mut evidence = Evidence::new();
    for _ in 0..400 {
        let rows = vec![1.0 - 1e-30, 1e-30, 1.0 - 2e-30, 2e-30];
        let effect = net.table(2, &[cause], rows).unwrap();
        evidence.insert(effect, Finding::State(1));
    }
    let solved = solve(&net, &evidence, &Limits::default()).unwrap();
    let expected = 400.0 * (2e-30f64).ln() + 0.5f64.ln();
    assert!((solved.ln_evidence() - expected).abs() < 1e-9);
    assert!((solved.posterior(cause)[0] - 0.5f64.powi(400)).abs() < 1e-130);
}

/// Products over hundreds of negative findings keep their exponents.
#[test]
fn hundreds_of_negative_findings_do_not_underflow() {
    let mut net = Network::new();
    let cause = net.table(2, &[], vec![1e-9, 1.0 - 1e-9]).unwrap();
    let mut evidence = Evidence::new();
    for _ in 0..300 {
        let effect = net
            .noisy_max(vec![0.5, 0.5], vec![Cause::boolean(cause, 0.99)])
            .unwrap();
        evidence.insert(effect, Finding::State(0));
    }
    let solved = solve(&net, &evidence, &Limits::default()).unwrap();
    let expected = 300.0 * 0.5f64.ln() + 1e-9f64.ln();
    assert!((solved.ln_evidence() - expected).abs() < 1e-6);
    assert!(solved.posterior(cause)[0] > 1.0 - 1e-12);
}

#[test]
fn impossible_evidence_is_named() {
    let mut net = Network::new();
    let a = net.table(2, &[], vec![1.0, 0.0]).unwrap();
    let b = net.noisy_max(vec![1.0, 0.0], vec![Cause::boolean(a, 0.5)]).unwrap();
    let seen = Evidence::new().with(b, Finding::State(1));
    let limits = Limits::default();
    assert_eq!(solve(&net, &seen, &limits).err(), Some(SolveError::Impossible));
    assert_eq!(joint(&net, &seen, &[a], &limits).err(), Some(SolveError::Impossible));
    let none = Evidence::new();
    assert_eq!(probability_of(&net, &none, &[(b, 1)], &limits), Ok(0.0));
}

/// A grid of soft couplings is too tangled, and says which variables hang together.
#[test]
fn too_tangled_is_a_typed_answer() {
    let mut net = Network::new();
    let vars: Vec<Var> = (0..900).map(|_| net.table(2, &[], vec![0.5, 0.5]).unwrap()).collect();
    for i in 0..30 {
        for j in 0..30 {
            let at = i * 30 + j;
            let others = [(j < 29).then_some(at + 1), (i < 29).then_some(at + 30)];
            for other in others.into_iter().flatten() {
                net.constraint(&[vars[at], vars[other]], vec![2.0, 1.0, 1.0, 2.0])
                    .unwrap();
            }
        }
    }
    match solve(&net, &Evidence::new(), &Limits { width: 12 }) {
        Err(SolveError::TooTangled { width, limit, vars }) => {
            assert!(width > 12 && limit == 12 && !vars.is_empty());
        }
        other => panic!("{:?}", other.map(|s| s.width())),
    }
}

/// Findings over thirty causes each need no table at all when negative, and none of 2^30 entries
/// when positive.
#[test]
fn thirty_parents_are_no_matter() {
    let mut net = Network::new();
    let causes: Vec<Var> = (0..30).map(|_| net.table(2, &[], vec![0.9, 0.1]).unwrap()).collect();
    let clue = |net: &mut Network| {
        let links = causes.iter().map(|c| Cause::boolean(*c, 0.3)).collect();
        net.noisy_max(vec![0.99, 0.01], links).unwrap()
    };
    let (a, b, c) = (clue(&mut net), clue(&mut net), clue(&mut net));
    let evidence = Evidence::new().with(a, Finding::State(0)).with(b, Finding::State(1));
    let solved = solve(&net, &evidence, &Limits { width: 8 }).unwrap();
    // By symmetry and independence: each cause's weight is .9 to .1 x .7 after the first finding.
    let q: f64 = 0.07 / 0.97;
    let none = 0.99 * (1.0 - 0.3 * q).powi(30);
    let expected = q * (1.0 - 0.99 * 0.7 * (1.0 - 0.3 * q).powi(29)) / (1.0 - none);
    assert!((solved.posterior(causes[7])[1] - expected).abs() < 1e-12);
    assert!(solved.posterior(c)[1] > 0.0);
}

#[test]
fn what_does_not_fit_is_refused() {
    let mut net = Network::new();
    let a = net.table(2, &[], vec![0.5, 0.5]).unwrap();
    let nobody = Var::from_index(9);
    assert_eq!(net.table(2, &[nobody], vec![]), Err(NetworkError::Unknown(9)));
    assert_eq!(net.table(2, &[a, a], vec![]), Err(NetworkError::Repeated(0)));
    assert_eq!(net.table(0, &[], vec![]), Err(NetworkError::Size));
    assert_eq!(
        net.table(2, &[], vec![0.5, 0.6]),
        Err(NetworkError::NotADistribution(0))
    );
    assert_eq!(
        net.table(2, &[], vec![f64::NAN, 1.0]),
        Err(NetworkError::NotADistribution(0))
    );
    assert_eq!(net.constraint(&[a], vec![-1.0, 1.0]), Err(NetworkError::BadWeight(0)));
    let limits = Limits::default();
    for (var, finding) in [
        (nobody, Finding::State(0)),
        (a, Finding::State(2)),
        (a, Finding::Likelihood(vec![1.0])),
        (a, Finding::Likelihood(vec![-1.0, 1.0])),
        (
            a,
            Finding::OfKind {
                likelihood: vec![0.0, 1.0],
                leak_share: 0.5,
                shares: vec![],
            },
        ),
    ] {
        let evidence = Evidence::new().with(var, finding);
        let found = solve(&net, &evidence, &limits).err();
        assert!(matches!(found, Some(SolveError::Mismatch { .. })), "{found:?}");
        assert!(sequence(&net, &evidence, &[vec![var]], &limits).is_err());
        assert!(most_probable_causes(&net, &evidence, &limits).is_err());
    }
}
