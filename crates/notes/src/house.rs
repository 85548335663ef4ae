//! What notes say of the house as a whole: facts of it, and repairs.

use wythe_case::{ContextFact, Date, Repair};
use wythe_text::{nearest, shown};

use crate::bit::Bit;
use crate::words::{among, choices, fold, said};
use crate::{Desk, places};

/// Reads `recent drought; no fill lot (county map)`: facts that hold, or with `no` before or after them do not.
pub(crate) fn facts(desk: &mut Desk<'_>, bit: Bit<'_>) -> Vec<ContextFact> {
    let mut found: Vec<ContextFact> = Vec::new();
    for item in bit.split(';').into_iter().filter(|item| !item.text.is_empty()) {
        let Some(fact) = fact(desk, item) else { continue };
        if found.iter().any(|one| one.id == fact.id) {
            desk.problem(item, "this fact is given twice", Some("keep one".into()));
        }
        found.push(fact);
    }
    found
}

fn fact(desk: &mut Desk<'_>, item: Bit<'_>) -> Option<ContextFact> {
    let open = item.text.find('(');
    let (head, remark) = match open {
        Some(at) => item.cut(at, 1),
        None => (item, item.tail("")),
    };
    let note = remark.text.trim_end_matches(')').trim();
    let (name, holds) = match head.after_word("no").or_else(|| head.after_word("not")) {
        Some(name) => (name, false),
        None => ended(head),
    };
    let words = fold(name.text);
    let pack = desk.pack;
    let names = |at: usize| pack.contexts.get(at).map(|one| [fold(&one.id), fold(&one.title)]);
    let all = 0..pack.contexts.len();
    let fits = |fit: &dyn Fn(&[String]) -> bool| -> Vec<usize> {
        let fitting = |at: &usize| names(*at).is_some_and(|names| names.iter().any(|name| fit(name)));
        all.clone().filter(fitting).collect()
    };
    let mut found = fits(&|name| name == words);
    if found.is_empty() {
        found = fits(&|name| among(&words, name));
    }
    if found.is_empty() && !words.is_empty() {
        found = fits(&|name| words.iter().all(|word| name.contains(word)));
    }
    match found.as_slice() {
        [one] => Some(ContextFact {
            computed: None,
            id: pack.contexts.get(*one)?.id.clone(),
            holds,
            note: (!note.is_empty()).then(|| note.to_owned()),
            locus: Default::default(),
        }),
        [] => {
            let known = pack.contexts.iter().flat_map(|one| [said(&one.id), one.title.clone()]);
            let known: Vec<String> = known.collect();
            let help = match nearest(name.text, known.iter().map(String::as_str)) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("facts known here: {}", ids(desk, all).join(", ")),
            };
            desk.problem(item, format!("there is no fact {}", shown(name.text)), Some(help));
            None
        }
        several => {
            let help = format!("say {}", choices(&ids(desk, several.iter().copied())));
            desk.problem(
                item,
                format!("{} could be more than one fact", shown(name.text)),
                Some(help),
            );
            None
        }
    }
}

fn ids(desk: &Desk<'_>, of: impl Iterator<Item = usize>) -> Vec<String> {
    let found = of.filter_map(|at| desk.pack.contexts.get(at));
    found.map(|one| said(&one.id)).collect()
}

/// `fill lot = no`, `fill lot: no` or `fill lot no`.
fn ended(bit: Bit<'_>) -> (Bit<'_>, bool) {
    for (end, holds) in [("yes", true), ("no", false)] {
        let apart = |c: char| c.is_whitespace() || matches!(c, '=' | ':');
        let at = bit.text.len().saturating_sub(end.len());
        if let (Some(head), Some(tail)) = (bit.text.get(..at), bit.text.get(at..))
            && tail.eq_ignore_ascii_case(end)
            && head.ends_with(apart)
        {
            let length = head.trim_end_matches(apart).len();
            return (bit.cut(length, 0).0, holds);
        }
    }
    (bit, true)
}

/// Reads `south wall and west wall: joints repointed, on 2025-08-01`.
pub(crate) fn repair(desk: &mut Desk<'_>, bit: Bit<'_>) -> Option<Repair> {
    let help = "write for example `repair south wall: joints repointed, on 2025-08-01`";
    let Some((at, what)) = bit.split_once(':') else {
        desk.problem(
            bit,
            "a repair needs its place, a colon and what was done",
            Some(help.into()),
        );
        return None;
    };
    let mut places = Vec::new();
    for place in places::and(at.after_word("at").unwrap_or(at)) {
        places.push(places::find(desk, place)?);
    }
    places.sort_unstable();
    places.dedup();
    let (what, date) = match what.text.rfind(", on ") {
        Some(cut) => {
            let (what, day) = what.cut(cut, ", on ".len());
            match Date::parse(day.text) {
                Ok(date) => (what, Some(date)),
                Err(error) => {
                    desk.problem(day, error.to_string(), Some("write a day as in 2026-03-14".into()));
                    return None;
                }
            }
        }
        None => (what, None),
    };
    if what.text.is_empty() {
        desk.problem(bit, "what was done is not said", Some(help.into()));
        return None;
    }
    Some(Repair {
        date,
        before_pass: 0,
        at: places,
        clues: Vec::new(),
        what: what.text.to_owned(),
        locus: Default::default(),
    })
}
