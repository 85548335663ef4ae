//! One part of an item: what was found, a mark, how sure, with what.

use wythe_case::{Looked, Sure};
use wythe_measure::{Quantity, parse_measured, parse_measured_as};
use wythe_pack::Clue;
use wythe_text::{nearest, shown};

use crate::Desk;
use crate::bit::Bit;
use crate::item::{Draft, Found, grades};
use crate::words::{among, choices, fold, said};

/// Ways of saying that a place could not be looked at.
const NOT_REACHED: [&str; 6] = [
    "not reached",
    "can't reach",
    "could not reach",
    "couldn't reach",
    "cannot reach",
    "no access",
];

/// Ways of saying that a sign is there and was not sized.
const UNSIZED: [&str; 6] = [
    "present",
    "there",
    "size unknown",
    "size not known",
    "size not noted",
    "not measured",
];

/// The reason, when a part says that a place could not be looked at.
pub(crate) fn not_reached(part: Bit<'_>) -> Option<Bit<'_>> {
    NOT_REACHED.iter().find_map(|words| {
        let head = part.text.get(..words.len())?;
        let rest = part.text.get(words.len()..)?;
        let apart = rest.is_empty() || rest.starts_with(|c: char| !c.is_alphanumeric());
        (head.eq_ignore_ascii_case(words) && apart).then(|| part.tail(rest.trim_start_matches([':', '-', '=', ' '])))
    })
}

/// Reads a part into the draft; else a problem.
pub(crate) fn read(desk: &mut Desk<'_>, draft: &mut Draft, bit: Bit<'_>) {
    if bit.text.is_empty() || aside(draft, bit) || grade(desk, draft, bit) {
        return;
    }
    if bit.text.contains(|c: char| c.is_numeric()) {
        return measured(desk, draft, bit);
    }
    if marks(desk, draft, bit) {
        return;
    }
    // `slight joints`: a grade, then more without a comma.
    let words = bit.words();
    if let (Some(first), Some(second), Some(last), None) = (words.first(), words.get(1), words.last(), &draft.found)
        && grade(desk, draft, *first)
    {
        return read(desk, draft, second.to(*last, bit));
    }
    strange(desk, draft, bit);
}

/// How sure, how much was looked at, with what, photos.
fn aside(draft: &mut Draft, bit: Bit<'_>) -> bool {
    let words = fold(bit.text);
    let said: Vec<&str> = words.iter().map(String::as_str).collect();
    match said.as_slice() {
        ["sure"] => draft.sure = Some(Sure::Sure),
        ["fairly", "sure"] => draft.sure = Some(Sure::Fairly),
        ["unsure"] | ["not", "sure"] => draft.sure = Some(Sure::Unsure),
        ["looked", "at", "part"] | ["part", "looked"] | ["looked", "part"] => draft.looked = Some(Looked::Part),
        ["ask", "access"] => draft.ask_access = true,
        ["from", "photo"] | ["off", "photo"] => draft.from_photo = true,
        ["looked", "at", ..] => {
            let share = bit
                .text
                .find(|c: char| c.is_ascii_digit())
                .and_then(|at| bit.text.get(at..));
            let share = share.and_then(|share| parse_measured_as(share, Quantity::Ratio).ok());
            let Some(share) = share.filter(|share| share.value > 0.0 && share.value < 1.0) else {
                return false;
            };
            draft.looked = Some(Looked::Share(share.value));
        }
        _ => {
            if let Some(tool) = bit.after_word("with") {
                draft.with = Some(tool.text.to_owned());
            } else if let Some(names) = bit.after_word("photo").or_else(|| bit.after_word("photos")) {
                let names = names.words().into_iter().map(|name| name.text.to_owned());
                draft.photos.extend(names.filter(|name| name != "and"));
            } else {
                return false;
            }
        }
    }
    true
}

fn clue<'a>(desk: &Desk<'a>, draft: &Draft) -> &'a Clue {
    &desk.pack[draft.clue]
}

/// A grade by its name. The first found stands, so that a mark of the same name can follow.
fn grade(desk: &Desk<'_>, draft: &mut Draft, bit: Bit<'_>) -> bool {
    let words = fold(bit.text);
    let found = clue(desk, draft)
        .grades
        .iter()
        .position(|grade| fold(&grade.id) == words);
    let none = ["none", "none seen", "none there"]
        .iter()
        .any(|none| fold(none) == words);
    let there = UNSIZED.iter().any(|there| fold(there) == words);
    let found = match found.or(none.then_some(0)) {
        Some(grade) => Some(Found::Grade(grade)),
        None => there.then_some(Found::Present),
    };
    if draft.found.is_none() {
        draft.found = found;
        return draft.found.is_some();
    }
    false
}

/// A measurement, and what follows it without a comma.
fn measured(desk: &mut Desk<'_>, draft: &mut Draft, bit: Bit<'_>) {
    let clue = clue(desk, draft);
    let Some(by) = &clue.measured_by else {
        let help = format!("say {}", choices(&grades(clue)));
        return desk.problem(bit, format!("`{}` is graded by eye", said(&clue.id)), Some(help));
    };
    if matches!(draft.found, Some(Found::Measured(_) | Found::Present | Found::Grade(0))) {
        return desk.problem(bit, "what was found is said twice", Some("keep one".into()));
    }
    let of = |text: &str| match by.quantity {
        Quantity::Number => parse_measured_as(text, Quantity::Number),
        _ => parse_measured(text),
    };
    let (reading, rest) = match of(bit.text) {
        Ok(reading) => (reading, None),
        Err(error) => {
            let part = error
                .offset()
                .filter(|at| bit.text.is_char_boundary(*at))
                .map(|at| bit.cut(at, 0));
            match part.and_then(|(head, rest)| Some((of(head.text).ok()?, rest))) {
                Some((reading, rest)) => (reading, Some(rest)),
                None => {
                    let words = error.to_string();
                    let (what, help) = words.split_once("; ").unwrap_or((&words, ""));
                    return desk.problem(bit, what, (!help.is_empty()).then(|| help.to_owned()));
                }
            }
        }
    };
    if reading.quantity != by.quantity {
        let classes: Vec<String> = clue
            .grades
            .iter()
            .filter_map(|grade| grade.up_to_text.clone())
            .collect();
        let what = format!(
            "`{}` is measured as {}, and this is {}",
            said(&clue.id),
            by.quantity,
            reading.quantity
        );
        return desk.problem(
            bit,
            what,
            Some(format!("write it as its classes are: {}", choices(&classes))),
        );
    }
    // A grade beside a measurement says the same twice: the measurement says more.
    draft.found = Some(Found::Measured(reading));
    if let Some(rest) = rest {
        read(desk, draft, rest);
    }
}

/// `joints`, `path joints`, `joints or mixed`.
fn marks(desk: &mut Desk<'_>, draft: &mut Draft, bit: Bit<'_>) -> bool {
    let clue = clue(desk, draft);
    let mut of: Option<usize> = None;
    let mut kinds: Vec<String> = Vec::new();
    for (number, one) in bit.text.split(" or ").enumerate() {
        let words = fold(one);
        let named = clue.marks.iter().position(|mark| {
            let name = fold(&mark.id);
            number == 0 && words.len() > name.len() && words.starts_with(&name)
        });
        let words = match named.and_then(|at| clue.marks.get(at)) {
            Some(mark) => words.iter().skip(fold(&mark.id).len()).cloned().collect(),
            None => words,
        };
        let of_mark = named.or(of);
        let found = kinds_of(clue, of_mark, &words);
        match found.as_slice() {
            [] => return false,
            [(mark, kind)] => {
                of = Some(*mark);
                kinds.push(kind.clone());
            }
            several => {
                let name = |(mark, kind): &(usize, String)| {
                    let mark = clue.marks.get(*mark).map_or("", |mark| mark.id.as_str());
                    format!("{} {}", said(mark), said(kind))
                };
                let names: Vec<String> = several.iter().map(name).collect();
                desk.problem(
                    bit,
                    format!("{} could be more than one mark", shown(bit.text)),
                    Some(format!("say {}", choices(&names))),
                );
                return true;
            }
        }
    }
    let Some(mark) = of.and_then(|at| clue.marks.get(at)) else {
        return false;
    };
    if draft.marks.iter().any(|(noted, _)| *noted == mark.id) {
        desk.problem(
            bit,
            format!("the mark `{}` is noted twice", said(&mark.id)),
            Some("keep one, or join them with `or`".into()),
        );
    }
    draft.marks.push((mark.id.clone(), kinds));
    true
}

/// The kinds that words name, with their marks: by the whole name, else by some of its words.
fn kinds_of(clue: &Clue, of: Option<usize>, words: &[String]) -> Vec<(usize, String)> {
    let all = || {
        let marks = clue
            .marks
            .iter()
            .enumerate()
            .filter(|(at, _)| of.is_none_or(|of| of == *at));
        marks.flat_map(|(at, mark)| mark.kinds.iter().map(move |kind| (at, kind.clone())))
    };
    let whole: Vec<_> = all().filter(|(_, kind)| fold(kind) == words).collect();
    if whole.is_empty() {
        all().filter(|(_, kind)| among(words, &fold(kind))).collect()
    } else {
        whole
    }
}

fn strange(desk: &mut Desk<'_>, draft: &Draft, bit: Bit<'_>) {
    let clue = clue(desk, draft);
    let mut known = grades(clue);
    for mark in &clue.marks {
        known.extend(mark.kinds.iter().map(|kind| said(kind)));
    }
    let others = [
        "size unknown",
        "not reached",
        "not sure",
        "fairly sure",
        "looked at part",
        "from photo",
        "ask access",
    ];
    let near = nearest(bit.text, known.iter().map(String::as_str).chain(others));
    let own = said(&clue.id) + " " + &clue.title;
    let slip = bit.words().into_iter().find_map(|word| {
        let all = known.iter().flat_map(|name| name.split(' ')).chain(own.split(' '));
        let near = nearest(word.text, all)?;
        (fold(near) != fold(word.text)).then(|| format!("`{near}` by `{}`", word.text))
    });
    let help = match near.map(|near| format!("`{near}`")).or(slip) {
        Some(near) => format!("did you mean {near}? put a remark in round brackets"),
        None => format!(
            "known of `{}`: {}; put a remark in round brackets",
            said(&clue.id),
            known.join(", ")
        ),
    };
    desk.problem(bit, format!("{} is not understood", shown(bit.text)), Some(help));
}
