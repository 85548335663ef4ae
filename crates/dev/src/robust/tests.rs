use super::*;

/// With nothing scaled the pack is as it was; scaled, every chance stays one and shares still add up.
#[test]
fn numbers_are_scaled_and_stay_numbers() {
    let pack = wythe::built_in_pack();
    let count = numbers(pack).len();
    assert!(count > 1000);
    let same = scaled(pack, &vec![0.0; count]);
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-12, "{a} {b}");
    near(
        same.mechanisms[0].prevalence.chance,
        pack.mechanisms[0].prevalence.chance,
    );
    // 3.0103 dB doubles odds: from 0.5 of 1, to 1; here from p to 2p/(1+p).
    let doubled = scaled(pack, &vec![10.0 * 2.0_f64.log10(); count]);
    let p = pack.clues[0].background.value;
    near(doubled.clues[0].background.value, 2.0 * p / (1.0 + p));
    let shaken = scaled(pack, &draws(1, 1, count));
    for clue in &shaken.clues {
        near(clue.background_grades.iter().sum(), 1.0);
        assert!(clue.background.value > 0.0 && clue.background.value < 1.0);
    }
    assert!(
        shaken
            .mechanisms
            .iter()
            .all(|one| one.prevalence.from <= one.prevalence.chance && one.prevalence.chance <= one.prevalence.to)
    );
}

/// Draws differ between runs, fill the span, and have the mean and variance of a uniform.
#[test]
fn draws_are_uniform() {
    let draws: Vec<f64> = (0..200).flat_map(|run| draws(7, run, 100)).collect();
    let mean = draws.iter().sum::<f64>() / draws.len() as f64;
    let variance = draws.iter().map(|draw| (draw - mean).powi(2)).sum::<f64>() / draws.len() as f64;
    // Standard errors: 1.73/√20000 = 0.012, and 0.019 for the variance of 3.
    assert!(mean.abs() < 0.06 && (variance - 3.0).abs() < 0.1, "{mean} {variance}");
    assert!(draws.iter().all(|draw| draw.abs() <= DECIBELS));
}

/// A short run: deterministic, every house weighed, and a table that names the numbers.
#[test]
fn a_short_run_comes_out_the_same_twice() {
    let one = robust(4, 20, 2).unwrap();
    assert!(one.houses() >= 40 && one.changed() <= 1.0);
    assert_eq!(one.top.len(), 2);
    assert_eq!(one.markdown(), robust(4, 20, 2).unwrap().markdown());
    assert_ne!(one.markdown(), robust(4, 21, 2).unwrap().markdown());
}
