//! The client's form: per matter what was seen, what it may mean, what to do, by when, and what was not seen, in plain
//! words.

mod foot;

use std::collections::BTreeSet;

use wythe_case::Case;
use wythe_engine::Outcome;
use wythe_pack::{Action, Pack, Support};

use crate::build::conclusions;
use crate::number::short_chance;
use crate::page::{Conclusion, Matter, Notice, Page, Sighting};
use crate::phrase::{capital, sentence, words};
use crate::plain::{Sheet, action_name};
use crate::wrap::{Form, Lines};
use crate::{ReportError, page};

/// Most causes told in one matter.
const MOST_MEANINGS: usize = 3;
/// Most kinds of sign that nobody has looked for, named in one matter.
const MOST_LOOKS: usize = 3;

/// What a client needs to know, in plain words: hazards first, then each matter.
///
/// # Errors
/// A sentence that makes a determination.
pub fn client(pack: &Pack, case: &Case, outcome: &Outcome, form: Form) -> Result<String, ReportError> {
    let page = page(pack, case, outcome)?;
    let telling = Telling {
        pack,
        case,
        outcome,
        page: &page,
        sheet: Sheet::of(&page),
    };
    let mut lines = Lines::default();
    telling.head(&mut lines);
    telling.notices(&mut lines, false);
    telling.in_short(&mut lines);
    telling.notices(&mut lines, true);
    for (number, matter) in (1..).zip(&page.matters) {
        telling.matter(number, matter, &mut lines);
    }
    telling.also_seen(&mut lines);
    telling.floors(&mut lines);
    telling.not_seen(&mut lines);
    telling.words(&mut lines);
    telling.foot(&mut lines);
    lines.written(form)
}

struct Telling<'p> {
    pack: &'p Pack,
    case: &'p Case,
    outcome: &'p Outcome,
    page: &'p Page,
    sheet: Sheet<'p>,
}

fn action(name: &str) -> Action {
    Action::ALL
        .into_iter()
        .find(|one| one.name() == name)
        .unwrap_or(Action::Record)
}

impl Telling<'_> {
    fn head(&self, lines: &mut Lines) {
        let page = self.page;
        lines.title(&page.case.title);
        let day = page
            .case
            .visited
            .as_ref()
            .map(|day| format!(", seen on {day}"))
            .unwrap_or_default();
        lines.say(0, &format!("For the client. Case {}{day}.", page.case.id));
        lines.gap();
        let about = &self.pack.wording.client_about;
        lines.say(0, &if about.is_empty() { &page.about } else { about }.join(" "));
    }

    /// Hazards, and what asks for something by itself; apart from what waits for an engineer's visit.
    fn notices(&self, lines: &mut Lines, waiting: bool) {
        let all = self.page.notices.iter();
        // Keeping clear of a hazard waits for nobody.
        let waits = |one: &Notice| one.engineer_first.is_some() && one.kind != "hazard";
        let shown: Vec<&Notice> = all.filter(|one| waits(one) == waiting).collect();
        if shown.is_empty() {
            return;
        }
        lines.heading(if waiting {
            "Past a published limit"
        } else {
            "First of all"
        });
        for notice in shown {
            let kind = if notice.kind == "hazard" { "HAZARD. " } else { "" };
            // What a limit is for and where it is printed is for the inspector's own page.
            let plain = |line: &&String| {
                notice.kind != "limit"
                    || line.starts_with("Measured")
                    || line.starts_with("It ") && line.contains(" the limit")
                    || notice.says.last() == Some(line)
            };
            let says: Vec<&str> = notice.says.iter().filter(plain).map(String::as_str).collect();
            let when = match notice.engineer_first {
                Some(number) if notice.kind == "hazard" => {
                    format!(" By when: keep clear now. The visit is in {number}.")
                }
                Some(number) => format!(" See {number}."),
                None => match self.pack.wording.by_when(action(notice.action)) {
                    "" => String::new(),
                    when => format!(" By when: {when}"),
                },
            };
            lines.item(
                0,
                &format!("{kind}{} {}{when}", sentence(&notice.title), says.join(" ")),
            );
        }
    }

    fn in_short(&self, lines: &mut Lines) {
        lines.heading("In short");
        if !self.page.sightings.iter().any(|one| one.shows) {
            lines.say(0, "No such signs were seen in the areas viewed.");
        }
        if self.page.matters.is_empty() {
            lines.say(0, "Nothing that was seen asks for more than to be kept on record.");
        }
        if !matches!(self.page.action, "refer" | "promptly") {
            lines.say(0, "No engineer's visit is asked for.");
        }
        for (number, matter) in (1..).zip(&self.page.matters) {
            let when = match matter.action {
                "upkeep" => "",
                other => self.pack.wording.by_when(action(other)),
            };
            let says = format!("{}. Asked for: {}. {when}", headed(matter), action_name(matter.action));
            lines.led(&format!("  {number}. "), 5, says.trim_end());
        }
    }

    fn matter(&self, number: usize, matter: &Matter, lines: &mut Lines) {
        lines.gap();
        lines.led(&format!("{number}. "), 3, &headed(matter));
        lines.gap();
        lines.part(3, "What was seen");
        let seen: Vec<&Sighting> = matter
            .seen
            .iter()
            .filter_map(|id| self.sheet.sightings.get(id.as_str()).copied())
            .collect();
        for line in self.by_place(&seen, number) {
            lines.item(3, &line);
        }
        if seen.is_empty() {
            lines.item(3, "No sign of it was seen. It is taken up for what the house is like.");
        }
        lines.gap();
        lines.part(3, "What it may mean");
        for meaning in matter.means.iter().take(MOST_MEANINGS) {
            if let Some(one) = self.sheet.conclusions.get(meaning.conclusion.as_str()) {
                lines.item(3, &self.meaning(one));
            }
        }
        lines.gap();
        lines.part(3, "What to do");
        // That upkeep comes at the next upkeep is said once.
        let upkeep = sentence(self.pack.wording.action(Action::Upkeep));
        let said_below = |line: &&String| **line == upkeep && matter.todo.len() > 1;
        for line in matter.todo.iter().filter(|line| !said_below(line)) {
            lines.item(3, line);
        }
        let when = self.pack.wording.by_when(action(matter.action));
        if !when.is_empty() {
            lines.gap();
            lines.part(3, "By when");
            lines.item(3, when);
        }
        if !matter.mind_changers.is_empty() && matter.action != "upkeep" {
            lines.gap();
            lines.part(3, "What would change this");
            lines.item(3, &sentence(&matter.mind_changers.join("; ")));
        }
        lines.gap();
        lines.part(3, "What was not seen");
        for line in self.unseen(matter) {
            lines.item(3, &line);
        }
    }

    /// What a conclusion says to a lay reader: its name, what it is, how well it fits.
    fn meaning(&self, one: &Conclusion) -> String {
        let at = one
            .place
            .as_deref()
            .filter(|place| *place != wythe_case::HOUSE)
            .map(|place| format!(" at {}", self.the(place)))
            .unwrap_or_default();
        let what = match self.pack.mechanism(&one.rule) {
            Some(at) => self.pack[at].what.as_str(),
            None => self.pack.family(&one.rule).map_or("", |at| self.pack[at].what.as_str()),
        };
        let what = if what.is_empty() {
            String::new()
        } else {
            format!("In such cases, {}", small(what))
        };
        let lowered = one.chance < one.prior && matches!(one.support, "slight" | "some" | "fair" | "strong");
        let fits = self
            .support(one)
            .filter(|_| !lowered)
            .map(|support| self.pack.wording.client_support(support))
            .unwrap_or_default();
        let chance = one.chance.map(short_chance).unwrap_or_default();
        let firm = match one.chance.filter(|_| lowered) {
            Some(chance) => conclusions::less_likely(chance).to_owned(),
            None => support_words(one.support),
        };
        let parts = [
            sentence(&format!("{}{at}", one.title)),
            sentence(&what),
            fits.to_owned(),
            format!("How firm: {firm} ({}; {chance}).", one.words),
        ];
        let parts: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
        parts.join(" ")
    }

    /// The support that a sentence may speak of: one sign by itself does not agree with others, however much it says.
    fn support(&self, one: &Conclusion) -> Option<Support> {
        let stated = Support::ALL.into_iter().find(|support| support.name() == one.support)?;
        let of = |other: &&wythe_engine::Conclusion| conclusions::id(self.pack, self.case, other.about) == one.id;
        let found = self.outcome.conclusions.iter().find(of)?;
        let (_, signs) = conclusions::places_of_signs(self.pack, self.case, self.outcome, found);
        Some(if stated == Support::Strong && signs < 2 {
            Support::Fair
        } else {
            stated
        })
    }

    /// What was seen, a line per place.
    fn by_place(&self, seen: &[&Sighting], matter: usize) -> Vec<String> {
        let mut places: Vec<(&str, Vec<String>)> = Vec::new();
        for one in seen {
            let mut detail: Vec<String> = Vec::new();
            detail.extend(one.size.clone());
            detail.extend(one.measured.as_ref().map(|measured| measured.both.clone()));
            // What an earlier matter told in full is named only.
            let before = self.page.matters.iter().take(matter.saturating_sub(1));
            if let Some((number, _)) = (1..).zip(before).find(|(_, other)| other.seen.contains(&one.id)) {
                detail = vec![format!("see {number}")];
            }
            detail.insert(0, one.says.clone());
            let says = detail.join(", ");
            match places.iter_mut().find(|(place, _)| *place == one.place) {
                Some((_, list)) => list.push(says),
                None => places.push((&one.place, vec![says])),
            }
        }
        places
            .into_iter()
            .map(|(place, says)| sentence(&format!("{}: {}", capital(&self.the(place)), says.join("; "))))
            .collect()
    }

    fn the(&self, place: &str) -> String {
        if place == wythe_case::HOUSE {
            return "the house".into();
        }
        let label = self.sheet.label(place);
        if label.starts_with("the ") {
            label
        } else {
            format!("the {label}")
        }
    }

    fn unseen(&self, matter: &Matter) -> Vec<String> {
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

    fn also_seen(&self, lines: &mut Lines) {
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

    fn not_seen(&self, lines: &mut Lines) {
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

/// What a matter is called: signs that are consistent with something, and never the thing itself.
fn headed(matter: &Matter) -> String {
    format!("Signs consistent with: {}", small(&matter.title))
}

/// With a small letter at the start.
fn small(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or_else(String::new, |first| first.to_lowercase().chain(chars).collect())
}

fn support_words(name: &str) -> String {
    match name {
        "slight" | "some" | "fair" | "strong" => format!("{name} support"),
        other => words(other),
    }
}
