//! Which numbers could change a conclusion at all, and from how far on: bounds that cost no solution.
//!
//! Moving a number from `x` to `x'` at one place multiplies the weight of every state of the house in which it acted `a`
//! times and stood idle `b` times, of `n` places, by `u^a · v^b`, with `u = x'/x` and `v = (1 − x')/(1 − x)`. With the means
//! of `a` and `b` given the evidence and the conclusion, from one pass with derivatives,
//!
//! ```text
//! u^mean(a) · v^mean(b)  ≤  mean(u^a · v^b)  ≤  1 + mean(a)/n · (u^n − 1) + mean(b)/n · (v^n − 1)
//! ```
//!
//! (Jensen; and the chords, for the function is convex and a + b ≤ n.) The same without the conclusion: together they bound
//! how far its log odds can have moved. For one place the upper bound is exact.

use wythe_infer::{Solved, Use, Uses};
use wythe_pack::{Bounds, Support};

use super::REACH;
use super::ledger::{Ledger, needs};
use super::place::{Place, Placed};
use crate::grade::corroborated;
use crate::kept::tangled;
use crate::{About, Graded, Number, Step, StepKind, WeighError};

/// Steps in which the bounds are followed outward, in decibans.
const STRIDE: f64 = 1.0;

/// A conclusion's log odds at one stage, and what each number did given it and given not.
struct Stage {
    ln_odds: f64,
    chance: f64,
    all: Uses,
    not: Uses,
}

/// The means of acting and standing idle, with the conclusion and without it.
#[derive(Clone, Copy)]
struct Means {
    with: Use,
    without: Use,
}

/// Bounds on a conclusion's moves.
pub(super) struct Screen {
    about: About,
    /// Stages whose odds matter: before any sighting, with all; between them those that count for corroboration.
    stages: Vec<(StepKind, Vec<usize>, Stage)>,
    steps: bool,
    enough: bool,
    /// Coverage has a say in the grade as it is.
    coverage: bool,
    clues: Vec<wythe_pack::ClueIx>,
    /// Log odds from which a look could carry it over the bound of some support: there it cannot be told.
    told_from: Option<f64>,
}

impl Screen {
    pub fn of(ledger: &mut Ledger<'_, '_>, about: About, now: Graded) -> Result<Screen, WeighError> {
        let weighed = ledger.weighed;
        let one = weighed.conclusion(about)?;
        let needs = needs(weighed, about, one.prior, one.chance);
        let all = ledger.stages();
        let last = all.len().saturating_sub(1);
        let absent: Vec<_> = weighed.vars(about).into_iter().map(|var| (var, 0)).collect();
        let mut stages = Vec::new();
        for (index, (kind, group)) in all.into_iter().enumerate() {
            if !(index == 0 || index == last || needs.steps) {
                continue;
            }
            let solved: Solved = if index == last {
                weighed.solved.clone()
            } else if index == 0 {
                weighed.before()?.clone()
            } else {
                let model = &weighed.weighing.model;
                let evidence = ledger.evidence(model, &weighed.weighing.bound.readings, index);
                wythe_infer::solve_seen(&model.net, &evidence, &wythe_infer::Limits::default()).map_err(tangled)?
            };
            let every = solved.uses(&[]).map_err(tangled)?;
            let not = solved.uses(&absent).map_err(tangled)?;
            let chance = -libm::expm1((not.ln() - every.ln()).min(0.0));
            stages.push((
                kind,
                group,
                Stage {
                    ln_odds: libm::log(chance) - (not.ln() - every.ln()),
                    chance,
                    all: every,
                    not,
                },
            ));
        }
        Ok(Screen {
            about,
            stages,
            steps: needs.steps,
            enough: one.corroboration.enough,
            coverage: matches!(now.support, Support::NotMoved | Support::CannotTell)
                || (needs.steps && !one.corroboration.enough),
            clues: weighed.reach_of(about).into_keys().map(|(clue, _)| clue).collect(),
            told_from: told_from(ledger, about),
        })
    }

    /// How far a number must move at least before it can change the grade; none where it can't within reach.
    pub fn least(&self, ledger: &mut Ledger<'_, '_>, placed: &Placed) -> Option<f64> {
        // A family's coverage is that of its likeliest member, which may be another when a number moves.
        let family = matches!(self.about, About::Family(_));
        let covers = self.coverage && (family || self.covers(ledger, placed));
        if placed.uses.is_empty() {
            return covers.then_some(0.0);
        }
        // The bounds count what evidence bears on; a mechanism that none bears on is moved by these all the same.
        let of_mechanism = match placed.number {
            Number::Prevalence(_) => true,
            Number::Link(rule) => {
                let link = ledger.weighed.pack().links(rule.from).get(rule.link);
                link.is_some_and(|link| matches!(link.effect, wythe_pack::Node::Mechanism(_)))
            }
            _ => false,
        };
        if covers || of_mechanism {
            return Some(0.0);
        }
        let means: Vec<Option<Means>> = self
            .stages
            .iter()
            .map(|(_, _, stage)| stage.means(ledger, placed))
            .collect();
        let here = placed.at_one_place(ledger, 0.0);
        let n = placed.uses.len() as f64;
        let mut far = STRIDE;
        let mut hulls = [self.start(), self.start()];
        while far <= REACH {
            for (sign, hull) in [1.0, -1.0].into_iter().zip(&mut hulls) {
                let there = placed.at_one_place(ledger, sign * far);
                let (u, v) = (there / here, (1.0 - there) / (1.0 - here));
                for ((slot, means), (_, _, stage)) in hull.iter_mut().zip(&means).zip(&self.stages) {
                    let (low, high) = means.map_or((f64::NEG_INFINITY, f64::INFINITY), |means| means.moves(u, v, n));
                    slot.0 = slot.0.min(stage.ln_odds + low);
                    slot.1 = slot.1.max(stage.ln_odds + high);
                }
                if self.possible(ledger, hull) {
                    return Some(far - STRIDE);
                }
            }
            far += STRIDE;
        }
        None
    }

    fn start(&self) -> Vec<(f64, f64)> {
        self.stages
            .iter()
            .map(|(_, _, stage)| (stage.ln_odds, stage.ln_odds))
            .collect()
    }

    /// Whether the grade can differ while the log odds of each stage are within these.
    fn possible(&self, ledger: &Ledger<'_, '_>, hull: &[(f64, f64)]) -> bool {
        let pack = ledger.weighed.pack();
        let (Some(prior), Some(last)) = (hull.first().copied(), hull.last().copied()) else {
            return true;
        };
        let untold = self.told_from.is_some_and(|at| last.0 <= at && at <= last.1);
        if untold || crosses(&pack.policy.bounds, pack.policy.referral.bound(), prior, last) {
            return true;
        }
        if !self.steps {
            return false;
        }
        let need = pack.policy.referral.corroborate.at_least;
        let to_decibans = |nats: f64| nats * 10.0 / std::f64::consts::LN_10;
        let mut sure = Vec::new();
        for (pair, (kind, group, _)) in hull.windows(2).zip(self.stages.iter().skip(1)) {
            let [before, after] = pair else { continue };
            if *kind != StepKind::Seen {
                continue;
            }
            let (low, high) = (to_decibans(after.0 - before.1), to_decibans(after.1 - before.0));
            if !self.enough && low < need && high >= need {
                return true;
            }
            sure.push(Step {
                kind: *kind,
                readings: group.clone(),
                weight: low,
                after: 0.0,
            });
        }
        self.enough && !corroborated(pack, &ledger.weighed.outcome().readings, &sure).enough
    }

    /// Whether a number bears on what the conclusion's clues would tell.
    fn covers(&self, ledger: &Ledger<'_, '_>, placed: &Placed) -> bool {
        match placed.number {
            Number::Link(rule) => match rule.from {
                wythe_pack::Node::Mechanism(mechanism) => ledger
                    .weighed
                    .sites(self.about)
                    .iter()
                    .any(|(own, _)| *own == mechanism),
                _ => true,
            },
            Number::Clue(clue) => self.clues.contains(&clue),
            _ => false,
        }
    }
}

/// Where a mechanism's chance, not moved, would no longer be told for want of looks.
fn told_from(ledger: &Ledger<'_, '_>, about: About) -> Option<f64> {
    let About::Mechanism { mechanism, at } = about else {
        return None;
    };
    let bounds = &ledger.weighed.pack().policy.bounds;
    let found = ledger.weighed.reach((mechanism, at));
    let covered = crate::grade::coverage(ledger.weighed.pack(), &ledger.weighed.outcome().readings, &found);
    let some = libm::log(bounds.some) - libm::log1p(-bounds.some);
    (covered.share < bounds.cannot_tell).then(|| some - libm::log(covered.factor))
}

impl Stage {
    fn means(&self, ledger: &Ledger<'_, '_>, placed: &Placed) -> Option<Means> {
        let pack = ledger.weighed.pack();
        let sum = |uses: &Uses| {
            let mut sum = Use::default();
            for place in &placed.uses {
                let one = match *place {
                    Place::Leak(var) => uses.leak(var),
                    Place::Cause(var, cause) => uses.cause(var, cause, |state| placed.speaks(pack, state)),
                }?;
                sum.acted += one.acted;
                sum.idle += one.idle;
            }
            Some(sum)
        };
        let (all, without) = (sum(&self.all)?, sum(&self.not)?);
        let with = |all: f64, without: f64| ((all - (1.0 - self.chance) * without) / self.chance).max(0.0);
        Some(Means {
            with: Use {
                acted: with(all.acted, without.acted),
                idle: with(all.idle, without.idle),
            },
            without,
        })
    }
}

impl Means {
    /// Bounds on how far the log odds move, in nats.
    fn moves(&self, u: f64, v: f64, n: f64) -> (f64, f64) {
        let high = |one: &Use| {
            let chord = |mean: f64, by: f64| mean / n * (libm::pow(by, n) - 1.0);
            libm::log1p(chord(one.acted, u) + chord(one.idle, v))
        };
        let low = |one: &Use| {
            if n == 1.0 {
                high(one)
            } else {
                one.acted * libm::log(u) + one.idle * libm::log(v)
            }
        };
        // A little room for rounding.
        let room = 1e-9;
        (
            low(&self.with) - high(&self.without) - room,
            high(&self.with) - low(&self.without) + room,
        )
    }
}

/// Whether any bound between supports, or the referral's, lies within reach of these log odds.
fn crosses(bounds: &Bounds, referral: f64, prior: (f64, f64), last: (f64, f64)) -> bool {
    let logit = |p: f64| libm::log(p) - libm::log1p(-p);
    let within = |at: f64, (low, high): (f64, f64)| low <= at && at <= high;
    let chances = [
        bounds.spoken_against,
        bounds.weakly,
        bounds.some,
        bounds.fair,
        bounds.strong,
        referral,
    ];
    let factor = (last.0 - prior.1, last.1 - prior.0);
    let factors = [bounds.halved, bounds.not_moved, 1.0 / bounds.not_moved];
    let share = |ln_odds: f64| logit(bounds.share_of_prior / (1.0 + libm::exp(-ln_odds)));
    chances.into_iter().any(|at| within(logit(at), last))
        || factors.into_iter().any(|at| within(libm::log(at), factor))
        || (share(prior.0) <= last.1 && last.0 <= share(prior.1))
}
