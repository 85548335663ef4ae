//! Field notes: plain lines as an inspector types them, read into sightings.
//!
//! ```text
//! # a line that begins so is not read
//! south wall: step crack 1/16 in, joints, wide at top; no frieze gap
//! kitchen window: crack at corner slight, not sure (rises to the left)
//! study door:
//!   - binds rubs, photo P-0702
//!   - head gap not reached: painted shut
//! new opening: back door, in north wall
//! facts: recent drought; no fill lot (county map)
//! repair south wall: joints repointed, on 2025-08-01
//! ```
//!
//! # The grammar
//!
//! ```text
//! notes   = line*
//! line    = blank | "#" anything | PLACE ":" items? | PLACE | "-" items | new | facts | repair
//! items   = item (";" item)*                    about the place before the colon, or the last one so named
//! item    = SIGN found? ("," part)* | "no" SIGN ("," part)*
//! found   = GRADE | "none" | MEASUREMENT | "size unknown" | "not reached" reason
//! part    = found | mark | sure | looked | "with" TOOL | "from photo" | ("photo" | "photos") NAME* | "ask access"
//! mark    = KIND ("or" KIND)* | MARK KIND ("or" KIND)*
//! sure    = "sure" | "fairly sure" | "not sure" | "unsure"
//! looked  = "looked at part" | "part looked" | "looked at" PERCENT
//! new     = "new" KIND-OF-PLACE ":" NAME ("," "in" PLACE)? ("," "touching" PLACE ("and" PLACE)*)?
//! facts   = "facts:" fact (";" fact)*
//! fact    = "no"? FACT | FACT ("yes" | "no")
//! repair  = "repair" PLACE ("and" PLACE)* ":" WHAT ("," "on" DAY)?
//! ```
//!
//! Words in round brackets are a remark: kept, not read. A SIGN is a clue by its title, its id or any words of them in
//! their order that no other clue of that kind of place has (`step crack` for `step_crack_veneer`). `size unknown` says that
//! the sign is there and was not sized. A FACT is one of the pack's, named in the same way. A PLACE is a place of
//! the case by its label or id, with or without the word for its kind (`south`, `south wall`). Capitals, articles,
//! plurals, `-` and `_` do not count. Names of signs, grades and marks are the pack's; none is known here.
//!
//! The line as typed, or that part of it which speaks of the sign, is kept as the sighting's note. What is not
//! understood is a problem with its line, column and the nearest word; nothing is taken from notes with a problem.
//!
//! This crate must not know chances, files, or what any sign means.
#![warn(clippy::indexing_slicing)]

mod bit;
mod house;
mod item;
mod part;
mod places;
mod signs;
mod words;

use wythe_case::{Case, ContextFact, Place, Repair, Sighting};
use wythe_pack::Pack;
use wythe_text::{Problem, Problems};

use bit::Bit;

/// Largest notes read, in bytes: 1 MiB.
pub const MAX_BYTES: usize = 1 << 20;

/// What notes say.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Noted {
    /// New places, to come after those of the case.
    pub places: Vec<Place>,
    /// Sightings without ids. Places are counted over those of the case, then the new ones.
    pub sightings: Vec<Sighting>,
    /// Facts of the house.
    pub contexts: Vec<ContextFact>,
    /// Repairs, their places counted as those of sightings are.
    pub repairs: Vec<Repair>,
}

/// What reading needs at hand.
pub(crate) struct Desk<'a> {
    pub pack: &'a Pack,
    /// The case, with the places that the notes add.
    pub case: Case,
    pub name: &'a str,
    pub text: &'a str,
    pub out: Problems,
}

impl Desk<'_> {
    /// A problem with a part of the notes.
    pub fn problem(&mut self, bit: Bit<'_>, what: impl Into<String>, help: Option<String>) {
        let part = (bit.at, bit.text.chars().count());
        self.out.push(Problem::in_text(self.name, self.text, part, what, help));
    }
}

/// Reads notes about a case. `pass` is the pass that they will belong to: what it has seen already is a problem.
///
/// # Errors
/// Every line that is not understood, each with the nearest word.
pub fn read(pack: &Pack, case: &Case, pass: &str, name: &str, text: &str) -> Result<Noted, Problems> {
    let mut desk = desk(pack, case, name, text)?;
    let mut sightings: Vec<(Sighting, Bit<'_>)> = Vec::new();
    let (mut contexts, mut repairs) = (Vec::new(), Vec::new());
    let mut heading: Option<(usize, Bit<'_>)> = None;
    for line in Bit::whole(text).lines() {
        if desk.out.is_full() {
            break;
        }
        let line = line.trim();
        if line.text.is_empty() || line.text.starts_with('#') {
            continue;
        }
        if let Some(new) = line.after_word("new") {
            places::new_place(&mut desk, new);
            continue;
        }
        if let Some((_, said)) = line.split_once(':').filter(|(head, _)| is_facts(head.text)) {
            let more = house::facts(&mut desk, said);
            contexts.extend(more);
            continue;
        }
        if let Some(done) = line.after_word("repair") {
            repairs.extend(house::repair(&mut desk, done));
            continue;
        }
        let items = if let Some(rest) = line.text.strip_prefix(['-', '•', '*']) {
            line.tail(rest)
        } else if let Some((place, rest)) = line.split_once(':') {
            heading = places::find(&mut desk, place).map(|at| (at, place));
            if heading.is_none() {
                continue;
            }
            rest
        } else if let Some(at) = places::named(&desk, line) {
            heading = Some((at, line));
            continue;
        } else {
            let help = "begin the line with a place and a colon, as in `south wall: step crack slight`";
            desk.problem(line, "this line names no place", Some(help.into()));
            continue;
        };
        let Some((at, place)) = heading else {
            desk.problem(line, "no place is named above this line", None);
            continue;
        };
        let items: Vec<Bit<'_>> = items
            .split(';')
            .into_iter()
            .filter(|item| !item.text.is_empty())
            .collect();
        for item in &items {
            let note = if items.len() == 1 && !line.text.starts_with(['-', '•', '*']) {
                line.text.to_owned()
            } else {
                format!("{}: {}", place.text, item.text)
            };
            if let Some(sighting) = item::read(&mut desk, at, *item) {
                sightings.push((
                    Sighting {
                        note: Some(note),
                        ..sighting
                    },
                    *item,
                ));
            }
        }
    }
    check_twice(&mut desk, pass, &sightings);
    let places = desk.case.places.split_off(case.places.len());
    let sightings = sightings.into_iter().map(|(sighting, _)| sighting).collect();
    desk.out.into_result(Noted {
        places,
        sightings,
        contexts,
        repairs,
    })
}

fn is_facts(head: &str) -> bool {
    ["fact", "facts"].iter().any(|word| head.eq_ignore_ascii_case(word))
}

/// Reads one new place: `opening: kitchen window, in south wall`, `outside corner: south-west, touching south and west`.
///
/// # Errors
/// What is not understood.
pub fn read_place(pack: &Pack, case: &Case, name: &str, text: &str) -> Result<Place, Problems> {
    let mut desk = desk(pack, case, name, text)?;
    places::new_place(&mut desk, Bit::whole(text).trim());
    match desk.case.places.pop() {
        Some(place) => desk.out.into_result(place),
        None => Err(desk.out),
    }
}

/// The place of a case that a text names, as in notes: by its label or id, with or without the word for its kind.
///
/// # Errors
/// There is none, with the nearest; or more than one.
pub fn find_place(pack: &Pack, case: &Case, name: &str, text: &str) -> Result<usize, Problems> {
    let mut desk = desk(pack, case, name, text)?;
    places::find(&mut desk, Bit::whole(text).trim()).ok_or(desk.out)
}

fn desk<'a>(pack: &'a Pack, case: &Case, name: &'a str, text: &'a str) -> Result<Desk<'a>, Problems> {
    if text.len() > MAX_BYTES {
        return Err(Problem::new(name, format!("the notes are larger than {MAX_BYTES} bytes"), None).into());
    }
    if let Some((at, c)) = wythe_text::misleading(text) {
        let what = format!("the control character U+{:04X} is not read", u32::from(c));
        return Err(Problem::in_text(name, text, (at, 1), what, Some("take it out".into())).into());
    }
    Ok(Desk {
        pack,
        case: case.clone(),
        name,
        text,
        out: Problems::new(),
    })
}

/// One sign at one place is seen once a pass.
fn check_twice(desk: &mut Desk<'_>, pass: &str, sightings: &[(Sighting, Bit<'_>)]) {
    let reached = |one: &Sighting| !matches!(one.seen, wythe_case::Seen::NotReached { .. });
    let mut met = std::collections::BTreeSet::new();
    for (sighting, bit) in sightings.iter().filter(|(one, _)| reached(one)) {
        let again = !met.insert((sighting.clue.as_str(), sighting.at));
        let before = desk
            .case
            .sighted(pass, &sighting.clue, sighting.at)
            .map(|one| one.id.clone());
        if let Some(id) = before {
            let help = format!("a slip is put right with --correct {id}; for a later look give --pass a new name");
            desk.problem(
                *bit,
                format!("this pass has seen that there already, as `{id}`"),
                Some(help),
            );
        } else if again {
            let help = "keep the one that says most";
            desk.problem(*bit, "this sign is noted twice at this place", Some(help.into()));
        }
    }
}

#[cfg(test)]
mod tests;
