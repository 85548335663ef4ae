use crate::*;

/// The burglary network as printed by Russell & Norvig, AIMA 3e, p. 523: P(B | j, m) = 0.284.
#[test]
fn burglary() {
    let mut net = Network::new();
    let b = net.table(2, &[], vec![0.999, 0.001]).unwrap();
    let e = net.table(2, &[], vec![0.998, 0.002]).unwrap();
    let a = net
        .table(
            2,
            &[b, e],
            vec![0.999, 0.001, 0.71, 0.29, 0.06, 0.94, 0.05, 0.95],
        )
        .unwrap();
    let j = net.table(2, &[a], vec![0.95, 0.05, 0.1, 0.9]).unwrap();
    let m = net.table(2, &[a], vec![0.99, 0.01, 0.3, 0.7]).unwrap();
    let evidence = Evidence::new()
        .with(j, Finding::State(1))
        .with(m, Finding::State(1));
    let solved = solve(&net, &evidence, &Limits::default()).unwrap();
    assert!((solved.posterior(b)[1] - 0.284).abs() < 0.0005);
    let none = solve(&net, &Evidence::new(), &Limits::default()).unwrap();
    assert!((none.posterior(b)[1] - 0.001).abs() < 1e-12);
    assert!((none.posterior(m)[1] - 0.0117).abs() < 0.0001);
    let p = probability_of(&net, &evidence, &[(b, 1), (e, 0)], &Limits::default()).unwrap();
    let q = joint(&net, &evidence, &[b, e], &Limits::default()).unwrap();
    assert!((p - q[2]).abs() < 1e-15);
    assert!((q.iter().sum::<f64>() - 1.0).abs() < 1e-12);
}

/// Noisy-OR fever table, Russell & Norvig (q = 0.6, 0.2, 0.1): P(no fever | cold, flu, malaria).
#[test]
fn fever() {
    let mut net = Network::new();
    let parents: Vec<Var> = (0..3)
        .map(|_| net.table(2, &[], vec![0.5, 0.5]).unwrap())
        .collect();
    let causes = parents
        .iter()
        .zip([0.4, 0.8, 0.9])
        .map(|(p, s)| Cause::boolean(*p, s))
        .collect();
    let fever = net.noisy_max(vec![1.0, 0.0], causes).unwrap();
    for (config, none) in [
        ([0, 0, 0], 1.0),
        ([0, 0, 1], 0.1),
        ([0, 1, 1], 0.02),
        ([1, 0, 1], 0.06),
        ([1, 1, 1], 0.012),
    ] {
        let evidence = parents
            .iter()
            .zip(config)
            .map(|(p, s)| (*p, Finding::State(s)))
            .collect();
        let solved = solve(&net, &evidence, &Limits::default()).unwrap();
        assert!((solved.posterior(fever)[0] - none).abs() < 1e-15);
    }
}
