//! From chances to conclusions: steps, support, action, notices.

use wythe_case::{Case, Seen};
use wythe_pack::{Action, Bound, ClueIx, FORMAT, FamilyIx, MechanismIx, Node, Pack, Rival, Support};

use crate::grade::{Coverage, act, cannot_tell, corroborated, coverage, support};
use crate::paths::Ways;
use crate::steps::{All, Stages};
use crate::weigh::{Chances, Weighing};
use crate::{About, Conclusion, HeldBack, Misfit, Notice, NoticeKind, Outcome, Used, WeighError, decibans};

pub(crate) fn outcome(weighing: &mut Weighing<'_>) -> Result<Outcome, WeighError> {
    let all = All::of(weighing)?;
    let ln_evidence = all.ln;
    let conflict = weighing.conflict(&all.evidence, all.ln)?;
    let [low, high] = weighing.at_ends(&all.chances, all.ln);
    let stages = Stages::of(weighing, all)?;
    let mut ways = weighing.ways();
    let mut covered: Vec<Coverage> = Vec::with_capacity(weighing.about.len());
    let mut conclusions = Vec::with_capacity(weighing.about.len());
    for (at, about) in weighing.about.iter().enumerate() {
        let own = match about {
            About::Mechanism { mechanism, at } => covers(weighing, &mut ways, (*mechanism, *at)),
            // What its likeliest member would tell; mechanisms come before families.
            About::Family(family) => {
                let found = likeliest(weighing, *family, &stages.last).and_then(|at| covered.get(at));
                found.cloned().unwrap_or_default()
            }
        };
        let ends = [&low, &high].map(|end| end.get(at).copied().unwrap_or(0.0));
        let mut one = conclusion(weighing, &stages, (at, *about), &own);
        one.range = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        conclusions.push(one);
        covered.push(own);
    }
    hold_back(weighing, &mut conclusions);
    let bound = weighing.pack.policy.misfit;
    let misfit = Misfit {
        decibans: conflict,
        bound,
        over: conflict > bound,
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

/// One conclusion, without its range and with no advice held back.
pub(crate) fn one(weighing: &Weighing<'_>, stages: &Stages, at: usize) -> Option<Conclusion> {
    let about = *weighing.about.get(at)?;
    let mut ways = weighing.ways();
    let covered = match about {
        About::Mechanism { mechanism, at } => covers(weighing, &mut ways, (mechanism, at)),
        About::Family(family) => {
            let member = likeliest(weighing, family, &stages.last).and_then(|at| weighing.about.get(at));
            match member {
                Some(About::Mechanism { mechanism, at }) => covers(weighing, &mut ways, (*mechanism, *at)),
                _ => Coverage::default(),
            }
        }
    };
    Some(conclusion(weighing, stages, (at, about), &covered))
}

fn covers(weighing: &Weighing<'_>, ways: &mut Ways<'_>, (mechanism, at): (MechanismIx, usize)) -> Coverage {
    let reach = ways.chances((Node::Mechanism(mechanism), at));
    coverage(weighing.pack, &weighing.bound.readings, reach)
}

/// Where the likeliest member of a family stands among the conclusions.
fn likeliest(weighing: &Weighing<'_>, family: FamilyIx, chances: &Chances) -> Option<usize> {
    let members = weighing.members(family);
    let mut best: Option<(usize, f64)> = None;
    for (index, (about, chance)) in weighing.about.iter().zip(chances).enumerate() {
        let is = matches!(about, About::Mechanism { mechanism, at } if members.contains(&(*mechanism, *at)));
        // Members that are as likely but for rounding: the first.
        if is && best.is_none_or(|(_, most)| *chance > most * (1.0 + 1e-9)) {
            best = Some((index, *chance));
        }
    }
    best.map(|(index, _)| index)
}

fn conclusion(weighing: &Weighing<'_>, stages: &Stages, (at, about): (usize, About), covered: &Coverage) -> Conclusion {
    let pick = |chances: &Chances| chances.get(at).copied().unwrap_or(0.0);
    let [base, prior, chance] = [&stages.bases, &stages.prior, &stages.last].map(pick);
    let steps = stages.steps(at);
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
        range: (chance, chance),
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
            .filter(|(_, reading)| noted(pack, reading, &limit.marks))
            .filter(|(_, reading)| match &limit.bound {
                Bound::From(grade) => reading.grade >= *grade,
                Bound::Over { value, .. } => {
                    least(weighing.pack, &case, reading).is_some_and(|least| least.over(*value))
                }
                Bound::Under { value, .. } => {
                    least(weighing.pack, &case, reading).is_some_and(|least| least.over(-*value))
                }
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

/// Whether a sighting was noted with each of these marks, and with no other kind of them.
fn noted(pack: &Pack, reading: &crate::Reading, marks: &[(String, String)]) -> bool {
    let clue = &pack[reading.clue];
    marks.iter().all(|(name, kind)| {
        reading.marks.iter().any(|(mark, kinds)| {
            clue.marks.get(*mark).is_some_and(|mark| {
                let one: Vec<_> = kinds.iter().filter_map(|at| mark.kinds.get(*at)).collect();
                mark.id == *name && one == [kind]
            })
        })
    })
}

/// The least that a sighting says of a size, in the base unit of its quantity; negated where less is worse.
struct Least {
    value: f64,
    /// It is that value itself, so a limit there is not passed; a class begins above its bound, so it is.
    open: bool,
}

impl Least {
    fn over(&self, bound: f64) -> bool {
        if self.open {
            self.value > bound
        } else {
            self.value >= bound
        }
    }
}

/// The value measured, or where the class of the grade seen begins; none where the size was not noted.
fn least(pack: &Pack, case: &Case, reading: &crate::Reading) -> Option<Least> {
    let mut all = case.passes.iter().flat_map(|pass| &pass.sightings);
    match &all.find(|other| other.id == reading.sighting)?.seen {
        Seen::Measured { reading: read, .. } => Some(Least {
            value: pack[reading.clue]
                .measured_by
                .as_ref()
                .map_or(read.value, |by| by.scaled(read.value)),
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
