//! Matters to act on, as text.

use super::{Sheet, action_name};
use crate::number::short_chance;
use crate::page::{Conclusion, Look, Matter, Sighting, Step};
use crate::phrase::{capital, headed, names, sentence};
use crate::wrap::Lines;

/// How much of the weight the lines of a walk must cover; the rest is folded.
const COVERED: f64 = 0.9;
/// Of what was looked at and found otherwise.
const AGAINST_THE_NOTES: &str = ", if a second look found it against what was noted";

pub(super) fn matters<'p>(sheet: &mut Sheet<'p>, lines: &mut Lines) {
    let page = sheet.page;
    if page.matters.is_empty() {
        return;
    }
    lines.heading("Matters to act on");
    for (number, matter) in (1..).zip(&page.matters) {
        self::matter(sheet, number, matter, lines);
    }
}

fn matter<'p>(sheet: &mut Sheet<'p>, number: usize, matter: &'p Matter, lines: &mut Lines) {
    lines.gap();
    lines.led(&format!("{number}. "), 3, &headed(&matter.title));
    lines.say(3, &format!("Asks for: {}.", action_name(matter.action)));
    if !matter.seen.is_empty() {
        lines.gap();
        lines.part(3, "What was seen");
        for id in &matter.seen {
            let Some(sighting) = sheet.sightings.get(id.as_str()).copied() else {
                continue;
            };
            match sheet.said.get(id.as_str()) {
                Some(before) => lines.item(3, &format!("{} (see {before})", place_first(sighting))),
                None => {
                    lines.item(3, &in_full(sighting));
                    sheet.said.insert(id, number);
                }
            }
        }
    }
    lines.gap();
    lines.part(3, "What it may mean");
    for meaning in &matter.means {
        lines.item(3, &format!("{}. {}", capital(&meaning.support), meaning.says));
    }
    let rest: Vec<String> = matter
        .conclusions
        .iter()
        .skip(matter.means.len())
        .filter_map(|id| sheet.conclusions.get(id.as_str()))
        .map(|one| brief(sheet, one))
        .collect();
    if !rest.is_empty() {
        lines.item(3, &format!("Also in this: {}.", rest.join("; ")));
    }
    let small = matter.action == "upkeep";
    if let Some(lead) = matter
        .conclusions
        .first()
        .and_then(|id| sheet.conclusions.get(id.as_str()))
    {
        if small {
            in_short(lead, lines);
        } else {
            walk(lead, matter.not_there.len(), lines);
        }
    }
    lines.gap();
    lines.part(3, "What to do");
    for line in &matter.todo {
        lines.item(3, line);
    }
    let changes = [
        ("", &matter.mind_changers),
        (AGAINST_THE_NOTES, &matter.found_otherwise),
    ];
    for (how, changes) in changes.iter().filter(|(_, changes)| !changes.is_empty()) {
        lines.gap();
        lines.say(3, &format!("What would change this{how}: {}.", changes.join("; ")));
    }
    not_seen(sheet, matter, small, lines);
}

/// `corner drop, back left corner (0.25)`.
pub(super) fn brief(sheet: &Sheet<'_>, one: &Conclusion) -> String {
    format!(
        "{} ({})",
        title_and_place(sheet, one),
        one.chance.map(short_chance).unwrap_or_default()
    )
}

/// `corner drop, back left corner`; a house's own conclusions stand without a place.
pub(super) fn title_and_place(sheet: &Sheet<'_>, one: &Conclusion) -> String {
    match one.place.as_deref() {
        None | Some("house") => one.title.clone(),
        Some(place) if names(&one.title, &sheet.label(place)) => one.title.clone(),
        Some(place) => format!("{}, {}", one.title, sheet.label(place)),
    }
}

/// Where the chance began and where the signs took it.
fn in_short(lead: &Conclusion, lines: &mut Lines) {
    let [before, after] = [lead.prior, lead.chance].map(|chance| chance.map(short_chance).unwrap_or_default());
    lines.item(
        3,
        &format!("Before any sign it stood at {before} for this house; with all of them, at {after}."),
    );
}

/// The chance after each step.
fn walk(lead: &Conclusion, not_there: usize, lines: &mut Lines) {
    let mut steps = folded(&lead.steps);
    for step in lead.steps.iter().filter(|step| step.kind == "none_there") {
        // The same number as the list of what was not there; signs of other causes have their part in the step.
        let own = match not_there {
            0 => "none of them its own".to_string(),
            many => format!("{many} of them its own"),
        };
        for (_, says, _) in steps.iter_mut().filter(|(_, says, _)| *says == step.says) {
            *says = format!("with the signs looked for and not there ({own})");
        }
    }
    if steps.is_empty() {
        return;
    }
    lines.gap();
    lines.part(3, "How firm, step by step (the chance after each)");
    let start = lead.base.map(short_chance).unwrap_or_default();
    let mut rows = vec![(start, "on houses like this one".to_string())];
    for (after, says, minor) in steps {
        let after = after.map(short_chance).unwrap_or_default();
        // A line that folds small steps is worth its place only where they move the number.
        if !minor || rows.last().is_none_or(|(before, _)| *before != after) {
            rows.push((after, says));
        }
    }
    let wide = rows.iter().map(|(chance, _)| chance.len()).max().unwrap_or(4);
    for (chance, says) in rows {
        lines.led(&format!("   {chance:<wide$}  "), wide + 5, &says);
    }
    if let [Some(low), Some(high)] = lead.range.map(|end| end.map(short_chance))
        && lead.kind == "mechanism"
        && low != high
    {
        lines.say(
            3,
            &format!("Rarer or more common on such houses than taken here: {low} to {high}."),
        );
    }
}

/// Steps that say something: those seen which cover nine tenths of the weight stand alone, the others are folded into
/// the line that they stand in.
fn folded(steps: &[Step]) -> Vec<(Option<f64>, String, bool)> {
    let size = |step: &Step| step.weight.map_or(0.0, f64::abs);
    let seen = |step: &&Step| step.kind == "seen";
    let total: f64 = steps.iter().filter(seen).map(size).sum();
    let mut sizes: Vec<f64> = steps.iter().filter(seen).map(size).collect();
    sizes.sort_by(|a, b| b.total_cmp(a));
    let (mut covered, mut least) = (0.0, f64::INFINITY);
    for size in sizes {
        if covered >= COVERED * total {
            break;
        }
        covered += size;
        least = size;
    }
    let mut rows: Vec<(Option<f64>, String, bool)> = Vec::new();
    for step in steps {
        let small = step.kind == "seen" && size(step) < least;
        match rows.last_mut() {
            Some(last) if small && last.2 => last.0 = step.after,
            _ if step.kind != "seen" && size(step) < 0.005 => {}
            _ if small => rows.push((step.after, "with other signs".into(), true)),
            _ => rows.push((step.after, step.says.clone(), false)),
        }
    }
    rows
}

fn not_seen(sheet: &Sheet<'_>, matter: &Matter, small: bool, lines: &mut Lines) {
    lines.gap();
    lines.say(3, &format!("What was not seen. {}", matter.coverage));
    let not_there = titles(sheet, &matter.not_there);
    if !not_there.is_empty() {
        lines.item(
            3,
            &format!(
                "Looked for and not there ({} of it): {}.",
                match matter.not_there.len() {
                    1 => "1 sign".to_owned(),
                    many => format!("{many} signs"),
                },
                not_there.join("; ")
            ),
        );
    }
    let not_reached = reasons(sheet, &matter.not_reached);
    if !not_reached.is_empty() {
        lines.item(3, &format!("Could not be seen: {}.", not_reached.join("; ")));
    }
    if !matter.not_looked.is_empty() && !small {
        let looks: Vec<String> = matter.not_looked.iter().map(look).collect();
        lines.item(3, &format!("Not noted yet: {}.", looks.join("; ")));
    }
}

pub(super) fn look(look: &Look) -> String {
    format!("{} {}", look.title, look.at_words).trim_end().to_string()
}

/// Titles of clues, each once, with the number of places.
fn titles(sheet: &Sheet<'_>, ids: &[String]) -> Vec<String> {
    let mut titles: Vec<(&str, usize)> = Vec::new();
    for sighting in ids.iter().filter_map(|id| sheet.sightings.get(id.as_str())) {
        match titles.iter_mut().find(|(title, _)| *title == sighting.title) {
            Some((_, count)) => *count += 1,
            None => titles.push((&sighting.title, 1)),
        }
    }
    titles
        .into_iter()
        .map(|(title, count)| {
            if count > 1 {
                format!("{title} ({count} places)")
            } else {
                title.into()
            }
        })
        .collect()
}

/// What could not be seen, each with its reason.
pub(super) fn reasons(sheet: &Sheet<'_>, ids: &[String]) -> Vec<String> {
    ids.iter()
        .filter_map(|id| sheet.sightings.get(id.as_str()))
        .map(|one| format!("{} [{}]", not_reached(one), one.id))
        .collect()
}

/// What could not be seen, where and why: `gap under the frieze at the west wall (locked gate; ask for access)`.
pub(crate) fn not_reached(one: &Sighting) -> String {
    let why = one.why.as_deref().unwrap_or(&one.detail);
    let ask = if one.ask_access { "; ask for access" } else { "" };
    let at = if one.at_words.is_empty() {
        String::new()
    } else {
        format!(" {}", one.at_words)
    };
    format!("{}{at} ({why}{ask})", one.title)
}

fn place_first(sighting: &Sighting) -> String {
    capital(format!("{} {}", sighting.says, sighting.at_words).trim_end())
}

/// A sighting with everything that was noted.
pub(crate) fn in_full(sighting: &Sighting) -> String {
    let detail = if sighting.detail.is_empty() {
        String::new()
    } else {
        format!(": {}", sighting.detail)
    };
    let mut text = format!("{}{detail}.", place_first(sighting));
    if let Some(note) = &sighting.note {
        text.push_str(&format!(" {}", sentence(note)));
    }
    match sighting.photos.as_slice() {
        [] => {}
        [one] => text.push_str(&format!(" Photo {one}.")),
        many => text.push_str(&format!(" Photos {}.", many.join(", "))),
    }
    text.push_str(&format!(" [{}]", sighting.id));
    text
}
