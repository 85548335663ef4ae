//! From chances to conclusions: steps, support, action, notices.

use std::collections::BTreeMap;

use wythe_case::{Case, Seen};
use wythe_pack::{Action, Bound, ClueIx, FORMAT, Node, Pack, Rival, Support};

use crate::grade::{Coverage, act, cannot_tell, corroborated, coverage, support};
use crate::network::End;
use crate::paths::{Reached, reached};
use crate::weigh::{Chances, Weighing};
use crate::{
    About, Conclusion, HeldBack, Misfit, Notice, NoticeKind, Outcome, Step, StepKind, Used, WeighError, decibans,
};

/// What a conclusion can reach, and its coverage.
type Reach = (BTreeMap<(ClueIx, usize), Reached>, Coverage);

pub(crate) fn outcome(weighing: &mut Weighing<'_>) -> Result<Outcome, WeighError> {
    let (none, groups) = weighing.groups();
    let bases = weighing.bases();
    // All evidence first: its plan then serves every part of it.
    let (last, ln_evidence) = weighing.chances(|_| true)?;
    let [low, high] = [End::Low, End::High].map(|end| weighing.at_end(end, &last, ln_evidence));
    let (prior, _) = weighing.chances(|_| false)?;
    let mut entered: Vec<usize> = Vec::new();
    let mut walk: Vec<(StepKind, Vec<usize>, Chances)> = vec![(StepKind::Context, Vec::new(), prior.clone())];
    let none = (!none.is_empty()).then_some((StepKind::NoneThere, none));
    for (kind, group) in none
        .into_iter()
        .chain(groups.into_iter().map(|group| (StepKind::Seen, group)))
    {
        entered.extend(&group);
        let (chances, _) = weighing.chances(|index| entered.contains(&index))?;
        walk.push((kind, group, chances));
    }
    let mut reaches: Vec<Reach> = Vec::with_capacity(weighing.about.len());
    for about in &weighing.about {
        let found = match about {
            About::Mechanism { mechanism, at } => reached(
                weighing.pack,
                weighing.case,
                &weighing.bound,
                (Node::Mechanism(*mechanism), *at),
            ),
            About::Family(family) => family_reach(weighing, *family, &last),
        };
        let covered = coverage(weighing.pack, &weighing.bound.readings, &found);
        reaches.push((found, covered));
    }
    let pick = |chances: &Chances, at: usize| chances.get(at).copied().unwrap_or(0.0);
    let mut conclusions = Vec::with_capacity(weighing.about.len());
    for (at, about) in weighing.about.iter().enumerate() {
        let mut before = pick(&bases, at);
        let base = before;
        let mut steps = Vec::with_capacity(walk.len());
        for (kind, readings, chances) in &walk {
            let after = pick(chances, at);
            steps.push(Step {
                kind: *kind,
                readings: readings.clone(),
                weight: decibans(after) - decibans(before),
                after,
            });
            before = after;
        }
        let Some((_, covered)) = reaches.get(at) else { continue };
        conclusions.push(conclusion(
            weighing,
            *about,
            base,
            pick(&prior, at),
            pick(&last, at),
            (pick(&low, at), pick(&high, at)),
            steps,
            covered,
        ));
    }
    hold_back(weighing, &mut conclusions);
    let decibans = weighing.conflict()?;
    let bound = weighing.pack.policy.misfit;
    let misfit = Misfit {
        decibans,
        bound,
        over: decibans > bound,
    };
    let notices = notices(weighing, misfit);
    let action = conclusions
        .iter()
        .map(|one| one.action)
        .chain(notices.iter().map(|one| one.action))
        .max()
        .unwrap_or(Action::Record);
    let (pack, case) = (weighing.pack, weighing.case);
    Ok(Outcome {
        pack: (pack.id.clone(), pack.version.clone(), FORMAT),
        case: case.id.clone(),
        as_of: case.passes.last().map(|pass| pass.id.clone()),
        contexts: (0..pack.contexts.len())
            .map(wythe_pack::ContextIx)
            .filter_map(|at| Some((at, weighing.bound.context(at)?)))
            .collect(),
        readings: weighing.bound.readings.clone(),
        conclusions,
        notices,
        misfit,
        action,
        ln_evidence,
    })
}

/// What the likeliest member of a family reaches.
fn family_reach(
    weighing: &Weighing<'_>,
    family: wythe_pack::FamilyIx,
    chances: &Chances,
) -> BTreeMap<(ClueIx, usize), Reached> {
    let of = |site: &(wythe_pack::MechanismIx, usize)| {
        let about = About::Mechanism {
            mechanism: site.0,
            at: site.1,
        };
        weighing
            .about
            .iter()
            .position(|other| *other == about)
            .and_then(|at| chances.get(at).copied())
            .unwrap_or(0.0)
    };
    let mut best: Option<((wythe_pack::MechanismIx, usize), f64)> = None;
    for member in weighing.members(family) {
        let chance = of(&member);
        // Members that are as likely but for rounding: the first.
        if best.is_none_or(|(_, most)| chance > most * (1.0 + 1e-9)) {
            best = Some((member, chance));
        }
    }
    best.map(|((mechanism, at), _)| {
        reached(
            weighing.pack,
            weighing.case,
            &weighing.bound,
            (Node::Mechanism(mechanism), at),
        )
    })
    .unwrap_or_default()
}

#[expect(clippy::too_many_arguments, reason = "the numbers of one conclusion, named once")]
fn conclusion(
    weighing: &Weighing<'_>,
    about: About,
    base: f64,
    prior: f64,
    chance: f64,
    range: (f64, f64),
    steps: Vec<Step>,
    covered: &Coverage,
) -> Conclusion {
    let pack = weighing.pack;
    let bounds = &pack.policy.bounds;
    let mut support = support(bounds, prior, chance);
    if support == Support::NotMoved && cannot_tell(bounds, chance, covered) {
        support = Support::CannotTell;
    }
    let corroboration = corroborated(pack, &weighing.bound.readings, &steps);
    let row = |support: Support| match about {
        About::Mechanism { mechanism, .. } => {
            let own = pack[mechanism]
                .actions
                .iter()
                .find(|(key, _)| *key == support)
                .map(|(_, action)| *action);
            own.or_else(|| {
                pack.policy
                    .consequences
                    .get(pack[mechanism].consequence)
                    .map(|row| row.action(support))
            })
        }
        About::Family(family) => pack[family]
            .consequence
            .and_then(|at| pack.policy.consequences.get(at))
            .map(|row| row.action(support)),
    };
    let row = |support| row(support).unwrap_or(Action::Record);
    let act = act(pack, &row, support, chance, &corroboration, covered);
    Conclusion {
        about,
        base,
        prior,
        chance,
        range: (range.0.min(range.1), range.0.max(range.1)),
        weight: decibans(chance) - decibans(prior),
        steps,
        coverage: covered.share,
        support,
        action: act.action,
        decided: act.decided,
        wants_look: act.wants_look,
        corroboration,
        held_back: None,
    }
}

/// Holds back upkeep and trade work that would do harm while a rival is not settled.
fn hold_back(weighing: &Weighing<'_>, conclusions: &mut [Conclusion]) {
    let chance_of = |rival: Rival, all: &[Conclusion]| {
        all.iter()
            .filter(|one| match (rival, one.about) {
                (Rival::Family(family), About::Family(other)) => family == other,
                (Rival::Mechanism(mechanism), About::Mechanism { mechanism: other, .. }) => mechanism == other,
                _ => false,
            })
            .map(|one| one.chance)
            .fold(0.0, f64::max)
    };
    let mut held = Vec::new();
    for (at, one) in conclusions.iter().enumerate() {
        let About::Mechanism { mechanism, .. } = one.about else {
            continue;
        };
        let Some(harm) = &weighing.pack[mechanism].harm_if_wrong else {
            continue;
        };
        let chance = chance_of(harm.rival, conclusions);
        if chance > harm.over && one.support >= Support::Slight && matches!(one.action, Action::Upkeep | Action::Trade)
        {
            held.push((
                at,
                HeldBack {
                    rival: harm.rival,
                    chance,
                    check_first: harm.check_first,
                },
            ));
        }
    }
    for (at, back) in held {
        if let Some(one) = conclusions.get_mut(at) {
            one.held_back = Some(back);
        }
    }
}

/// Hazards, limits passed, and misfit.
fn notices(weighing: &Weighing<'_>, misfit: Misfit) -> Vec<Notice> {
    let pack = weighing.pack;
    let case = crate::with_computed(pack, weighing.case);
    let mut notices = Vec::new();
    let seen = |clue: ClueIx| {
        let of_clue = move |reading: &crate::Reading| {
            reading.clue == clue && matches!(reading.used, Used::Weighed | Used::SetAside { .. })
        };
        weighing
            .bound
            .readings
            .iter()
            .enumerate()
            .filter(move |(_, reading)| of_clue(reading))
    };
    for (at, hazard) in pack.hazards.iter().enumerate() {
        for (index, _) in seen(hazard.clue).filter(|(_, reading)| reading.grade >= hazard.from) {
            notices.push(Notice {
                kind: NoticeKind::Hazard(at),
                reading: Some(index),
                action: hazard.at_least,
            });
        }
    }
    for (at, limit) in pack.limits.iter().enumerate() {
        let mut passed: Vec<(usize, &crate::Reading)> = std::iter::once(limit.clue)
            .chain(limit.also.iter().copied())
            .flat_map(seen)
            .filter(|(_, reading)| match &limit.bound {
                Bound::From(grade) => reading.grade >= *grade,
                Bound::Over { value, .. } => least(weighing.pack, &case, reading).is_some_and(|least| {
                    if least.open {
                        least.value > *value
                    } else {
                        least.value >= *value
                    }
                }),
            })
            .collect();
        if passed.len() < limit.number {
            continue;
        }
        if limit.number > 1 {
            // One notice for all of them, at the largest; the first of equals.
            passed.sort_by_key(|(index, reading)| (std::cmp::Reverse(reading.grade), *index));
            passed.truncate(1);
        }
        notices.extend(passed.into_iter().map(|(index, _)| Notice {
            kind: NoticeKind::Limit(at),
            reading: Some(index),
            action: limit.at_least,
        }));
    }
    // Of several limits that one sighting passes, those that ask for most.
    let limits: Vec<(Option<usize>, Action)> = notices
        .iter()
        .filter(|one| matches!(one.kind, NoticeKind::Limit(_)))
        .map(|one| (one.reading, one.action))
        .collect();
    let topped = |one: &Notice| {
        limits
            .iter()
            .any(|(reading, action)| *reading == one.reading && *action > one.action)
    };
    notices.retain(|one| !matches!(one.kind, NoticeKind::Limit(_)) || !topped(one));
    if misfit.over {
        notices.push(Notice {
            kind: NoticeKind::Misfit,
            reading: None,
            action: Action::Refer,
        });
    }
    notices
}

/// The least that a sighting says of a size, in the base unit of its quantity.
struct Least {
    value: f64,
    /// It is that value itself, so a limit there is not passed; a class begins above its bound, so it is.
    open: bool,
}

/// The value measured, or where the class of the grade seen begins; none where the size was not noted.
fn least(pack: &Pack, case: &Case, reading: &crate::Reading) -> Option<Least> {
    let mut all = case.passes.iter().flat_map(|pass| &pass.sightings);
    match &all.find(|other| other.id == reading.sighting)?.seen {
        Seen::Measured { reading, .. } => Some(Least {
            value: reading.value,
            open: true,
        }),
        Seen::Grade(_) => {
            let below = reading.grade.checked_sub(1)?;
            let value = pack[reading.clue].grades.get(below)?.up_to?;
            Some(Least { value, open: false })
        }
        _ => None,
    }
}
