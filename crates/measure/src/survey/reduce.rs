//! From readings to levels: coverings, stations, closure, precision.

use std::collections::BTreeMap;

use nalgebra::{DMatrix, DVector};

use super::book::{FieldBook, Sense, Shot};
use super::levels::{Level, Levels, check_height, check_place, check_sd};
use super::{Covering, SurveyError};

/// Most readings accepted.
const MAX_SHOTS: usize = 100_000;
/// Most stations and coverings together.
const MAX_OFFSETS: usize = 60;

/// How a closing reading on a station's first point came out.
#[derive(Debug, Clone, PartialEq)]
pub struct Closure {
    /// The station; empty when stations have no names.
    pub station: String,
    /// The point read again.
    pub point: String,
    /// Last reading less first, mm, as heights.
    pub error_mm: f64,
    /// Whether it was more than two standard deviations of a difference, and
    /// so was spread back over the readings between, in the order taken.
    pub spread: bool,
}

/// Reduced levels and how they came about.
#[derive(Debug, Clone, PartialEq)]
pub struct Reduction {
    /// The levels.
    pub levels: Levels,
    /// Closing readings, station by station.
    pub closures: Vec<Closure>,
    /// Offset of each floating station and covering, mm, with its standard
    /// deviation: name, offset, error.
    pub offsets: Vec<(String, f64, f64)>,
    /// Standard deviation of one reading found from repeats, mm, when three or
    /// more repeats allow.
    pub repeat_sd_mm: Option<f64>,
    /// What must be said with the results.
    pub notes: Vec<String>,
}

/// Reduce a field book to levels.
///
/// Readings are heights less a station offset and a covering's thickness.
/// Closing readings on a station's first point are spread back along the order
/// of reading when they exceed noise. Then all offsets are found together by
/// least squares from the points that tie them, so a closure round several
/// stations is spread equally. The error of one reading is the stated one, or
/// the one found from three or more repeats when that is larger.
///
/// # Errors
///
/// Absurd numbers, one name at two places, an untied station or covering, and
/// the rest of [`SurveyError`].
pub fn reduce(book: &FieldBook) -> Result<Reduction, SurveyError> {
    check_sd(book.sd_mm)?;
    if book.shots.len() > MAX_SHOTS {
        return Err(SurveyError::TooMany {
            found: book.shots.len(),
            limit: MAX_SHOTS,
        });
    }
    let (points, index) = places(&book.shots)?;
    let sign = if book.sense == Sense::Rod { -1.0 } else { 1.0 };
    let mut heights: Vec<f64> = book.shots.iter().map(|s| sign * s.reading.as_mm()).collect();
    for (shot, &h) in book.shots.iter().zip(&heights) {
        check_height(&shot.point, h)?;
    }
    let closures = close(book, &mut heights);
    let offsets = Offsets::of(book)?;
    offsets.solve(book, points, &index, &mut heights, closures)
}

/// Points in the order first read, and each shot's point.
fn places(shots: &[Shot]) -> Result<(Vec<Level>, Vec<usize>), SurveyError> {
    let mut known: BTreeMap<&str, usize> = BTreeMap::new();
    let (mut points, mut index) = (Vec::<Level>::new(), Vec::with_capacity(shots.len()));
    for shot in shots {
        let (x, y) = (shot.x.as_mm(), shot.y.as_mm());
        check_place(&shot.point, x, y)?;
        let at = *known.entry(&shot.point).or_insert(points.len());
        if at == points.len() {
            points.push(Level {
                name: shot.point.clone(),
                x,
                y,
                z: 0.0,
                readings: 0,
            });
        }
        let apart_mm = libm::hypot(points[at].x - x, points[at].y - y);
        if apart_mm > 50.0 {
            return Err(SurveyError::TwoPlaces {
                name: shot.point.clone(),
                apart_mm,
            });
        }
        points[at].readings += 1;
        index.push(at);
    }
    if points.len() < 3 {
        let found = points.len();
        return Err(SurveyError::TooFewPoints {
            found,
            needed: 3,
            what: "for a level survey",
        });
    }
    Ok((points, index))
}

/// Spread each station's closing error back along the order of reading.
fn close(book: &FieldBook, heights: &mut [f64]) -> Vec<Closure> {
    let mut runs: Vec<(Option<&str>, Vec<usize>)> = Vec::new();
    for (i, shot) in book.shots.iter().enumerate() {
        let station = shot.station.as_deref();
        match runs.iter_mut().find(|(s, _)| *s == station) {
            Some((_, run)) => run.push(i),
            None => runs.push((station, vec![i])),
        }
    }
    let mut closures = Vec::new();
    for (station, run) in runs {
        let first = &book.shots[run[0]];
        let same = |i: &usize| {
            let s = &book.shots[*i];
            s.point == first.point && s.covering == first.covering
        };
        let Some(last) = (1..run.len()).rev().find(|&k| same(&run[k])) else {
            continue;
        };
        let error_mm = heights[run[last]] - heights[run[0]];
        // Two shots one after the other are a repeat, not a closure.
        let spread = last > 1 && error_mm.abs() > 2.0 * core::f64::consts::SQRT_2 * book.sd_mm;
        if spread {
            for (k, &i) in run.iter().enumerate() {
                heights[i] -= error_mm * k as f64 / last as f64;
            }
        }
        let (station, point) = (station.unwrap_or_default().to_owned(), first.point.clone());
        closures.push(Closure {
            station,
            point,
            error_mm,
            spread,
        });
    }
    closures
}

/// The unknown offsets: stations but the first, coverings without an exact
/// thickness.
struct Offsets<'a> {
    names: Vec<String>,
    /// Prior thickness and error of a covering.
    prior: Vec<Option<(f64, f64)>>,
    station: BTreeMap<Option<&'a str>, Option<usize>>,
    covering: BTreeMap<Option<&'a str>, (Option<usize>, f64)>,
}

impl<'a> Offsets<'a> {
    fn of(book: &'a FieldBook) -> Result<Self, SurveyError> {
        let described = described(&book.coverings)?;
        let (mut names, mut prior) = (Vec::new(), Vec::new());
        let mut station = BTreeMap::new();
        let mut covering = BTreeMap::new();
        let bare =
            book.shots.iter().any(|s| s.covering.is_none()) || book.coverings.iter().any(|c| c.thickness.is_some());
        for shot in &book.shots {
            let key = shot.station.as_deref();
            if !station.contains_key(&key) {
                let first = station.is_empty();
                station.insert(key, (!first).then_some(names.len()));
                if !first {
                    names.push(format!("station {}", key.unwrap_or("without a name")));
                    prior.push(None);
                }
            }
            let key = shot.covering.as_deref();
            if !covering.contains_key(&key) {
                let stated = key.and_then(|k| described.get(k).copied().flatten());
                let entry = match (key, stated) {
                    (None, _) => (None, 0.0),
                    (_, Some((mm, 0.0))) => (None, mm),
                    (Some(_), None) if !bare && covering.is_empty() => (None, 0.0),
                    (Some(k), stated) => {
                        names.push(format!("covering {k}"));
                        prior.push(stated);
                        (Some(names.len() - 1), 0.0)
                    }
                };
                covering.insert(key, entry);
            }
            if names.len() > MAX_OFFSETS {
                return Err(SurveyError::TooMany {
                    found: names.len(),
                    limit: MAX_OFFSETS,
                });
            }
        }
        Ok(Self {
            names,
            prior,
            station,
            covering,
        })
    }

    /// Unknowns of a shot, and the known part of its offset.
    fn design(&self, shot: &Shot) -> (impl Iterator<Item = usize>, f64) {
        let station = self.station.get(&shot.station.as_deref()).copied().flatten();
        let (covering, known) = self
            .covering
            .get(&shot.covering.as_deref())
            .copied()
            .unwrap_or((None, 0.0));
        (station.into_iter().chain(covering), known)
    }

    fn solve(
        &self,
        book: &FieldBook,
        mut points: Vec<Level>,
        index: &[usize],
        heights: &mut [f64],
        closures: Vec<Closure>,
    ) -> Result<Reduction, SurveyError> {
        let (n, k) = (points.len(), self.names.len());
        let s2 = book.sd_mm * book.sd_mm;
        let mut shares: Vec<Vec<(usize, f64)>> = vec![Vec::new(); n];
        for (i, shot) in book.shots.iter().enumerate() {
            let (unknowns, known) = self.design(shot);
            heights[i] -= known;
            let p = index[i];
            let weight = 1.0 / f64::from(points[p].readings);
            points[p].z += weight * heights[i];
            unknowns.for_each(|u| add(&mut shares[p], u, weight));
        }
        // Normal equations of the offsets, each point's mean taken out.
        let (mut normal, mut right) = (DMatrix::<f64>::zeros(k, k), DVector::<f64>::zeros(k));
        let mut deviations = Vec::with_capacity(book.shots.len());
        for (i, shot) in book.shots.iter().enumerate() {
            let p = index[i];
            let mut row: Vec<(usize, f64)> = shares[p].iter().map(|&(u, w)| (u, -w)).collect();
            self.design(shot).0.for_each(|u| add(&mut row, u, 1.0));
            let y = heights[i] - points[p].z;
            for &(a, wa) in &row {
                right[a] += wa * y / s2;
                for &(b, wb) in &row {
                    normal[(a, b)] += wa * wb / s2;
                }
            }
            deviations.push((row, y));
        }
        for (u, prior) in self.prior.iter().enumerate() {
            if let Some((mm, sd)) = prior {
                normal[(u, u)] += 1.0 / (sd * sd);
                right[u] += mm / (sd * sd);
            }
        }
        let mut cov = self.inverse(&normal)?;
        let offset = &cov * right;
        for (p, shared) in points.iter_mut().zip(&shares) {
            p.z -= shared.iter().map(|&(u, w)| w * offset[u]).sum::<f64>();
        }
        let left: f64 = deviations
            .iter()
            .map(|(row, y)| y - row.iter().map(|&(u, w)| w * offset[u]).sum::<f64>())
            .map(|e| e * e)
            .sum();
        let free_unknowns = self.prior.iter().filter(|p| p.is_none()).count();
        let spent = n + free_unknowns + closures.iter().filter(|c| c.spread).count();
        let repeats = book.shots.len().saturating_sub(spent);
        let repeat_sd_mm = (repeats >= 3).then(|| (left / repeats as f64).sqrt());
        let sd_mm = repeat_sd_mm.map_or(book.sd_mm, |r| r.max(book.sd_mm));
        cov *= sd_mm * sd_mm / s2;
        let offsets = (0..k)
            .map(|u| (self.names[u].clone(), offset[u], cov[(u, u)].max(0.0).sqrt()))
            .collect();
        // Reading less offset is the height, so an error of the offset enters
        // the height with the opposite sign; the covariance is the same.
        let levels = Levels::with_shared(points, sd_mm.min(100.0), shares, cov)?;
        let notes = notes(book, repeat_sd_mm, &closures, self.station.len(), repeats);
        Ok(Reduction {
            levels,
            closures,
            offsets,
            repeat_sd_mm,
            notes,
        })
    }

    fn inverse(&self, normal: &DMatrix<f64>) -> Result<DMatrix<f64>, SurveyError> {
        if normal.nrows() == 0 {
            return Ok(normal.clone());
        }
        let eigen = normal.clone().symmetric_eigen();
        let top = eigen.eigenvalues.iter().fold(0.0_f64, |a, &b| a.max(b));
        let mut names = Vec::new();
        for u in 0..self.names.len() {
            let floats = (0..self.names.len())
                .any(|v| eigen.eigenvalues[v] <= 1e-10 * top && eigen.eigenvectors[(u, v)].abs() > 1e-6);
            if floats {
                names.push(self.names[u].clone());
            }
        }
        if top <= 0.0 || !names.is_empty() {
            return Err(SurveyError::Untied { names });
        }
        let inverse = eigen.eigenvalues.map(|v| 1.0 / v);
        let vectors = &eigen.eigenvectors;
        Ok(vectors * DMatrix::from_diagonal(&inverse) * vectors.transpose())
    }
}

type Described<'a> = BTreeMap<&'a str, Option<(f64, f64)>>;

fn described(coverings: &[Covering]) -> Result<Described<'_>, SurveyError> {
    let mut described = BTreeMap::new();
    for c in coverings {
        let mm = c.thickness.map(crate::Length::as_mm);
        let fits = mm.is_none_or(|t| (0.0..=150.0).contains(&t)) && (0.0..=50.0).contains(&c.sd_mm);
        if !fits || (c.sd_mm > 0.0 && c.sd_mm < 1e-3) {
            return Err(SurveyError::BadCovering { name: c.name.clone() });
        }
        if described.insert(c.name.as_str(), mm.map(|t| (t, c.sd_mm))).is_some() {
            return Err(SurveyError::CoveringTwice { name: c.name.clone() });
        }
    }
    Ok(described)
}

fn add(row: &mut Vec<(usize, f64)>, unknown: usize, weight: f64) {
    match row.iter_mut().find(|(u, _)| *u == unknown) {
        Some((_, w)) => *w += weight,
        None => row.push((unknown, weight)),
    }
}

fn notes(book: &FieldBook, found: Option<f64>, closures: &[Closure], stations: usize, repeats: usize) -> Vec<String> {
    let mut notes = Vec::new();
    if let Some(found) = found.filter(|&f| f > book.sd_mm) {
        notes.push(format!(
            "Repeat readings differ by more than the stated error: {found:.1} mm is used for one reading, not {:.1} mm.",
            book.sd_mm
        ));
    }
    if repeats == 0 && closures.is_empty() {
        notes.push("No reading was repeated, so the stated error is unchecked.".to_owned());
    }
    for c in closures.iter().filter(|c| c.spread) {
        notes.push(format!(
            "The closing reading on {} was off by {:.1} mm, more than noise; it was spread back over the readings between.",
            c.point, c.error_mm
        ));
    }
    if stations == 1 && closures.is_empty() {
        notes.push("One set-up without a closing reading: drift of the instrument can't be seen.".to_owned());
    }
    notes
}
