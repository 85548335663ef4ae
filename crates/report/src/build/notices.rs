//! Hazards, limits passed and misfit.

use wythe_case::{Case, Seen};
use wythe_engine::{Notice, NoticeKind, Outcome, Reading};
use wythe_measure::{COVER_95, Measured};
use wythe_pack::{Action, Bound, Limit, Pack};

use super::{first_things, source_title, sources};
use crate::page;
use crate::phrase::{at_places, capital, listed, sentence};
use crate::units::{both_units, with_both_units};

/// Every notice: highest action first; hazards before limits, limits before misfit. One that asks for less than an
/// engineer, where a matter asks for an engineer, waits for that visit.
pub(crate) fn notices(pack: &Pack, case: &Case, outcome: &Outcome, matters: &[page::Matter]) -> Vec<page::Notice> {
    let rank = |kind: &NoticeKind| match kind {
        NoticeKind::Hazard(_) => 0,
        NoticeKind::Limit(_) => 1,
        NoticeKind::Misfit => 2,
    };
    let mut notices: Vec<&Notice> = outcome.notices.iter().collect();
    notices.sort_by(|a, b| b.action.cmp(&a.action).then(rank(&a.kind).cmp(&rank(&b.kind))));
    notices
        .into_iter()
        .filter_map(|one| notice(pack, case, outcome, matters, one))
        .collect()
}

fn notice(pack: &Pack, case: &Case, outcome: &Outcome, matters: &[page::Matter], one: &Notice) -> Option<page::Notice> {
    let reading = one.reading.and_then(|at| outcome.readings.get(at));
    let at = reading
        .map(|reading| at_places(case, &[reading.at]))
        .unwrap_or_default();
    let seen = reading.map(|reading| sentence(format!("Seen: {} {at}", pack[reading.clue].says).trim_end()));
    let waits_for = reading.filter(|_| one.action < Action::Refer).and_then(|reading| {
        let place = case.places.get(reading.at).map_or("", |place| &place.id);
        first_things::engineer_at(matters, case, outcome, place, &reading.sighting)
    });
    let action = action(pack, one.action, waits_for);
    let mut says: Vec<String> = Vec::new();
    let (kind, rule, title, from) = match one.kind {
        NoticeKind::Hazard(index) => {
            let hazard = pack.hazards.get(index)?;
            says.push(with_both_units(&sentence(&hazard.notice)));
            says.extend(seen);
            says.push(action);
            (
                "hazard",
                Some(hazard.id.clone()),
                format!("{} {at}", with_both_units(&hazard.title)),
                sources(pack, &hazard.sources),
            )
        }
        NoticeKind::Limit(index) => {
            let limit = pack.limits.get(index)?;
            let titles: Vec<String> = limit
                .sources
                .iter()
                .map(|source| source_title(&pack[*source]))
                .collect();
            says.extend(
                reading
                    .map(|reading| measured(pack, case, reading, limit))
                    .unwrap_or_default(),
            );
            says.push(with_both_units(&sentence(&limit.purpose)));
            says.push(format!("Source: {}.", listed(&titles)));
            says.push(action);
            (
                "limit",
                Some(limit.id.clone()),
                format!("{} {at}", with_both_units(&limit.title)),
                sources(pack, &limit.sources),
            )
        }
        NoticeKind::Misfit => {
            says.push("The causes known to this pack explain these signs badly when taken together.".into());
            says.push(
                "Look again at the signs that surprise. If they stand, ask a licensed professional engineer.".into(),
            );
            (
                "misfit",
                None,
                "these signs do not fit a pattern known here".into(),
                Vec::new(),
            )
        }
    };
    Some(page::Notice {
        kind,
        rule,
        title: capital(title.trim_end()),
        action: one.action.name(),
        engineer_first: waits_for,
        sighting: reading.map(|reading| reading.sighting.clone()),
        says,
        sources: from,
    })
}

/// What a notice asks for, in a sentence; where an engineer is asked for, that it waits.
fn action(pack: &Pack, action: Action, waits_for: Option<usize>) -> String {
    let own = sentence(pack.wording.action(action));
    match waits_for {
        None => own,
        Some(_) if action == Action::Monitor => format!(
            "An engineer's visit is asked for on these signs, before anything else. Have the first readings ready for that visit, and ask the engineer how to go on. {own}"
        ),
        Some(_) => first_things::waits(),
    }
}

/// What was measured against a limit, and whether its error reaches back over the limit.
fn measured(pack: &Pack, case: &Case, reading: &Reading, limit: &Limit) -> Vec<String> {
    let standing = case.standing();
    let Some(sighting) = standing
        .iter()
        .map(|one| one.sighting)
        .find(|one| one.id == reading.sighting)
    else {
        return Vec::new();
    };
    let Seen::Measured {
        reading: read,
        from_photo,
        ..
    } = &sighting.seen
    else {
        return Vec::new();
    };
    let computed = sighting
        .computed
        .and_then(|(sheet, number)| case.readings.get(sheet)?.computed.get(number))
        .map(|one| &one.reading);
    let clue = &pack[reading.clue];
    let taken = clue.measured_by.as_ref().map(|instrument| instrument.sd);
    let widen = if *from_photo { pack.policy.photo_error } else { 1.0 };
    let as_movement = read.sd.or(taken).unwrap_or(0.0) * widen;
    let as_measured = computed.map_or(as_movement, |one| one.sd);
    let within = |sd: f64| match &limit.bound {
        Bound::Over { value, .. } => read.value - COVER_95 * sd <= *value,
        Bound::Under { value, .. } => read.value + COVER_95 * sd >= *value,
        Bound::From(_) => false,
    };
    let side = if matches!(limit.bound, Bound::Under { .. }) {
        ["under", "over"]
    } else {
        ["over", "under"]
    };
    let said = match computed {
        Some(one) => super::readings::as_measured(one),
        None => both_units(&Measured {
            sd: read.sd,
            ..read.clone()
        }),
    };
    let mut says = vec![format!("Measured: {said}.")];
    if within(as_measured) {
        says.push(format!(
            "It reads {} the limit; with its error it may be {} it.",
            side[0], side[1]
        ));
    } else if within(as_movement) {
        says.push(format!(
            "It is {} the limit as measured. How much of it is movement since the house was built one survey cannot tell; that part may be {} it.",
            side[0], side[1]
        ));
    }
    says
}
