//! Places: what they are, what they lie in, what they touch.

use std::collections::BTreeMap;

use wythe_text::{Item, shown};

use super::MAX_PLACES;
use super::desk::Desk;
use crate::{HOUSE, Place};

/// Most places within one another, the house included.
const MAX_LEVELS: usize = 16;

/// A place, and the items that name others.
struct Draft<'d> {
    place: Place,
    item: Item<'d>,
    within: Option<Item<'d>>,
    touches: Vec<Item<'d>>,
}

/// The places of a case, the house first.
pub(super) fn read(desk: &mut Desk, item: &Item<'_>) -> Vec<Place> {
    let items = item.list(&mut desk.out);
    if let Some(over) = items.get(MAX_PLACES) {
        over.problem(
            &mut desk.out,
            format!("more than {MAX_PLACES} places"),
            Some("list those that matter".into()),
        );
    }
    let mut drafts: Vec<Draft<'_>> = Vec::new();
    let mut by_id: BTreeMap<String, usize> = BTreeMap::new();
    for item in items.iter().take(MAX_PLACES) {
        let Some(draft) = draft(desk, item) else {
            continue;
        };
        if by_id.insert(draft.place.id.clone(), drafts.len()).is_some() {
            let what = format!("the place {} is listed twice", shown(&draft.place.id));
            desk.out.push(
                item.doc()
                    .problem_in(&item.locus(), &["id"], what, Some("give it another `id`".into())),
            );
        }
        drafts.push(draft);
    }
    let house = drafts.iter().position(|draft| draft.place.id == HOUSE);
    let mut places = vec![Place::house()];
    if let Some(house) = house {
        let draft = drafts.remove(house);
        check_house(desk, &draft);
        places = vec![Place {
            within: None,
            ..draft.place
        }];
    }
    places.extend(drafts.iter().map(|draft| draft.place.clone()));
    desk.know(&places);
    let mut touches: Vec<Vec<(Item<'_>, usize)>> = Vec::new();
    for (draft, place) in drafts.iter().zip(places.iter_mut().skip(1)) {
        place.within = draft.within.and_then(|item| desk.place(&item)).or(Some(0));
        touches.push(
            draft
                .touches
                .iter()
                .filter_map(|item| Some((*item, desk.place(item)?)))
                .collect(),
        );
    }
    undo_loops(desk, &drafts, &mut places);
    undo_depth(desk, &drafts, &mut places);
    for (index, touched) in (1..).zip(&touches) {
        touch(desk, index, touched, &mut places);
    }
    places
}

fn draft<'d>(desk: &mut Desk, item: &Item<'d>) -> Option<Draft<'d>> {
    let fields = item.fields(&mut desk.out, &["id", "kind", "label", "in", "touches", "note"]);
    let id = fields.required(&mut desk.out, "id").and_then(|item| desk.name(&item));
    let kind_item = fields.required(&mut desk.out, "kind");
    let kind = kind_item.and_then(|item| desk.name(&item)).unwrap_or_default();
    let label = fields.optional("label").and_then(|item| desk.words(&item));
    let note = fields.optional("note").and_then(|item| desk.words(&item));
    let touches = fields
        .optional("touches")
        .map(|item| item.list_or_one(&mut desk.out))
        .unwrap_or_default();
    let id = id?;
    if let Some(kind_item) = kind_item
        && (kind == HOUSE) != (id == HOUSE)
        && !kind.is_empty()
    {
        let what = format!("the place `{HOUSE}` and the kind `{HOUSE}` go together");
        let help = format!("leave it out: a place `{HOUSE}` of kind `{HOUSE}` is always there");
        kind_item.problem(&mut desk.out, what, Some(help));
    }
    let label = label.unwrap_or_else(|| id.clone());
    let place = Place {
        kind,
        label,
        note,
        locus: item.locus(),
        ..Place::new(&id, "")
    };
    Some(Draft {
        place,
        item: *item,
        within: fields.optional("in"),
        touches,
    })
}

fn check_house(desk: &mut Desk, draft: &Draft<'_>) {
    for item in draft.within.iter().chain(draft.touches.first()) {
        let help = "the house holds every other place; take this out";
        item.problem(
            &mut desk.out,
            "the house lies in no place and touches none",
            Some(help.into()),
        );
    }
}

/// Names each loop once, at its first place in the file, and lets that place lie in the house.
fn undo_loops(desk: &mut Desk, drafts: &[Draft<'_>], places: &mut [Place]) {
    for (index, draft) in (1..).zip(drafts) {
        let around: Vec<usize> = around(places, index).take_while(|&at| at != index).collect();
        let last = around.last().copied().unwrap_or(index);
        if places.get(last).and_then(|place| place.within) != Some(index) {
            continue;
        }
        let chain = [index].into_iter().chain(around).chain([index]).take(MAX_LEVELS);
        let names: Vec<String> = chain
            .filter_map(|at| places.get(at))
            .map(|place| shown(&place.id))
            .collect();
        let what = format!("the place lies in itself: {}", names.join(" in "));
        draft
            .within
            .unwrap_or(draft.item)
            .problem(&mut desk.out, what, Some("change one `in` of these".into()));
        place_in_house(places, index);
    }
}

/// Names each place that lies too deep, and lets it lie in the house.
fn undo_depth(desk: &mut Desk, drafts: &[Draft<'_>], places: &mut [Place]) {
    for (index, draft) in (1..).zip(drafts) {
        if around(places, index).take(MAX_LEVELS).count() == MAX_LEVELS {
            let what = format!("more than {MAX_LEVELS} places lie in one another here");
            let help = Some("leave out those that matter least".into());
            draft.within.unwrap_or(draft.item).problem(&mut desk.out, what, help);
            place_in_house(places, index);
        }
    }
}

fn place_in_house(places: &mut [Place], index: usize) {
    if let Some(place) = places.get_mut(index) {
        place.within = Some(0);
    }
}

/// The places that a place lies in, nearest first; no more of them than there are places.
fn around(places: &[Place], index: usize) -> impl Iterator<Item = usize> + '_ {
    let step = |&at: &usize| places.get(at).and_then(|place| place.within);
    std::iter::successors(step(&index), step).take(places.len())
}

/// Lets a place touch others, and them it. Refuses itself, what it lies in, and what lies in it.
fn touch(desk: &mut Desk, index: usize, touched: &[(Item<'_>, usize)], places: &mut [Place]) {
    for (item, other) in touched {
        let what = if *other == index {
            "a place does not touch itself"
        } else if around(places, index).any(|at| at == *other) || around(places, *other).any(|at| at == index) {
            "a place does not touch what it lies in, or what lies in it"
        } else {
            for (one, two) in [(index, *other), (*other, index)] {
                if let Some(place) = places.get_mut(one)
                    && let Err(gap) = place.touches.binary_search(&two)
                {
                    place.touches.insert(gap, two);
                }
            }
            continue;
        };
        item.problem(&mut desk.out, what, Some("take it out of `touches`".into()));
    }
}
