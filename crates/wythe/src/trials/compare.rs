//! What came out, where it is not what was expected.

use std::fmt::Display;

use wythe_case::Case;
use wythe_engine::{About, Conclusion, NoticeKind, Outcome};
use wythe_pack::Pack;

use super::{Of, What};

/// What came out instead, in words; none when it came out as expected.
pub(super) fn found(pack: &Pack, case: &Case, outcome: &Outcome, what: &What) -> Option<String> {
    let ask = |of: &Of, wanted: String, test: &dyn Fn(&Conclusion) -> Option<String>| {
        let name = name(pack, case, of);
        let Some(one) = conclusion(outcome, of) else {
            return Some(format!("{name}: {wanted} was expected, and it was not weighed there"));
        };
        test(one).map(|found| {
            format!(
                "{name}: {wanted} was expected, and it came out {found} (chance {:.3}, before the sightings {:.3})",
                one.chance, one.prior
            )
        })
    };
    match what {
        What::Support(of, from, to) => ask(of, span(from, to), &|one| {
            (one.support < *from || one.support > *to).then(|| one.support.to_string())
        }),
        What::Chance(of, from, to) => ask(of, format!("a chance {}", bounds(*from, *to)), &|one| {
            outside(one.chance, *from, *to).then(|| format!("{:.3}", one.chance))
        }),
        What::Weight(of, from, to) => {
            let wanted = format!("a weight {} decibans", bounds(*from, *to));
            ask(of, wanted, &|one| {
                outside(one.weight, *from, *to).then(|| format!("{:.1}", one.weight))
            })
        }
        What::ConclusionAction(of, from, to) => {
            let wanted = format!("the action {}", span(&from.name(), &to.name()));
            ask(of, wanted, &|one| {
                (one.action < *from || one.action > *to).then(|| one.action.name().to_owned())
            })
        }
        What::Because(of, clue) | What::Despite(of, clue) => {
            let (sign, says) = if matches!(what, What::Because(..)) {
                (1.0, "for")
            } else {
                (-1.0, "against")
            };
            let counted = |one: &Conclusion| {
                let has = |readings: &[usize]| {
                    readings
                        .iter()
                        .any(|at| outcome.readings.get(*at).is_some_and(|reading| reading.clue == *clue))
                };
                one.steps
                    .iter()
                    .any(|step| step.weight * sign > 0.0 && has(&step.readings))
            };
            let id = &pack[*clue].id;
            ask(of, format!("`{id}` as a reason {says} it"), &|one| {
                (!counted(one)).then(|| "without that".to_owned())
            })
        }
        What::HeldBack(of, wanted) => {
            let says = |held| {
                if held {
                    "its advice held back"
                } else {
                    "its advice given"
                }
            };
            let test =
                |one: &Conclusion| (one.held_back.is_some() != *wanted).then(|| format!("with {}", says(!wanted)));
            ask(of, says(*wanted).to_owned(), &test)
        }
        What::Likelier(more, less) => {
            let (Some(a), Some(b)) = (conclusion(outcome, more), conclusion(outcome, less)) else {
                return Some(format!(
                    "{} and {} were to be compared, and one was not weighed",
                    name(pack, case, more),
                    name(pack, case, less)
                ));
            };
            (a.chance <= b.chance).then(|| {
                let (more, less) = (name(pack, case, more), name(pack, case, less));
                format!(
                    "{more} was expected to be likelier than {less}, and came out at {:.3} against {:.3}",
                    a.chance, b.chance
                )
            })
        }
        What::Action(from, to) => (outcome.action < *from || outcome.action > *to).then(|| {
            format!(
                "of the house, the action {} was expected, and {} came out",
                span(&from.name(), &to.name()),
                outcome.action.name()
            )
        }),
        What::Notice(kind) => (!given(outcome, *kind))
            .then(|| format!("the notice `{}` was expected, and was not given", notice(pack, *kind))),
        What::NoNotice(kind) => given(outcome, *kind)
            .then(|| format!("the notice `{}` was given, and was not expected", notice(pack, *kind))),
    }
}

fn outside(value: f64, from: f64, to: f64) -> bool {
    value < from || value > to
}

fn bounds(from: f64, to: f64) -> String {
    match (from.is_finite(), to.is_finite()) {
        (true, true) => format!("from {from} to {to}"),
        (true, false) => format!("of at least {from}"),
        _ => format!("of at most {to}"),
    }
}

fn span<T: Display + PartialEq>(from: &T, to: &T) -> String {
    if from == to {
        from.to_string()
    } else {
        format!("{from} to {to}")
    }
}

fn given(outcome: &Outcome, kind: NoticeKind) -> bool {
    outcome.notices.iter().any(|notice| notice.kind == kind)
}

fn notice(pack: &Pack, kind: NoticeKind) -> String {
    match kind {
        NoticeKind::Hazard(at) => pack.hazards.get(at).map(|one| one.id.clone()).unwrap_or_default(),
        NoticeKind::Limit(at) => pack.limits.get(at).map(|one| one.id.clone()).unwrap_or_default(),
        NoticeKind::Misfit => "misfit".to_owned(),
    }
}

fn name(pack: &Pack, case: &Case, of: &Of) -> String {
    match *of {
        Of::Family(family) => pack[family].id.clone(),
        Of::Mechanism(mechanism, at) => match at.and_then(|at| case.places.get(at)) {
            Some(place) => format!("{} at {}", pack[mechanism].id, place.id),
            None => pack[mechanism].id.clone(),
        },
    }
}

/// The conclusion; of a mechanism without a place, the likeliest, the first of equals.
fn conclusion<'o>(outcome: &'o Outcome, of: &Of) -> Option<&'o Conclusion> {
    let about = |one: &&Conclusion| match (*of, one.about) {
        (Of::Family(this), About::Family(family)) => this == family,
        (Of::Mechanism(this, at), About::Mechanism { mechanism, at: there }) => {
            this == mechanism && at.is_none_or(|at| at == there)
        }
        _ => false,
    };
    outcome
        .conclusions
        .iter()
        .filter(about)
        .fold(None, |best: Option<&Conclusion>, one| match best {
            Some(best) if best.chance >= one.chance => Some(best),
            _ => Some(one),
        })
}
