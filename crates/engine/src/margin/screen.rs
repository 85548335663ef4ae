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
//! how far its log odds can have moved. For one place the upper bound is exact, and so is the whole curve: no solution is
//! needed at all. Places that the evidence leaves untouched do not count.

use wythe_pack::Support;

use super::STRIDE;
use super::curve::{Curves, Solutions};
use super::hull::{Convex, difference};
use super::ledger::{Ledger, What, hangs_on_steps};
use super::means::{Means, by, logit, shift};
use super::place::Placed;
use super::stage::Stage;
use crate::grade::{cannot_tell, corroborated};
use crate::{Graded, Number, Step, StepKind, WeighError};

/// Bounds on how far the log odds move, where a number is so many times as large, and what it leaves is.
type Moves = fn(&Means, f64, f64) -> (f64, f64);

/// What is known of a number before any solution.
pub(super) struct Screened {
    /// How far it must rise at least, and how far it must fall, before it can change the grade; none where it can't within
    /// reach.
    pub least: [Option<f64>; 2],
    /// What it did at each stage, where that is known.
    pub means: Vec<Option<Means>>,
    /// Places at which it stands.
    pub degree: usize,
    /// It bears on what the conclusion's clues would tell.
    pub covers: bool,
    /// And that may change the grade.
    pub decides: bool,
}

impl Screened {
    /// Whether its curve is known without a solution.
    pub fn known(&self) -> bool {
        self.degree <= 1
    }
}

/// Bounds on a conclusion's moves.
pub(super) struct Screen {
    /// Stages whose odds matter: before any sighting, with all; between them those that count for corroboration.
    stages: Vec<Stage>,
    pub steps: bool,
    enough: bool,
    /// Coverage has a say in the grade as it is.
    coverage: bool,
    /// The members that have the say are not at one about it.
    divided: bool,
    clues: Vec<wythe_pack::ClueIx>,
    bounds: Crossings,
    /// Log odds from which a look could carry a member over the bound of some support: there it cannot be told.
    told_from: Vec<f64>,
}

impl Screen {
    pub fn of(ledger: &mut Ledger<'_, '_>, now: Graded) -> Result<Screen, WeighError> {
        let (weighed, about) = (ledger.weighed, ledger.about);
        let one = weighed.conclusion(about)?;
        let raw = crate::grade::support(&weighed.pack().policy.bounds, one.prior, one.chance);
        let given = if now.support == Support::CannotTell {
            now.support
        } else {
            raw
        };
        let steps = hangs_on_steps(weighed.pack(), about, given, one.chance);
        let last = ledger.anew.last();
        let mut stages = Vec::new();
        for at in (0..=last).filter(|at| *at == 0 || *at == last || steps) {
            stages.push(Stage::of(ledger, at)?);
        }
        let coverage =
            matches!(now.support, Support::NotMoved | Support::CannotTell) || (steps && !one.corroboration.enough);
        let (told_from, divided) = match raw {
            Support::NotMoved => told_from(ledger, one.chance),
            _ => (Vec::new(), false),
        };
        Ok(Screen {
            stages,
            steps,
            enough: one.corroboration.enough,
            coverage,
            divided: coverage && (divided || (steps && !one.corroboration.enough && ledger.sites().len() > 1)),
            clues: weighed.reach_of(about).into_keys().map(|(clue, _)| clue).collect(),
            bounds: Crossings::of(&weighed.pack().policy),
            told_from,
        })
    }

    /// What is known of a number; none where it can't change the grade within reach.
    pub fn screened(&self, ledger: &Ledger<'_, '_>, placed: &Placed) -> Option<Screened> {
        let covers = self.covers(ledger, placed);
        let pack = ledger.weighed.pack();
        let means: Vec<Option<Means>> = self.stages.iter().map(|stage| stage.means(pack, placed)).collect();
        let places = |means: &Option<Means>| means.map_or(placed.uses.len(), |means| means.places as usize);
        let degree = means.iter().map(places).max().unwrap_or(0);
        // A family's coverage is that of its likeliest member, which may be another when a number moves.
        let decides = (self.coverage && covers) || (self.divided && degree > 0);
        let found = |least| {
            let mut known = vec![None; ledger.anew.stages().len()];
            for (stage, means) in self.stages.iter().zip(&means) {
                if let Some(slot) = known.get_mut(stage.at) {
                    *slot = *means;
                }
            }
            Some(Screened {
                least,
                means: known,
                degree,
                covers,
                decides,
            })
        };
        if decides {
            return found([Some(0.0); 2]);
        }
        if degree == 0 {
            return None;
        }
        let moves = |stride: usize, way: usize, hull: &mut Vec<(f64, f64)>, of: Moves| {
            let there = placed.strides.get(stride).and_then(|both| both.get(way)).copied();
            let there = there.unwrap_or(placed.here);
            let (u, v) = (by(there, placed.here), by(1.0 - there, 1.0 - placed.here));
            for ((slot, means), stage) in hull.iter_mut().zip(&means).zip(&self.stages) {
                let (low, high) = means.map_or((f64::NEG_INFINITY, f64::INFINITY), |means| of(&means, u, v));
                slot.0 = slot.0.min(stage.ln_odds + low);
                slot.1 = slot.1.max(stage.ln_odds + high);
            }
        };
        // First by bounds on all moves of a way at once. What one place does to the log odds only grows with the distance.
        let all: Moves = if degree == 1 { Means::moves } else { Means::moves_upto };
        let end = placed.strides.len().saturating_sub(1);
        let may = |way: &usize| {
            let mut hull = self.start();
            moves(end, *way, &mut hull, all);
            self.possible(ledger, &hull)
        };
        let mut least = [None; 2];
        for (way, least) in least.iter_mut().enumerate().filter(|(way, _)| may(way)) {
            let mut hull = self.start();
            *least = (0..placed.strides.len()).find_map(|stride| {
                moves(stride, way, &mut hull, Means::moves);
                self.possible(ledger, &hull).then_some(stride as f64 * STRIDE)
            });
        }
        least.iter().any(Option::is_some).then(|| found(least)).flatten()
    }

    /// How far a number must rise or fall at least by what the case solved at so many points of its curve tells, at all
    /// stages or only at the first and the last; none where it can't change the grade within some distance.
    pub fn refined(
        &self,
        ledger: &mut Ledger<'_, '_>,
        placed: &Placed,
        curves: &mut Curves<'_>,
        (count, all): (usize, bool),
        within: f64,
    ) -> Result<Option<f64>, WeighError> {
        let pack = ledger.weighed.pack();
        let way = usize::from(!curves.up());
        let along = placed.strides.iter().filter_map(|both| both.get(way).copied());
        let along: Vec<f64> = along.take((within / STRIDE) as usize + 1).collect();
        let mut known = Vec::with_capacity(self.stages.len());
        for stage in &self.stages {
            let means = stage.means(pack, placed);
            let solved = match means {
                Some(means) if means.places > 1.0 && (all || self.is_end(stage)) => {
                    let solved = curves.at_points(ledger, (stage.at, What::Own), count)?.clone();
                    let chances: Vec<f64> = solved.stands.iter().map(|stand| ledger.own(stand)).collect();
                    Some((solved, chances))
                }
                _ => None,
            };
            known.push((means, solved));
        }
        // First by the chances solved for alone: most are ruled out by that.
        let mut first = None;
        for narrow in [false, true] {
            let convex = |(means, solved): &(Option<Means>, Option<(Solutions, Vec<f64>)>)| {
                let (means, (solved, chances)) = (means.as_ref()?, solved.as_ref()?);
                let found = narrow
                    .then(|| means.convex(placed.here, solved, chances, &along))
                    .flatten();
                found.or_else(|| means.solved(placed.here, solved, chances))
            };
            let convex: Vec<Option<(Convex, Convex)>> = known.iter().map(convex).collect();
            first = self.first(
                ledger,
                (placed, &along),
                known.iter().map(|(means, _)| means).zip(&convex),
            );
            if first.is_none() {
                break;
            }
        }
        Ok(first.map(|stride| stride as f64 * STRIDE))
    }

    /// The first stride on which the grade can differ, by what is known at each stage.
    fn first<'k>(
        &self,
        ledger: &Ledger<'_, '_>,
        (placed, along): (&Placed, &[f64]),
        known: impl Iterator<Item = (&'k Option<Means>, &'k Option<(Convex, Convex)>)> + Clone,
    ) -> Option<usize> {
        let mut hull = self.start();
        let mut before = placed.here;
        for (stride, there) in along.iter().enumerate() {
            let (from, to) = (shift(before, placed.here), shift(*there, placed.here));
            for ((slot, (means, convex)), stage) in hull.iter_mut().zip(known.clone()).zip(&self.stages) {
                let (low, high) = match (means, convex) {
                    (_, Some((with, without))) => difference(with, without, (from.min(to), from.max(to))),
                    (Some(means), None) => {
                        Some(means.moves(by(*there, placed.here), by(1.0 - there, 1.0 - placed.here)))
                    }
                    _ => None,
                }
                .unwrap_or((f64::NEG_INFINITY, f64::INFINITY));
                slot.0 = slot.0.min(stage.ln_odds + low);
                slot.1 = slot.1.max(stage.ln_odds + high);
            }
            before = *there;
            if self.possible(ledger, &hull) {
                return Some(stride);
            }
        }
        None
    }

    /// Whether a stage is the first or the last.
    fn is_end(&self, stage: &Stage) -> bool {
        stage.at == 0 || self.stages.last().is_some_and(|last| last.at == stage.at)
    }

    fn start(&self) -> Vec<(f64, f64)> {
        let stages = self.stages.iter();
        stages.map(|stage| (stage.ln_odds, stage.ln_odds)).collect()
    }

    /// Whether the grade can differ while the log odds of each stage are within these.
    fn possible(&self, ledger: &Ledger<'_, '_>, hull: &[(f64, f64)]) -> bool {
        let pack = ledger.weighed.pack();
        let (Some(prior), Some(last)) = (hull.first().copied(), hull.last().copied()) else {
            return true;
        };
        let untold = self.told_from.iter().any(|at| last.0 <= *at && *at <= last.1);
        if untold || self.bounds.within(prior, last) {
            return true;
        }
        if !self.steps {
            return false;
        }
        let need = pack.policy.referral.corroborate.at_least;
        let to_decibans = |nats: f64| nats * 10.0 / std::f64::consts::LN_10;
        let mut sure = Vec::new();
        for (pair, stage) in hull.windows(2).zip(self.stages.iter().skip(1)) {
            let [before, after] = pair else { continue };
            if stage.kind != StepKind::Seen {
                continue;
            }
            let (low, high) = (to_decibans(after.0 - before.1), to_decibans(after.1 - before.0));
            if !self.enough && low < need && high >= need {
                return true;
            }
            sure.push(Step {
                kind: stage.kind,
                readings: stage.group.clone(),
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
                wythe_pack::Node::Mechanism(mechanism) => ledger.sites().iter().any(|(own, _)| *own == mechanism),
                _ => true,
            },
            Number::Clue(clue) => self.clues.contains(&clue),
            _ => false,
        }
    }
}

/// Where a conclusion that is not moved would no longer be told for want of looks, by each member; and whether members
/// differ about that as it is.
fn told_from(ledger: &mut Ledger<'_, '_>, chance: f64) -> (Vec<f64>, bool) {
    let weighed = ledger.weighed;
    let bounds = &weighed.pack().policy.bounds;
    let some = logit(bounds.some);
    let (mut from, mut told) = (Vec::new(), Vec::new());
    for member in ledger.sites().to_vec() {
        let covered = ledger.coverage(member);
        told.push(cannot_tell(bounds, chance, &covered));
        if covered.share < bounds.cannot_tell {
            from.push(some - libm::log(covered.factor));
        }
    }
    (from, told.windows(2).any(|pair| pair[0] != pair[1]))
}

/// Where supports and the referral change.
struct Crossings {
    /// Log odds of the bounds on chances.
    chances: [f64; 6],
    /// Logarithms of the bounds on how many times the odds are.
    factors: [f64; 3],
    share_of_prior: f64,
}

impl Crossings {
    fn of(policy: &wythe_pack::Policy) -> Self {
        let bounds = &policy.bounds;
        let chances = [
            bounds.spoken_against,
            bounds.weakly,
            bounds.some,
            bounds.fair,
            bounds.strong,
            policy.referral.bound(),
        ];
        Crossings {
            chances: chances.map(logit),
            factors: [bounds.halved, bounds.not_moved, 1.0 / bounds.not_moved].map(libm::log),
            share_of_prior: bounds.share_of_prior,
        }
    }

    /// Whether any lies within reach of these log odds before any sighting and with all.
    fn within(&self, prior: (f64, f64), last: (f64, f64)) -> bool {
        let within = |at: &f64, (low, high): (f64, f64)| low <= *at && *at <= high;
        let factor = (last.0 - prior.1, last.1 - prior.0);
        let share = |ln_odds: f64| logit(self.share_of_prior / (1.0 + libm::exp(-ln_odds)));
        self.chances.iter().any(|at| within(at, last))
            || self.factors.iter().any(|at| within(at, factor))
            || (share(prior.0) <= last.1 && last.0 <= share(prior.1))
    }
}
