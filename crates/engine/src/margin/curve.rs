//! A conclusion's grade as a function of one number: ratios of polynomials, known from exact solutions.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::REACH;
use super::anew::{Change, Stand};
use super::ledger::{Ledger, Member, Parts, What};
use super::means::{Means, by};
use super::place::Placed;
use crate::grade::Coverage;
use crate::{Graded, Number, WeighError};

/// The grade of one conclusion as a function of one number.
pub(super) struct Curves<'p> {
    placed: &'p Placed,
    /// At each stage where the number stands at one place at most: its effect, which is linear.
    exact: Vec<Option<Means>>,
    /// Places at which it stands.
    degree: usize,
    /// It bears on what the conclusion's clues would tell.
    covers: bool,
    solved: BTreeMap<(usize, What), Solutions>,
}

/// Solutions at some points: as it is, at both ends of the reach, then at Chebyshev points in between.
#[derive(Clone, Default)]
pub(super) struct Solutions {
    /// The chance at one place that each point stands for.
    pub points: Vec<f64>,
    pub stands: Vec<Arc<Stand>>,
    /// The weight of each point, and P(evidence so far) there over that at the first.
    weights: Vec<f64>,
    totals: Vec<f64>,
}

/// By how many decibans of [`REACH`] a point is off: 0, the ends, and then the extremes of Chebyshev polynomials, nested.
fn offset(index: usize) -> f64 {
    match index {
        0 => return 0.0,
        1 => return REACH,
        2 => return -REACH,
        _ => {}
    }
    // 2 new ones, 4, 8, …
    let (mut level, mut before) = (2, 3);
    while index >= before + (1 << (level - 1)) {
        before += 1 << (level - 1);
        level += 1;
    }
    let (pair, sign) = ((index - before) / 2, (index - before) % 2);
    let angle = std::f64::consts::PI * (2 * pair + 1) as f64 / (1_u64 << level) as f64;
    let off = REACH * libm::cos(angle);
    if sign == 0 { off } else { -off }
}

impl<'p> Curves<'p> {
    pub fn of(placed: &'p Placed, exact: Vec<Option<Means>>, degree: usize, covers: bool) -> Self {
        Curves {
            placed,
            solved: BTreeMap::new(),
            exact,
            degree,
            covers,
        }
    }

    pub fn number(&self) -> Number {
        self.placed.number
    }

    /// The number, moved by some decibans.
    pub fn value(&self, by: f64) -> f64 {
        self.placed.value(by)
    }

    /// The grade with the number moved by some decibans.
    pub fn grade(&mut self, ledger: &mut Ledger<'_, '_>, by: f64) -> Result<Graded, WeighError> {
        let x = match &mut ledger.anew.scratch {
            Some(scratch) => self.placed.at_one_place(ledger.weighed, scratch, by),
            None => self.placed.here,
        };
        ledger.grade(&mut At { curves: self, by, x })
    }

    /// The case solved at points enough for a stage's polynomial.
    fn whole(&mut self, ledger: &mut Ledger<'_, '_>, stage: usize, what: What) -> Result<&Solutions, WeighError> {
        let ends = stage == 0 || stage == ledger.anew.last();
        let places = if ends { self.degree } else { self.placed.uses.len() };
        self.at_points(ledger, (stage, what), places + 1)
    }

    /// The case solved at so many points of a stage at least.
    pub fn at_points(
        &mut self,
        ledger: &mut Ledger<'_, '_>,
        (stage, what): (usize, What),
        count: usize,
    ) -> Result<&Solutions, WeighError> {
        let (weighed, placed) = (ledger.weighed, self.placed);
        let solved = self.solved.entry((stage, what)).or_default();
        let start = solved.points.len();
        if start >= count {
            return Ok(solved);
        }
        let x = |index: usize| match &mut ledger.anew.scratch {
            Some(scratch) if index > 0 => placed.at_one_place(weighed, scratch, offset(index)),
            _ => placed.here,
        };
        solved.points.extend((start..count).map(x));
        let change = |index: usize| match index {
            0 => Change::Nothing,
            _ => Change::Number(placed.number, index),
        };
        let changes: Vec<Change> = (start..count).map(change).collect();
        let rows = |index: usize| placed.rows(weighed, solved.points.get(index).copied().unwrap_or(placed.here));
        let of = ledger.places(what).to_vec();
        let stands = ledger.anew.stands(weighed, &changes, &rows, stage, &of)?;
        solved.stands.extend(stands);
        solved.settle();
        Ok(solved)
    }
}

/// A curve at one point.
struct At<'c, 'p> {
    curves: &'c mut Curves<'p>,
    by: f64,
    /// The chance at one place.
    x: f64,
}

impl Solutions {
    fn settle(&mut self) {
        let points = &self.points;
        let weight = |one: &f64| {
            let others = points.iter().filter(|other| *other != one);
            others.map(|other| 1.0 / (one - other)).product::<f64>()
        };
        self.weights = points.iter().map(weight).collect();
        let first = self.stands.first().map_or(0.0, |stand| stand.ln);
        self.totals = self.stands.iter().map(|stand| libm::exp(stand.ln - first)).collect();
    }

    /// A chance at `x`, from what it is at each point.
    fn at(&self, x: f64, of: &dyn Fn(&Stand) -> f64) -> f64 {
        let shares = shares(&self.points, &self.weights, x);
        let each = || shares.iter().zip(&self.totals).zip(&self.stands);
        let total: f64 = each().map(|((share, total), _)| share * total).sum();
        let with: f64 = each().map(|((share, total), stand)| share * total * of(stand)).sum();
        with / total
    }
}

impl Parts for At<'_, '_> {
    fn chance(&mut self, ledger: &mut Ledger<'_, '_>, stage: usize) -> Result<f64, WeighError> {
        let here = self.curves.placed.here;
        if let Some(Some(means)) = self.curves.exact.get(stage) {
            return Ok(means.at(by(self.x, here), by(1.0 - self.x, 1.0 - here)));
        }
        let x = self.x;
        let found = self.curves.whole(ledger, stage, What::Own)?;
        Ok(found.at(x, &|stand| ledger.own(stand)))
    }

    fn members(&mut self, ledger: &mut Ledger<'_, '_>) -> Result<Vec<f64>, WeighError> {
        let stage = ledger.anew.last();
        let x = self.x;
        let found = self.curves.whole(ledger, stage, What::Members)?;
        let members = 0..ledger.sites().len();
        let at = |index: usize| {
            let of = |stand: &Stand| ledger.all_members(stand).get(index).copied().unwrap_or(0.0);
            found.at(x, &of)
        };
        Ok(members.map(at).collect())
    }

    fn coverage(&mut self, ledger: &mut Ledger<'_, '_>, from: Member) -> Coverage {
        if !self.curves.covers {
            return ledger.coverage(from);
        }
        let (placed, weighed, by) = (self.curves.placed, ledger.weighed, self.by);
        match &mut ledger.anew.scratch {
            Some(scratch) => placed.with(scratch, by, |pack| Ledger::coverage_by(weighed, pack, from)),
            None => Coverage::default(),
        }
    }

    fn keeps(&self, _: usize) -> bool {
        true
    }
}

/// The share that each point's value has in the value at `x` (second barycentric form).
fn shares(points: &[f64], weights: &[f64], x: f64) -> Vec<f64> {
    if let Some(hit) = points.iter().position(|point| *point == x) {
        return (0..points.len())
            .map(|index| f64::from(u8::from(index == hit)))
            .collect();
    }
    let parts: Vec<f64> = points
        .iter()
        .zip(weights)
        .map(|(point, weight)| weight / (x - point))
        .collect();
    let sum: f64 = parts.iter().sum();
    parts.into_iter().map(|part| part / sum).collect()
}
