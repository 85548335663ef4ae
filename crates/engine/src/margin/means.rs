//! What a number did, with a conclusion and without it, and how far it can move the conclusion's odds.

use wythe_infer::Use;

use super::curve::Solutions;
use super::hull::Convex;

/// A little room for rounding, in nats.
const ROOM: f64 = 1e-9;

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

    /// The logarithms of [`super::hull`], with the conclusion and without it; none where they are not known well enough.
    pub fn convex(&self, here: f64, solved: &Solutions, chances: &[f64]) -> Option<(Convex, Convex)> {
        let (n, first) = (self.places, solved.stands.first()?.ln);
        let (start, mut with, mut without) = (*chances.first()?, Vec::new(), Vec::new());
        for ((x, stand), chance) in solved.points.iter().zip(&solved.stands).zip(chances) {
            let at = shift(*x, here);
            let all = stand.ln - first - n * libm::log(by(1.0 - x, 1.0 - here));
            with.push((at, all + libm::log(chance / start)));
            without.push((at, all + libm::log((1.0 - chance) / (1.0 - start))));
        }
        let good = |(at, value): &(f64, f64)| at.is_finite() && value.is_finite();
        let sorted = |mut points: Vec<(f64, f64)>, one: &Use| {
            points.sort_by(|a, b| a.0.total_cmp(&b.0));
            let apart = points.windows(2).all(|pair| pair[1].0 - pair[0].0 > 1e-6);
            (apart && points.iter().all(good)).then_some(Convex {
                points,
                slope: one.acted + (n - one.acted - one.idle) * here,
                most: n,
            })
        };
        Some((sorted(with, &self.with)?, sorted(without, &self.without)?))
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

/// By how much the log odds of one chance are over those of another.
pub(super) fn shift(there: f64, here: f64) -> f64 {
    let odds = |p: f64| libm::log(p) - libm::log1p(-p);
    if there == here { 0.0 } else { odds(there) - odds(here) }
}

/// How many times as large; a chance of 0 stays.
pub(super) fn by(there: f64, here: f64) -> f64 {
    if there == here { 1.0 } else { there / here }
}
