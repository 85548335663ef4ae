//! Repairs, and which passes came after them.

use wythe_text::Item;

use super::MAX_REPAIRS;
use super::desk::Desk;
use crate::{Date, Pass, Repair};

/// Reads the repairs. A pass without a date has that of the pass before it; the first one, that of the visit.
pub(super) fn read(desk: &mut Desk, item: &Item<'_>, visited: Option<Date>, passes: &[Pass]) -> Vec<Repair> {
    let items = item.list(&mut desk.out);
    if let Some(over) = items.get(MAX_REPAIRS) {
        over.problem(
            &mut desk.out,
            format!("more than {MAX_REPAIRS} repairs"),
            Some("join some of them".into()),
        );
    }
    let dates: Vec<Option<Date>> = passes
        .iter()
        .scan(visited, |last, pass| {
            *last = pass.date.or(*last);
            Some(*last)
        })
        .collect();
    items
        .iter()
        .take(MAX_REPAIRS)
        .filter_map(|item| repair(desk, item, &dates))
        .collect()
}

fn repair(desk: &mut Desk, item: &Item<'_>, passes: &[Option<Date>]) -> Option<Repair> {
    let fields = item.fields(&mut desk.out, &["date", "at", "clues", "what"]);
    let date_item = fields.optional("date");
    let date = date_item.and_then(|item| desk.date(&item));
    let before_pass = match date {
        None => 0,
        Some(date) => passes
            .iter()
            .position(|pass| pass.is_some_and(|pass| pass >= date))
            .unwrap_or(passes.len()),
    };
    if let (Some(item), true) = (date_item.filter(|_| date.is_some()), passes.iter().any(Option::is_none)) {
        let help = "give `visited`, or a `date` to the first pass";
        let what = "a pass has no date, so which passes came after this repair can't be told";
        item.problem(&mut desk.out, what, Some(help.into()));
    }
    let at_item = fields.required(&mut desk.out, "at");
    let ats = at_item.map(|item| item.list_or_one(&mut desk.out)).unwrap_or_default();
    let mut at: Vec<usize> = ats.iter().filter_map(|item| desk.place(item)).collect();
    at.sort_unstable();
    at.dedup();
    if let Some(item) = at_item
        && ats.is_empty()
        && !item.is_null()
    {
        item.problem(
            &mut desk.out,
            "the list of places is empty",
            Some("write `at: house` for all of it".into()),
        );
    }
    let clues = fields
        .optional("clues")
        .map(|item| desk.names(&item))
        .unwrap_or_default();
    let what = fields
        .required(&mut desk.out, "what")
        .and_then(|item| desk.words(&item));
    Some(Repair {
        date,
        before_pass,
        at,
        clues,
        what: what?,
        locus: item.locus(),
    })
}
