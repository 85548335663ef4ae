//! The client's form: per matter what was seen, what it may mean, what to do, by when, and what was not seen, in plain
//! words.

mod foot;

pub(crate) use foot::explained;
mod unseen;
mod upkeep;

use wythe_case::Case;
use wythe_engine::Outcome;
use wythe_pack::{Action, Pack, Support};

use crate::build::{self, conclusions, matters};
use crate::page::{Conclusion, Matter, Notice, Page, Sighting};
use crate::phrase::{capital, headed, sentence, small};
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
    let (apart, upkeep) = telling.apart();
    for (number, matter) in (1..).zip(apart) {
        telling.matter(number, matter, &mut lines);
    }
    if !upkeep.is_empty() {
        telling.upkeep(apart.len() + 1, upkeep, &mut lines);
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
        // What all of them ask for is said once, after them.
        let asks = |one: &&Notice| (one.says.last().cloned(), one.engineer_first);
        let first = shown.first().map(asks).filter(|_| waiting && shown.len() > 1);
        let same = first.filter(|first| shown.iter().all(|one| asks(one) == *first));
        for notice in &shown {
            let kind = if notice.kind == "hazard" { "HAZARD. " } else { "" };
            // What a limit is for and where it is printed is for the inspector's own page.
            let plain = |line: &&String| {
                notice.kind != "limit"
                    || line.starts_with("Measured")
                    || line.starts_with("It ") && line.contains(" the limit")
                    || notice.says.last() == Some(line) && same.is_none()
            };
            let says: Vec<&str> = notice.says.iter().filter(plain).map(String::as_str).collect();
            let when = match notice.engineer_first {
                Some(number) if notice.kind == "hazard" => {
                    format!(" By when: keep clear now. The visit is in {number}.")
                }
                Some(number) if same.is_none() => format!(" See {number}."),
                Some(_) => String::new(),
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
        if let Some((Some(says), Some(number))) = same {
            lines.gap();
            lines.say(0, &format!("For each of these: {} See {number}.", small(&says)));
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
        let (apart, upkeep) = self.apart();
        for (number, matter) in (1..).zip(apart) {
            let when = match matter.action {
                "upkeep" => "",
                other => self.pack.wording.by_when(action(other)),
            };
            let says = format!(
                "{}. Asked for: {}. {when}",
                headed(&matter.title),
                action_name(matter.action)
            );
            lines.led(&format!("  {number}. "), 5, says.trim_end());
        }
        if !upkeep.is_empty() {
            let says = format!("{}. Asked for: {}.", upkeep::together(upkeep), action_name("upkeep"));
            lines.led(&format!("  {}. ", apart.len() + 1), 5, &says);
        }
    }

    fn matter(&self, number: usize, matter: &Matter, lines: &mut Lines) {
        lines.gap();
        lines.led(&format!("{number}. "), 3, &headed(&matter.title));
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
                lines.item(3, &self.meaning(one, &meaning.support));
            }
        }
        lines.gap();
        self.to_do(matter.action, matter.todo.iter(), lines);
        let otherwise = format!("{}: ", matters::SECOND_LOOK);
        let changes = [
            ("", &matter.mind_changers),
            (otherwise.as_str(), &matter.found_otherwise),
        ];
        let mut changes = changes.iter().filter(|(_, changes)| !changes.is_empty()).peekable();
        if changes.peek().is_some() && matter.action != "upkeep" {
            lines.gap();
            lines.part(3, "What would change this");
            for (how, changes) in changes {
                lines.item(3, &sentence(&format!("{how}{}", changes.join("; "))));
            }
        }
        lines.gap();
        lines.part(3, "What was not seen");
        for line in self.unseen(matter) {
            lines.item(3, &line);
        }
    }

    /// What to do, and by when.
    fn to_do<'t>(&self, for_action: &str, todo: impl Iterator<Item = &'t String>, lines: &mut Lines) {
        lines.part(3, "What to do");
        // That upkeep comes at the next upkeep is said once.
        let upkeep = sentence(self.pack.wording.action(Action::Upkeep));
        let mut todo: Vec<&String> = todo.collect();
        if todo.len() > 1 {
            todo.retain(|line| **line != upkeep);
        }
        for line in todo {
            lines.item(3, line);
        }
        let when = self.pack.wording.by_when(action(for_action));
        if !when.is_empty() {
            lines.gap();
            lines.part(3, "By when");
            lines.item(3, when);
        }
    }

    /// What a conclusion says to a lay reader: its name, what it is, how well it fits, and how firm that is.
    fn meaning(&self, one: &Conclusion, firm: &str) -> String {
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
        let parts = [
            sentence(&format!("{}{at}", one.title)),
            sentence(&what),
            fits.to_owned(),
            format!("How firm: {firm}."),
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
            detail.extend(build::readings::size(one));
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
}
