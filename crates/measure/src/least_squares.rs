//! Weighted linear least squares, by Householder QR.

use nalgebra::{DMatrix, DVector};

/// Below this share of its own length, what a column adds is taken as nothing.
const RANK_TOLERANCE: f64 = 1e-9;

/// A fit `y = sum of coefficient times column`.
#[derive(Debug, Clone)]
pub(crate) struct Fit {
    pub coefficients: Vec<f64>,
    /// Covariance of the coefficients when the weights are `1 / sd^2`.
    pub covariance: DMatrix<f64>,
    /// Weighted sum of squared residuals.
    pub chi2: f64,
    /// `y` less the fit, unweighted.
    pub residuals: Vec<f64>,
}

impl Fit {
    pub fn sd(&self, i: usize) -> f64 {
        libm::sqrt(self.covariance[(i, i)])
    }
}

/// Fit; `None` when the columns don't determine the coefficients. All columns,
/// `y` and `weights` have one length.
pub(crate) fn fit(columns: &[Vec<f64>], y: &[f64], weights: &[f64]) -> Option<Fit> {
    let (n, k) = (y.len(), columns.len());
    if n < k || k == 0 {
        return None;
    }
    let root: Vec<f64> = weights.iter().map(|&w| libm::sqrt(w)).collect();
    let mut x = DMatrix::from_fn(n, k, |i, j| columns[j][i] * root[i]);
    let scale: Vec<f64> = (0..k).map(|j| x.column(j).norm()).collect();
    if scale.iter().any(|s| s.is_nan() || *s <= 0.0 || s.is_infinite()) {
        return None;
    }
    for (j, s) in scale.iter().enumerate() {
        x.column_mut(j).unscale_mut(*s);
    }
    let qr = x.qr();
    let r = qr.r();
    if (0..k).any(|i| r[(i, i)].abs() < RANK_TOLERANCE) {
        return None;
    }
    let mut qty = DVector::from_fn(n, |i, _| y[i] * root[i]);
    qr.q_tr_mul(&mut qty);
    let scaled = r.solve_upper_triangular(&qty.rows(0, k).into_owned())?;
    let inverse = r.solve_upper_triangular(&DMatrix::identity(k, k))?;
    let mut covariance = &inverse * inverse.transpose();
    for i in 0..k {
        for j in 0..k {
            covariance[(i, j)] /= scale[i] * scale[j];
        }
    }
    let coefficients: Vec<f64> = (0..k).map(|j| scaled[j] / scale[j]).collect();
    let residuals: Vec<f64> = (0..n)
        .map(|i| y[i] - (0..k).map(|j| coefficients[j] * columns[j][i]).sum::<f64>())
        .collect();
    let chi2 = residuals.iter().zip(weights).map(|(r, w)| r * r * w).sum();
    Some(Fit {
        coefficients,
        covariance,
        chi2,
        residuals,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_by_hand() {
        // y = 1 + 2x with unit weights: covariance of the slope is 1 / sum (x - mean)^2 = 1/5.
        let x = [0.0, 1.0, 2.0, 3.0];
        let y: Vec<f64> = x.iter().map(|x| 1.0 + 2.0 * x).collect();
        let f = fit(&[vec![1.0; 4], x.to_vec()], &y, &[1.0; 4]).unwrap();
        assert!((f.coefficients[0] - 1.0).abs() < 1e-14 && (f.coefficients[1] - 2.0).abs() < 1e-14);
        assert!((f.covariance[(1, 1)] - 0.2).abs() < 1e-14);
        assert!(f.chi2 < 1e-26);
    }

    #[test]
    fn what_is_not_determined_is_refused() {
        assert!(fit(&[vec![1.0; 3], vec![2.0; 3]], &[1.0, 2.0, 3.0], &[1.0; 3]).is_none());
        assert!(fit(&[vec![1.0; 2], vec![0.0, 1.0], vec![1.0, 0.0]], &[1.0, 2.0], &[1.0; 2]).is_none());
        assert!(fit(&[vec![f64::NAN; 3]], &[1.0; 3], &[1.0; 3]).is_none());
    }
}
