//! One item: a sign and what was found.

use wythe_case::{Looked, Seen, Sighting, Sure};
use wythe_measure::Measured;
use wythe_pack::{Clue, ClueIx};

use crate::Desk;
use crate::bit::Bit;
use crate::words::{choices, said};
use crate::{part, signs};

/// What was found, as far as it has been read.
#[derive(Clone, Debug)]
pub(crate) enum Found {
    Grade(usize),
    Measured(Measured),
    /// There, and not sized.
    Present,
    NotReached(String),
}

/// An item, as far as it has been read.
#[derive(Debug)]
pub(crate) struct Draft {
    pub clue: ClueIx,
    pub found: Option<Found>,
    pub marks: Vec<(String, Vec<String>)>,
    pub sure: Option<Sure>,
    pub looked: Option<Looked>,
    pub with: Option<String>,
    pub from_photo: bool,
    pub ask_access: bool,
    pub photos: Vec<String>,
}

/// Reads an item about a place: `step crack 1/16 in, joints, wide at top`.
pub(crate) fn read(desk: &mut Desk<'_>, at: usize, item: Bit<'_>) -> Option<Sighting> {
    let problems = desk.out.len();
    let (head, mut parts) = head_and_parts(item);
    let no = head.after_word("no");
    let words = no.unwrap_or(head).words();
    let named = signs::find(desk, at, item, &words)?;
    let mut draft = Draft {
        clue: named.clue,
        found: (no.is_some() || named.none).then_some(Found::Grade(0)),
        marks: Vec::new(),
        sure: None,
        looked: None,
        with: None,
        from_photo: false,
        ask_access: false,
        photos: Vec::new(),
    };
    if let (Some(first), Some(last)) = (words.get(named.words), words.last()) {
        parts.insert(0, first.to(*last, head));
    }
    let mut parts = parts.into_iter();
    while let Some(part) = parts.next() {
        if let Some(why) = part::not_reached(part) {
            let rest: Vec<&str> = std::iter::once(why.text)
                .chain(parts.by_ref().map(|part| part.text))
                .collect();
            let why = rest
                .iter()
                .filter(|text| !text.is_empty())
                .copied()
                .collect::<Vec<_>>()
                .join(", ");
            let ask = why
                .strip_suffix("ask access")
                .map(|why| why.trim_end_matches([',', ' ']).to_owned());
            draft.ask_access = ask.is_some();
            let why = ask.unwrap_or(why);
            draft.found = Some(Found::NotReached(if why.is_empty() {
                "no reason given".into()
            } else {
                why
            }));
            break;
        }
        for bit in part.without_remarks() {
            part::read(desk, &mut draft, bit);
        }
    }
    if desk.out.len() > problems {
        return None;
    }
    finished(desk, at, item, draft)
}

/// What stands before the first comma, and the parts after it. A remark ends the head too.
fn head_and_parts(item: Bit<'_>) -> (Bit<'_>, Vec<Bit<'_>>) {
    let mut parts = item.split(',').into_iter();
    let first = parts.next().unwrap_or(item);
    let mut bits = first.without_remarks().into_iter();
    let head = bits.next().unwrap_or(first);
    (head, bits.chain(parts).collect())
}

fn finished(desk: &mut Desk<'_>, at: usize, item: Bit<'_>, draft: Draft) -> Option<Sighting> {
    let clue = &desk.pack[draft.clue];
    let found = match draft.found {
        Some(found) => found,
        None if clue.grades.len() == 2 => Found::Grade(1),
        None => {
            let measured = clue.measured_by.as_ref().map_or("", |_| ", a measurement");
            let help = format!("say {}{measured}, or `size unknown`", choices(&grades(clue)));
            desk.problem(
                item,
                format!("what was found of `{}` is not said", said(&clue.id)),
                Some(help),
            );
            return None;
        }
    };
    let shows = matches!(found, Found::Measured(_) | Found::Present | Found::Grade(1..));
    let misplaced = [
        (
            !draft.marks.is_empty() && !shows,
            "a mark goes with a sign that was seen",
        ),
        (
            draft.with.is_some() && !matches!(found, Found::Measured(_)),
            "`with` goes with a measurement",
        ),
        (
            draft.from_photo && !matches!(found, Found::Measured(_)),
            "`from photo` goes with a measurement",
        ),
        (
            draft.looked.is_some() && !matches!(found, Found::Grade(0)),
            "how much was looked at goes with `none`",
        ),
        (
            draft.ask_access && !matches!(found, Found::NotReached(_)),
            "`ask access` goes with `not reached`",
        ),
    ];
    for (wrong, what) in misplaced {
        if wrong {
            desk.problem(item, what, Some("take it out".into()));
            return None;
        }
    }
    let seen = match found {
        Found::Grade(0) => Seen::NoneThere {
            looked: draft.looked.unwrap_or(Looked::All),
        },
        Found::Grade(grade) => Seen::Grade(clue.grades.get(grade)?.id.clone()),
        Found::Present => Seen::Present,
        Found::Measured(reading) => Seen::Measured {
            reading,
            with: draft.with,
            from_photo: draft.from_photo,
        },
        Found::NotReached(why) => Seen::NotReached {
            why,
            ask_access: draft.ask_access,
        },
    };
    let reached = !matches!(seen, Seen::NotReached { .. });
    Some(Sighting {
        id: String::new(),
        clue: clue.id.clone(),
        at,
        seen,
        marks: draft.marks,
        sure: draft.sure.filter(|_| reached).unwrap_or(Sure::Sure),
        corrects: None,
        note: None,
        photos: draft.photos,
        computed: None,
        locus: Default::default(),
    })
}

/// What a clue's grades are called.
pub(crate) fn grades(clue: &Clue) -> Vec<String> {
    clue.grades.iter().map(|grade| said(&grade.id)).collect()
}
