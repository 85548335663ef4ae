//! The trainer's walk as text: each sighting in the order it was made, what it moved, by which rules, and what it left
//! less to account for.

mod moved;
mod page;

use std::collections::BTreeSet;

use wythe_case::{Case, Seen};
use wythe_engine::{About, Conclusion, Moved, Outcome, Reading, SOME, Walk, WalkStep, decibans};
use wythe_pack::{Pack, Rule};

pub use page::{MovedSays, StandSays, StepSays, WalkPage, walk_page};

use crate::ReportError;
use crate::build::{conclusions, sightings};
use crate::number::{DECIBANS, short_chance, whole_parts};
use crate::phrase::{at_places, capital, clean, sentence};
use crate::wrap::{Form, Lines};

/// Most conclusions told at one step.
const MOST: usize = 2;
/// A walk as text: of one conclusion, or of all that each sighting moved.
///
/// # Errors
/// A sentence that makes a determination.
pub fn steps(pack: &Pack, case: &Case, walk: &Walk, about: Option<About>, form: Form) -> Result<String, ReportError> {
    let case = &*wythe_engine::with_computed(pack, case);
    let mut telling = Telling {
        pack,
        case,
        walk,
        told: BTreeSet::new(),
    };
    let mut lines = Lines::default();
    telling.head(about, &mut lines);
    if let Some(about) = about {
        telling.ledger(about, &mut lines);
    }
    lines.heading("Sighting by sighting");
    let mut idle = Vec::new();
    for (at, step) in walk.steps.iter().enumerate() {
        // What moved nothing is told together where no conclusion is followed.
        if about.is_none() && step.moved.is_empty() && !telling.raised(at, step) {
            idle.push(telling.idle(at, step));
            continue;
        }
        telling.idled(&mut idle, &mut lines);
        telling.step(at, step, about, &mut lines);
    }
    telling.idled(&mut idle, &mut lines);
    telling.end(about, &mut lines);
    lines.written(form)
}

/// Whole decibans with their sign.
pub(crate) fn signed(weight: f64) -> String {
    let whole = weight.round();
    if whole == 0.0 {
        "0".into()
    } else {
        format!("{whole:+.0}")
    }
}

/// `7 decibans`, `1 deciban`: how much, where words beside it say which way.
pub(crate) fn in_decibans(weight: f64) -> String {
    decibans_in_words(weight.abs()).trim_start_matches('+').into()
}

/// `0.7 decibans`: how much of what is less than a deciban, or little more.
pub(crate) fn tenths(weight: f64) -> String {
    format!("{:.1} decibans", weight.abs())
}

/// `+7 decibans`, `-1 deciban`.
fn decibans_in_words(weight: f64) -> String {
    let one = weight.round().abs() == 1.0;
    format!("{} deciban{}", signed(weight), if one { "" } else { "s" })
}

struct Telling<'a> {
    pack: &'a Pack,
    case: &'a Case,
    walk: &'a Walk,
    /// Rules whose reason was told.
    told: BTreeSet<Rule>,
}

impl Telling<'_> {
    fn title(&self, about: About) -> String {
        conclusions::title_and_place(self.pack, self.case, about)
    }

    fn head(&self, about: Option<About>, lines: &mut Lines) {
        match about {
            Some(about) => lines.title(&format!("Step by step: {}", self.title(about))),
            None => lines.title(&format!("Step by step: {}", clean(&self.case.title))),
        }
        lines.say(
            0,
            &format!("Case {}. In the order in which the sightings were made.", self.case.id),
        );
        lines.gap();
        if about.is_none() {
            lines.say(0, "At each sighting, the conclusions that it moved most. Name a conclusion to follow it alone, with the sum and the rules behind each step; --json has everything.");
            lines.gap();
        }
        lines.say(0, &format!("Evidence is counted in decibans: {DECIBANS}. The chance after each step stands beside. It is exact: the whole case is weighed anew each time."));
    }

    /// The chance of a conclusion in an outcome.
    fn chance(outcome: &Outcome, about: About) -> Option<f64> {
        outcome
            .conclusions
            .iter()
            .find(|one| one.about == about)
            .map(|one| one.chance)
    }

    /// One conclusion through all steps: whole decibans that add up.
    fn ledger(&self, about: About, lines: &mut Lines) {
        let Some(start) = Self::chance(&self.walk.start, about) else {
            return;
        };
        lines.heading("The sum");
        if !decibans(start).is_finite() {
            lines.say(0, "A fact of this house settles it by itself, so there are no steps.");
            return;
        }
        let mut rows = vec![(
            decibans(start),
            start,
            "with the facts of the house, before any sighting".to_string(),
        )];
        let mut before = start;
        let mut quiet = 0;
        for step in &self.walk.steps {
            let Some(after) = Self::chance(&step.outcome, about) else {
                continue;
            };
            let weight = decibans(after) - decibans(before);
            before = after;
            if weight.abs() >= 0.5 {
                rows.push((weight, after, format!("{} [{}]", self.short(step), step.sighting)));
                continue;
            }
            quiet += 1;
            match rows.last_mut() {
                Some((weight_so_far, chance, says)) if says.starts_with("sightings that") => {
                    *weight_so_far += weight;
                    *chance = after;
                }
                _ => rows.push((weight, after, "sightings that hardly move it".into())),
            }
        }
        let whole = whole_parts(&rows.iter().map(|row| row.0).collect::<Vec<f64>>());
        let total: i64 = whole.iter().fold(0, |sum, part| sum.saturating_add(*part));
        lines.led(" Adds  Chance", 0, "");
        for ((_, chance, says), whole) in rows.iter().zip(&whole) {
            let whole = if *whole == 0 { "0".into() } else { format!("{whole:+}") };
            lines.led(&format!("{whole:>5}  {:<6}  ", short_chance(*chance)), 15, says);
        }
        lines.led(
            &format!("{total:>+5}  {:<6}  ", short_chance(before)),
            15,
            "all together",
        );
        if quiet > 0 {
            lines.gap();
            lines.say(
                0,
                &format!("{quiet} sightings move it by less than half a deciban each."),
            );
        }
    }

    /// Whether a step changed the most that anything asks for.
    fn raised(&self, at: usize, step: &WalkStep) -> bool {
        self.before(at).action != step.outcome.action
    }

    /// The outcome before a step.
    fn before(&self, at: usize) -> &Outcome {
        let earlier = at.checked_sub(1).and_then(|at| self.walk.steps.get(at));
        earlier.map_or(&self.walk.start, |step| &step.outcome)
    }

    /// A step that moved nothing, in a few words.
    fn idle(&self, at: usize, step: &WalkStep) -> (usize, String) {
        let says = match self.reading(step) {
            Some(_) => self.short(step),
            None => self.noted(&step.sighting),
        };
        (at + 1, format!("{} [{}]", says.trim_end_matches('.'), step.sighting))
    }

    /// Tells of the steps that moved nothing.
    fn idled(&self, idle: &mut Vec<(usize, String)>, lines: &mut Lines) {
        let [(first, _), .., (last, _)] = idle.as_slice() else {
            if let Some((at, says)) = idle.pop() {
                lines.gap();
                let lead = format!("{at}. ");
                lines.led(
                    &lead,
                    lead.len(),
                    &format!("{}: moves nothing by a deciban.", capital(&says)),
                );
            }
            return;
        };
        lines.gap();
        let lead = format!("{first} to {last}. ");
        let all: Vec<String> = idle.iter().map(|(_, says)| says.clone()).collect();
        lines.led(
            &lead,
            3,
            &format!("These move nothing by a deciban: {}.", all.join("; ")),
        );
        idle.clear();
    }

    fn step(&mut self, at: usize, step: &WalkStep, about: Option<About>, lines: &mut Lines) {
        let before = self.before(at).action;
        let told: Vec<&Moved> = step
            .moved
            .iter()
            .filter(|one| about.is_none_or(|about| about == one.about))
            .collect();
        // For one conclusion, only what moved it; the sum has the rest.
        if about.is_some() && told.is_empty() {
            return;
        }
        lines.gap();
        let lead = format!("{}. ", at + 1);
        lines.led(&lead, lead.len(), &format!("{} [{}]", self.full(step), step.sighting));
        if let Some(earlier) = self.replaces(at, step) {
            lines.item(3, &format!("Stands in place of {earlier}."));
        }
        if told.is_empty() {
            lines.item(3, self.nothing(step));
        }
        let most = if about.is_some() { told.len() } else { MOST };
        for one in told.iter().take(most) {
            let says = if about.is_some() {
                self.moved(one, &step.outcome)
            } else {
                self.moved_briefly(one)
            };
            lines.item(3, &says);
        }
        let rest = told.len().saturating_sub(most);
        if rest > 0 {
            let least = told.get(most).map_or(0.0, |one| one.weight.abs());
            lines.item(
                3,
                &format!(
                    "{rest} more moved, by {} or less each.",
                    decibans_in_words(least).trim_start_matches('+')
                ),
            );
        }
        let now = step.outcome.action;
        if before != now {
            let [before, now] = [before, now].map(|action| crate::plain::action_name(action.name()));
            lines.item(3, &format!("What the house asks for: {before}; now {now}."));
        }
    }

    /// A sighting in a few words.
    fn short(&self, step: &WalkStep) -> String {
        self.reading(step).map_or_else(
            || step.sighting.clone(),
            |reading| sightings::in_one_phrase(self.pack, self.case, &[reading]),
        )
    }

    /// The reading of a step's sighting, in the outcome right after it.
    fn reading<'s>(&self, step: &'s WalkStep) -> Option<&'s Reading> {
        step.outcome.readings.iter().find(|one| one.sighting == step.sighting)
    }

    /// A sighting with what was found.
    fn full(&self, step: &WalkStep) -> String {
        let Some(reading) = self.reading(step) else {
            return capital(&self.noted(&step.sighting));
        };
        let seen = sightings::sightings(self.pack, self.case, std::slice::from_ref(reading));
        let Some(seen) = seen.first() else { return String::new() };
        let head = capital(format!("{} {}", seen.says, seen.at_words).trim_end());
        let detail: Vec<&str> = [seen.detail.as_str(), seen.why.as_deref().unwrap_or("")]
            .into_iter()
            .filter(|part| !part.is_empty())
            .collect();
        if detail.is_empty() {
            format!("{head}.")
        } else {
            format!("{head}: {}.", detail.join("; "))
        }
    }

    /// A sighting that stands no more, or could not be made while another stands.
    fn noted(&self, id: &str) -> String {
        let mut all = self.case.passes.iter().flat_map(|pass| &pass.sightings);
        let Some(sighting) = all.find(|one| one.id == id) else {
            return id.to_owned();
        };
        let clue = self
            .pack
            .clue(&sighting.clue)
            .map_or(sighting.clue.as_str(), |at| &self.pack[at].title);
        let why = match &sighting.seen {
            Seen::NotReached { why, .. } => format!(": not reached, {}", clean(why)),
            _ => String::new(),
        };
        sentence(&format!("{} {}{why}", clue, at_places(self.case, &[sighting.at])))
    }

    /// The earlier sighting of the same clue at the same place.
    fn replaces(&self, at: usize, step: &WalkStep) -> Option<String> {
        let now = self.reading(step)?;
        let earlier = self.walk.steps.get(..at)?.iter().rev();
        let same = |one: &&WalkStep| {
            self.reading(one)
                .is_some_and(|then| (then.clue, then.at) == (now.clue, now.at))
        };
        earlier.into_iter().find(same).map(|one| format!("[{}]", one.sighting))
    }

    fn nothing(&self, step: &WalkStep) -> &'static str {
        match self.reading(step).map(|reading| &reading.used) {
            Some(wythe_engine::Used::NotReached) => {
                "Nobody could look, so it moves nothing. It is a limit of the visit."
            }
            Some(wythe_engine::Used::Hidden { .. }) => {
                "Something hides it, so it counts as not looked and moves nothing."
            }
            _ => "It moves nothing by a deciban.",
        }
    }

    /// How what was told of a conclusion adds up to where it stands: what was not told has its part.
    fn untold(&self, one: &Conclusion) -> String {
        let Some(start) = Self::chance(&self.walk.start, one.about) else {
            return String::new();
        };
        let told = self.walk.steps.iter().flat_map(|step| step.moved.iter().take(MOST));
        let told: f64 = told
            .filter(|moved| moved.about == one.about)
            .map(|moved| moved.weight)
            .sum();
        let rest = decibans(one.chance) - decibans(start) - told;
        if !rest.is_finite() {
            return String::new();
        }
        match whole_parts(&[told, rest]).as_slice() {
            [told, rest] if *rest != 0 => format!(
                " It began at {}. What is told above adds {}; what is not, being small or behind others, adds {}.",
                short_chance(start),
                decibans_in_words(*told as f64),
                signed(*rest as f64)
            ),
            _ => String::new(),
        }
    }

    /// Where it came out.
    fn end(&self, about: Option<About>, lines: &mut Lines) {
        let Some(last) = self.walk.steps.last().map(|step| &step.outcome) else {
            lines.say(0, "Nothing was sighted.");
            return;
        };
        lines.heading("Where it came out");
        let mut all: Vec<_> = last
            .conclusions
            .iter()
            .filter(|one| match about {
                Some(about) => one.about == about,
                None => one.action > wythe_pack::Action::Record || one.chance >= 0.5 && one.weight.abs() >= SOME,
            })
            .collect();
        all.sort_by(|a, b| b.action.cmp(&a.action).then(b.chance.total_cmp(&a.chance)));
        for one in all {
            lines.item(
                0,
                &format!(
                    "{}: {}. Asks for: {}.{}",
                    capital(&self.title(one.about)),
                    conclusions::firm(self.pack, one),
                    crate::plain::action_name(one.action.name()),
                    if about.is_none() {
                        self.untold(one)
                    } else {
                        String::new()
                    }
                ),
            );
        }
        lines.heading("Please note");
        for caution in &self.pack.wording.cautions {
            lines.item(0, caution);
        }
    }
}
