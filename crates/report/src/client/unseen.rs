//! What was not seen, matter by matter and besides; and what was seen and belongs to no matter.

use std::collections::BTreeSet;

use super::{MOST_LOOKS, Telling};
use crate::page::{Matter, Sighting};
use crate::wrap::Lines;

impl Telling<'_> {
    pub(super) fn unseen(&self, matter: &Matter) -> Vec<String> {
        let mut unseen = vec![matter.coverage.clone()];
        if !matter.not_there.is_empty() {
            unseen.push(self.not_found(matter));
        }
        unseen.extend(matter.not_reached.iter().filter_map(|id| self.blocked(id)));
        let looks: Vec<String> = matter
            .not_looked
            .iter()
            .take(MOST_LOOKS)
            .map(|look| format!("{} {}", look.title, look.at_words).trim_end().to_string())
            .collect();
        if !looks.is_empty() && matter.action != "upkeep" {
            unseen.push(format!("Not tried, as far as the notes say: {}.", looks.join("; ")));
        }
        unseen
    }

    /// How many signs were looked for and not found, and what that does to the chance beside what was seen.
    fn not_found(&self, matter: &Matter) -> String {
        let signs = match matter.not_there.len() {
            1 => "1 sign".to_string(),
            many => format!("{many} signs"),
        };
        let lead = matter
            .conclusions
            .first()
            .and_then(|id| self.sheet.conclusions.get(id.as_str()));
        let weight = |kind: &str| -> f64 {
            let of = lead.map(|one| one.steps.as_slice()).unwrap_or_default();
            of.iter()
                .filter(|step| step.kind == kind)
                .filter_map(|step| step.weight)
                .sum()
        };
        let (none, seen) = (weight("none_there"), weight("seen"));
        let but = if none < 0.0 && seen > -none {
            " That speaks against it. What was seen speaks for it, and more strongly. The chance above counts both."
        } else if none < 0.0 {
            " That speaks against it, and the chance above counts it."
        } else {
            ""
        };
        format!("Looked for, not found: {signs} of it.{but}")
    }

    /// What could not be seen, and why.
    fn blocked(&self, id: &str) -> Option<String> {
        let one = self.sheet.sightings.get(id)?;
        let why = one.why.as_deref().unwrap_or(&one.detail);
        let ask = if one.ask_access { " Ask for access." } else { "" };
        let what = format!("{} {}", one.title, one.at_words);
        Some(format!("Could not reach: {}. Why: {why}.{ask}", what.trim_end()))
    }

    pub(super) fn also_seen(&self, lines: &mut Lines) {
        let told: BTreeSet<&String> = self.page.matters.iter().flat_map(|matter| &matter.seen).collect();
        let rest: Vec<&Sighting> = self
            .page
            .sightings
            .iter()
            .filter(|one| one.shows && !told.contains(&one.id))
            .collect();
        if rest.is_empty() {
            return;
        }
        lines.heading("Also seen, and kept on record");
        for line in self.by_place(&rest, 0) {
            lines.item(0, &line);
        }
    }

    pub(super) fn not_seen(&self, lines: &mut Lines) {
        let blocked: Vec<String> = self
            .page
            .sightings
            .iter()
            .filter(|one| matches!(one.used, "not_reached" | "hidden"))
            // What a matter told of is not told again.
            .filter(|one| {
                !self
                    .page
                    .matters
                    .iter()
                    .any(|matter| matter.not_reached.contains(&one.id))
            })
            .filter_map(|one| self.blocked(&one.id))
            .collect();
        if blocked.is_empty() {
            return;
        }
        lines.heading("What else could not be seen on this visit");
        for line in blocked {
            lines.item(0, &line);
        }
    }
}
