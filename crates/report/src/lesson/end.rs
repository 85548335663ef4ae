//! What a lesson came to: each matter with what carried it, what spoke against it, which rivals fell, what would change
//! it and what to do; and what the last pass changed.

use std::collections::{BTreeMap, BTreeSet};

use wythe_case::Case;
use wythe_engine::{About, Conclusion, Outcome, Reading, Walk, WalkStep};
use wythe_pack::{Action, Pack, Support};

use crate::build::{self, bearing, conclusions, sightings};
use crate::number::{odds_in_words, short_chance};
use crate::page::Matter;
use crate::phrase::{capital, clean, listed, sentence};
use crate::plain::action_name;

/// Decibans from which a sighting raised a cause so that it is told.
const RAISED: f64 = 3.0;

/// Most sightings named as carrying a matter, and as speaking against it; most rivals.
const MOST: usize = 4;

/// Most causes told of where nothing is to be acted on.
const MOST_RECORDED: usize = 3;

/// What a lesson came to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct End {
    /// The most that anything asks for, and whether an engineer is asked for: one sentence each.
    pub asks: Vec<String>,
    /// Matters to act on: highest action first.
    pub matters: Vec<EndMatter>,
    /// Where nothing is to be acted on: the causes that what was seen speaks for most.
    pub recorded: Vec<EndMatter>,
    /// Limits passed, hazards and misfit, one sentence each.
    pub notices: Vec<String>,
    /// The pass before the last and what the last changed, where there were several.
    pub changes: Option<(String, Vec<String>)>,
}

/// A matter to act on.
#[derive(Clone, Debug, PartialEq)]
pub struct EndMatter {
    /// Its title with its place.
    pub title: String,
    /// What it asks for, in words.
    pub asks: &'static str,
    /// Where it stands, in words and in a number.
    pub stands: String,
    /// The other conclusions gathered in it, each with its chance.
    pub within: Vec<String>,
    /// The sightings that carried it most.
    pub carried: Vec<EndStep>,
    /// The sightings that spoke against it most.
    pub against: Vec<EndStep>,
    /// Other causes that could have left its signs, and fell: each with its title, and a sentence.
    pub rivals: Vec<(String, String)>,
    /// What would change it.
    pub mind_changers: Vec<String>,
    /// What to do, one sentence each.
    pub todo: Vec<String>,
}

/// What one sighting did to a matter.
#[derive(Clone, Debug, PartialEq)]
pub struct EndStep {
    /// Its turn in the walk, from 1.
    pub step: usize,
    /// What was found, and where.
    pub says: String,
    /// By how much it moved the matter, in decibans.
    pub decibans: f64,
}

pub(super) fn end(pack: &Pack, case: &Case, walk: &Walk) -> End {
    let last = walk.steps.last().map_or(&walk.start, |step| &step.outcome);
    let page = build::page(pack, case, last);
    let telling = Telling { pack, case, walk, last };
    let by_id: BTreeMap<String, About> = last
        .conclusions
        .iter()
        .map(|one| (conclusions::id(pack, case, one.about), one.about))
        .collect();
    let matters: Vec<EndMatter> = page
        .matters
        .iter()
        .filter_map(|matter| telling.matter(matter, &by_id))
        .collect();
    let recorded = if matters.is_empty() {
        telling.recorded()
    } else {
        Vec::new()
    };
    End {
        asks: asks(&page.matters, last),
        matters,
        recorded,
        notices: page
            .notices
            .iter()
            .map(|notice| format!("{} {}", sentence(&notice.title), notice.says.join(" ")))
            .collect(),
        changes: telling.changes(),
    }
}

/// The most that is asked for, and whether that takes an engineer.
fn asks(matters: &[Matter], last: &Outcome) -> Vec<String> {
    let engineer: Vec<String> = matters
        .iter()
        .filter(|matter| matches!(matter.action, "refer" | "promptly"))
        .map(|matter| matter.title.clone())
        .collect();
    let most = format!("The most that anything asks for: {}.", action_name(last.action.name()));
    let who = if !engineer.is_empty() {
        format!("An engineer is asked to look at: {}.", listed(&engineer))
    } else if last.action >= Action::Refer {
        "An engineer is asked to look at what was noticed besides.".into()
    } else {
        "No engineer is asked for.".into()
    };
    vec![most, who]
}

/// Where a conclusion stands, in words and in a number.
fn stands(one: &Conclusion) -> String {
    let support = super::said::support_words(one.support);
    format!(
        "{support} ({}; {})",
        odds_in_words(one.chance),
        short_chance(one.chance)
    )
}

struct Telling<'a> {
    pack: &'a Pack,
    case: &'a Case,
    walk: &'a Walk,
    last: &'a Outcome,
}

impl Telling<'_> {
    fn matter(&self, matter: &Matter, by_id: &BTreeMap<String, About>) -> Option<EndMatter> {
        let lead = *by_id.get(matter.conclusions.first()?)?;
        let one = self.last.conclusions.iter().find(|one| one.about == lead)?;
        let own: Vec<About> = matter
            .conclusions
            .iter()
            .filter_map(|id| by_id.get(id))
            .copied()
            .collect();
        Some(EndMatter {
            title: capital(&matter.title),
            asks: action_name(matter.action),
            stands: stands(one),
            within: self.within(&own),
            carried: self.did(lead, true),
            against: self.did(lead, false),
            rivals: self.rivals(&own, &matter.seen),
            mind_changers: matter.mind_changers.clone(),
            todo: matter.todo.clone(),
        })
    }

    /// The causes that what was seen speaks for most, which ask for no more than to be kept on record.
    fn recorded(&self) -> Vec<EndMatter> {
        let reached = bearing::Reached::new(self.pack, self.case);
        let mut all: Vec<&Conclusion> = self.last.conclusions.iter().collect();
        // Supported, or raised by something seen though the rest took it back.
        let raised = |about: About| {
            self.did(about, true)
                .first()
                .is_some_and(|most| most.decibans >= RAISED)
        };
        all.retain(|one| (one.support >= Support::Some && one.weight > 0.0) || raised(one.about));
        all.sort_by(|a, b| b.chance.total_cmp(&a.chance));
        let told = all.into_iter().filter_map(|one| {
            let About::Mechanism { mechanism, at } = one.about else {
                return None;
            };
            let signs = reached.by(mechanism, at);
            let bears = |reading: &&Reading| reading.shows() && signs.contains_key(&(reading.clue, reading.at));
            let seen: Vec<String> = self
                .last
                .readings
                .iter()
                .filter(bears)
                .map(|one| one.sighting.clone())
                .collect();
            Some(EndMatter {
                title: capital(&conclusions::title_and_place(self.pack, self.case, one.about)),
                asks: action_name(one.action.name()),
                stands: stands(one),
                within: Vec::new(),
                carried: self.did(one.about, true),
                against: self.did(one.about, false),
                rivals: self.rivals(&[one.about], &seen),
                mind_changers: self.pack[mechanism]
                    .mind_changers
                    .iter()
                    .map(|one| one.says.clone())
                    .collect(),
                todo: Vec::new(),
            })
        });
        told.take(MOST_RECORDED).collect()
    }

    /// The conclusions of a matter behind the leading one.
    fn within(&self, own: &[About]) -> Vec<String> {
        let of = |about: &About| self.last.conclusions.iter().find(|one| one.about == *about);
        own.iter()
            .skip(1)
            .filter_map(of)
            .take(MOST)
            .map(|one| {
                let title = conclusions::title_and_place(self.pack, self.case, one.about);
                format!("{title} ({})", short_chance(one.chance))
            })
            .collect()
    }

    /// The sightings that moved a conclusion most, up or down.
    fn did(&self, about: About, up: bool) -> Vec<EndStep> {
        let mut did: Vec<EndStep> = self
            .walk
            .steps
            .iter()
            .zip(1..)
            .filter_map(|(step, turn)| {
                let moved = step.moved.iter().find(|one| one.about == about)?;
                ((moved.weight > 0.0) == up).then(|| EndStep {
                    step: turn,
                    says: self.says(step),
                    decibans: moved.weight,
                })
            })
            .collect();
        did.sort_by(|a, b| b.decibans.abs().total_cmp(&a.decibans.abs()));
        did.truncate(MOST);
        did
    }

    fn says(&self, step: &WalkStep) -> String {
        let reading = step.outcome.readings.iter().find(|one| one.sighting == step.sighting);
        reading.map_or_else(String::new, |reading| {
            sightings::in_one_phrase(self.pack, self.case, &[reading])
        })
    }

    /// Causes that stood out once, could have left a sign of the matter, and fell by half at least.
    fn rivals(&self, own: &[About], seen: &[String]) -> Vec<(String, String)> {
        let signs: BTreeSet<bearing::Sign> = self
            .last
            .readings
            .iter()
            .filter(|reading| seen.contains(&reading.sighting))
            .map(|reading| (reading.clue, reading.at))
            .collect();
        let reached = bearing::Reached::new(self.pack, self.case);
        let mut fell: Vec<(f64, (String, String))> = Vec::new();
        for one in &self.last.conclusions {
            let About::Mechanism { mechanism, at } = one.about else {
                continue;
            };
            if own.contains(&one.about) {
                continue;
            }
            let chances: Vec<f64> = std::iter::once(&self.walk.start)
                .chain(self.walk.steps.iter().map(|step| &step.outcome))
                .filter_map(|outcome| outcome.conclusions.iter().find(|other| other.about == one.about))
                .map(|other| other.chance)
                .collect();
            let Some((high, peak)) = chances
                .iter()
                .enumerate()
                .max_by(|a, b| a.1.total_cmp(b.1).then(b.0.cmp(&a.0)))
            else {
                continue;
            };
            let stood_out = *peak >= self.pack.policy.bounds.some && one.chance <= peak / 2.0;
            if stood_out && reached.by(mechanism, at).keys().any(|sign| signs.contains(sign)) {
                let title = capital(&conclusions::title_and_place(self.pack, self.case, one.about));
                fell.push((
                    peak - one.chance,
                    (title, self.rival(one.about, (high, *peak), one.chance)),
                ));
            }
        }
        fell.sort_by(|a, b| b.0.total_cmp(&a.0));
        fell.into_iter().take(MOST).map(|(_, says)| says).collect()
    }

    fn rival(&self, about: About, (high, peak): (usize, f64), chance: f64) -> String {
        let after = match high {
            0 => "before any sighting".into(),
            turn => format!("after sighting {turn}"),
        };
        let down = self.walk.steps.iter().zip(1..).skip(high).filter_map(|(step, turn)| {
            let moved = step.moved.iter().find(|one| one.about == about)?;
            Some((moved.weight, turn, self.says(step)))
        });
        let most = down
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .filter(|(weight, ..)| *weight < 0.0)
            .map(|(weight, turn, says)| {
                format!(
                    " It fell most at sighting {turn}, {says}: {}.",
                    crate::steps::times(weight)
                )
            })
            .unwrap_or_default();
        format!(
            "{} {after}, {} at the end.{most}",
            short_chance(peak),
            short_chance(chance)
        )
    }

    /// What the last pass changed against the one before it.
    fn changes(&self) -> Option<(String, Vec<String>)> {
        let last = self.walk.steps.last()?;
        let before = self.walk.steps.iter().rev().find(|step| step.pass < last.pass)?;
        let changes = crate::changes::changes(self.pack, self.case, &before.outcome, self.last);
        let pass = self.case.passes.get(before.pass)?;
        let name = pass.title.as_deref().map_or_else(|| pass.id.clone(), clean);
        Some((name, changes.moved.iter().map(crate::plain::moved_text).collect()))
    }
}
