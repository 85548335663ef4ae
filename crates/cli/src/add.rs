//! `wythe add`.

use std::fs::File;
use std::io::{self, IsTerminal, Read};
use std::path::{Path, PathBuf};

use clap::Args;
use wythe::{Case, ContextFact, Date, Error, Noted, Pack, PassHead, Seen, Sighting};

use crate::asked::Rules;
use crate::question::{Places, Way, fact, sighting};
use crate::run::Stopped;

/// Most of the notes that is read; more is refused by the reader of notes.
const MOST: u64 = (1 << 20) + 1;

/// The end of its long help.
pub const ADD: &str = "\
Field notes are plain lines, as they are typed on a phone:
  south wall: step crack 1/16 in, joints, wide at top; no frieze gap
  kitchen window: crack at corner slight, not sure (rises to the left)
  study door:
    - binds rubs, photo P-0702
    - head gap not reached: painted shut
  new opening: back door, in north wall
  facts: recent drought; no fill lot (county map)
  repair south wall: joints repointed, on 2025-08-01

A line begins with a place of the case and a colon; items are parted by `;`, their parts by `,`.
An item is a sign and what was found: a grade, a measurement, `none`, `size unknown`, or
`not reached` and why.
Parts: a mark, `sure`, `fairly sure`, `not sure`, `looked at part`, `looked at 60 %`, `with TOOL`,
`from photo`, `photo NAME`, `ask access`. Words in round brackets are a remark.
Signs, grades and marks go by the pack's words. What is not understood is pointed at, with the
nearest word, and then nothing is saved. The line stays with its sighting as a note.

  wythe add house.yaml < notes.txt
  wythe add house.yaml --notes notes.txt --pass second --date 2026-04-02
  wythe add house.yaml --seen 'step_crack_veneer at south = 1/16 in, path joints'
  wythe add house.yaml --correct first.3 --none 'frieze_gap at south'

The file keeps its comments and its order. Nothing is taken out of it: a slip is put right by a
sighting that corrects it, and both stay on record.

Exit codes: 0 done; 1 not understood or a file has problems, and nothing was saved; 2 wrong use";

/// `wythe add`.
#[derive(Debug, Args)]
pub struct Add {
    /// The case file.
    pub case: PathBuf,
    /// Something seen: 'CLUE at PLACE = FOUND, MARK KIND'.
    #[arg(long, value_name = "SIGHTING")]
    pub seen: Vec<String>,
    /// Looked for, and not there: 'CLUE at PLACE'.
    #[arg(long, value_name = "SIGHTING")]
    pub none: Vec<String>,
    /// Could not be looked at: 'CLUE at PLACE = WHY'.
    #[arg(long, value_name = "SIGHTING")]
    pub not_reached: Vec<String>,
    /// Field notes: a file, or `-` for the input. Without any option the input is read.
    #[arg(long, value_name = "FILE")]
    pub notes: Option<PathBuf>,
    /// A new place: 'KIND: NAME, in PLACE, touching PLACE and PLACE'.
    #[arg(long, value_name = "PLACE")]
    pub place: Vec<String>,
    /// A fact of the house: CONTEXT, or CONTEXT=no.
    #[arg(long, value_name = "CONTEXT")]
    pub fact: Vec<String>,
    /// Work done that covers or undoes signs: 'PLACE and PLACE: WHAT, on DAY'. Without a day: before the first pass.
    #[arg(long, value_name = "REPAIR")]
    pub repair: Vec<String>,
    /// The sighting that this one, the only one given, puts right.
    #[arg(long, value_name = "ID")]
    pub correct: Option<String>,
    /// A note to keep with the sightings given here.
    #[arg(long, value_name = "TEXT")]
    pub note: Option<String>,
    /// The pass: one of the case, or a new one. Without it, the last.
    #[arg(long, value_name = "PASS")]
    pub pass: Option<String>,
    /// The day of a new pass, as in 2026-03-14.
    #[arg(long, value_name = "DAY", value_parser = day)]
    pub date: Option<Date>,
    /// Who looked, for a new pass.
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    #[command(flatten)]
    pub rules: Rules,
}

/// A day as an option gives it.
pub fn day(text: &str) -> Result<Date, String> {
    Date::parse(text).map_err(|error| format!("{error}; write it as in 2026-03-14"))
}

/// Adds, and says what was understood.
pub fn add(asked: &Add) -> Result<String, Stopped> {
    let pack = asked.rules.read()?;
    // Read before the file is locked: someone may be typing.
    let notes = notes(asked)?;
    let head = PassHead {
        id: asked.pass.clone(),
        date: asked.date,
        by: asked.by.clone(),
    };
    let added = wythe::add(&pack, &asked.case, &head, |case, pass| {
        noted(&pack, case, pass, asked, notes.as_ref())
    })?;
    let name = added.case.passes.get(added.pass).map_or("", |pass| pass.id.as_str());
    let pass = match added.sightings().next() {
        Some(_) => format!(", pass \"{name}\""),
        None => String::new(),
    };
    let mut text = format!("Added to {}{pass}:\n", asked.case.display());
    for place in added.case.places.iter().rev().take(added.places).rev() {
        text.push_str(&format!("  place {} ({})\n", place.label, place.kind));
    }
    for fact in &added.contexts {
        let title = pack
            .context(&fact.id)
            .map_or(fact.id.as_str(), |at| pack[at].title.as_str());
        text.push_str(&format!("  fact {title}: {}\n", if fact.holds { "yes" } else { "no" }));
    }
    for repair in &added.repairs {
        let places = repair.at.iter().filter_map(|at| added.case.places.get(*at));
        let places: Vec<&str> = places.map(|place| place.label.as_str()).collect();
        let day = repair.date.map(|day| format!(", on {day}")).unwrap_or_default();
        text.push_str(&format!("  repair at {}: {}{day}\n", places.join(", "), repair.what));
    }
    for sighting in added.sightings() {
        text.push_str(&line(&pack, &added.case, sighting));
    }
    Ok(text)
}

/// The notes and their name.
fn notes(asked: &Add) -> Result<Option<(String, String)>, Stopped> {
    let here = [
        &asked.seen,
        &asked.none,
        &asked.not_reached,
        &asked.place,
        &asked.fact,
        &asked.repair,
    ];
    let path = match &asked.notes {
        Some(path) => path.as_path(),
        None if here.iter().all(|given| given.is_empty()) => Path::new("-"),
        None => return Ok(None),
    };
    let mut bytes = Vec::new();
    let (name, read) = if path == Path::new("-") {
        if io::stdin().is_terminal() {
            eprintln!("Type notes, a line for each place, as in `south wall: step crack 1/16 in; no frieze gap`.");
            eprintln!("End with Ctrl-D on a line of its own. Nothing is saved unless all of it is understood.");
        }
        (
            "notes".to_owned(),
            io::stdin().lock().take(MOST).read_to_end(&mut bytes),
        )
    } else {
        let read = File::open(path).and_then(|file| file.take(MOST).read_to_end(&mut bytes));
        (path.display().to_string(), read)
    };
    let stopped = |says: String| Stopped { code: 1, says };
    read.map_err(|error| stopped(format!("{name} could not be read: {error}")))?;
    let text = String::from_utf8(bytes).map_err(|_| stopped(format!("{name}: the notes are not text in UTF-8")))?;
    Ok(Some((name, text)))
}

/// What the options and the notes say of a case.
fn noted(
    pack: &Pack,
    case: &Case,
    pass: &str,
    asked: &Add,
    notes: Option<&(String, String)>,
) -> Result<Noted, Stopped> {
    let mut whole = case.clone();
    for text in &asked.place {
        let place = wythe::read_place(pack, &whole, "option", text)
            .map_err(|problems| Stopped::use_of(problems.to_string()))?;
        whole.places.push(place);
    }
    let mut sightings = Vec::new();
    for (texts, way) in [
        (&asked.seen, Way::Seen),
        (&asked.none, Way::NoneThere),
        (&asked.not_reached, Way::NotReached),
    ] {
        for text in texts {
            let mut one = sighting(pack, &mut whole, text, way, Places::Known)?;
            one.note = asked.note.clone();
            sightings.push(one);
        }
    }
    let mut contexts = Vec::new();
    for text in &asked.fact {
        contexts.push(ContextFact {
            computed: None,
            note: asked.note.clone(),
            ..fact(pack, text)?
        });
    }
    let mut repairs = Vec::new();
    for text in &asked.repair {
        let more = wythe::read_notes(pack, &whole, pass, "option", &format!("repair {text}"));
        repairs.extend(more.map_err(|problems| Stopped::use_of(problems.to_string()))?.repairs);
    }
    // A slip in this pass may be put right by a sighting of the same sign.
    let pass_of_notes = if asked.correct.is_some() { "" } else { pass };
    let mut places = whole.places.split_off(case.places.len());
    if let Some((name, text)) = notes {
        whole.places.extend(places.iter().cloned());
        let more = wythe::read_notes(pack, &whole, pass_of_notes, name, text).map_err(Error::from)?;
        places.extend(more.places);
        sightings.extend(more.sightings);
        contexts.extend(more.contexts);
        repairs.extend(more.repairs);
    }
    match (&asked.correct, sightings.as_mut_slice()) {
        (None, []) if places.is_empty() && contexts.is_empty() && repairs.is_empty() => {
            return Err(Stopped::use_of("there is nothing to add"));
        }
        (None, _) => {
            for one in &sightings {
                let reached = !matches!(one.seen, Seen::NotReached { .. });
                if let Some(before) = case.sighted(pass, &one.clue, one.at).filter(|_| reached) {
                    return Err(Stopped::use_of(format!(
                        "the pass \"{pass}\" has `{}` there already, as {id}; a slip is put right with --correct {id}; \
                         for a later look give --pass a new name",
                        one.clue,
                        id = before.id,
                    )));
                }
            }
        }
        (Some(id), [one]) => {
            one.corrects = Some(case.sighting(id).map_err(Error::from)?.id.clone());
        }
        (Some(_), _) => {
            return Err(Stopped::use_of(
                "--correct goes with one sighting: what it should have said",
            ));
        }
    }
    Ok(Noted {
        places,
        sightings,
        contexts,
        repairs,
    })
}

/// A sighting as it was understood.
fn line(pack: &Pack, case: &Case, one: &Sighting) -> String {
    let clue = pack.clue(&one.clue).map(|at| &pack[at]);
    let title = clue.map_or(one.clue.as_str(), |clue| clue.title.as_str());
    let place = case.places.get(one.at).map_or("", |place| place.label.as_str());
    let found = match &one.seen {
        Seen::Grade(grade) => grade.replace('_', " "),
        Seen::Present => "there, size not noted".into(),
        Seen::Measured { reading, .. } => reading.text.clone(),
        Seen::NoneThere { .. } => "looked, none there".into(),
        Seen::NotReached { why, .. } => format!("not reached ({why})"),
    };
    let marks: String = one
        .marks
        .iter()
        .map(|(mark, kinds)| format!(", {} {}", mark, kinds.join(" or ")).replace('_', " "))
        .collect();
    let corrects = one
        .corrects
        .as_ref()
        .map(|id| format!("; corrects {id}"))
        .unwrap_or_default();
    format!("  {}  {place}: {title}: {found}{marks}{corrects}\n", one.id)
}
