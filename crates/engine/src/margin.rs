//! The margin: how little would change a conclusion's support or action, and what.
//!
//! # One number of the pack
//!
//! Every number that the pack states is moved by itself: each link's frequency, each background, each prevalence. It moves
//! by `δ` decibans of its own odds, `p/(1−p) · 10^(δ/10)`, up to [`REACH`] either way, and the case is graded anew:
//! support and action, with all that they hang on (the prior, the steps that count for corroboration, coverage, the looks
//! still to be had). The margin of a number is the smallest `|δ|` at which either changes; that of the conclusion is the
//! smallest of all numbers.
//!
//! A chance is a ratio of two functions of the number, `P(c, e)/P(e)`. Where one grounded link, place or sighting uses
//! it, both are linear: the function is known from two solutions. A rule that joins `n` pairs of places, a background of
//! `n` sightings, a prevalence of `n` places moves all of them together: both are polynomials of degree `n` in the chance at
//! one place, known from `n + 1` exact solutions (interpolation at Chebyshev points, barycentric form: Berrut & Trefethen
//! 2004), and nothing is sampled or linearised. On these functions the grade is followed from 0 outward in steps of
//! [`STEP`] decibans, and the first change closed in on by halving. A grade that changes and changes back within one step
//! is not seen. Its rise and its fall are looked at apart, and most are ruled out before that: by bounds (`margin/screen.rs`)
//! that need no solution of their own, or by what the solution at the end of the reach leaves room for (`margin/mixture.rs`,
//! `margin/hull.rs`). The curve of one that acts at a single place is known from the same derivatives; any other needs one
//! solution less for them (`margin/shares.rs`).
//!
//! # Dropping a sighting, moving a class
//!
//! A reading is taken out of the evidence, and counts as not looked; what it hid or stood for stays so. A reading is moved
//! by one class: its likelihood is shifted one grade up or down, the last grade keeping what would go over.
//!
//! # Both ends
//!
//! Every prevalence at the low end of its range at once, and at the high end.

mod anew;
mod change;
mod curve;
mod hull;
mod ledger;
mod means;
mod mixture;
mod place;
mod screen;
mod shares;
mod stage;

use wythe_pack::{Action, MechanismIx, Support};

use crate::{About, Number, Used, WeighError, Weighed};
pub(crate) use anew::Anew;
use change::Change;
use curve::Curves;
use ledger::Ledger;
use place::Placed;
use screen::Screen;

/// How far a number is moved, in decibans: its odds times or over ten.
pub const REACH: f64 = 10.0;
/// The steps in which the first change is looked for, in decibans.
pub const STEP: f64 = 0.25;
/// Steps in which bounds are followed outward, in decibans.
const STRIDE: f64 = 1.0;

/// How many numbers are told.
pub const NEAREST: usize = 3;

/// How little would change one conclusion.
#[derive(Clone, Debug, PartialEq)]
pub struct Margins {
    /// The conclusion.
    pub about: About,
    /// As it is.
    pub now: Graded,
    /// The numbers that change its support or action within [`REACH`], the nearest [`NEAREST`] of them, nearest first.
    pub numbers: Vec<Margin>,
    /// The readings that change it if they are taken away, in the order of the outcome.
    pub without: Vec<Regraded>,
    /// The readings that change it if they are moved by one class.
    pub classes: Vec<Regraded>,
    /// With every prevalence at the low end of its range, and at the high end.
    pub ends: (Graded, Graded),
}

/// A conclusion's grade.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Graded {
    /// Its support.
    pub support: Support,
    /// Its action.
    pub action: Action,
    /// Its chance, 0–1.
    pub chance: f64,
}

impl Graded {
    /// Whether support and action are the same.
    pub fn same(&self, other: &Graded) -> bool {
        (self.support, self.action) == (other.support, other.action)
    }
}

/// The smallest move of one number that changes a conclusion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Margin {
    /// The number.
    pub number: Number,
    /// By how much it moves, in decibans of its odds; under 0 it falls.
    pub decibans: f64,
    /// The number as it is.
    pub from: f64,
    /// The number where it changes.
    pub to: f64,
    /// The grade just beyond.
    pub becomes: Graded,
}

/// A reading that changes a conclusion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Regraded {
    /// Index into [`crate::Outcome::readings`].
    pub reading: usize,
    /// The grade of the clue that it is moved to; none where it is taken away.
    pub grade: Option<usize>,
    /// The conclusion's grade then.
    pub becomes: Graded,
}

/// How little would change a conclusion.
///
/// # Errors
/// [`WeighError::NoConclusion`] where the case has no such conclusion; [`WeighError::TooTangled`].
pub fn margins(weighed: &Weighed<'_>, about: About) -> Result<Margins, WeighError> {
    margins_each(weighed, &[about])?.pop().ok_or(WeighError::Impossible)
}

/// How little would change each of several conclusions: the same as one by one, at less cost.
pub(crate) fn margins_each(weighed: &Weighed<'_>, abouts: &[About]) -> Result<Vec<Margins>, WeighError> {
    let mut anew = weighed.anew.take();
    anew.expect(weighed, abouts);
    let mut list = Vec::with_capacity(abouts.len());
    for about in abouts {
        let one = weighed.conclusion(*about)?;
        let now = Graded {
            support: one.support,
            action: one.action,
            chance: one.chance,
        };
        let mut ledger = Ledger::of(weighed, anew, *about);
        list.push(all(&mut ledger, now)?);
        anew = ledger.anew;
    }
    weighed.anew.replace(anew);
    Ok(list)
}

fn all(ledger: &mut Ledger<'_, '_>, now: Graded) -> Result<Margins, WeighError> {
    let numbers = numbers(ledger, now)?;
    let (mut without, mut classes) = (Vec::new(), Vec::new());
    for (index, reading) in ledger.weighed.outcome().readings.iter().enumerate() {
        if reading.used != Used::Weighed {
            continue;
        }
        let becomes = ledger.grade_under(Change::Without(index))?;
        if !becomes.same(&now) {
            without.push(Regraded {
                reading: index,
                grade: None,
                becomes,
            });
        }
        if !reading.shows() {
            continue;
        }
        for up in [false, true] {
            let grade = shifted(reading, up).grade;
            if grade == reading.grade {
                continue;
            }
            let becomes = ledger.grade_under(Change::Moved(index, up))?;
            if !becomes.same(&now) {
                classes.push(Regraded {
                    reading: index,
                    grade: Some(grade),
                    becomes,
                });
            }
        }
    }
    Ok(Margins {
        about: ledger.about,
        now,
        numbers,
        without,
        classes,
        ends: (ledger.grade_under(Change::Low)?, ledger.grade_under(Change::High)?),
    })
}

/// The numbers nearest to changing a conclusion: those whose curves are known first, then by bounds, until no other can be
/// nearer.
fn numbers(ledger: &mut Ledger<'_, '_>, now: Graded) -> Result<Vec<Margin>, WeighError> {
    let screen = Screen::of(ledger, now)?;
    let weighed = ledger.weighed;
    let placed = ledger.anew.placed.clone();
    let placed = placed.unwrap_or_else(|| std::sync::Arc::new(Placed::all(weighed)));
    ledger.anew.placed = Some(placed.clone());
    let mut list = Vec::new();
    for one in placed.iter() {
        list.extend(screen.screened(ledger, one).map(|found| (found, one)));
    }
    let mut list: Vec<Candidate<'_>> = list
        .iter()
        .flat_map(|(found, placed)| {
            [true, false]
                .into_iter()
                .filter_map(|up| Candidate::of(found, placed, up))
        })
        .collect();
    let mut found: Vec<Margin> = Vec::new();
    loop {
        let known = found.get(NEAREST - 1).map_or(REACH, |last| last.decibans.abs());
        let next = list.iter().enumerate().min_by(|(_, a), (_, b)| a.order(b));
        let Some(mut next) = next.map(|(at, _)| at).map(|at| list.swap_remove(at)) else {
            break;
        };
        if next.least > known {
            if next.known {
                continue;
            }
            break;
        }
        // By a few solutions first: most can't be nearer after all.
        if let Some(count) = next.few(screen.steps) {
            if let Some(least) = screen.refined(ledger, next.placed, &mut next.curves, count, known)? {
                next.least = next.least.max(least);
                list.push(next);
            }
            continue;
        }
        if let Some(margin) = nearest(&mut next.curves, ledger, now, (next.least, known))? {
            // One that changes it whether it rises or falls is told once.
            match found.iter_mut().find(|other| other.number == margin.number) {
                Some(other) if other.decibans.abs() <= margin.decibans.abs() => {}
                Some(other) => *other = margin,
                None => found.push(margin),
            }
            found.sort_by(|a, b| {
                let key = a.decibans.abs().total_cmp(&b.decibans.abs());
                key.then(a.number.cmp(&b.number))
            });
            found.truncate(NEAREST);
        }
    }
    Ok(found)
}

/// A number that may change the grade as it rises, or as it falls.
struct Candidate<'p> {
    placed: &'p Placed,
    curves: Curves<'p>,
    /// How far it must move at least.
    least: f64,
    /// Its curve is known without a solution.
    known: bool,
    /// The grade hangs on more of it than odds at some points can tell.
    decides: bool,
    degree: usize,
    /// At how many points the case was solved, and whether at all stages.
    met: usize,
    all: bool,
}

impl<'p> Candidate<'p> {
    fn of(found: &screen::Screened, placed: &'p Placed, up: bool) -> Option<Self> {
        let [rises, falls] = found.least;
        Some(Candidate {
            placed,
            least: if up { rises } else { falls }?,
            known: found.known(),
            decides: found.decides,
            degree: found.degree,
            met: 1,
            all: false,
            curves: Curves::of(placed, up, found.means.clone(), found.degree, found.covers),
        })
    }

    /// Those whose curves are known first, then by bounds.
    fn order(&self, other: &Self) -> std::cmp::Ordering {
        let key = other.known.cmp(&self.known).then(self.least.total_cmp(&other.least));
        let key = key.then(self.placed.number.cmp(&other.placed.number));
        key.then(other.curves.up().cmp(&self.curves.up()))
    }

    /// At how many points to solve next, and whether at all stages, if less than the whole curve could rule it out.
    fn few(&mut self, steps: bool) -> Option<(usize, bool)> {
        let next = match (self.met, self.all) {
            (1, _) => (2, !steps),
            (met, false) => (met, true),
            (met, true) => (2 * met - 1, true),
        };
        (self.met, self.all) = next;
        (!self.decides && next.0 < self.degree).then_some(next)
    }
}

/// A reading moved by one class.
fn shifted(reading: &crate::Reading, up: bool) -> crate::Reading {
    let old = &reading.likelihood;
    let last = old.len().saturating_sub(1);
    let mut likelihood = vec![0.0; old.len()];
    for (grade, value) in old.iter().enumerate() {
        let to = if up {
            (grade + 1).min(last)
        } else {
            grade.saturating_sub(1)
        };
        if let Some(slot) = likelihood.get_mut(to) {
            *slot += value;
        }
    }
    let most = likelihood.iter().copied().fold(0.0, f64::max);
    likelihood.iter_mut().for_each(|value| *value /= most);
    let grade = likelihood
        .iter()
        .position(|value| *value == 1.0)
        .unwrap_or(reading.grade);
    crate::Reading {
        likelihood,
        grade,
        marks: if grade == 0 { Vec::new() } else { reading.marks.clone() },
        ..reading.clone()
    }
}

/// The nearest change that a number makes as it rises or falls, looked for between two distances.
fn nearest(
    curves: &mut Curves,
    ledger: &mut Ledger<'_, '_>,
    now: Graded,
    (from, to): (f64, f64),
) -> Result<Option<Margin>, WeighError> {
    let sign = if curves.up() { 1.0 } else { -1.0 };
    let mut near = (from / STEP).floor() * STEP;
    while near < to {
        let far = near + STEP;
        let mut becomes = curves.grade(ledger, sign * far)?;
        if becomes.same(&now) {
            near = far;
            continue;
        }
        let (mut low, mut high) = (near, far);
        while high - low > 1e-10 {
            let middle = low + (high - low) / 2.0;
            if middle <= low || middle >= high {
                break;
            }
            let graded = curves.grade(ledger, sign * middle)?;
            if graded.same(&now) {
                low = middle;
            } else {
                (high, becomes) = (middle, graded);
            }
        }
        return Ok(Some(Margin {
            number: curves.number(),
            decibans: sign * high,
            from: curves.value(0.0),
            to: curves.value(sign * high),
            becomes,
        }));
    }
    Ok(None)
}

/// The likeliest of some mechanisms, the first of equals: the one whose reach is a family's.
fn likeliest(sites: &[(MechanismIx, usize)], chance: impl Fn(usize) -> f64) -> Option<(MechanismIx, usize)> {
    let mut best: Option<(usize, f64)> = None;
    for index in 0..sites.len() {
        let chance = chance(index);
        // As weighing has it: members that are as likely but for rounding count as equal.
        if best.is_none_or(|(_, most)| chance > most * (1.0 + 1e-9)) {
            best = Some((index, chance));
        }
    }
    best.and_then(|(index, _)| sites.get(index).copied())
}
