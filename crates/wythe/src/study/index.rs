//! The index of the catalogue, and its sources.

use std::fmt::Write;

use wythe_pack::{FamilyIx, MechanismIx, Pack, Zone};

use super::sheet::{capital, sentence, source};

/// The index: mechanisms by family, clues by part of the visit.
pub(super) fn index(pack: &Pack) -> String {
    let mut text = format!(
        "# {}: the catalogue\n\nVersion {}. {}. Made from the rule files by `cargo dev generate`; edit those.\n\nNothing here \
         determines what a house suffers from: it says what signs are consistent with. That and every repair are for a \
         licensed professional engineer. Numbers are mostly judgements; each page names its sources, listed [here](sources.md).\n",
        pack.title,
        pack.version,
        pack.region.trim_end_matches('.')
    );
    let line = |text: &mut String, at: usize| {
        if let Some(one) = pack.mechanisms.get(at) {
            let _ = writeln!(
                text,
                "* [{}](mechanisms/{}.md): {}",
                capital(&one.title),
                one.id,
                sentence(&one.picture)
            );
        }
    };
    text.push_str("\n## Mechanisms\n");
    for (at, family) in pack.families.iter().enumerate() {
        let _ = write!(text, "\n### {}\n\n", capital(&family.title));
        // Under the first family it belongs to.
        for member in family
            .members
            .iter()
            .filter(|one| pack[**one].families.first() == Some(&FamilyIx(at)))
        {
            line(&mut text, member.0);
        }
    }
    let alone = |at: &usize| pack[MechanismIx(*at)].families.is_empty();
    if (0..pack.mechanisms.len()).any(|at| alone(&at)) {
        text.push_str("\n### Others\n\n");
        for at in (0..pack.mechanisms.len()).filter(alone) {
            line(&mut text, at);
        }
    }
    text.push_str("\n## Clues\n");
    for (zone, title) in [
        (Zone::Outside, "Outside"),
        (Zone::Inside, "Inside"),
        (Zone::Roof, "Roof and attic"),
        (Zone::Site, "Ground around the house"),
        (Zone::Under, "Below the floor"),
    ] {
        let _ = write!(text, "\n### {title}\n\n");
        for clue in pack.clues.iter().filter(|clue| clue.zone == zone) {
            let place = &pack[clue.at].title;
            let _ = writeln!(text, "* [{}](clues/{}.md), {place}", capital(&clue.title), clue.id);
        }
    }
    text
}

/// Every source, with what kind of publication it is.
pub(super) fn sources(pack: &Pack) -> String {
    let mut text = String::from(
        "# Sources\n\nEach with its id in the rule files. *From memory* means that nobody here has seen it in print.\n\n",
    );
    for (at, one) in pack.sources.iter().enumerate() {
        let _ = writeln!(text, "* `{}`: {}", one.id, source(pack, wythe_pack::SourceIx(at)));
    }
    text
}
