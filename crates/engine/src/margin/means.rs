//! What a number did, with a conclusion and without it, and how far it can move the conclusion's odds.

use wythe_infer::Use;

use super::curve::Solutions;
use super::hull::{Convex, Point};
use super::mixture::Mixture;

/// A little room for rounding, in nats.
const ROOM: f64 = 1e-9;

/// At more places there are too many ways to act and stand idle for each to be looked at.
const MANY: f64 = 40.0;

/// The means of acting and standing idle, with the conclusion and without it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Means {
    pub with: Use,
    pub without: Use,
    pub chance: f64,
    /// Places at which the number did anything.
    pub places: f64,
}

impl Means {
    /// The chance of the conclusion, where the number stands at one place.
    pub fn at(&self, u: f64, v: f64) -> f64 {
        let by = |one: &Use| 1.0 + one.acted * (u - 1.0) + one.idle * (v - 1.0);
        let with = self.chance * by(&self.with);
        with / (with + (1.0 - self.chance) * by(&self.without))
    }

    /// How fast the chance of everything seen, and that with the conclusion, grow with the number at one place, over what
    /// they are.
    pub fn slopes(&self, here: f64) -> (f64, f64) {
        let slope = |one: &Use| one.acted / here - one.idle / (1.0 - here);
        let (with, without) = (slope(&self.with), slope(&self.without));
        (self.chance * with + (1.0 - self.chance) * without, with)
    }

    /// The logarithms of [`super::hull`], with the conclusion and without it, by the chances at one place that were solved
    /// for alone; none where they are not known well enough.
    pub fn solved(&self, here: f64, solved: &Solutions, chances: &[f64]) -> Option<(Convex, Convex)> {
        let (with, without) = met(solved, chances)?;
        let points = solved.points.iter().skip(1).copied();
        let known = |values: Vec<f64>| points.clone().zip(values).map(|(x, value)| (x, value, value)).collect();
        Some((
            self.through(here, &self.with, known(with))?,
            self.through(here, &self.without, known(without))?,
        ))
    }

    /// The same more narrowly, by what they can be at some chances in between. Of very many places no more is known.
    pub fn convex(&self, here: f64, solved: &Solutions, chances: &[f64], at: &[f64]) -> Option<(Convex, Convex)> {
        if self.places > MANY {
            return None;
        }
        let (with, without) = met(solved, chances)?;
        let states = States::of(self.places as usize);
        let known: Vec<Vec<f64>> = solved.points.iter().skip(1).map(|x| states.weights(*x, here)).collect();
        let at: Vec<(f64, Vec<f64>)> = at.iter().map(|x| (*x, states.weights(*x, here))).collect();
        let one = |one: &Use, values: Vec<f64>| {
            let mut sums: Vec<(&[f64], f64)> = vec![
                (&states.each, 1.0),
                (&states.acted, one.acted),
                (&states.idle, one.idle),
            ];
            sums.extend(known.iter().map(Vec::as_slice).zip(values));
            self.points(here, one, &sums, &at)
        };
        Some((one(&self.with, with)?, one(&self.without, without)?))
    }

    /// One of the two, by what sums of the shares of all states are known.
    fn points(&self, here: f64, one: &Use, known: &[(&[f64], f64)], at: &[(f64, Vec<f64>)]) -> Option<Convex> {
        let mut mixture = Mixture::of(known)?;
        // One after the other, each is near the last.
        let most: Vec<f64> = at.iter().map(|(_, of)| mixture.most(of)).collect();
        let least = at.iter().map(|(_, of)| mixture.least(of));
        let values = at.iter().zip(least).zip(most).map(|(((x, _), least), most)| {
            let (u, v) = (libm::log(by(*x, here)), libm::log(by(1.0 - x, 1.0 - here)));
            // Never less than by the means alone.
            (*x, least.max(libm::exp(one.acted * u + one.idle * v)), most)
        });
        self.through(here, one, values.collect())
    }

    /// One of the two, where at some chances at one place its sum lies between two values.
    fn through(&self, here: f64, one: &Use, values: Vec<(f64, f64, f64)>) -> Option<Convex> {
        let point = |(x, least, most): (f64, f64, f64)| {
            let all = self.places * libm::log(by(1.0 - x, 1.0 - here));
            Point {
                at: shift(x, here),
                low: libm::log(least) - all,
                high: libm::log(most) - all,
            }
        };
        let mut points: Vec<Point> = values.into_iter().map(point).collect();
        points.push(Point {
            at: 0.0,
            low: 0.0,
            high: 0.0,
        });
        points.sort_by(|a, b| a.at.total_cmp(&b.at));
        let good = |point: &Point| point.at.is_finite() && point.low.is_finite() && point.high.is_finite();
        let apart = points.windows(2).all(|pair| pair[1].at - pair[0].at > 1e-6);
        (apart && points.iter().all(good)).then_some(Convex {
            points,
            slope: one.acted + (self.places - one.acted - one.idle) * here,
            most: self.places,
        })
    }

    /// Bounds on how far the log odds move, in nats.
    pub fn moves(&self, u: f64, v: f64) -> (f64, f64) {
        let n = self.places;
        if n == 0.0 {
            return (0.0, 0.0);
        }
        let (most, least) = (libm::pow(u, n) - 1.0, libm::pow(v, n) - 1.0);
        let high = |one: &Use| libm::log1p(one.acted / n * most + one.idle / n * least);
        let (with, without) = (high(&self.with), high(&self.without));
        let (from, to) = if n == 1.0 {
            (with, without)
        } else {
            let (u, v) = (libm::log(u), libm::log(v));
            let low = |one: &Use| one.acted * u + one.idle * v;
            (low(&self.with), low(&self.without))
        };
        (from - without - ROOM, with - to + ROOM)
    }

    /// Wider bounds, for this and every smaller move the same way: of each sum of two parts, one of which rises with the
    /// move and the other falls, the one that falls is taken as it is without a move.
    pub fn moves_upto(&self, u: f64, v: f64) -> (f64, f64) {
        let n = self.places;
        if n == 0.0 {
            return (0.0, 0.0);
        }
        let rises = u > 1.0;
        let most = libm::pow(u.max(v), n) - 1.0;
        let ln = libm::log(u.min(v));
        let high = |one: &Use| libm::log1p(if rises { one.acted } else { one.idle } / n * most);
        let low = |one: &Use| ln * if rises { one.idle } else { one.acted };
        // For one place what is said to be highest is exact, and so is lowest; the power of either is no less.
        (
            low(&self.with) - high(&self.without) - ROOM,
            high(&self.with) - low(&self.without) + ROOM,
        )
    }
}

/// What was solved for but the first, each over the first: P(evidence and conclusion), P(evidence and not).
fn met(solved: &Solutions, chances: &[f64]) -> Option<(Vec<f64>, Vec<f64>)> {
    let start = *chances.first()?;
    let values = |of: &dyn Fn(f64) -> f64| -> Vec<f64> {
        let values = solved.totals.iter().zip(chances).skip(1);
        values.map(|(total, chance)| total * of(*chance) / of(start)).collect()
    };
    Some((values(&|chance| chance), values(&|chance| 1.0 - chance)))
}

/// By how much the log odds of one chance are over those of another.
pub(super) fn shift(there: f64, here: f64) -> f64 {
    if there == here { 0.0 } else { logit(there) - logit(here) }
}

/// The log odds of a chance.
pub(super) fn logit(p: f64) -> f64 {
    libm::log(p) - libm::log1p(-p)
}

/// How many times as large; a chance of 0 stays.
pub(super) fn by(there: f64, here: f64) -> f64 {
    if there == here { 1.0 } else { there / here }
}

/// In how many of some places a number acted, and in how many it stood idle: every way that there is.
struct States {
    places: usize,
    each: Vec<f64>,
    acted: Vec<f64>,
    idle: Vec<f64>,
}

impl States {
    fn of(places: usize) -> Self {
        let all = || (0..=places).flat_map(|acted| (0..=places - acted).map(move |idle| (acted as f64, idle as f64)));
        States {
            places,
            each: all().map(|_| 1.0).collect(),
            acted: all().map(|(acted, _)| acted).collect(),
            idle: all().map(|(_, idle)| idle).collect(),
        }
    }

    /// How many times as much each weighs with another chance at one place.
    fn weights(&self, there: f64, here: f64) -> Vec<f64> {
        let (by_acting, by_idling) = (by(there, here), by(1.0 - there, 1.0 - here));
        let mut all = Vec::with_capacity(self.each.len());
        let mut acted = 1.0;
        for places in (0..=self.places).rev() {
            let mut both = acted;
            for _ in 0..=places {
                all.push(both);
                both *= by_idling;
            }
            acted *= by_acting;
        }
        all
    }
}
