//! Answers in print. Each source is named at its check; where a figure is from memory it says so.

#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

use wythe_infer::{Cause, Evidence, Finding, Limits, Network, Solved, Var, solve};

fn table(net: &mut Network, parents: &[Var], yes: &[f64]) -> Var {
    let rows = yes.iter().flat_map(|p| [1.0 - p, *p]).collect();
    net.table(2, parents, rows).unwrap()
}

fn solved(net: &Network, seen: &[(Var, usize)]) -> Solved {
    let evidence: Evidence = seen.iter().map(|(v, s)| (*v, Finding::State(*s))).collect();
    solve(net, &evidence, &Limits::default()).unwrap()
}

fn yes(solved: &Solved, var: Var) -> f64 {
    solved.posterior(var)[1]
}

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "{found}, expected {expected}");
}

struct Clinic {
    net: Network,
    asia: Var,
    smoke: Var,
    tub: Var,
    lung: Var,
    bronc: Var,
    either: Var,
    xray: Var,
    dysp: Var,
}

/// Lauritzen & Spiegelhalter 1988, the chest clinic.
fn clinic() -> Clinic {
    let mut net = Network::new();
    let asia = table(&mut net, &[], &[0.01]);
    let smoke = table(&mut net, &[], &[0.5]);
    let tub = table(&mut net, &[asia], &[0.01, 0.05]);
    let lung = table(&mut net, &[smoke], &[0.01, 0.1]);
    let bronc = table(&mut net, &[smoke], &[0.3, 0.6]);
    let either = table(&mut net, &[tub, lung], &[0.0, 1.0, 1.0, 1.0]);
    let xray = table(&mut net, &[either], &[0.05, 0.98]);
    let dysp = table(&mut net, &[either, bronc], &[0.1, 0.8, 0.7, 0.9]);
    Clinic {
        net,
        asia,
        smoke,
        tub,
        lung,
        bronc,
        either,
        xray,
        dysp,
    }
}

/// A visit to Asia and shortness of breath: P(lung) = .09952515, P(bronc) = .8114021 and
/// P(evidence) = .004501375, as printed by the gRain package for Lauritzen & Spiegelhalter's
/// network; the other figures were recomputed with pyagrum 3.3.1.
#[test]
fn chest_clinic() {
    let c = clinic();
    let s = solved(&c.net, &[(c.asia, 1), (c.dysp, 1)]);
    near(yes(&s, c.lung), 0.09952515, 5e-9);
    near(yes(&s, c.bronc), 0.8114021, 5e-8);
    near(s.ln_evidence().exp(), 0.004501375, 5e-10);
    near(yes(&s, c.tub), 0.087751, 5e-7);
    near(yes(&s, c.either), 0.1823, 5e-5);
    near(yes(&s, c.xray), 0.219539, 5e-7);
    near(yes(&s, c.smoke), 0.62592, 5e-6);
    let prior = solved(&c.net, &[]);
    for (var, p) in [(c.tub, 0.0104), (c.lung, 0.055), (c.bronc, 0.45), (c.either, 0.064828)] {
        near(yes(&prior, var), p, 5e-7);
    }
    near(yes(&prior, c.xray), 0.11029, 5e-6);
    near(yes(&prior, c.dysp), 0.435971, 5e-7);
    let x = solved(&c.net, &[(c.xray, 1)]);
    near(yes(&x, c.tub), 0.092411, 5e-7);
    near(yes(&x, c.lung), 0.488711, 5e-7);
    near(yes(&x, c.bronc), 0.506326, 5e-7);
    near(yes(&x, c.dysp), 0.640766, 5e-7);
}

/// The burglary network with Russell & Norvig's numbers (Artificial Intelligence: A Modern
/// Approach, 3rd ed., p. 523): both neighbours call, P(burglary) = .284. The alarm alone: .374
/// (.373551), and with an earthquake .003 (.003268): class notes, recomputed with pyagrum.
#[test]
fn burglary() {
    let mut net = Network::new();
    let b = table(&mut net, &[], &[0.001]);
    let e = table(&mut net, &[], &[0.002]);
    let a = table(&mut net, &[b, e], &[0.001, 0.29, 0.94, 0.95]);
    let j = table(&mut net, &[a], &[0.05, 0.9]);
    let m = table(&mut net, &[a], &[0.01, 0.7]);
    near(yes(&solved(&net, &[(j, 1), (m, 1)]), b), 0.284, 5e-4);
    near(yes(&solved(&net, &[(j, 1), (m, 1)]), b), 0.284172, 5e-7);
    near(yes(&solved(&net, &[(a, 1)]), b), 0.373551, 5e-7);
    near(yes(&solved(&net, &[(a, 1), (e, 1)]), b), 0.003268, 5e-7);
    // Conflict (Jensen), base 2: recomputed with pyagrum, not printed anywhere we know.
    let both = solved(&net, &[(j, 1), (m, 1)]).conflict().unwrap();
    near(both / 2f64.ln(), -1.7680, 5e-5);
    let one = solved(&net, &[(j, 1), (m, 0)]).conflict().unwrap();
    near(one / 2f64.ln(), 0.0418, 5e-5);
}

/// Asia, a clear X-ray and shortness of breath: conflict .1429 (base 2), recomputed with pyagrum.
/// The formula, ln of the product of P(e_i) over P(e), is Jensen's.
#[test]
fn conflict_in_the_clinic() {
    let c = clinic();
    let s = solved(&c.net, &[(c.asia, 1), (c.xray, 0), (c.dysp, 1)]);
    near(s.conflict().unwrap() / 2f64.ln(), 0.1429, 5e-5);
}

/// Murphy's sprinkler: wet grass, P(sprinkler) = .430, P(rain) = .708, P(wet) = .6471; with rain
/// known too, P(sprinkler) = .1945. From memory of the tutorial; recomputed with pyagrum.
#[test]
fn sprinkler() {
    let mut net = Network::new();
    let c = table(&mut net, &[], &[0.5]);
    let s = table(&mut net, &[c], &[0.5, 0.1]);
    let r = table(&mut net, &[c], &[0.2, 0.8]);
    let w = table(&mut net, &[s, r], &[0.0, 0.9, 0.9, 0.99]);
    let wet = solved(&net, &[(w, 1)]);
    near(yes(&wet, s), 0.4298, 5e-5);
    near(yes(&wet, r), 0.7079, 5e-5);
    near(wet.ln_evidence().exp(), 0.6471, 5e-5);
    near(yes(&solved(&net, &[(w, 1), (r, 1)]), s), 0.1945, 5e-5);
}

/// Rain, sprinkler and grass as in the encyclopaedia article on Bayesian networks: P(rain | wet)
/// = .3577 (from memory; recomputed with pyagrum).
#[test]
fn rain() {
    let mut net = Network::new();
    let r = table(&mut net, &[], &[0.2]);
    let s = table(&mut net, &[r], &[0.4, 0.01]);
    let g = table(&mut net, &[s, r], &[0.0, 0.8, 0.9, 0.99]);
    near(yes(&solved(&net, &[(g, 1)]), r), 0.3577, 5e-5);
}

/// The noisy-OR fever table of Russell & Norvig (inhibitions .6, .2, .1), all eight rows, as on a
/// printed lecture slide: P(no fever | cold, flu, malaria).
#[test]
fn fever() {
    let mut net = Network::new();
    let parents: Vec<Var> = (0..3).map(|_| table(&mut net, &[], &[0.1])).collect();
    let causes = parents.iter().zip([0.4, 0.8, 0.9]).map(|(p, s)| Cause::boolean(*p, s));
    let fever = net.noisy_max(vec![1.0, 0.0], causes.collect()).unwrap();
    let printed = [1.0, 0.1, 0.2, 0.02, 0.6, 0.06, 0.12, 0.012];
    for (i, expected) in printed.into_iter().enumerate() {
        let seen = [(parents[0], i >> 2 & 1), (parents[1], i >> 1 & 1), (parents[2], i & 1)];
        near(solved(&net, &seen).posterior(fever)[0], expected, 1e-15);
    }
}

/// Good's weighing in the General Report on Tunny, p. 39: twenty heads at a factor of 2 each are
/// 60 decibans, which a prior of −40 leaves 20: about a hundred to one on (60.206 exactly, so
/// 104.86 to 1).
#[test]
fn twenty_heads() {
    let mut net = Network::new();
    let double = table(&mut net, &[], &[1.0 / 10_001.0]);
    let mut evidence = Evidence::new();
    for _ in 0..20 {
        let toss = table(&mut net, &[double], &[0.5, 1.0]);
        evidence.insert(toss, Finding::State(1));
    }
    let p = yes(&solve(&net, &evidence, &Limits::default()).unwrap(), double);
    near(p / (1.0 - p), 104.8576, 1e-9);
    near(10.0 * (p / (1.0 - p)).log10(), 20.0, 0.25);
}
