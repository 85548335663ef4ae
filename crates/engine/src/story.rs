//! The story: which mechanisms together account for the sightings best.
//!
//! Over the mechanisms that may well be there (as likely as the pack asks of "some" support, the [`MOST`] likeliest), the
//! combination `s` of present and absent with the largest `P(s | e)`, every other mechanism and all responses summed out;
//! and the next two. Several mechanisms may hold at once, or none. Exact: the probability of a part of a combination bounds
//! that of every combination that completes it, so the best-first search is over as soon as three are complete.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use wythe_infer::Var;
use wythe_pack::MechanismIx;

use crate::kept::tangled;
use crate::look::settled;
use crate::{About, WeighError, Weighed};

/// At most this many take part.
pub const MOST: usize = 16;
/// How many parts of combinations are completed side by side.
const TOGETHER: usize = 8;
/// How many combinations are told.
const TOLD: usize = 3;
/// Of how many that are alike those are chosen, at most.
const ALIKE: usize = 64;

/// The most probable combinations of mechanisms.
#[derive(Clone, Debug, PartialEq)]
pub struct Story {
    /// The mechanisms that take part, each at its place, in the order of the outcome.
    pub over: Vec<(MechanismIx, usize)>,
    /// The best combination, then the next two; of equals, that of the mechanism and the place that come first.
    pub combinations: Vec<Combination>,
}

/// One combination of mechanisms.
#[derive(Clone, Debug, PartialEq)]
pub struct Combination {
    /// Those that are there; all others of [`Story::over`] are not.
    pub present: Vec<(MechanismIx, usize)>,
    /// The chance of just this combination, given everything, 0–1.
    pub chance: f64,
    /// For each reading that shows something: its index, and which of the present mechanisms is the likeliest to leave it;
    /// none where only ordinary causes, or mechanisms that do not take part, could.
    pub accounts: Vec<(usize, Option<(MechanismIx, usize)>)>,
}

/// A combination so far.
struct Part {
    ln: f64,
    states: Vec<usize>,
}

impl PartialEq for Part {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Part {}

impl PartialOrd for Part {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Part {
    fn cmp(&self, other: &Self) -> Ordering {
        settled(self.ln)
            .total_cmp(&settled(other.ln))
            .then_with(|| other.states.cmp(&self.states))
    }
}

/// The most probable combination of mechanisms, and the next two.
///
/// # Errors
/// As [`crate::weigh`].
pub fn story(weighed: &Weighed<'_>) -> Result<Story, WeighError> {
    let mut over: Vec<((MechanismIx, usize), Var, f64)> = Vec::new();
    for one in &weighed.outcome().conclusions {
        if let (About::Mechanism { mechanism, at }, [var]) = (one.about, weighed.vars(one.about).as_slice())
            && one.chance >= weighed.pack().policy.bounds.some
        {
            over.push(((mechanism, at), *var, one.chance));
        }
    }
    if over.len() > MOST {
        let mut chances: Vec<f64> = over.iter().map(|(_, _, chance)| *chance).collect();
        chances.sort_by(|a, b| b.total_cmp(a));
        let least = chances.get(MOST - 1).copied().unwrap_or(0.0);
        over.retain(|(_, _, chance)| *chance >= least);
        over.truncate(MOST);
    }
    // The surest first: their wrong states are soon too improbable to follow.
    let mut order: Vec<usize> = (0..over.len()).collect();
    let sure = |at: &usize| {
        over.get(*at)
            .map_or(0.0, |(_, _, chance)| settled((chance - 0.5).abs()))
    };
    order.sort_by(|a, b| sure(b).total_cmp(&sure(a)).then(a.cmp(b)));
    let vars: Vec<(Var, usize)> = order
        .iter()
        .filter_map(|at| over.get(*at))
        .map(|(_, var, chance)| (*var, usize::from(*chance < 0.5)))
        .collect();
    let total = weighed.solved.ln_evidence();
    let mut heap = BinaryHeap::from([Part {
        ln: total,
        states: Vec::new(),
    }]);
    let mut found: Vec<Part> = Vec::new();
    loop {
        // All that are as probable as the last to be told are found, so that of those the first in order are told.
        let last = found.get(TOLD - 1).map(|last| settled(last.ln));
        let tells = |best: &Part| found.len() < ALIKE && last.is_none_or(|last| settled(best.ln) >= last);
        if !heap.peek().is_some_and(tells) {
            break;
        }
        // A whole one is told only when it is the best of all; parts that come next are completed together.
        let mut parts = Vec::new();
        while parts.len() < TOGETHER
            && let Some(best) = heap.pop()
        {
            if best.states.len() < vars.len() {
                parts.push(best);
                continue;
            }
            match parts.is_empty() {
                true => found.push(best),
                false => heap.push(best),
            }
            break;
        }
        let longer = longer(weighed, &vars, &parts)?;
        heap.extend(longer.into_iter().filter(|part| part.ln > f64::NEG_INFINITY));
    }
    let told = found
        .iter()
        .map(|part| combination(weighed, &over, &order, part, total));
    let mut combinations: Vec<Combination> = told.collect();
    combinations.sort_by(|a, b| {
        let chances = settled(b.chance).total_cmp(&settled(a.chance));
        chances.then_with(|| a.present.cmp(&b.present))
    });
    combinations.truncate(TOLD);
    // Of those that are alike, rounding may not make a later one the likelier.
    let mut least = f64::INFINITY;
    for one in &mut combinations {
        one.chance = one.chance.min(least);
        least = one.chance;
    }
    Ok(Story {
        over: over.iter().map(|(site, _, _)| *site).collect(),
        combinations,
    })
}

/// Parts with the next of the variables in either state. Each comes with the state that it is less likely in: that one is
/// worked out, and the other is what it leaves, unless that is so little that rounding would show.
fn longer(weighed: &Weighed<'_>, vars: &[(Var, usize)], parts: &[Part]) -> Result<Vec<Part>, WeighError> {
    const LITTLE: f64 = 0.1;
    let less_likely = |part: &Part| vars.get(part.states.len()).map_or(0, |(_, state)| *state);
    let with = |part: &Part, state: usize| [part.states.as_slice(), &[state]].concat();
    let chances = |of: &[Vec<usize>]| {
        let set = |states: &Vec<usize>| vars.iter().map(|(var, _)| *var).zip(states.iter().copied()).collect();
        let sets: Vec<Vec<(Var, usize)>> = of.iter().map(set).collect();
        weighed.solved.ln_joint(&sets).map_err(tangled)
    };
    let first: Vec<Vec<usize>> = parts.iter().map(|part| with(part, less_likely(part))).collect();
    let found = chances(&first)?;
    let (mut out, mut rest) = (Vec::with_capacity(2 * parts.len()), Vec::new());
    for ((part, states), ln) in parts.iter().zip(first).zip(found) {
        let (other, left) = (with(part, 1 - less_likely(part)), -libm::expm1(ln - part.ln));
        out.push(Part { ln, states });
        if left > LITTLE {
            let ln = part.ln + libm::log(left);
            out.push(Part { ln, states: other });
        } else {
            rest.push(other);
        }
    }
    let found = chances(&rest)?;
    out.extend(rest.into_iter().zip(found).map(|(states, ln)| Part { ln, states }));
    Ok(out)
}

fn combination(
    weighed: &Weighed<'_>,
    over: &[((MechanismIx, usize), Var, f64)],
    order: &[usize],
    part: &Part,
    total: f64,
) -> Combination {
    let mut here: Vec<usize> = order
        .iter()
        .zip(&part.states)
        .filter(|(_, state)| **state == 1)
        .map(|(at, _)| *at)
        .collect();
    here.sort_unstable();
    let present: Vec<(MechanismIx, usize)> = here
        .iter()
        .filter_map(|at| over.get(*at))
        .map(|(site, _, _)| *site)
        .collect();
    let reaches: Vec<_> = present.iter().map(|site| (*site, weighed.reach(*site))).collect();
    let mut accounts = Vec::new();
    for (index, reading) in weighed.outcome().readings.iter().enumerate() {
        if reading.used != crate::Used::Weighed || !reading.shows() {
            continue;
        }
        let mut best: Option<((MechanismIx, usize), f64)> = None;
        for (site, reach) in &reaches {
            if let Some(found) = reach.get(&(reading.clue, reading.at))
                && best.is_none_or(|(_, most)| found.chance > most)
            {
                best = Some((*site, found.chance));
            }
        }
        accounts.push((index, best.map(|(site, _)| site)));
    }
    Combination {
        present,
        chance: libm::exp(part.ln - total),
        accounts,
    }
}
