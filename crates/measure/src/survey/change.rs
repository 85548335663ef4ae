//! Two visits to one floor: what moved, beyond the error of both.

use nalgebra::DMatrix;

use crate::{Estimate, normal_cdf};

use super::plane::median_sorted;
use super::{Level, Levels, SurveyError};

/// What the changes are measured from.
#[derive(Debug, Clone, PartialEq)]
pub enum Benchmark {
    /// The mean of points named as stable: moved if they disagree.
    Stable(Vec<String>),
    /// One bench mark, and any drift of it shown by three or more points that
    /// agree with one another.
    Point(String),
    /// None: the median change is taken as no change, so that only changes
    /// relative to the rest are shown.
    None,
}

/// A point that moved beyond noise.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    /// Its name.
    pub point: String,
    /// Change in height, mm, up.
    pub change_mm: Estimate<f64>,
}

/// Change between two visits.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Change at each shared point as levels, so that plane, lines and shape
    /// of the change can be found like those of a floor. How the floor was
    /// built does not enter.
    pub levels: Levels,
    /// Points that moved beyond noise, allowing for how many were looked at
    /// (95 % over all of them), in the order of the first visit.
    pub moved: Vec<Moved>,
    /// Drift of the bench mark that was taken out, mm, when one was found.
    pub drift_mm: Option<Estimate<f64>>,
    /// What must be said with it.
    pub notes: Vec<String>,
}

/// Compare two visits, point by point by name.
///
/// # Errors
///
/// Fewer than three shared points; a bench mark that is not among them.
pub fn change(before: &Levels, after: &Levels, from: &Benchmark) -> Result<Change, SurveyError> {
    let mut pairs = Vec::new();
    for (i, p) in before.points().iter().enumerate() {
        if let Some(j) = after.points().iter().position(|q| q.name == p.name) {
            pairs.push((i, j));
        }
    }
    if pairs.len() < 3 {
        return Err(SurveyError::TooFewShared {
            found: pairs.len(),
            needed: 3,
        });
    }
    let raw: Vec<f64> = pairs
        .iter()
        .map(|&(i, j)| after.points()[j].z - before.points()[i].z)
        .collect();
    let sds: Vec<f64> = pairs
        .iter()
        .map(|&(i, j)| libm::hypot(before.point_sd(i), after.point_sd(j)))
        .collect();
    let named = |name: &str| pairs.iter().position(|&(i, _)| before.points()[i].name == name);
    let mut notes = Vec::new();
    let mut drift_mm = None;
    let datum: Vec<usize> = match from {
        Benchmark::Stable(names) => names.iter().filter_map(|n| named(n)).collect(),
        Benchmark::Point(name) => named(name).into_iter().collect(),
        Benchmark::None => Vec::new(),
    };
    let mut base = match (from, datum.is_empty()) {
        (Benchmark::None, _) => {
            notes.push("No bench mark: only changes relative to the middle of all changes are known.".to_owned());
            median(&raw)
        }
        (_, true) => {
            return Err(SurveyError::TooFewShared { found: 0, needed: 1 });
        }
        _ => datum.iter().map(|&k| raw[k]).sum::<f64>() / datum.len() as f64,
    };
    let mut members = datum.clone();
    if let (Benchmark::Point(name), [mark]) = (from, datum.as_slice()) {
        let agreeing = consensus(&raw, &sds, *mark);
        let mean = agreeing.iter().map(|&k| raw[k]).sum::<f64>() / agreeing.len().max(1) as f64;
        let sd = libm::hypot(sds[*mark], sds[*mark] / (agreeing.len().max(1) as f64).sqrt());
        if agreeing.len() >= 3 && agreeing.len() * 2 > pairs.len() && (raw[*mark] - mean).abs() > 3.0 * sd {
            drift_mm = Some(Estimate {
                value: raw[*mark] - mean,
                sd,
            });
            notes.push(format!(
                "{} points agree with one another and not with bench mark {name}: it is taken to have moved {:+.1} mm, and that was taken out.",
                agreeing.len(), raw[*mark] - mean
            ));
            (base, members) = (mean, agreeing);
        } else if agreeing.len() < 3 {
            notes.push(format!(
                "Bench mark {name} can't be checked: fewer than three points agree."
            ));
        }
    }
    if let Benchmark::Stable(names) = from {
        if datum.len() < 3 {
            notes.push(format!(
                "Only {} stable points are shared: they can't check one another.",
                datum.len()
            ));
        }
        for (k, name) in datum.iter().zip(names) {
            if (raw[*k] - base).abs() > 3.0 * sds[*k] {
                notes.push(format!("Point {name}, taken as stable, moved against the others."));
            }
        }
    }
    let levels = differences(before, after, &pairs, &raw, base)?;
    let moved = beyond_noise(&levels, &members);
    Ok(Change {
        levels,
        moved,
        drift_mm,
        notes,
    })
}

fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    median_sorted(&sorted)
}

/// The largest set of points, without the mark, whose changes agree.
fn consensus(raw: &[f64], sds: &[f64], mark: usize) -> Vec<usize> {
    let mut best = Vec::new();
    for centre in (0..raw.len()).filter(|&c| c != mark) {
        let agree = |&k: &usize| k != mark && (raw[k] - raw[centre]).abs() <= 2.0 * libm::hypot(sds[k], sds[centre]);
        let set: Vec<usize> = (0..raw.len()).filter(agree).collect();
        if set.len() > best.len() {
            best = set;
        }
    }
    best
}

/// Changes as levels; each keeps the error of both visits. The readings of
/// each point are held in its share of a common variance.
fn differences(
    before: &Levels,
    after: &Levels,
    pairs: &[(usize, usize)],
    raw: &[f64],
    base: f64,
) -> Result<Levels, SurveyError> {
    let points: Vec<Level> = pairs
        .iter()
        .zip(raw)
        .map(|(&(i, j), r)| Level {
            z: r - base,
            readings: before.points()[i].readings.min(after.points()[j].readings),
            ..before.points()[i].clone()
        })
        .collect();
    let sd = libm::hypot(before.sd_mm(), after.sd_mm()).min(100.0);
    let joined = before.joined(after, pairs);
    Levels::with_shared(points, sd, joined.0, joined.1)
}

fn beyond_noise(levels: &Levels, datum: &[usize]) -> Vec<Moved> {
    let n = levels.points().len();
    let against: Vec<(usize, f64)> = datum.iter().map(|&k| (k, -1.0 / datum.len() as f64)).collect();
    let mut moved = Vec::new();
    for (k, p) in levels.points().iter().enumerate() {
        let mut weights = against.clone();
        weights.push((k, 1.0));
        let sd = levels.variance(&merged(weights)).sqrt();
        let chance = if sd > 0.0 {
            2.0 * normal_cdf(-p.z.abs() / sd)
        } else {
            1.0
        };
        if chance * (n as f64) < 0.05 {
            moved.push(Moved {
                point: p.name.clone(),
                change_mm: Estimate { value: p.z, sd },
            });
        }
    }
    moved
}

/// One weight an index.
fn merged(mut weights: Vec<(usize, f64)>) -> Vec<(usize, f64)> {
    weights.sort_by_key(|w| w.0);
    let mut out: Vec<(usize, f64)> = Vec::with_capacity(weights.len());
    for (i, w) in weights {
        match out.last_mut() {
            Some(last) if last.0 == i => last.1 += w,
            _ => out.push((i, w)),
        }
    }
    out
}

/// The shares of two visits side by side.
pub(super) type Joined = (Vec<Vec<(usize, f64)>>, DMatrix<f64>);
