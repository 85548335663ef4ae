//! How much of a normal error distribution falls in each class.

/// Chance that a normal reading falls at or below `x`, standard deviations
/// from its mean. Uses a portable `erfc`, so results are the same everywhere.
///
/// ```
/// assert_eq!(wythe_measure::normal_cdf(0.0), 0.5);
/// ```
pub fn normal_cdf(x: f64) -> f64 {
    0.5 * libm::erfc(-x / core::f64::consts::SQRT_2)
}

/// The point that a standard normal exceeds with chance `tail`.
///
/// By bisection on [`normal_cdf`], good to about 1e-12; `tail` is held within
/// 1e-300 and 0.5.
///
/// ```
/// let z = wythe_measure::normal_upper_tail_point(0.025);
/// assert!((z - wythe_measure::COVER_95).abs() < 1e-12);
/// ```
pub fn normal_upper_tail_point(tail: f64) -> f64 {
    let tail = if tail.is_nan() { 0.5 } else { tail.clamp(1e-300, 0.5) };
    let (mut low, mut high) = (0.0, 40.0);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if normal_cdf(-middle) > tail {
            low = middle
        } else {
            high = middle
        }
    }
    0.5 * (low + high)
}

/// Mass of a normal error distribution between `low` and `high`.
///
/// `value` and `sd` are in the unit of the bounds; `sd` 0 gives an exact
/// step, where `low < value <= high` is 1. The difference is taken in the
/// tail where it loses least. Either bound may be infinite.
pub fn normal_mass(value: f64, sd: f64, low: f64, high: f64) -> f64 {
    if sd == 0.0 {
        return if low < value && value <= high { 1.0 } else { 0.0 };
    }
    let (a, b) = ((low - value) / sd, (high - value) / sd);
    let mass = if a > 0.0 {
        normal_cdf(-a) - normal_cdf(-b)
    } else {
        normal_cdf(b) - normal_cdf(a)
    };
    mass.max(0.0)
}

/// Mass of a normal error distribution in each class.
///
/// `bounds` are the `n - 1` inner bounds of `n` classes, ascending; `value`
/// and its standard deviation `sd` are in the same unit. A class holds its
/// upper bound ("up to 5 mm" includes 5 mm). With `sd` 0 one class has all
/// the mass; otherwise the masses change smoothly across a bound and add up
/// to 1.
///
/// Input that says nothing (a value or error that is not finite, a negative
/// error, bounds out of order) gives every class the same share.
///
/// ```
/// use wythe_measure::class_masses;
///
/// let exact = class_masses(5.0, 0.0, &[0.1, 1.0, 5.0, 15.0, 25.0]);
/// assert_eq!(exact, [0.0, 0.0, 1.0, 0.0, 0.0, 0.0]);
///
/// let rough = class_masses(5.0, 1.0, &[0.1, 1.0, 5.0, 15.0, 25.0]);
/// assert!((rough[2] - 0.5).abs() < 1e-4 && (rough[3] - 0.5).abs() < 1e-12);
/// ```
pub fn class_masses(value: f64, sd: f64, bounds: &[f64]) -> Vec<f64> {
    let classes = bounds.len() + 1;
    let ordered = bounds.windows(2).all(|w| w[0] <= w[1]) && !bounds.iter().any(|b| b.is_nan());
    if !value.is_finite() || !sd.is_finite() || sd < 0.0 || !ordered {
        return vec![1.0 / classes as f64; classes];
    }
    let mut masses: Vec<f64> = (0..classes)
        .map(|i| {
            let low = if i == 0 { f64::NEG_INFINITY } else { bounds[i - 1] };
            let high = bounds.get(i).copied().unwrap_or(f64::INFINITY);
            normal_mass(value, sd, low, high)
        })
        .collect();
    let total: f64 = masses.iter().sum();
    masses.iter_mut().for_each(|m| *m /= total);
    masses
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn normal_cdf_equals_published_table() {
        // Abramowitz & Stegun, table 26.1 (from memory): P(1) and P(1.96).
        assert!((normal_cdf(1.0) - 0.841_344_746_068_543).abs() < 1e-14);
        assert!((normal_cdf(1.959_963_984_540_054) - 0.975).abs() < 1e-15);
    }

    #[test]
    fn input_that_says_nothing_gives_equal_shares() {
        for (v, s, b) in [
            (f64::NAN, 1.0, vec![0.0]),
            (0.0, -1.0, vec![0.0]),
            (0.0, f64::INFINITY, vec![0.0]),
            (0.0, 1.0, vec![f64::NAN]),
        ] {
            assert_eq!(class_masses(v, s, &b), [0.5, 0.5]);
        }
        assert_eq!(class_masses(0.0, 1.0, &[3.0, 1.0]), [1.0 / 3.0; 3]);
        assert_eq!(class_masses(0.0, 1.0, &[]), [1.0]);
    }

    proptest! {
        #[test]
        fn masses_add_up_to_one(v in -100.0..100.0f64, s in 0.0..50.0f64, mut b in proptest::collection::vec(-100.0..100.0f64, 0..8)) {
            b.sort_by(f64::total_cmp);
            let m = class_masses(v, s, &b);
            prop_assert_eq!(m.len(), b.len() + 1);
            prop_assert!((m.iter().sum::<f64>() - 1.0).abs() < 1e-12);
            prop_assert!(m.iter().all(|&x| (0.0..=1.0).contains(&x)));
        }

        #[test]
        fn a_wider_error_never_sharpens(v in 0.0..30.0f64, s in 0.01..5.0f64, k in 1.0..10.0f64) {
            // The mass of the class that holds the value can only fall.
            let b = [0.1, 1.0, 5.0, 15.0, 25.0];
            let at = b.iter().filter(|&&x| v > x).count();
            prop_assert!(class_masses(v, k * s, &b)[at] <= class_masses(v, s, &b)[at] + 1e-12);
        }
    }
}
