//! Everyday things that ask for no more than ordinary upkeep, told as one matter: they often share their signs.

use std::collections::BTreeSet;

use super::{MOST_MEANINGS, Telling};
use crate::page::{Matter, Sighting};
use crate::phrase::{headed, small};
use crate::wrap::Lines;

impl Telling<'_> {
    /// Matters told each by itself, and those for ordinary upkeep that are told together: none, or two and more. They
    /// come last, for nothing that is acted on asks for less.
    pub(super) fn apart(&self) -> (&[Matter], &[Matter]) {
        let all = &self.page.matters;
        let upkeep = all.iter().filter(|one| one.action == "upkeep").count();
        all.split_at(all.len() - if upkeep > 1 { upkeep } else { 0 })
    }

    pub(super) fn upkeep(&self, number: usize, matters: &[Matter], lines: &mut Lines) {
        lines.gap();
        lines.led(&format!("{number}. "), 3, &together(matters));
        lines.gap();
        lines.part(3, "What was seen");
        let ids: BTreeSet<&String> = matters.iter().flat_map(|one| &one.seen).collect();
        let seen: Vec<&Sighting> = self.page.sightings.iter().filter(|one| ids.contains(&one.id)).collect();
        for line in self.by_place(&seen, number) {
            lines.item(3, &line);
        }
        lines.gap();
        lines.part(3, "What it may mean");
        for meaning in matters.iter().flat_map(|one| one.means.iter().take(MOST_MEANINGS)) {
            if let Some(one) = self.sheet.conclusions.get(meaning.conclusion.as_str()) {
                lines.item(3, &self.meaning(one, &meaning.support));
            }
        }
        lines.gap();
        self.to_do("upkeep", matters.iter().flat_map(|one| &one.todo), lines);
        lines.gap();
        lines.part(3, "What was not seen");
        for one in matters {
            lines.item(3, &format!("{}: {}", one.title, small(&self.unseen(one).join(" "))));
        }
    }
}

/// What several matters are called together.
pub(super) fn together(matters: &[Matter]) -> String {
    let titles: Vec<String> = matters.iter().map(|one| small(&one.title)).collect();
    headed(&titles.join("; "))
}
