//! Sign by sign: what each of the two has of a clue at a place, and how the two stand to one another.

use std::collections::BTreeMap;

use wythe_engine::{Reading, Used};
use wythe_pack::Pack;

use super::Comparison;
use crate::build::sightings;
use crate::phrase::{capital, the_place};

/// What one of the two has of a clue at a place.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Found {
    /// Seen, none there, or could not be seen.
    pub state: State,
    /// Grade, measurement, marks.
    pub detail: String,
    pub grade: usize,
    /// The grade alone.
    pub word: String,
    pub id: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum State {
    Seen,
    NoneThere,
    Blocked,
}

/// A clue at a place, as each of the two has it.
pub(super) struct Sign {
    pub clue: String,
    pub place: String,
    /// What is looked for, and where, in words.
    pub says: String,
    pub found: [Option<Found>; 2],
}

pub(super) fn signs(pack: &Pack, it: &Comparison) -> Vec<Sign> {
    let mut signs: Vec<Sign> = Vec::new();
    let mut known: BTreeMap<(String, String), usize> = BTreeMap::new();
    for (side, (case, outcome)) in it.cases.iter().zip(&it.outcomes).enumerate() {
        let case = &*wythe_engine::with_computed(pack, case);
        let pages = sightings::sightings(pack, case, &outcome.readings);
        for (reading, page) in outcome.readings.iter().zip(pages) {
            // A derived clue is read off others.
            if !reading.made_from.is_empty() {
                continue;
            }
            let key = (page.clue.clone(), page.place.clone());
            let at = *known.entry(key).or_insert_with(|| {
                let place = case.places.get(reading.at).map(the_place).unwrap_or_default();
                signs.push(Sign {
                    clue: page.clue.clone(),
                    place: page.place.clone(),
                    says: format!("{} at {place}", capital(&page.title)),
                    found: [None, None],
                });
                signs.len().saturating_sub(1)
            });
            if let Some(slot) = signs.get_mut(at).and_then(|sign| sign.found.get_mut(side)) {
                *slot = Some(found(reading, &page));
            }
        }
    }
    signs
}

pub(super) fn found(reading: &Reading, page: &crate::page::Sighting) -> Found {
    let state = match reading.used {
        Used::NotReached | Used::Hidden { .. } => State::Blocked,
        _ if reading.shows() => State::Seen,
        _ => State::NoneThere,
    };
    Found {
        state,
        detail: page.why.clone().unwrap_or_else(|| page.detail.clone()),
        grade: reading.grade,
        word: page.size.clone().filter(|_| state == State::Seen).unwrap_or_default(),
        id: page.id.clone(),
    }
}

/// What one has, in words.
pub(super) fn in_words(found: Option<&Found>) -> String {
    let Some(found) = found else {
        return "not looked for".into();
    };
    let detail = if found.detail.is_empty() {
        String::new()
    } else {
        format!(" ({})", found.detail)
    };
    let state = match found.state {
        State::Seen => "seen",
        State::NoneThere => "none there",
        State::Blocked => "could not be seen",
    };
    format!("{state}{detail} [{}]", found.id)
}

/// The same without its particulars.
pub(super) fn in_short(found: Option<&Found>) -> String {
    in_words(
        found
            .map(|found| Found {
                detail: found.word.clone(),
                ..found.clone()
            })
            .as_ref(),
    )
}

/// How two of a sign stand to one another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Stand {
    /// One saw it, the other found none.
    Contrary,
    /// Both saw it, in other grades.
    Grade,
    /// Only one of the two looked.
    OneLooked,
    /// The same grade, with other particulars.
    Detail,
    /// The same.
    Same,
    /// Neither could look.
    Neither,
}

pub(super) fn stand(sign: &Sign) -> Stand {
    let looked = |found: &Option<Found>| found.clone().filter(|found| found.state != State::Blocked);
    match (looked(&sign.found[0]), looked(&sign.found[1])) {
        (None, None) => Stand::Neither,
        (Some(one), Some(other)) if one.state != other.state => Stand::Contrary,
        (Some(one), Some(other)) if one.grade != other.grade => Stand::Grade,
        (Some(one), Some(other)) if one.detail != other.detail => Stand::Detail,
        (Some(_), Some(_)) => Stand::Same,
        _ => Stand::OneLooked,
    }
}
