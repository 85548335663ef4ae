//! A polynomial from its values at some points, and from its slope at the first of them where that is known.

/// What each point weighs (barycentric form: Berrut & Trefethen 2004; where the slope is known, the first point counts
/// twice: Schneider & Werner 1991).
#[derive(Clone, Debug, Default)]
pub(super) struct Shares {
    weights: Vec<f64>,
    /// The weight of the first point squared, and two slopes there, each over the value there.
    twice: Option<(f64, (f64, f64))>,
}

impl Shares {
    pub fn of(points: &[f64], slopes: Option<(f64, f64)>) -> Self {
        let weight = |one: &f64| {
            let others = points.iter().filter(|other| *other != one);
            others.map(|other| 1.0 / (one - other)).product::<f64>()
        };
        let mut weights: Vec<f64> = points.iter().map(weight).collect();
        let mut twice = None;
        if let (Some(slopes), Some((first, others))) = (slopes, points.split_first())
            && let Some((own, rest)) = weights.split_first_mut()
        {
            twice = Some((*own, slopes));
            *own *= -others.iter().map(|other| 1.0 / (first - other)).sum::<f64>();
            let away = others.iter().map(|other| 1.0 / (other - first));
            rest.iter_mut().zip(away).for_each(|(weight, away)| *weight *= away);
        }
        Shares { weights, twice }
    }

    /// The share that each point's value has in the value at `x`, and what each of the slopes adds, over the first value.
    pub fn at(&self, points: &[f64], x: f64) -> (Vec<f64>, (f64, f64)) {
        if let Some(hit) = points.iter().position(|point| *point == x) {
            let shares = (0..points.len()).map(|index| f64::from(u8::from(index == hit)));
            return (shares.collect(), (0.0, 0.0));
        }
        let each = points.iter().zip(&self.weights);
        let mut shares: Vec<f64> = each.map(|(point, weight)| weight / (x - point)).collect();
        let mut added = (0.0, 0.0);
        if let (Some((own, slopes)), Some(first), Some(share)) = (self.twice, points.first(), shares.first_mut()) {
            let by = own / (x - first);
            *share += by / (x - first);
            added = (by * slopes.0, by * slopes.1);
        }
        let sum: f64 = shares.iter().sum();
        shares.iter_mut().for_each(|share| *share /= sum);
        (shares, (added.0 / sum, added.1 / sum))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cubic from four values, and from three and its slope.
    #[test]
    fn cubics_are_exact() {
        let f = |x: f64| 2.0 - x + 3.0 * x * x + 0.5 * x * x * x;
        let slope = |x: f64| -1.0 + 6.0 * x + 1.5 * x * x;
        let points = [0.02, 0.3, 0.1, 0.15];
        let plain = Shares::of(&points, None);
        let over = slope(0.02) / f(0.02);
        let twice = Shares::of(&points[..3], Some((over, 2.0 * over)));
        for x in [0.02, 0.05, 0.1, 0.2, 0.29] {
            let sum = |shares: &[f64]| shares.iter().zip(points).map(|(share, at)| share * f(at)).sum::<f64>();
            let (shares, added) = plain.at(&points, x);
            assert!((sum(&shares) - f(x)).abs() < 1e-12 && added == (0.0, 0.0), "{x}");
            let (shares, added) = twice.at(&points[..3], x);
            assert!((sum(&shares) + added.0 * f(0.02) - f(x)).abs() < 1e-12, "{x}");
            assert!((added.1 - 2.0 * added.0).abs() < 1e-12);
        }
    }
}
