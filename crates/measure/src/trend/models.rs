//! The four models: fitting and weighing them.

use core::f64::consts::TAU;

use super::{Movement, TrendFit};
use crate::Estimate;
use crate::least_squares::{Fit, fit};

pub(super) fn columns(movement: Movement, t: &[f64]) -> Vec<Vec<f64>> {
    let mut columns = vec![vec![1.0; t.len()]];
    if matches!(movement, Movement::Linear | Movement::Both) {
        columns.push(t.to_vec());
    }
    if matches!(movement, Movement::Seasonal | Movement::Both) {
        columns.push(t.iter().map(|t| libm::cos(TAU * t)).collect());
        columns.push(t.iter().map(|t| libm::sin(TAU * t)).collect());
    }
    columns
}

/// How much wider the errors must be for the richest usable model to fit.
pub(super) fn widening(t: &[f64], y: &[f64], weights: &[f64], cycle: bool) -> f64 {
    let columns = columns(if cycle { Movement::Both } else { Movement::Linear }, t);
    let spare = y.len().saturating_sub(columns.len());
    match fit(&columns, y, weights) {
        Some(f) if spare >= 2 => libm::sqrt(f.chi2 / spare as f64).max(1.0),
        _ => 1.0,
    }
}

pub(super) fn model(movement: Movement, t: &[f64], y: &[f64], weights: &[f64]) -> Option<TrendFit> {
    let columns = columns(movement, t);
    let f = fit(&columns, y, weights)?;
    let none = Estimate { value: 0.0, sd: 0.0 };
    let at = |f: &Fit, i: usize| Estimate {
        value: f.coefficients[i],
        sd: f.sd(i),
    };
    let linear = matches!(movement, Movement::Linear | Movement::Both);
    let swing = if columns.len() >= 3 {
        let i = columns.len() - 2;
        (at(&f, i), at(&f, i + 1), f.covariance[(i, i + 1)])
    } else {
        (none, none, 0.0)
    };
    let (c, s) = (swing.0.value, swing.1.value);
    let size = libm::hypot(c, s);
    let sd = if size > 0.0 {
        let v = c * c * swing.0.sd.powi(2) + 2.0 * c * s * swing.2 + s * s * swing.1.sd.powi(2);
        libm::sqrt(v.max(0.0)) / size
    } else {
        swing.0.sd.max(swing.1.sd)
    };
    Some(TrendFit {
        movement,
        middle_mm: at(&f, 0),
        rate_mm_per_year: if linear { at(&f, 1) } else { none },
        swing_mm: (swing.0, swing.1),
        amplitude_mm: Estimate { value: size, sd },
        chi2: f.chi2,
        weight: 0.0,
    })
}

/// Weights by the Bayesian information criterion, most first.
pub(super) fn weigh(fits: &mut [TrendFit], n: usize) {
    let cost = |m: Movement| match m {
        Movement::Constant => 1.0,
        Movement::Linear => 2.0,
        Movement::Seasonal => 3.0,
        Movement::Both => 4.0,
    };
    let criterion = |f: &TrendFit| f.chi2 + cost(f.movement) * libm::log(n as f64);
    let least = fits.iter().map(criterion).fold(f64::INFINITY, f64::min);
    let raw: Vec<f64> = fits.iter().map(|f| libm::exp(-0.5 * (criterion(f) - least))).collect();
    let total: f64 = raw.iter().sum();
    fits.iter_mut().zip(raw).for_each(|(f, w)| f.weight = w / total);
    fits.sort_by(|a, b| b.weight.total_cmp(&a.weight).then(a.movement.cmp(&b.movement)));
}
