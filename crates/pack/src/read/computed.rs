//! Which number computed from a sheet of readings feeds a clue or a context.

use wythe_measure::{COMPUTED, FINDINGS, Quantity, parse_measured_as};
use wythe_text::{Fields, Item, Tree};

use super::clues::reading;
use super::desk::Desk;
use crate::{ClueIx, ComputedFrom, ContextFrom, Instrument, Mark};

/// The sheets and the number: `sheet: [trend, cracks]`, `value: crack-width`. The sheets all give that number.
fn number(desk: &mut Desk, fields: &Fields<'_>) -> Option<(Vec<&'static str>, &'static str, Quantity)> {
    let [sheet, value] = ["sheet", "value"].map(|key| fields.required(&mut desk.problems, key));
    let mut all: Vec<&'static str> = COMPUTED.iter().map(|(sheet, ..)| *sheet).collect();
    all.dedup();
    let items = sheet
        .map(|item| item.list_or_one(&mut desk.problems))
        .unwrap_or_default();
    let sheets: Vec<&'static str> = items
        .into_iter()
        .filter_map(|item| desk.choice(Some(item), &all, &all))
        .collect();
    let first = sheets.first()?;
    // What every one of the sheets gives.
    let gives = |sheet: &str, name: &str| COMPUTED.iter().any(|(of, known, ..)| *of == sheet && *known == name);
    let of = COMPUTED.iter().filter(|(sheet, ..)| sheet == first);
    let names: Vec<&'static str> = of
        .map(|(_, name, ..)| *name)
        .filter(|name| sheets.iter().all(|sheet| gives(sheet, name)))
        .collect();
    let name = desk.choice(value, &names, &names)?;
    let (_, _, quantity, _) = COMPUTED.iter().find(|(of, known, ..)| of == first && *known == name)?;
    Some((sheets, name, *quantity))
}

/// Which computed number a clue follows from.
pub(super) fn clue_from(
    desk: &mut Desk,
    item: &Item<'_>,
    grades: usize,
    by: Option<&Instrument>,
    marks: &[Mark],
) -> Option<ComputedFrom> {
    let keys = [
        "sheet",
        "value",
        "up_to",
        "weighed",
        "stands_aside_for",
        "none_said_by",
        "marks",
    ];
    let fields = item.fields(&mut desk.problems, &keys);
    let (sheets, name, quantity) = number(desk, &fields)?;
    if let (Some(by), Some(value)) = (by.filter(|by| by.quantity != quantity), fields.optional("value")) {
        let what = format!("`{name}` is {quantity}, and this clue is measured as {}", by.quantity);
        value.problem(&mut desk.problems, what, Some("name another value".into()));
    }
    let bounds: Option<Vec<f64>> = fields.optional("up_to").map(|item| {
        item.list(&mut desk.problems)
            .into_iter()
            .filter_map(|item| reading(desk, item, Some(quantity)).map(|(value, _)| value))
            .collect()
    });
    let rises = |bounds: &Vec<f64>| bounds.windows(2).all(|pair| matches!(pair, [a, b] if a < b));
    let fits = bounds
        .as_ref()
        .is_none_or(|bounds| bounds.len() + 1 == grades && rises(bounds));
    if by.is_none() == bounds.is_none() || !fits {
        item.problem(
            &mut desk.problems,
            "a clue graded by eye gives `up_to` here: a rising bound for each grade but the last",
            Some("a measured clue leaves it out".into()),
        );
    }
    let mut clues = |key: &str| {
        let items = fields.optional(key).map(|item| item.list_or_one(&mut desk.problems));
        let known = |item| desk.known(Some(item), "clue", |names| &mut names.clues).map(ClueIx);
        items.unwrap_or_default().into_iter().filter_map(known).collect()
    };
    let (stands_aside_for, none_said_by) = (clues("stands_aside_for"), clues("none_said_by"));
    let marks = fields
        .optional("marks")
        .map(|item| found_marks(desk, &item, &sheets, marks))
        .unwrap_or_default();
    Some(ComputedFrom {
        sheets,
        value: name,
        up_to: bounds,
        weighed: fields
            .optional("weighed")
            .and_then(|item| item.flag(&mut desk.problems))
            .unwrap_or(true),
        stands_aside_for,
        none_said_by,
        marks,
    })
}

/// Which mark each finding of a sheet makes: `taper: {wider_up: wide_at_top}`.
fn found_marks(
    desk: &mut Desk,
    item: &Item<'_>,
    sheets: &[&'static str],
    marks: &[Mark],
) -> Vec<(String, &'static str, Vec<String>)> {
    let findings: Vec<&'static str> = FINDINGS
        .iter()
        .filter(|(sheet, ..)| sheets.contains(sheet))
        .map(|(_, name, _)| *name)
        .collect();
    let mut all = Vec::new();
    for (mark, row) in item.entries(&mut desk.problems) {
        let Some(known) = marks.iter().find(|known| known.id == mark) else {
            let names: Vec<&str> = marks.iter().map(|known| known.id.as_str()).collect();
            let help = format!("its marks are: {}", names.join(", "));
            row.key_problem(
                &mut desk.problems,
                format!("this clue has no mark `{mark}`"),
                Some(help),
            );
            continue;
        };
        let kinds: Vec<&str> = known.kinds.iter().map(String::as_str).collect();
        for (finding, item) in row.entries(&mut desk.problems) {
            let Some(finding) = findings.iter().find(|name| **name == finding) else {
                let help = format!("these sheets find: {}", findings.join(", "));
                item.key_problem(
                    &mut desk.problems,
                    format!("no sheet named here finds `{finding}`"),
                    Some(help),
                );
                continue;
            };
            let may_be: Vec<String> = item
                .list_or_one(&mut desk.problems)
                .into_iter()
                .filter_map(|item| item.one_of(&mut desk.problems, &kinds))
                .filter_map(|at| known.kinds.get(at).cloned())
                .collect();
            all.push((mark.to_owned(), *finding, may_be));
        }
    }
    all
}

/// Which computed numbers say whether a context holds.
pub(super) fn context_from(desk: &mut Desk, item: &Item<'_>) -> Vec<ContextFrom> {
    let mut all = Vec::new();
    for item in item.list_or_one(&mut desk.problems) {
        let fields = item.fields(&mut desk.problems, &["sheet", "value", "over", "under", "denies"]);
        let Some((sheets, value, quantity)) = number(desk, &fields) else {
            continue;
        };
        let mut bound = |key: &str| {
            let item = fields.optional(key)?;
            let text = match item.tree() {
                Tree::Number(number) => number.to_string(),
                _ => item.text_or_number(&mut desk.problems)?,
            };
            match parse_measured_as(&text, quantity) {
                Ok(found) => Some(found.value),
                Err(error) => {
                    item.problem(&mut desk.problems, error.to_string(), None);
                    None
                }
            }
        };
        let (over, under) = (bound("over"), bound("under"));
        let denies = fields
            .optional("denies")
            .and_then(|item| item.flag(&mut desk.problems))
            .unwrap_or(false);
        let (bound, holds_over) = match (over, under) {
            (Some(over), None) => (over, true),
            (None, Some(under)) => (under, false),
            _ => {
                item.problem(
                    &mut desk.problems,
                    "one of `over` and `under` says from where the context holds",
                    Some("write for example `over: 35`".into()),
                );
                continue;
            }
        };
        all.extend(sheets.into_iter().map(|sheet| ContextFrom {
            sheet,
            value,
            bound,
            holds_over,
            denies,
        }));
    }
    all
}
