//! Hazards, limits passed and misfit.

use wythe_case::{Case, Seen};
use wythe_engine::{Notice, NoticeKind, Outcome};
use wythe_pack::Pack;

use super::{source_title, sources};
use crate::page;
use crate::phrase::{at_places, both_units, capital, listed, sentence};

/// Every notice: highest action first; hazards before limits, limits before misfit.
pub(crate) fn notices(pack: &Pack, case: &Case, outcome: &Outcome) -> Vec<page::Notice> {
    let rank = |kind: &NoticeKind| match kind {
        NoticeKind::Hazard(_) => 0,
        NoticeKind::Limit(_) => 1,
        NoticeKind::Misfit => 2,
    };
    let mut notices: Vec<&Notice> = outcome.notices.iter().collect();
    notices.sort_by(|a, b| b.action.cmp(&a.action).then(rank(&a.kind).cmp(&rank(&b.kind))));
    notices
        .into_iter()
        .filter_map(|one| notice(pack, case, outcome, one))
        .collect()
}

fn notice(pack: &Pack, case: &Case, outcome: &Outcome, one: &Notice) -> Option<page::Notice> {
    let reading = one.reading.and_then(|at| outcome.readings.get(at));
    let at = reading
        .map(|reading| at_places(case, &[reading.at]))
        .unwrap_or_default();
    let seen = reading.map(|reading| sentence(format!("Seen: {} {at}", pack[reading.clue].says).trim_end()));
    let standing = case.standing();
    let measured = reading
        .and_then(|reading| standing.iter().find(|one| one.sighting.id == reading.sighting))
        .and_then(|one| match &one.sighting.seen {
            Seen::Measured { reading, .. } => Some(both_units(reading)),
            _ => None,
        });
    let action = sentence(pack.wording.action(one.action));
    let mut says: Vec<String> = Vec::new();
    let (kind, rule, title, from) = match one.kind {
        NoticeKind::Hazard(index) => {
            let hazard = pack.hazards.get(index)?;
            says.push(sentence(&hazard.notice));
            says.extend(seen);
            says.push(action);
            (
                "hazard",
                Some(hazard.id.clone()),
                format!("{} {at}", hazard.title),
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
            says.extend(measured.map(|read| format!("Measured: {read}.")));
            says.push(sentence(&limit.purpose));
            says.push(format!("Source: {}.", listed(&titles)));
            says.push(action);
            (
                "limit",
                Some(limit.id.clone()),
                format!("{} {at}", limit.title),
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
        sighting: reading.map(|reading| reading.sighting.clone()),
        says,
        sources: from,
    })
}
