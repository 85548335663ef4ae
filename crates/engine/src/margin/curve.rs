//! A conclusion's grade as a function of one number: ratios of polynomials, known from exact solutions.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::REACH;
use super::anew::Stand;
use super::change::Change;
use super::ledger::{Ledger, Member, Parts, What};
use super::means::{Means, by};
use super::place::Placed;
use super::shares::Shares;
use crate::grade::Coverage;
use crate::{Graded, Number, WeighError};

/// The grade of one conclusion as a function of one number.
pub(super) struct Curves<'p> {
    placed: &'p Placed,
    /// Whether it rises or falls.
    up: bool,
    /// What it did at each stage, where that is known. Where it stands at one place at most, its effect is linear.
    means: Vec<Option<Means>>,
    /// Places at which it stands.
    degree: usize,
    /// It bears on what the conclusion's clues would tell.
    covers: bool,
    solved: BTreeMap<(usize, What), Solutions>,
}

/// Solutions at some points: as it is, at the end of the reach, then at Chebyshev points in between.
#[derive(Clone, Default)]
pub(super) struct Solutions {
    /// The chance at one place that each point stands for.
    pub points: Vec<f64>,
    pub stands: Vec<Arc<Stand>>,
    /// P(evidence so far) at each point over that at the first.
    pub totals: Vec<f64>,
    shares: Shares,
}

/// By how much of [`REACH`] a point is off: 0, the end, and then the extremes of Chebyshev polynomials, nested.
fn offset(index: usize) -> f64 {
    if index < 2 {
        return index as f64;
    }
    // 1 new one, 2, 4, …
    let (mut level, mut before) = (1, 2);
    while index >= before + (1 << (level - 1)) {
        before += 1 << (level - 1);
        level += 1;
    }
    let angle = std::f64::consts::PI * (2 * (index - before) + 1) as f64 / (1_u64 << level) as f64;
    (1.0 + libm::cos(angle)) / 2.0
}

impl<'p> Curves<'p> {
    pub fn of(placed: &'p Placed, up: bool, means: Vec<Option<Means>>, degree: usize, covers: bool) -> Self {
        Curves {
            placed,
            up,
            solved: BTreeMap::new(),
            means,
            degree,
            covers,
        }
    }

    /// Whether the number rises along it.
    pub fn up(&self) -> bool {
        self.up
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
        let x = self.placed.at_one_place(ledger.weighed, by);
        ledger.grade(&mut At { curves: self, by, x })
    }

    /// The case solved at points enough for a stage's polynomial: one more than its degree, or as many where its slope is
    /// known.
    fn whole(&mut self, ledger: &mut Ledger<'_, '_>, stage: usize, what: What) -> Result<&Solutions, WeighError> {
        let ends = stage == 0 || stage == ledger.anew.last();
        let known = self.means.get(stage).copied().flatten();
        let places = match known {
            Some(means) => means.places as usize,
            None if ends => self.degree,
            None => self.placed.uses.len(),
        };
        let slope = known.is_some() && what == What::Own;
        self.at_points(ledger, (stage, what), places + usize::from(!slope))
    }

    /// The case solved at so many points of a stage at least.
    pub fn at_points(
        &mut self,
        ledger: &mut Ledger<'_, '_>,
        (stage, what): (usize, What),
        count: usize,
    ) -> Result<&Solutions, WeighError> {
        let (weighed, placed, up) = (ledger.weighed, self.placed, self.up);
        let reach = if up { REACH } else { -REACH };
        let slopes = self.means.get(stage).copied().flatten().filter(|_| what == What::Own);
        let slopes = slopes.map(|means| means.slopes(placed.here));
        let solved = self.solved.entry((stage, what)).or_default();
        let start = solved.points.len();
        if start >= count {
            return Ok(solved);
        }
        let x = |index: usize| match index {
            0 => placed.here,
            _ => placed.at_one_place(weighed, reach * offset(index)),
        };
        solved.points.extend((start..count).map(x));
        let change = |index: usize| match index {
            0 => Change::Nothing,
            _ => Change::Number(placed.number, up, index),
        };
        let changes: Vec<Change> = (start..count).map(change).collect();
        let rows = |index: usize| placed.rows(weighed, solved.points.get(index).copied().unwrap_or(placed.here));
        let of = ledger.places(what).to_vec();
        let stands = ledger.anew.stands(weighed, &changes, &rows, stage, &of)?;
        solved.stands.extend(stands);
        solved.settle(slopes);
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
    fn settle(&mut self, slopes: Option<(f64, f64)>) {
        self.shares = Shares::of(&self.points, slopes);
        let first = self.stands.first().map_or(0.0, |stand| stand.ln);
        self.totals = self.stands.iter().map(|stand| libm::exp(stand.ln - first)).collect();
    }

    /// A chance at `x`, from what it is at each point.
    fn at(&self, x: f64, of: &dyn Fn(&Stand) -> f64) -> f64 {
        let (shares, (slope, slope_with)) = self.shares.at(&self.points, x);
        let each = || shares.iter().zip(&self.totals).zip(&self.stands);
        let total: f64 = each().map(|((share, total), _)| share * total).sum();
        let with: f64 = each().map(|((share, total), stand)| share * total * of(stand)).sum();
        let first = self.stands.first().map_or(0.0, |stand| of(stand));
        (with + slope_with * first) / (total + slope)
    }
}

impl Parts for At<'_, '_> {
    fn chance(&mut self, ledger: &mut Ledger<'_, '_>, stage: usize) -> Result<f64, WeighError> {
        let here = self.curves.placed.here;
        if let Some(Some(means)) = self.curves.means.get(stage)
            && means.places <= 1.0
        {
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
        let pack = ledger.anew.scratch.get_or_insert_with(|| weighed.pack().clone());
        placed.number.set(pack, placed.value(by));
        let found = Ledger::coverage_by(weighed, pack, from);
        placed.number.set(pack, placed.from);
        found
    }

    fn keeps(&self, _: usize) -> bool {
        true
    }
}
