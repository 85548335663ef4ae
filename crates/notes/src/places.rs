//! Which place a few words name, and new places.

use wythe_case::{Case, Place};
use wythe_pack::KindIx;
use wythe_text::{nearest, shown};

use crate::Desk;
use crate::bit::Bit;
use crate::words::{choices, fold, said};

/// Labels of the places of a kind; of a few, when there are many.
pub(crate) fn of_kind(case: &Case, kind: &str) -> Vec<String> {
    let such = case.places.iter().filter(|place| place.kind == kind);
    such.map(|place| place.label.clone()).take(8).collect()
}

/// The place that a text names, and nothing said where it names none.
pub(crate) fn named(desk: &Desk<'_>, bit: Bit<'_>) -> Option<usize> {
    match fitting(desk, bit).as_slice() {
        [one] => Some(*one),
        _ => None,
    }
}

/// The places that a text could name.
fn fitting(desk: &Desk<'_>, bit: Bit<'_>) -> Vec<usize> {
    // By its own name, letter for letter: `a-b` is no name for `b`, though `a` is an article.
    let name = bit.text.to_lowercase();
    let own = |place: &Place| place.id.to_lowercase() == name || place.label.to_lowercase() == name;
    let places = || desk.case.places.iter().enumerate();
    let mut exact = places().filter(|(_, place)| own(place));
    if let (Some((at, _)), None) = (exact.next(), exact.next()) {
        return vec![at];
    }
    // In any order: a corner named `left-front` is the `front left corner`.
    let sorted = |mut words: Vec<String>| {
        words.sort();
        words
    };
    let words = sorted(fold(bit.text));
    let fits = |(_, place): &(usize, &Place)| {
        let title = desk.pack.kind(&place.kind).map(|kind| fold(&desk.pack[kind].title));
        let title = title.unwrap_or_default();
        let own = [fold(&place.id), fold(&place.label)].map(sorted);
        let with_kind = |name: &Vec<String>| sorted(name.iter().chain(title.last()).cloned().collect()) == words;
        let only = || of_kind(&desk.case, &place.kind).len() == 1;
        own.contains(&words) || own.iter().any(with_kind) || (sorted(title.clone()) == words && only())
    };
    places().filter(fits).map(|(at, _)| at).collect()
}

/// The place that a text names; else a problem.
pub(crate) fn find(desk: &mut Desk<'_>, bit: Bit<'_>) -> Option<usize> {
    let found = fitting(desk, bit);
    if let (Some(one), true) = (found.first(), found.len() == 1) {
        return Some(*one);
    }
    if found.is_empty() {
        let names = desk
            .case
            .places
            .iter()
            .flat_map(|place| [place.label.as_str(), place.id.as_str()]);
        let help = match nearest(bit.text, names) {
            Some(near) => format!("did you mean `{near}`? a new place takes a line of its own: `new KIND: NAME`"),
            None => format!(
                "places of this case: {}; a new one takes a line of its own: `new KIND: NAME`",
                desk.case
                    .places
                    .iter()
                    .take(30)
                    .map(|place| place.label.as_str())
                    .collect::<Vec<_>>()
                    .join(", ")
            ),
        };
        desk.problem(bit, format!("there is no place {}", shown(bit.text)), Some(help));
    } else {
        let ids: Vec<String> = found
            .iter()
            .filter_map(|at| desk.case.places.get(*at))
            .map(|place| place.id.clone())
            .collect();
        desk.problem(
            bit,
            format!("{} names more than one place", shown(bit.text)),
            Some(format!("say {}", choices(&ids))),
        );
    }
    None
}

/// The kind of place that a text names, by its id or title; else a problem.
fn kind(desk: &mut Desk<'_>, bit: Bit<'_>) -> Option<KindIx> {
    let words = fold(bit.text);
    let kinds = &desk.pack.kinds;
    let found = kinds
        .iter()
        .position(|kind| fold(&kind.id) == words || fold(&kind.title) == words);
    if found.is_none() {
        let names: Vec<String> = kinds.iter().skip(1).map(|kind| kind.title.clone()).collect();
        let ids = kinds.iter().skip(1).map(|kind| kind.id.as_str());
        let help = match nearest(bit.text, names.iter().map(String::as_str).chain(ids)) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("kinds of place: {}", names.join(", ")),
        };
        desk.problem(
            bit,
            format!("there is no kind of place {}", shown(bit.text)),
            Some(help),
        );
    }
    found.filter(|at| *at > 0).map(KindIx)
}

/// Adds a place to the case: `KIND: NAME, in PLACE, touching PLACE and PLACE`.
pub(crate) fn new_place(desk: &mut Desk<'_>, bit: Bit<'_>) -> Option<()> {
    let Some((kind_bit, rest)) = bit.split_once(':') else {
        let help = "write for example `new opening: kitchen window, in south wall`";
        desk.problem(
            bit,
            "a new place needs its kind, a colon and its name",
            Some(help.into()),
        );
        return None;
    };
    let kind = kind(desk, kind_bit)?;
    let mut parts = rest.split(',').into_iter();
    let name = parts.next().filter(|name| !name.text.is_empty());
    let Some(name) = name else {
        desk.problem(bit, "the new place has no name", None);
        return None;
    };
    let fits = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.');
    let id = name
        .text
        .to_lowercase()
        .split_whitespace()
        .collect::<Vec<_>>()
        .join("-");
    if id.chars().count() > 60 || !id.chars().all(fits) {
        let help = "a name has letters, digits, `-`, `_` and `.` only, and at most 60 of them";
        desk.problem(
            name,
            format!("{} can't name a place", shown(name.text)),
            Some(help.into()),
        );
        return None;
    }
    if desk.case.place(&id).is_some() {
        desk.problem(
            name,
            format!("there is a place {} already", shown(&id)),
            Some("give it another name".into()),
        );
        return None;
    }
    let mut place = Place::new(&id, &desk.pack[kind].id);
    place.label = said(name.text);
    for part in parts {
        if let Some(within) = part.after_word("in") {
            place.within = Some(find(desk, within)?);
        } else if let Some(touched) = part.after_word("touching").or_else(|| part.after_word("touches")) {
            for other in and(touched) {
                place.touches.push(find(desk, other)?);
            }
        } else {
            let help = "write `in PLACE`, or `touching PLACE and PLACE`";
            desk.problem(
                part,
                format!("{} is not read here", shown(part.text)),
                Some(help.into()),
            );
            return None;
        }
    }
    place.touches.sort_unstable();
    place.touches.dedup();
    check_within(desk, kind, name, &place)?;
    let new = desk.case.places.len();
    for other in &place.touches {
        if let Some(other) = desk.case.places.get_mut(*other) {
            other.touches.push(new);
        }
    }
    desk.case.places.push(place);
    Some(())
}

/// A kind that lies in another kind of place is asked in which one, where there are several.
fn check_within(desk: &mut Desk<'_>, kind: KindIx, name: Bit<'_>, place: &Place) -> Option<()> {
    let outer = desk.pack[kind].within.map(|at| &desk.pack[at])?;
    let found = place.within.and_then(|at| desk.case.places.get(at));
    if found.is_some_and(|found| found.kind == outer.id) {
        return Some(());
    }
    let such = of_kind(&desk.case, &outer.id);
    if such.is_empty() {
        return Some(());
    }
    let what = format!("a place of this kind lies in one of the kind \"{}\"", outer.title);
    desk.problem(name, what, Some(format!("add `, in PLACE`: {}", choices(&such))));
    None
}

/// The parts of `a and b and c`.
pub(crate) fn and(bit: Bit<'_>) -> Vec<Bit<'_>> {
    let mut parts = Vec::new();
    let mut rest = bit;
    while let Some(at) = rest.text.find(" and ") {
        let (part, after) = rest.cut(at, " and ".len());
        parts.push(part);
        rest = after;
    }
    parts.push(rest);
    parts
}
