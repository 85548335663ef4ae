//! One sighting.

use wythe_measure::{MeasureError, Quantity, parse_measured, parse_measured_as};
use wythe_text::{Fields, Item, Tree, shown};

use super::desk::Desk;
use crate::{Looked, Seen, Sighting, Sure};

const KEYS: [&str; 14] = [
    "id",
    "clue",
    "at",
    "seen",
    "measured",
    "not_reached",
    "with",
    "from_photo",
    "looked",
    "ask_access",
    "marks",
    "sure",
    "corrects",
    "note",
];

/// Reads one; `id` is its name when the file gives none.
pub(super) fn read(desk: &mut Desk, item: &Item<'_>, id: String) -> Option<Sighting> {
    let known: Vec<&str> = KEYS.into_iter().chain(["photos"]).collect();
    let fields = item.fields(&mut desk.out, &known);
    let id = match fields.optional("id") {
        Some(item) => desk.name(&item),
        None => Some(id),
    };
    let clue = fields.required(&mut desk.out, "clue").and_then(|item| desk.name(&item));
    let at = fields.required(&mut desk.out, "at").and_then(|item| desk.place(&item));
    let seen = seen(desk, &fields);
    let marks = fields
        .optional("marks")
        .map(|item| marks(desk, &item))
        .unwrap_or_default();
    let sure = fields
        .optional("sure")
        .and_then(|item| item.one_of(&mut desk.out, &Sure::NAMES));
    let corrects = fields.optional("corrects").and_then(|item| desk.name(&item));
    let note = fields.optional("note").and_then(|item| desk.words(&item));
    let photos = fields
        .optional("photos")
        .map(|item| desk.names(&item))
        .unwrap_or_default();
    if let Some(seen) = &seen {
        check_company(desk, &fields, seen);
    }
    let sure = sure
        .and_then(|index| Sure::ALL.get(index).copied())
        .unwrap_or(Sure::Sure);
    Some(Sighting {
        id: id?,
        clue: clue?,
        at: at?,
        seen: seen?,
        marks,
        sure,
        corrects,
        note,
        photos,
        computed: None,
        locus: item.locus(),
    })
}

fn seen(desk: &mut Desk, fields: &Fields<'_>) -> Option<Seen> {
    let mut given = ["seen", "measured", "not_reached"]
        .iter()
        .filter_map(|key| fields.optional(key));
    let help = "`seen:` a grade, `present` or `none`, `measured:` a reading, or `not_reached:` why";
    match (given.next(), given.next()) {
        (None, _) => {
            let what = "nothing here says what was found";
            if matches!(fields.item().tree(), Tree::Map(_)) {
                desk.out.push(fields.problem(what, Some(format!("give one: {help}"))));
            }
            None
        }
        (Some(first), Some(second)) => {
            let [first, second] = [first, second].map(|item| (item, item.key().unwrap_or_default()));
            let what = format!("`{}` and `{}` are both given for one sighting", first.1, second.1);
            second
                .0
                .key_problem(&mut desk.out, what, Some(format!("keep one: {help}")));
            None
        }
        (Some(item), None) => match item.key() {
            Some("measured") => measured(desk, fields, &item),
            Some("not_reached") => not_reached(desk, fields, &item),
            _ => grade_or_none(desk, fields, &item),
        },
    }
}

fn grade_or_none(desk: &mut Desk, fields: &Fields<'_>, item: &Item<'_>) -> Option<Seen> {
    if item.is_null() {
        let help = "write `none` if you looked and there was none; leave the sighting out if nobody looked";
        item.problem(&mut desk.out, "what was seen is left empty", Some(help.into()));
        return None;
    }
    let grade = desk.name(item)?;
    if grade == "present" {
        return Some(Seen::Present);
    }
    if grade != "none" {
        return Some(Seen::Grade(grade));
    }
    let looked = match fields.optional("looked") {
        Some(item) => looked(desk, &item)?,
        None => Looked::All,
    };
    Some(Seen::NoneThere { looked })
}

/// `all`, `part`, a percentage, or a number between 0 and 1.
fn looked(desk: &mut Desk, item: &Item<'_>) -> Option<Looked> {
    let share = match item.tree() {
        Tree::Text(text) if text == "all" => return Some(Looked::All),
        Tree::Text(text) if text == "part" => return Some(Looked::Part),
        Tree::Text(text) if text.ends_with('%') => parse_measured_as(text, Quantity::Ratio)
            .ok()
            .filter(|read| read.sd.is_none())
            .map(|read| read.value),
        Tree::Number(number) => Some(*number),
        _ => None,
    };
    match share {
        Some(share) if share > 0.0 && share < 1.0 => Some(Looked::Share(share)),
        Some(1.0) => Some(Looked::All),
        Some(0.0) => {
            let help = "give `not_reached:` and why, or leave the sighting out";
            item.problem(&mut desk.out, "none of the place was looked at", Some(help.into()));
            None
        }
        _ => {
            let help = "write `all`, `part`, or a share such as `60 %`";
            item.problem(&mut desk.out, "how much was looked at can't be read", Some(help.into()));
            None
        }
    }
}

fn measured(desk: &mut Desk, fields: &Fields<'_>, item: &Item<'_>) -> Option<Seen> {
    let text = match item.tree() {
        Tree::Number(number) => number.to_string(),
        _ => item.text_or_number(&mut desk.out)?,
    };
    let with = fields.optional("with").and_then(|item| desk.words(&item));
    let from_photo = fields
        .optional("from_photo")
        .and_then(|item| item.flag(&mut desk.out))
        .unwrap_or(false);
    match parse_measured(&text) {
        Ok(reading) => Some(Seen::Measured {
            reading,
            with,
            from_photo,
        }),
        Err(error) => {
            let (what, help) = said(&error);
            let offset = error.offset().unwrap_or(0);
            let rest = text.get(offset..).unwrap_or_default();
            let length = rest.split_whitespace().next().map_or(1, |word| word.chars().count());
            let part = if error.offset().is_some() {
                (offset, length)
            } else {
                (0, text.chars().count())
            };
            item.problem_inside(&mut desk.out, part, what, help);
            None
        }
    }
}

/// An error's words, parted into what is wrong and what to do.
fn said(error: &MeasureError) -> (String, Option<String>) {
    let words = error.to_string();
    match words.split_once("; ") {
        Some((what, help)) => (what.to_owned(), Some(help.to_owned())),
        None => (words, None),
    }
}

fn not_reached(desk: &mut Desk, fields: &Fields<'_>, item: &Item<'_>) -> Option<Seen> {
    if matches!(item.tree(), Tree::Flag(_)) || matches!(item.tree(), Tree::Text(text) if text == "yes" || text == "no")
    {
        item.problem(
            &mut desk.out,
            "`not_reached` says why",
            Some("write for example `locked gate`".into()),
        );
        return None;
    }
    let why = desk.words(item)?;
    let ask_access = fields
        .optional("ask_access")
        .and_then(|item| item.flag(&mut desk.out))
        .unwrap_or(false);
    Some(Seen::NotReached { why, ask_access })
}

fn marks(desk: &mut Desk, item: &Item<'_>) -> Vec<(String, Vec<String>)> {
    let mut read = Vec::new();
    for (_, item) in item.entries(&mut desk.out) {
        let Some(mark) = desk.name_of(&item) else {
            continue;
        };
        let kinds = desk.names(&item);
        if matches!(item.tree(), Tree::List(list) if list.is_empty()) {
            item.problem(
                &mut desk.out,
                "the list of kinds is empty",
                Some("leave the mark out".into()),
            );
        }
        read.push((mark, kinds));
    }
    read
}

/// Refuses entries that say nothing beside what was found.
fn check_company(desk: &mut Desk, fields: &Fields<'_>, seen: &Seen) {
    let (strangers, found): (&[&str], &str) = match seen {
        Seen::Grade(_) => (&["with", "from_photo", "looked", "ask_access"], "a grade"),
        Seen::Present => (&["with", "from_photo", "looked", "ask_access"], "`seen: present`"),
        Seen::Measured { .. } => (&["looked", "ask_access"], "a measurement"),
        Seen::NoneThere { .. } => (&["with", "from_photo", "ask_access", "marks"], "`seen: none`"),
        Seen::NotReached { .. } => (&["with", "from_photo", "looked", "marks", "sure"], "`not_reached`"),
    };
    for key in strangers {
        if let Some(item) = fields.optional(key) {
            let goes_with = match *key {
                "with" | "from_photo" => "`measured`",
                "looked" => "`seen: none`",
                "ask_access" => "`not_reached`",
                "sure" => "what was looked at",
                _ => "a grade or a measurement",
            };
            let what = format!("{} does not go with {found}", shown(key));
            item.key_problem(
                &mut desk.out,
                what,
                Some(format!("it goes with {goes_with}; take it out")),
            );
        }
    }
}
