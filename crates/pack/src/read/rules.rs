//! Limits, hazards and suppressions.

use wythe_text::{Doc, Item};

use super::clues::reading;
use super::desk::Desk;
use crate::{Bound, Clue, ClueIx, ContextIx, Hazard, Limit, SuppressedBy, Suppression};

pub(super) fn limit(desk: &mut Desk, doc: &Doc, clues: &[Clue]) -> Limit {
    let fields = doc.root().fields(
        &mut desk.problems,
        &[
            "id", "title", "since", "clue", "also", "over", "under", "from", "marks", "number", "at_least", "for",
            "source", "basis", "note",
        ],
    );
    let [id, title, clue, at_least, purpose, source] =
        ["id", "title", "clue", "at_least", "for", "source"].map(|key| fields.required(&mut desk.problems, key));
    let clue = desk.known(clue, "clue", |names| &mut names.clues);
    let by_number = match (fields.optional("over"), fields.optional("under")) {
        (Some(over), None) => Some((over, false)),
        (None, Some(under)) => Some((under, true)),
        (None, None) => None,
        (Some(_), Some(under)) => {
            under.key_problem(
                &mut desk.problems,
                "a limit has `over` or `under`, not both",
                Some("`under` where less is worse".into()),
            );
            None
        }
    };
    let bound = match (by_number, fields.optional("from")) {
        (Some((over, under)), None) => {
            let by = clue.and_then(|clue| clues.get(clue)?.measured_by.as_ref());
            if clue.is_some() && by.is_none() {
                over.problem(
                    &mut desk.problems,
                    "this clue is graded by eye and has no measurement to compare",
                    Some("use `from: GRADE`, or add `measured_by` to the clue".into()),
                );
            }
            if let Some(by) = by.filter(|by| by.less_is_worse != under) {
                let (says, key) = if by.less_is_worse {
                    ("less", "under")
                } else {
                    ("more", "over")
                };
                over.key_problem(
                    &mut desk.problems,
                    format!("this clue is worse the {says} it is"),
                    Some(format!("use `{key}`")),
                );
            }
            let found = reading(desk, over, by.map(|by| by.quantity));
            found.map(|(value, text)| {
                if under {
                    Bound::Under { value, text }
                } else {
                    Bound::Over { value, text }
                }
            })
        }
        (None, Some(from)) => clue.and_then(|clue| grade(desk, from, clues, clue)).map(Bound::From),
        _ => {
            doc.root().problem(
                &mut desk.problems,
                "a limit has either `over`, `under` or `from`",
                Some("`over: 1/360` for a measured clue, `from: marked` for a graded one".into()),
            );
            None
        }
    };
    if let (Some(item), Some(_)) = (fields.optional("also"), fields.optional("from")) {
        item.problem(
            &mut desk.problems,
            "grades of one clue say nothing of another",
            Some("use `over` with a measurement, or a limit for each clue".into()),
        );
    }
    let also = also(
        desk,
        fields.optional("also"),
        clue.and_then(|clue| clues.get(clue)),
        clues,
    );
    let read = clue.into_iter().chain(also.iter().map(|at| at.0));
    let read: Vec<&Clue> = read.filter_map(|at| clues.get(at)).collect();
    Limit {
        marks: fields
            .optional("marks")
            .map(|item| noted(desk, item, &read))
            .unwrap_or_default(),
        id: desk.id(id, doc),
        title: desk.words_of(title),
        clue: ClueIx(clue.unwrap_or(0)),
        also,
        bound: bound.unwrap_or(Bound::From(1)),
        number: fields
            .optional("number")
            .map_or(1, |item| desk.number_in(Some(item), 1.0, 20.0) as usize),
        at_least: desk.action(at_least),
        purpose: desk.words_of(purpose),
        sources: desk.sources(source),
        basis: desk.basis(fields.optional("basis")),
    }
}

/// The marks that a limit asks for: each of the clues it reads has them.
fn noted(desk: &mut Desk, item: Item<'_>, read: &[&Clue]) -> Vec<(String, String)> {
    let mut out = Vec::new();
    for (name, row) in item.entries(&mut desk.problems) {
        let Some(kind) = row.text(&mut desk.problems) else {
            continue;
        };
        for clue in read {
            let mark = clue.marks.iter().find(|mark| mark.id == name);
            if !mark.is_some_and(|mark| mark.kinds.iter().any(|known| known == kind)) {
                row.problem(
                    &mut desk.problems,
                    format!("`{}` has no mark `{name}: {kind}`", clue.id),
                    Some("name a mark that every clue of the limit has".into()),
                );
            }
        }
        out.push((name.to_owned(), kind.to_owned()));
    }
    out
}

/// The other clues of a limit: each measured as the first is.
fn also(desk: &mut Desk, item: Option<Item<'_>>, first: Option<&Clue>, clues: &[Clue]) -> Vec<ClueIx> {
    let quantity = |clue: &Clue| clue.measured_by.as_ref().map(|by| by.quantity);
    let rows = item
        .map(|item| item.list_or_one(&mut desk.problems))
        .unwrap_or_default();
    let mut out = Vec::new();
    for row in rows {
        let Some(at) = desk.known(Some(row), "clue", |names| &mut names.clues) else {
            continue;
        };
        let other = clues.get(at).and_then(quantity);
        if other.is_none() || other != first.and_then(quantity) {
            row.problem(
                &mut desk.problems,
                "this clue is not measured as the limit's first clue is",
                Some("give it a limit of its own".into()),
            );
        }
        out.push(ClueIx(at));
    }
    out
}

fn grade(desk: &mut Desk, item: Item<'_>, clues: &[Clue], clue: usize) -> Option<usize> {
    let names: Vec<String> = clues
        .get(clue)
        .map(|clue| clue.grades.iter().map(|grade| grade.id.clone()).collect())
        .unwrap_or_default();
    let lacks = format!("`{}` has no grade", clues.get(clue).map_or("", |clue| &clue.id));
    let found = desk.name(item, &lacks, &names)?;
    if found == 0 {
        item.problem(
            &mut desk.problems,
            "the lowest grade means nothing there",
            Some("name a higher one".into()),
        );
    }
    Some(found)
}

pub(super) fn hazard(desk: &mut Desk, doc: &Doc, clues: &[Clue]) -> Hazard {
    let fields = doc.root().fields(
        &mut desk.problems,
        &[
            "id", "title", "since", "clue", "from", "at_least", "notice", "source", "basis", "note",
        ],
    );
    let [id, title, clue, from, at_least, notice, source] =
        ["id", "title", "clue", "from", "at_least", "notice", "source"]
            .map(|key| fields.required(&mut desk.problems, key));
    let clue = desk.known(clue, "clue", |names| &mut names.clues);
    Hazard {
        id: desk.id(id, doc),
        title: desk.words_of(title),
        clue: ClueIx(clue.unwrap_or(0)),
        from: from
            .zip(clue)
            .and_then(|(from, clue)| grade(desk, from, clues, clue))
            .unwrap_or(1),
        at_least: desk.action(at_least),
        notice: desk.words_of(notice),
        sources: desk.sources(source),
    }
}

pub(super) fn suppression(desk: &mut Desk, doc: &Doc, clues: &[Clue]) -> Suppression {
    let fields = doc.root().fields(
        &mut desk.problems,
        &[
            "id",
            "since",
            "hides",
            "by_context",
            "by_clue",
            "from",
            "by_test",
            "reason",
            "source",
            "basis",
            "note",
        ],
    );
    let [id, hides, reason, source] =
        ["id", "hides", "reason", "source"].map(|key| fields.required(&mut desk.problems, key));
    let rows = hides
        .map(|item| item.list_or_one(&mut desk.problems))
        .unwrap_or_default();
    let hides = rows
        .into_iter()
        .filter_map(|row| desk.known(Some(row), "clue", |names| &mut names.clues))
        .map(ClueIx)
        .collect();
    if let Some(test) = fields.optional("by_test") {
        let test_clue = desk.known(Some(test), "clue", |names| &mut names.clues);
        if test_clue
            .and_then(|at| clues.get(at))
            .is_some_and(|clue| clue.wait.is_none())
        {
            test.problem(
                &mut desk.problems,
                "this clue says nothing of a wait",
                Some("give it `wait: {days: …, reason: …}`, or use `by_clue`".into()),
            );
        }
        let by = SuppressedBy::Test {
            clue: ClueIx(test_clue.unwrap_or(0)),
        };
        return Suppression {
            id: desk.id(id, doc),
            hides,
            by,
            reason: desk.words_of(reason),
            sources: desk.sources(source),
        };
    }
    let by = match (fields.optional("by_context"), fields.optional("by_clue")) {
        (Some(context), None) => desk
            .known(Some(context), "context", |names| &mut names.contexts)
            .map(|at| SuppressedBy::Context(ContextIx(at))),
        (None, Some(item)) => {
            let clue = desk.known(Some(item), "clue", |names| &mut names.clues);
            let from = fields.required(&mut desk.problems, "from");
            clue.zip(from).map(|(clue, from)| SuppressedBy::Clue {
                clue: ClueIx(clue),
                from: grade(desk, from, clues, clue).unwrap_or(1),
            })
        }
        _ => {
            doc.root().problem(
                &mut desk.problems,
                "a suppression has either `by_context`, `by_clue` or `by_test`",
                Some("`by_context: repainted_since`, or `by_clue: fresh_paint` with `from: seen`".into()),
            );
            None
        }
    };
    Suppression {
        id: desk.id(id, doc),
        hides,
        by: by.unwrap_or(SuppressedBy::Context(ContextIx(0))),
        reason: desk.words_of(reason),
        sources: desk.sources(source),
    }
}
