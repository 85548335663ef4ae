//! A conclusion's grade as a function of one number: ratios of polynomials, known from exact solutions.

use std::sync::Arc;

use super::REACH;
use super::anew::{Change, Stand};
use super::ledger::{Ledger, Member, Parts};
use super::place::Placed;
use super::screen::{Means, by};
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
    solved: Vec<Option<Solutions>>,
}

/// Solutions at points enough for a polynomial.
struct Solutions {
    /// The chance at one place that each point stands for, and the weight of the point.
    points: Vec<(f64, f64)>,
    /// P(evidence so far) there, over that at the first.
    totals: Vec<f64>,
    stands: Vec<Arc<Stand>>,
}

impl<'p> Curves<'p> {
    pub fn of(placed: &'p Placed, exact: Vec<Option<Means>>, degree: usize, covers: bool) -> Self {
        Curves {
            placed,
            solved: exact.iter().map(|_| None).collect(),
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

    /// Solves the case at points enough for a stage.
    fn solve(&mut self, ledger: &mut Ledger<'_, '_>, stage: usize) -> Result<(), WeighError> {
        if self.solved.get(stage).is_none_or(Option::is_some) {
            return Ok(());
        }
        let (weighed, placed) = (ledger.weighed, self.placed);
        let ends = stage == 0 || stage == ledger.anew.last();
        let count = if ends { self.degree } else { placed.uses.len() } + 1;
        let (mut at, mut stands) = (Vec::with_capacity(count), Vec::with_capacity(count));
        for index in 0..count {
            let angle = std::f64::consts::PI * (2 * index + 1) as f64 / (2 * count) as f64;
            let x = match &mut ledger.anew.scratch {
                Some(scratch) => placed.at_one_place(weighed, scratch, REACH * libm::cos(angle)),
                None => placed.here,
            };
            at.push(x);
            let change = Change::Number(placed.number, count, index);
            let rows = || placed.rows(weighed, x);
            stands.push(ledger.anew.stand(weighed, change, &rows, stage)?);
        }
        let weight = |one: f64| {
            let others = at.iter().filter(|other| **other != one);
            others.map(|other| 1.0 / (one - other)).product::<f64>()
        };
        let first = stands.first().map_or(0.0, |stand| stand.ln);
        let solutions = Solutions {
            points: at.iter().map(|one| (*one, weight(*one))).collect(),
            totals: stands.iter().map(|stand| libm::exp(stand.ln - first)).collect(),
            stands,
        };
        if let Some(slot) = self.solved.get_mut(stage) {
            *slot = Some(solutions);
        }
        Ok(())
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
    /// A chance at `x`, from what it is at each point.
    fn at(&self, x: f64, of: &dyn Fn(&Stand) -> f64) -> f64 {
        let shares = shares(&self.points, x);
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
        self.curves.solve(ledger, stage)?;
        let found = self.curves.solved.get(stage).and_then(Option::as_ref);
        Ok(found.map_or(0.0, |found| found.at(self.x, &|stand| ledger.own(stand))))
    }

    fn members(&mut self, ledger: &mut Ledger<'_, '_>) -> Result<Vec<f64>, WeighError> {
        let stage = ledger.anew.last();
        self.curves.solve(ledger, stage)?;
        let found = self.curves.solved.get(stage).and_then(Option::as_ref);
        let members = 0..ledger.sites().len();
        let at = |index: usize| {
            let of = |stand: &Stand| ledger.all_members(stand).get(index).copied().unwrap_or(0.0);
            found.map_or(0.0, |found| found.at(self.x, &of))
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
fn shares(points: &[(f64, f64)], x: f64) -> Vec<f64> {
    if let Some(hit) = points.iter().position(|(point, _)| *point == x) {
        return (0..points.len())
            .map(|index| f64::from(u8::from(index == hit)))
            .collect();
    }
    let parts: Vec<f64> = points.iter().map(|(point, weight)| weight / (x - point)).collect();
    let sum: f64 = parts.iter().sum();
    parts.into_iter().map(|part| part / sum).collect()
}
