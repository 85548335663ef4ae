//! The engineer's packet: what was seen and measured, where, and what was not reached; the questions. No cause, no
//! chance, no advice.

mod grades;

pub(crate) use grades::bound;
mod record;

use std::collections::BTreeMap;

use wythe_case::{Case, HOUSE, Looked, Pass, Seen, Sighting, Standing, Sure};
use wythe_engine::{Outcome, Reading, Used};
use wythe_pack::{Action, Clue, Pack};

use crate::ReportError;
use crate::build;
use crate::build::sightings::{absence, grade_words};
use crate::phrase::{at_places, capital, clean, listed, sentence, words};
use crate::sized::sized;
use crate::wrap::{Form, Lines};

/// Readings that go with a packet: a survey, cracks over time. Written before, and set in as they are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Attachment {
    /// Its heading.
    pub title: String,
    /// Its lines, of at most 80 columns.
    pub text: String,
}

/// The packet for an engineer.
///
/// Marks like `S3` and `N5` are those of the drawing of the house ([`crate::plan_svg`]).
///
/// # Errors
/// A sentence that makes a determination.
pub fn engineer(
    pack: &Pack,
    case: &Case,
    outcome: &Outcome,
    attached: &[Attachment],
    form: Form,
) -> Result<String, ReportError> {
    let case = &*wythe_engine::with_computed(pack, case);
    let standing = case.standing();
    let packet = Packet {
        pack,
        case,
        outcome,
        by_id: standing.iter().map(|one| (one.sighting.id.as_str(), one)).collect(),
    };
    let mut lines = Lines::default();
    packet.head(&mut lines);
    packet.questions(&mut lines);
    packet.seen(&mut lines);
    packet.not_there(&mut lines);
    packet.sheets(&mut lines);
    for one in attached {
        lines.heading(&clean(&one.title));
        lines.raw(&one.text);
    }
    packet.history(&mut lines);
    packet.facts(&mut lines);
    packet.not_reached(&mut lines);
    packet.grades(&mut lines);
    packet.photos(&mut lines);
    lines.written(form)
}

struct Packet<'c> {
    pack: &'c Pack,
    case: &'c Case,
    outcome: &'c Outcome,
    by_id: BTreeMap<&'c str, &'c Standing<'c>>,
}

impl<'c> Packet<'c> {
    fn head(&self, lines: &mut Lines) {
        lines.title(&format!(
            "For a licensed professional engineer: {}",
            clean(&self.case.title)
        ));
        let day = self
            .case
            .visited
            .map(|day| format!(", visited {day}"))
            .unwrap_or_default();
        lines.say(0, &format!("Case {}{day}.", self.case.id));
        lines.gap();
        lines.say(0, &self.pack.wording.engineer_about.join(" "));
        lines.gap();
        if self.outcome.action < Action::Refer {
            lines.say(
                0,
                "The weighing of this visit asks for no engineer's visit. This sheet is for one who is asked all the same.",
            );
            lines.gap();
        }
        for pass in &self.case.passes {
            lines.item(0, &walked(pass));
        }
        lines.item(
            0,
            "Who looked and measured, and how to reach them: ______________________________",
        );
        lines.item(
            0,
            "Size and plan of the house, where it helps: ______________________________",
        );
    }

    /// The size of a reading: one computed from a sheet with its error of measurement and the allowance for how the
    /// house was built apart.
    fn size(&self, clue: &Clue, sighting: &Sighting) -> Option<String> {
        let computed = sighting
            .computed
            .and_then(|(sheet, number)| self.case.readings.get(sheet)?.computed.get(number));
        match computed {
            Some(one) if matches!(sighting.seen, Seen::Measured { .. }) => {
                let notes: String = one
                    .reading
                    .notes
                    .iter()
                    .map(|note| format!(". {}", note.trim_end_matches('.')))
                    .collect();
                let said = build::readings::as_measured(&one.reading);
                Some(format!("{said}{notes}"))
            }
            _ => sized(self.pack, clue, &sighting.seen),
        }
    }

    fn questions(&self, lines: &mut Lines) {
        if self.pack.wording.engineer_questions.is_empty() {
            return;
        }
        lines.heading("The questions");
        let places = at_places(self.case, &self.asked_about());
        for (number, question) in (1..).zip(&self.pack.wording.engineer_questions) {
            let question = if places.is_empty() {
                question.replace(" {places}", "")
            } else {
                question.replace("{places}", &places)
            };
            lines.led(&format!("  {number}. "), 5, &question);
        }
    }

    /// The places of signs that speak for anything that asks for an engineer; else of all that was seen.
    fn asked_about(&self) -> Vec<usize> {
        let mut places: Vec<usize> = self
            .outcome
            .conclusions
            .iter()
            .filter(|one| one.action >= Action::Refer)
            .flat_map(|one| build::conclusions::places_of_signs(self.pack, self.case, self.outcome, one).0)
            .collect();
        if places.is_empty() {
            places = self.readings(|one| one.shows()).map(|(_, one)| one.at).collect();
        }
        places.sort_unstable();
        places.dedup();
        places
    }

    /// Readings that rest on a look of the visit, with their numbers in the drawing.
    fn readings(&self, wanted: impl Fn(&Reading) -> bool) -> impl Iterator<Item = (usize, &'c Reading)> {
        (1..)
            .zip(&self.outcome.readings)
            .filter(move |(_, one)| one.made_from.is_empty() && wanted(one))
    }

    fn seen(&self, lines: &mut Lines) {
        let reached = |one: &Reading| one.shows() && !matches!(one.used, Used::NotReached);
        let all: Vec<_> = self.readings(reached).collect();
        lines.heading("What was seen, place by place");
        if all.is_empty() {
            lines.say(0, "No such signs were seen in the areas viewed.");
        }
        for at in 0..self.case.places.len() {
            let here: Vec<_> = all.iter().filter(|(_, one)| one.at == at).collect();
            if here.is_empty() {
                continue;
            }
            lines.gap();
            lines.part(0, &self.place(at));
            lines.gap();
            for (number, reading) in here {
                lines.item(0, &self.in_full(*number, reading));
            }
        }
    }

    /// A place with what it lies in and what it touches.
    fn place(&self, at: usize) -> String {
        let Some(place) = self.case.places.get(at) else {
            return String::new();
        };
        let label = |at: &usize| {
            self.case
                .places
                .get(*at)
                .map(|one| clean(&one.label))
                .unwrap_or_default()
        };
        let mut where_it_is = Vec::new();
        if let Some(outer) = place.within.filter(|outer| *outer > 0) {
            where_it_is.push(format!("in the {}", label(&outer)));
        }
        if !place.touches.is_empty() {
            let touched: Vec<String> = place.touches.iter().map(label).collect();
            where_it_is.push(format!("touches {}", listed(&touched)));
        }
        let name = if place.id == HOUSE {
            "the house as a whole".into()
        } else {
            clean(&place.label)
        };
        if where_it_is.is_empty() {
            capital(&name)
        } else {
            format!("{} ({})", capital(&name), where_it_is.join("; "))
        }
    }

    /// Everything that was noted of a sighting.
    fn in_full(&self, number: usize, reading: &Reading) -> String {
        let clue = &self.pack[reading.clue];
        let stands = self.by_id.get(reading.sighting.as_str());
        let mut parts: Vec<String> = Vec::new();
        let size_open = stands.is_some_and(|one| one.sighting.seen == Seen::Present) && clue.grades.len() > 2;
        if size_open {
            parts.push("size not noted".into());
        } else if let Some(grade) = clue.grades.get(reading.grade).filter(|_| reading.shows()) {
            parts.extend(grade_words(clue, &grade.id));
        }
        if let Some(stands) = stands {
            parts.extend(self.size(clue, stands.sighting));
        }
        for (at, kinds) in &reading.marks {
            if let Some(mark) = clue.marks.get(*at) {
                let kinds: Vec<String> = kinds
                    .iter()
                    .filter_map(|kind| mark.kinds.get(*kind))
                    .map(|kind| words(kind))
                    .collect();
                parts.push(format!("{} {}", mark.title, kinds.join(" or ")));
            }
        }
        let parts = if parts.is_empty() {
            String::new()
        } else {
            format!(": {}", parts.join("; "))
        };
        let mut text = format!("S{number}. {}{parts}.", capital(&clue.title));
        if let Some(stands) = stands {
            text.push_str(&self.noted(stands));
        }
        text
    }

    /// How sure, the note, photos, earlier readings, when and by which pass.
    fn noted(&self, stands: &Standing<'_>) -> String {
        let sighting = stands.sighting;
        let mut text = String::new();
        text.push_str(match sighting.sure {
            Sure::Sure => "",
            Sure::Fairly => " The observer was fairly sure.",
            Sure::Unsure => " The observer was not sure.",
        });
        if let Some(note) = &sighting.note {
            text.push_str(&format!(" Note: {}", sentence(&clean(note))));
        }
        if !sighting.photos.is_empty() {
            let names: Vec<String> = sighting.photos.iter().map(|photo| clean(photo)).collect();
            text.push_str(&format!(" Photos: {}.", names.join(", ")));
        }
        for old in &stands.history {
            text.push_str(&format!(" Earlier: {} [{}].", self.found(old), old.id));
        }
        let day = stands.pass.date.map(|day| format!(", {day}")).unwrap_or_default();
        format!("{text} [{}{day}]", sighting.id)
    }

    /// What a sighting found, in a few words.
    fn found(&self, sighting: &Sighting) -> String {
        let clue = self.pack.clue(&sighting.clue).map(|at| &self.pack[at]);
        match &sighting.seen {
            Seen::Grade(grade) => clue
                .and_then(|clue| grade_words(clue, grade))
                .unwrap_or_else(|| "seen".into()),
            Seen::Present => "size not noted".into(),
            Seen::Measured { .. } => clue
                .and_then(|clue| sized(self.pack, clue, &sighting.seen))
                .unwrap_or_default(),
            Seen::NoneThere { looked } => format!("looked for and not there{}", share(*looked)),
            Seen::NotReached { why, .. } => format!("not reached ({})", clean(why)),
        }
    }

    fn not_there(&self, lines: &mut Lines) {
        let none = |one: &Reading| !one.shows() && matches!(one.used, Used::Weighed | Used::SetAside { .. });
        let all: Vec<_> = self.readings(none).collect();
        if all.is_empty() {
            return;
        }
        lines.heading("Looked for, and not there");
        for (number, reading) in all {
            let clue = &self.pack[reading.clue];
            let head = format!("{} {}", absence(clue), at_places(self.case, &[reading.at]));
            let mut text = format!("N{number}. {}", capital(head.trim_end()));
            if let Some(stands) = self.by_id.get(reading.sighting.as_str()) {
                if let Some(size) = self.size(clue, stands.sighting) {
                    text.push_str(&format!(": {size}"));
                }
                if let Seen::NoneThere { looked } = &stands.sighting.seen {
                    text.push_str(&share(*looked));
                }
                text.push('.');
                text.push_str(&self.noted(stands));
            }
            lines.item(0, &text);
        }
    }
}

/// A pass: its name, day, who, and how.
fn walked(pass: &Pass) -> String {
    let day = pass.date.map(|day| format!(", {day}")).unwrap_or_default();
    let by = pass
        .by
        .as_ref()
        .map(|by| format!(", by {}", clean(by)))
        .unwrap_or_default();
    let title = pass
        .title
        .as_ref()
        .map(|title| format!(": {}", clean(title)))
        .unwrap_or_default();
    sentence(&format!("pass \"{}\"{day}{by}{title}", pass.id))
}

/// How much was looked at, where not all.
fn share(looked: Looked) -> String {
    match looked {
        Looked::All => String::new(),
        Looked::Part => " (part was looked at)".into(),
        Looked::Share(share) => format!(" ({:.0} % was looked at)", share * 100.0),
    }
}
