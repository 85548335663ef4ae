//! Clue files.

use wythe_measure::{Quantity, parse_measured};
use wythe_text::{Doc, Item};

use super::Shelf;
use super::computed::clue_from;
use super::desk::Desk;
use crate::{Chance, Clue, ClueIx, Effort, Grade, Instrument, KindIx, Mark, Pattern, PatternKind, Wait, Zone};

const KEYS: [&str; 23] = [
    "id",
    "title",
    "also_called",
    "since",
    "at",
    "zone",
    "grades",
    "measured_by",
    "usual_grades",
    "background",
    "marks",
    "ordinary_causes",
    "look_for",
    "effort",
    "wait",
    "direct",
    "says",
    "none_says",
    "source",
    "basis",
    "pattern",
    "computed_from",
    "note",
];

pub(super) fn clue(desk: &mut Desk, doc: &Doc) -> Clue {
    let fields = doc.root().fields(&mut desk.problems, &KEYS);
    let need = |desk: &mut Desk, key| fields.required(&mut desk.problems, key);
    let [id, title, since, at, zone, grades] =
        ["id", "title", "since", "at", "zone", "grades"].map(|key| need(desk, key));
    let [usual, background, causes, look_for] =
        ["usual_grades", "background", "ordinary_causes", "look_for"].map(|key| need(desk, key));
    let [effort, says, source] = ["effort", "says", "source"].map(|key| need(desk, key));
    let measured_by = fields.optional("measured_by").and_then(|item| instrument(desk, item));
    let grades = grades
        .map(|item| grades_of(desk, item, measured_by.as_ref()))
        .unwrap_or_default();
    let marks = fields
        .optional("marks")
        .map(|item| marks(desk, item))
        .unwrap_or_default();
    let computed_from = fields
        .optional("computed_from")
        .and_then(|item| clue_from(desk, &item, grades.len(), measured_by.as_ref(), &marks));
    let above: Vec<String> = grades.iter().skip(1).map(|grade| grade.id.clone()).collect();
    let usual_grades = usual.map(|item| desk.shares(item, &above, false)).unwrap_or_default();
    let mut background_grades = usual_grades.clone();
    let mut chance = Chance {
        value: 0.01,
        word: None,
    };
    let mut basis = crate::Basis::default();
    if let Some(item) = background {
        let fields = item.fields(&mut desk.problems, &["how_often", "grades", "basis", "source"]);
        let how_often = fields.required(&mut desk.problems, "how_often");
        if let Some(found) = how_often.and_then(|item| desk.chance(item)) {
            chance = found;
        }
        if let Some(item) = fields.optional("grades") {
            background_grades = desk.shares(item, &above, false);
        }
        basis = desk.basis(fields.optional("basis"));
        desk.sources(fields.optional("source"));
    }
    Clue {
        id: desk.id(id, doc),
        title: desk.words_of(title),
        also_called: desk.other_names(fields.optional("also_called")),
        since: since
            .and_then(|item| item.text_or_number(&mut desk.problems))
            .unwrap_or_default(),
        at: desk
            .known(at, "kind of place", |names| &mut names.kinds)
            .map_or(KindIx(0), KindIx),
        zone: desk.choice(zone, &Zone::NAMES, &Zone::ALL).unwrap_or(Zone::Outside),
        grades,
        measured_by,
        usual_grades,
        background: chance,
        background_grades,
        marks,
        ordinary_causes: desk.texts(causes),
        look_for: desk.words_of(look_for),
        effort: desk
            .choice(effort, &Effort::NAMES, &Effort::ALL)
            .unwrap_or(Effort::Glance),
        wait: fields.optional("wait").map(|item| wait(desk, item)),
        direct: fields
            .optional("direct")
            .and_then(|item| item.flag(&mut desk.problems))
            .unwrap_or(false),
        says: desk.words_of(says),
        none_says: fields.optional("none_says").map(|item| desk.words_of(Some(item))),
        pattern: None,
        computed_from,
        sources: desk.sources(source),
        basis,
    }
}

/// How long after looking this way other tests of the same path must wait.
fn wait(desk: &mut Desk, item: Item<'_>) -> Wait {
    let fields = item.fields(&mut desk.problems, &["days", "reason"]);
    let [days, reason] = ["days", "reason"].map(|key| fields.required(&mut desk.problems, key));
    Wait {
        days: desk.number_in(days, 0.0, 3660.0),
        reason: desk.words_of(reason),
    }
}

fn grades_of(desk: &mut Desk, item: Item<'_>, measured: Option<&Instrument>) -> Vec<Grade> {
    let rows = item.list(&mut desk.problems);
    if rows.len() < 2 {
        item.problem(
            &mut desk.problems,
            "a clue has at least two grades",
            Some("the first means nothing there".into()),
        );
    }
    let last = rows.len().saturating_sub(1);
    let mut grades: Vec<Grade> = Vec::new();
    for (at, row) in rows.into_iter().enumerate() {
        let fields = row.fields(&mut desk.problems, &["id", "up_to", "down_to", "title"]);
        let id = fields.required(&mut desk.problems, "id");
        let falls = measured.is_some_and(|by| by.less_is_worse);
        let (key, other) = if falls {
            ("down_to", "up_to")
        } else {
            ("up_to", "down_to")
        };
        let wrong = fields.optional(other);
        if let Some(item) = wrong {
            item.key_problem(
                &mut desk.problems,
                format!("this clue is worse the {} it is", if falls { "less" } else { "more" }),
                Some(format!("give `{key}`")),
            );
        }
        let up_to = fields.optional(key);
        let bound = up_to.and_then(|item| reading(desk, item, measured.map(|by| by.quantity)));
        let bound = bound.map(|(value, text)| (measured.map_or(value, |by| by.scaled(value)), text));
        let wants = measured.is_some() && at != last;
        match (&bound, wants) {
            // Nothing there may leave its bound out; one that could not be read is a problem already.
            (None, true) if (at == 0 && !falls) || up_to.or(wrong).is_some() => {}
            (None, true) => row.problem(
                &mut desk.problems,
                format!("this grade has no {} bound", if falls { "lower" } else { "upper" }),
                Some(format!("a measured clue gives `{key}` on each grade but the last")),
            ),
            (Some(_), false) => row.problem(
                &mut desk.problems,
                "this grade cannot have a bound",
                Some(format!("`{key}` belongs to measured clues, and not to the last grade")),
            ),
            _ => {}
        }
        let id = desk.words_of(id);
        if id == "present" {
            row.problem(
                &mut desk.problems,
                "`present` is what a case says when the size of a sign was not noted",
                Some("give the grade another name".into()),
            );
        }
        if grades.iter().any(|grade| grade.id == id) {
            row.problem(
                &mut desk.problems,
                format!("the grade `{id}` stands twice"),
                Some("give each grade a name of its own".into()),
            );
        }
        if let (Some((value, _)), Some(before)) = (&bound, grades.iter().filter_map(|grade| grade.up_to).next_back())
            && *value <= before
        {
            row.problem(
                &mut desk.problems,
                if falls {
                    "these bounds do not fall"
                } else {
                    "these bounds do not rise"
                },
                Some("order the grades from least to most".into()),
            );
        }
        let (up_to, up_to_text) = bound.map_or_else(
            // Nothing there is a reading of zero.
            || ((wants && at == 0).then_some(0.0), None),
            |(value, text)| (Some(value), Some(text)),
        );
        grades.push(Grade {
            id,
            title: fields.optional("title").map(|item| desk.words_of(Some(item))),
            up_to,
            up_to_text,
        });
    }
    grades
}

/// A measurement in a rule file, in the base unit of its quantity, and its text.
pub(super) fn reading(desk: &mut Desk, item: Item<'_>, wanted: Option<Quantity>) -> Option<(f64, String)> {
    let text = item.text_or_number(&mut desk.problems)?;
    match parse_measured(&text) {
        Ok(reading) => {
            if let Some(wanted) = wanted.filter(|wanted| *wanted != reading.quantity) {
                item.problem(
                    &mut desk.problems,
                    format!(
                        "`{text}` is {}, and this clue is measured as {wanted}",
                        reading.quantity
                    ),
                    Some(format!("write it as {wanted}")),
                );
                return None;
            }
            Some((reading.value, text))
        }
        Err(error) => {
            item.problem(
                &mut desk.problems,
                error.to_string(),
                wanted.map(|wanted| format!("write it as {wanted}, with its unit")),
            );
            None
        }
    }
}

const QUANTITIES: [&str; 5] = ["length", "ratio", "angle", "rate", "number"];
const ALL_QUANTITIES: [Quantity; 5] = [
    Quantity::Length,
    Quantity::Ratio,
    Quantity::Angle,
    Quantity::Rate,
    Quantity::Number,
];

fn instrument(desk: &mut Desk, item: Item<'_>) -> Option<Instrument> {
    let fields = item.fields(&mut desk.problems, &["quantity", "error", "how", "worse", "source"]);
    let [quantity, error, how, source] =
        ["quantity", "error", "how", "source"].map(|key| fields.required(&mut desk.problems, key));
    let quantity = desk.choice(quantity, &QUANTITIES, &ALL_QUANTITIES)?;
    let error = error.and_then(|item| reading(desk, item, Some(quantity)));
    let worse = fields.optional("worse");
    Some(Instrument {
        quantity,
        less_is_worse: desk.choice(worse, &["more", "less"], &[false, true]).unwrap_or(false),
        sd: error.map_or(0.0, |(half_width, _)| half_width / wythe_measure::COVER_95),
        how: desk.words_of(how),
        sources: desk.sources(source),
    })
}

fn marks(desk: &mut Desk, item: Item<'_>) -> Vec<Mark> {
    let mut all = Vec::new();
    for (id, row) in item.entries(&mut desk.problems) {
        let fields = row.fields(&mut desk.problems, &["title", "of", "source", "basis", "how"]);
        let [title, of] = ["title", "of"].map(|key| fields.required(&mut desk.problems, key));
        let Some(of) = of else { continue };
        let kinds: Vec<String> = of
            .entries(&mut desk.problems)
            .into_iter()
            .map(|(kind, _)| kind.to_owned())
            .collect();
        desk.sources(fields.optional("source"));
        all.push(Mark {
            id: id.to_owned(),
            title: desk.words_of(title),
            background: desk.shares(of, &kinds, true),
            kinds,
        });
    }
    all
}

/// Second pass: what derived clues read, now that all clues are known.
pub(super) fn patterns(desk: &mut Desk, shelf: &Shelf<'_>, clues: &mut [Clue]) {
    for (at, doc) in shelf.folder("clues").enumerate() {
        let fields = doc.root().fields(&mut Default::default(), &KEYS);
        let Some(item) = fields.optional("pattern") else {
            continue;
        };
        let fields = item.fields(&mut desk.problems, &["of", "kind", "at_least"]);
        let [of, kind, least] = ["of", "kind", "at_least"].map(|key| fields.required(&mut desk.problems, key));
        let of_index = desk.known(of, "clue", |names| &mut names.clues);
        let kind = desk.choice(kind, &PatternKind::NAMES, &PatternKind::ALL);
        let least = desk.number_in(least, 2.0, 1000.0) as usize;
        let (Some(of_index), Some(kind)) = (of_index, kind) else {
            continue;
        };
        let grades = |at: usize| clues.get(at).map(|clue| clue.grades.len());
        let same = grades(at) == Some(2) || grades(at) == grades(of_index);
        if !same && let Some(of) = of {
            of.problem(
                &mut desk.problems,
                "a derived clue has as many grades as the clue it reads",
                Some("give it the same grades, or two".into()),
            );
        }
        if let Some(clue) = clues.get_mut(at) {
            clue.pattern = Some(Pattern {
                of: ClueIx(of_index),
                kind,
                at_least: least,
            });
        }
    }
}
