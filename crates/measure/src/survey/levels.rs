//! Reduced levels and the error they share.

use nalgebra::DMatrix;

use super::SurveyError;

/// One point of a floor, reduced to the bare floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// Its name.
    pub name: String,
    /// Place along x, mm.
    pub x: f64,
    /// Place along y, mm.
    pub y: f64,
    /// Height, mm, up; the datum is arbitrary.
    pub z: f64,
    /// How many readings it rests on, 1 or more.
    pub readings: u32,
}

/// Reduced levels of one visit, with their errors.
///
/// Each height has an error of its own, `sd_mm` over the root of its readings,
/// and a share in the errors of station and covering offsets.
#[derive(Debug, Clone, PartialEq)]
pub struct Levels {
    points: Vec<Level>,
    sd_mm: f64,
    /// For each point, how it leans on each shared offset.
    shares: Vec<Vec<(usize, f64)>>,
    /// Covariance of the shared offsets, mm².
    shared: DMatrix<f64>,
}

impl Levels {
    /// Levels that share no offset: one set-up, one covering.
    ///
    /// `sd_mm` is the standard deviation of one reading, mm.
    ///
    /// # Errors
    ///
    /// A number that is not finite or is absurd; an error outside 0.001 to
    /// 100 mm; two points at one place.
    ///
    /// ```
    /// use wythe_measure::survey::{Level, Levels};
    /// let at = |name: &str, x, y, z| Level { name: name.into(), x, y, z, readings: 1 };
    /// let levels = Levels::new(vec![at("A", 0., 0., 0.), at("B", 3000., 0., 5.)], 1.0)?;
    /// assert_eq!(levels.high_low().value, 5.0);
    /// # Ok::<(), wythe_measure::survey::SurveyError>(())
    /// ```
    pub fn new(points: Vec<Level>, sd_mm: f64) -> Result<Self, SurveyError> {
        let shares = vec![Vec::new(); points.len()];
        Self::with_shared(points, sd_mm, shares, DMatrix::zeros(0, 0))
    }

    pub(crate) fn with_shared(
        points: Vec<Level>,
        sd_mm: f64,
        shares: Vec<Vec<(usize, f64)>>,
        shared: DMatrix<f64>,
    ) -> Result<Self, SurveyError> {
        check_sd(sd_mm)?;
        for p in &points {
            check_place(&p.name, p.x, p.y)?;
            check_height(&p.name, p.z)?;
        }
        check_apart(&points)?;
        Ok(Self {
            points,
            sd_mm,
            shares,
            shared,
        })
    }

    /// The points, in the order first read.
    pub fn points(&self) -> &[Level] {
        &self.points
    }

    /// Standard deviation of one reading, mm.
    pub fn sd_mm(&self) -> f64 {
        self.sd_mm
    }

    /// Variance, mm², of a weighted sum of heights.
    ///
    /// `weights` are pairs of a point's index and its weight; an index beyond
    /// the points counts for nothing.
    pub fn variance(&self, weights: &[(usize, f64)]) -> f64 {
        let s2 = self.sd_mm * self.sd_mm;
        let mut own = 0.0;
        let mut lean = vec![0.0; self.shared.nrows()];
        for &(i, w) in weights {
            let Some(point) = self.points.get(i) else {
                continue;
            };
            own += w * w * s2 / f64::from(point.readings.max(1));
            for &(k, share) in &self.shares[i] {
                lean[k] += w * share;
            }
        }
        let mut common = 0.0;
        for (j, a) in lean.iter().enumerate() {
            for (k, b) in lean.iter().enumerate() {
                common += a * self.shared[(j, k)] * b;
            }
        }
        own + common.max(0.0)
    }

    /// Standard deviation, mm, of one point's height.
    pub fn point_sd(&self, index: usize) -> f64 {
        self.variance(&[(index, 1.0)]).sqrt()
    }

    /// Highest less lowest, mm. The simplest number, and a poor one: it mixes
    /// tilt with bend and grows with the number of readings.
    pub fn high_low(&self) -> crate::Estimate<f64> {
        let by = |better: fn(f64, f64) -> bool| {
            let mut best = None;
            for (i, p) in self.points.iter().enumerate() {
                if best.is_none_or(|b: usize| better(p.z, self.points[b].z)) {
                    best = Some(i);
                }
            }
            best
        };
        match (by(|a, b| a > b), by(|a, b| a < b)) {
            (Some(high), Some(low)) if high != low => crate::Estimate {
                value: self.points[high].z - self.points[low].z,
                sd: self.variance(&[(high, 1.0), (low, -1.0)]).sqrt(),
            },
            _ => crate::Estimate { value: 0.0, sd: 0.0 },
        }
    }

    /// Shares and shared covariance of two visits' differences.
    pub(crate) fn joined(&self, other: &Self, pairs: &[(usize, usize)]) -> super::change::Joined {
        let (k, l) = (self.shared.nrows(), other.shared.nrows());
        let mut cov = DMatrix::zeros(k + l, k + l);
        cov.view_mut((0, 0), (k, k)).copy_from(&self.shared);
        cov.view_mut((k, k), (l, l)).copy_from(&other.shared);
        let shares = pairs
            .iter()
            .map(|&(i, j)| {
                let mine = self.shares[i].iter().map(|&(u, w)| (u, -w));
                let theirs = other.shares[j].iter().map(|&(u, w)| (u + k, w));
                mine.chain(theirs).collect()
            })
            .collect();
        (shares, cov)
    }

    /// The levels without some points, named by index.
    pub(crate) fn without(&self, left_out: &[usize]) -> Self {
        let keep = |i: &usize| !left_out.contains(i);
        let kept: Vec<usize> = (0..self.points.len()).filter(keep).collect();
        Self {
            points: kept.iter().map(|&i| self.points[i].clone()).collect(),
            sd_mm: self.sd_mm,
            shares: kept.iter().map(|&i| self.shares[i].clone()).collect(),
            shared: self.shared.clone(),
        }
    }
}

/// Largest coordinate of a point, mm: 1 km.
const MAX_PLACE: f64 = 1e6;
/// Largest height or reading, mm: 20 m.
const MAX_HEIGHT: f64 = 2e4;

pub(super) fn check_sd(sd_mm: f64) -> Result<(), SurveyError> {
    if (0.001..=100.0).contains(&sd_mm) {
        Ok(())
    } else {
        Err(SurveyError::InstrumentError { found: sd_mm })
    }
}

pub(super) fn check_place(point: &str, x: f64, y: f64) -> Result<(), SurveyError> {
    for mm in [x, y] {
        if !mm.is_finite() || mm.abs() > MAX_PLACE {
            let (point, what) = (point.to_owned(), "a place");
            return Err(SurveyError::Absurd {
                point,
                what,
                mm,
                limit_mm: MAX_PLACE,
            });
        }
    }
    Ok(())
}

pub(super) fn check_height(point: &str, mm: f64) -> Result<(), SurveyError> {
    if !mm.is_finite() || mm.abs() > MAX_HEIGHT {
        let (point, what) = (point.to_owned(), "a reading");
        return Err(SurveyError::Absurd {
            point,
            what,
            mm,
            limit_mm: MAX_HEIGHT,
        });
    }
    Ok(())
}

/// No two points within a millimetre of each other.
fn check_apart(points: &[Level]) -> Result<(), SurveyError> {
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_by(|&a, &b| points[a].x.total_cmp(&points[b].x).then(a.cmp(&b)));
    for (k, &i) in order.iter().enumerate() {
        let near = order[k + 1..].iter().take_while(|&&j| points[j].x - points[i].x < 1.0);
        for &j in near {
            if (points[j].y - points[i].y).abs() < 1.0 {
                let (a, b) = (i.min(j), i.max(j));
                let (first, second) = (points[a].name.clone(), points[b].name.clone());
                return Err(SurveyError::OnePlace { first, second });
            }
        }
    }
    Ok(())
}
