//! From an outcome to its page.

pub(crate) mod bearing;
pub(crate) mod conclusions;
mod first_things;
pub(crate) mod matters;
pub(crate) mod notices;
pub(crate) mod readings;
pub(crate) mod sightings;
mod todo;

use std::collections::BTreeMap;

use wythe_case::Case;
use wythe_engine::{About, Outcome};
use wythe_pack::{Pack, SourceIx};

use crate::number::rounded;
use crate::page::{self, CaseRef, Context, Look, PackRef, Page, PlaceRef, Policy};
use crate::phrase::{clean, looked};
use crate::units::with_both_units;

/// The page of an outcome.
pub(crate) fn page(pack: &Pack, case: &Case, outcome: &Outcome) -> Page {
    let matters = matters_in_order(pack, case, outcome);
    let mut page = Page {
        format: page::FORMAT,
        pack: PackRef {
            id: outcome.pack.0.clone(),
            version: outcome.pack.1.clone(),
            format: outcome.pack.2,
            title: pack.title.clone(),
            region: pack.region.clone(),
            reference_population: pack.reference_population.clone(),
        },
        case: case_ref(case, outcome),
        about: about(case),
        action: outcome.action.name(),
        notices: notices::notices(pack, case, outcome, &matters),
        matters,
        changes: None,
        conclusions: conclusions::conclusions(pack, case, outcome),
        sightings: sightings::sightings(pack, case, &outcome.readings),
        readings: readings::readings(case, outcome),
        not_looked: not_looked(pack, case, outcome),
        contexts: contexts(pack, case, outcome),
        misfit: page::Misfit {
            decibans: rounded(outcome.misfit.decibans),
            bound: outcome.misfit.bound,
            over: outcome.misfit.over,
        },
        policy: policy(pack),
        cautions: pack.wording.cautions.clone(),
        sources: Vec::new(),
    };
    page.sources = used_sources(pack, &page);
    page
}

/// The matters to act on, each told of what comes first.
pub(crate) fn matters_in_order(pack: &Pack, case: &Case, outcome: &Outcome) -> Vec<page::Matter> {
    first_things::ordered(matters::matters(pack, case, outcome), case, outcome)
}

fn case_ref(case: &Case, outcome: &Outcome) -> CaseRef {
    let place = |place: &wythe_case::Place| PlaceRef {
        id: place.id.clone(),
        kind: place.kind.clone(),
        label: clean(&place.label),
    };
    CaseRef {
        id: case.id.clone(),
        title: clean(&case.title),
        visited: case.visited.map(|day| day.to_string()),
        as_of: outcome.as_of.clone(),
        places: case.places.iter().map(place).collect(),
    }
}

pub(crate) fn about(case: &Case) -> Vec<String> {
    let day = case.visited.map(|day| format!(" on {day}")).unwrap_or_default();
    vec![
        format!(
            "This is from {}{day}, with nothing opened up. It is not engineering.",
            looked(case)
        ),
        "It lists the signs that were seen, what they are consistent with, how firm that is, and what to do next."
            .into(),
    ]
}

pub(crate) fn contexts(pack: &Pack, case: &Case, outcome: &Outcome) -> Vec<Context> {
    let context = |(at, holds): &(wythe_pack::ContextIx, bool)| {
        let context = &pack[*at];
        let fact = case.contexts.iter().find(|fact| fact.id == context.id);
        let note = fact.and_then(|fact| fact.note.clone().or_else(|| readings::said_by(case, fact.computed)));
        Context {
            id: context.id.clone(),
            title: with_both_units(&context.title),
            holds: *holds,
            note: note.as_deref().map(clean),
        }
    };
    outcome.contexts.iter().map(context).collect()
}

pub(crate) fn policy(pack: &Pack) -> Policy {
    let (bounds, referral) = (&pack.policy.bounds, &pack.policy.referral);
    Policy {
        some_fair_strong: [bounds.some, bounds.fair, bounds.strong],
        miss_costs: referral.miss_costs,
        refer_from: rounded(referral.bound()),
        reason: referral.reason.clone(),
    }
}

/// Every sign that a mechanism still in play could leave and that no sighting speaks of.
pub(crate) fn not_looked(pack: &Pack, case: &Case, outcome: &Outcome) -> Vec<Look> {
    let mut signs = BTreeMap::new();
    let reached = bearing::Reached::new(pack, case);
    for one in &outcome.conclusions {
        if let About::Mechanism { mechanism, at } = one.about
            && one.chance > 0.0
        {
            for (sign, strength) in reached.by(mechanism, at) {
                let known = signs.entry(sign).or_insert(0.0_f64);
                *known = known.max(strength * one.chance);
            }
        }
    }
    bearing::not_looked(pack, case, outcome, &signs, usize::MAX)
}

/// The ids of sources.
pub(crate) fn sources(pack: &Pack, from: &[SourceIx]) -> Vec<String> {
    from.iter().map(|at| pack[*at].id.clone()).collect()
}

/// A source as a reader finds it: title, by whom, year.
pub(crate) fn source_title(source: &wythe_pack::Source) -> String {
    let by = source.by.as_ref().map(|by| format!(", {by}")).unwrap_or_default();
    let year = source.year.map(|year| format!(", {year}")).unwrap_or_default();
    format!("{}{by}{year}", source.title)
}

fn used_sources(pack: &Pack, page: &Page) -> Vec<page::Source> {
    let named = page
        .notices
        .iter()
        .flat_map(|one| &one.sources)
        .chain(page.conclusions.iter().flat_map(|one| &one.sources))
        .chain(page.sightings.iter().flat_map(|one| &one.sources))
        .collect::<std::collections::BTreeSet<_>>();
    let used = pack.sources.iter().filter(|source| named.contains(&source.id));
    used.map(|source| page::Source {
        id: source.id.clone(),
        title: source_title(source),
        address: source.address.clone(),
    })
    .collect()
}
