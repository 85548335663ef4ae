//! The record that goes with a packet: sheets of readings, repairs, facts, what was not reached, photographs.

use std::collections::BTreeMap;

use wythe_case::Seen;
use wythe_engine::Used;
use wythe_measure::COVER_95;

use super::Packet;
use crate::build;
use crate::phrase::{at_places, capital, clean, sentence, words};
use crate::units::with_both_units;
use crate::wrap::Lines;

/// Most kinds of sign that nobody has looked for, named.
const MOST_LOOKS: usize = 12;

impl Packet<'_> {
    /// The sheets of readings that the case names. What was computed from them stands among the sightings.
    pub fn sheets(&self, lines: &mut Lines) {
        if self.case.readings.is_empty() {
            return;
        }
        lines.heading("Sheets of readings");
        for (at, sheet) in (0..).zip(&self.case.readings) {
            let day = sheet.date.map(|day| format!(", {day}")).unwrap_or_default();
            let file = sheet
                .file
                .as_ref()
                .map(|file| format!(", file {}", clean(file)))
                .unwrap_or_default();
            let (count, what) = sheet.taken;
            let error = sheet.sd_mm * COVER_95;
            lines.item(
                0,
                &format!(
                    "{} \"{}\"{day}: {count} {what}, one reading ± {error:.1} mm ({:.2} in) at 95 %{file}. {}",
                    capital(sheet.section.name()),
                    clean(&sheet.title),
                    error / 25.4,
                    sheet.notes.join(" ")
                ),
            );
            let apart = number_apart(self.case, at);
            let rest: Vec<String> = (0..)
                .zip(&sheet.computed)
                .filter(|(number, _)| apart(*number))
                .map(|(_, computed)| build::readings::stated(computed))
                .collect();
            for one in rest {
                lines.item(2, &format!("{}.", capital(&one)));
            }
        }
    }

    pub fn history(&self, lines: &mut Lines) {
        lines.heading("Repairs and other work");
        if self.case.repairs.is_empty() {
            lines.say(0, "None is recorded in this case.");
        }
        for repair in &self.case.repairs {
            let day = repair.date.map_or_else(|| "no date".to_string(), |day| day.to_string());
            let over: Vec<String> = repair.clues.iter().map(|clue| words(clue)).collect();
            let over = if over.is_empty() {
                String::new()
            } else {
                format!(", over: {}", over.join(", "))
            };
            let at = at_places(self.case, &repair.at);
            lines.item(
                0,
                &sentence(format!("{day}: {} {at}{over}", clean(&repair.what)).trim_end()),
            );
        }
    }

    pub fn facts(&self, lines: &mut Lines) {
        lines.heading("Facts of the house, site and weather");
        let stated: Vec<_> = build::contexts(self.pack, self.case, self.outcome);
        let titled = |one: &crate::page::Context| match &one.note {
            Some(note) => format!("{} ({note})", one.title),
            None => one.title.clone(),
        };
        let so: Vec<String> = stated.iter().filter(|one| one.holds).map(titled).collect();
        let not: Vec<String> = stated.iter().filter(|one| !one.holds).map(titled).collect();
        let unknown: Vec<String> = self
            .pack
            .contexts
            .iter()
            .filter(|one| stated.iter().all(|other| other.id != one.id))
            .map(|one| with_both_units(&one.title))
            .collect();
        for (head, list) in [("So", so), ("Not so", not), ("Not known", unknown)] {
            if !list.is_empty() {
                lines.gap();
                lines.part(0, head);
                lines.gap();
            }
            for one in list {
                lines.item(0, &one);
            }
        }
        lines.gap();
        for place in &self.case.places {
            if let Some(note) = &place.note {
                lines.item(
                    0,
                    &format!("{}: {}", capital(&clean(&place.label)), sentence(&clean(note))),
                );
            }
        }
    }

    pub fn not_reached(&self, lines: &mut Lines) {
        lines.heading("Not reached, and not looked for");
        for (number, reading) in self.readings(|one| matches!(one.used, Used::NotReached | Used::Hidden { .. })) {
            let clue = &self.pack[reading.clue];
            let head = format!("{} {}", clue.title, at_places(self.case, &[reading.at]));
            let why = match (
                &reading.used,
                self.by_id.get(reading.sighting.as_str()).map(|one| &one.sighting.seen),
            ) {
                (Used::Hidden { by }, _) => self.pack.suppressions.get(*by).map(|rule| rule.reason.clone()),
                (_, Some(Seen::NotReached { why, ask_access })) => {
                    let ask = if *ask_access { "; ask for access" } else { "" };
                    Some(format!("{}{ask}", clean(why)))
                }
                _ => None,
            };
            let why = why
                .map(|why| format!(": {}", why.trim_end_matches('.')))
                .unwrap_or_default();
            lines.item(
                0,
                &format!("B{number}. {}{why} [{}].", capital(head.trim_end()), reading.sighting),
            );
        }
        let looks = build::not_looked(self.pack, self.case, self.outcome);
        if !looks.is_empty() {
            lines.gap();
            lines.part(0, "No note says whether anyone looked for");
            lines.gap();
        }
        for look in looks.iter().take(MOST_LOOKS) {
            lines.item(0, capital(&format!("{} {}", look.title, look.at_words)).trim_end());
        }
        let more = looks.len().saturating_sub(MOST_LOOKS);
        if more > 0 {
            lines.item(0, &format!("And {more} other kinds of sign"));
        }
    }

    pub fn photos(&self, lines: &mut Lines) {
        let mut photos: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for sighting in self.case.passes.iter().flat_map(|pass| &pass.sightings) {
            let clue = self.pack.clue(&sighting.clue).map_or("", |at| &self.pack[at].title);
            let what = format!("{clue} {}", at_places(self.case, &[sighting.at]));
            for photo in &sighting.photos {
                photos
                    .entry(clean(photo))
                    .or_default()
                    .push(format!("{} [{}]", what.trim_end(), sighting.id));
            }
        }
        if photos.is_empty() {
            return;
        }
        lines.heading("Photographs, by name");
        for (name, what) in photos {
            lines.item(0, &format!("{name}: {}.", what.join("; ")));
        }
    }
}

/// Which numbers of a sheet made no sighting.
fn number_apart(case: &wythe_case::Case, sheet: usize) -> impl Fn(usize) -> bool + '_ {
    move |number| {
        let made = |one: &wythe_case::Sighting| one.computed == Some((sheet, number));
        !case.passes.iter().flat_map(|pass| &pass.sightings).any(made)
    }
}
