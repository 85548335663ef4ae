//! The trainer's walk as values: every sighting in the order it was made, and all that it moved.

use serde::Serialize;
use wythe_case::Case;
use wythe_engine::{About, Carried, Moved, Outcome, Walk};
use wythe_pack::Pack;

use crate::build::{conclusions, sightings};
use crate::number::rounded;
use crate::phrase::clean;
use crate::{ReportError, asked};

/// A case, one sighting at a time.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WalkPage {
    /// The format of this page.
    pub format: u32,
    /// Id of the case.
    pub case: String,
    /// Its title.
    pub title: String,
    /// The conclusion that is followed, if only one is.
    pub conclusion: Option<String>,
    /// Chances before any sighting: of each conclusion that some step moves, or of the one that is followed.
    pub start: Vec<StandSays>,
    /// Each sighting, in the order in which they were made.
    pub steps: Vec<StepSays>,
    /// The cautions of the pack.
    pub cautions: Vec<String>,
}

/// Where a conclusion stands.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StandSays {
    /// Id of the conclusion.
    pub conclusion: String,
    /// Its title, with its place.
    pub title: String,
    /// Its chance, 0–1.
    pub chance: Option<f64>,
    /// Its support.
    pub support: &'static str,
    /// Its action.
    pub action: &'static str,
}

/// What one sighting did.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StepSays {
    /// Id of the sighting.
    pub sighting: String,
    /// Id of its pass.
    pub pass: String,
    /// Id of its clue; empty where the sighting no longer stands.
    pub clue: String,
    /// Id of its place.
    pub place: String,
    /// What was found, in words.
    pub says: String,
    /// The most that anything asks for after it.
    pub action: &'static str,
    /// The conclusions that it moved by a deciban or more, those that moved most first.
    pub moved: Vec<MovedSays>,
}

/// A conclusion that a sighting moved.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MovedSays {
    /// Id of the conclusion.
    pub conclusion: String,
    /// Its title, with its place.
    pub title: String,
    /// Its chance before, 0–1.
    pub before: Option<f64>,
    /// Its chance after, 0–1.
    pub after: Option<f64>,
    /// By how much its odds moved, in decibans.
    pub decibans: Option<f64>,
    /// Ids of the rules that carried it, from the cause down; empty where it was carried otherwise.
    pub chain: Vec<String>,
    /// Id of the rival that took the sign, or left it.
    pub rival: Option<String>,
    /// Id of the sighting that both could leave.
    pub over: Option<String>,
}

/// The walk as values: of one conclusion, or of all.
///
/// # Errors
/// A sentence that makes a determination.
pub fn walk_page(pack: &Pack, case: &Case, walk: &Walk, about: Option<About>) -> Result<WalkPage, ReportError> {
    let case = &*wythe_engine::with_computed(pack, case);
    let told = |one: About| match about {
        Some(about) => about == one,
        None => walk
            .steps
            .iter()
            .any(|step| step.moved.iter().any(|moved| moved.about == one)),
    };
    let start = walk.start.conclusions.iter().filter(|one| told(one.about));
    let page = WalkPage {
        format: crate::page::FORMAT,
        case: case.id.clone(),
        title: clean(&case.title),
        conclusion: about.map(|about| conclusions::id(pack, case, about)),
        start: start
            .map(|one| StandSays {
                conclusion: conclusions::id(pack, case, one.about),
                title: conclusions::title_and_place(pack, case, one.about),
                chance: rounded(one.chance),
                support: one.support.name(),
                action: one.action.name(),
            })
            .collect(),
        steps: walk
            .steps
            .iter()
            .map(|step| {
                let reading = step.outcome.readings.iter().find(|one| one.sighting == step.sighting);
                let seen = reading.map(|one| sightings::sightings(pack, case, std::slice::from_ref(one)));
                let seen = seen.and_then(|all| all.into_iter().next());
                let moved = step
                    .moved
                    .iter()
                    .filter(|one| about.is_none_or(|about| about == one.about));
                StepSays {
                    sighting: step.sighting.clone(),
                    pass: case
                        .passes
                        .get(step.pass)
                        .map(|pass| pass.id.clone())
                        .unwrap_or_default(),
                    clue: seen.as_ref().map(|one| one.clue.clone()).unwrap_or_default(),
                    place: seen.as_ref().map(|one| one.place.clone()).unwrap_or_default(),
                    says: seen.map_or_else(String::new, |one| {
                        let parts = [one.says, one.at_words, one.detail];
                        let parts: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
                        parts.join(" ")
                    }),
                    action: step.outcome.action.name(),
                    moved: moved.map(|one| moved_says(pack, case, one, &step.outcome)).collect(),
                }
            })
            .collect(),
        cautions: pack.wording.cautions.clone(),
    };
    asked::guarded(&page)?;
    Ok(page)
}

fn moved_says(pack: &Pack, case: &Case, one: &Moved, outcome: &Outcome) -> MovedSays {
    let (chain, rival, over) = match &one.by {
        Carried::Chain(hops) => {
            let links = hops
                .iter()
                .filter_map(|hop| pack.links(hop.rule.from).get(hop.rule.link));
            (links.map(|link| link.id.clone()).collect(), None, None)
        }
        Carried::Rival { rival, over } => (
            Vec::new(),
            Some(conclusions::id(pack, case, *rival)),
            outcome.readings.get(*over).map(|reading| reading.sighting.clone()),
        ),
        Carried::Together => (Vec::new(), None, None),
    };
    MovedSays {
        conclusion: conclusions::id(pack, case, one.about),
        title: conclusions::title_and_place(pack, case, one.about),
        before: rounded(one.chance.0),
        after: rounded(one.chance.1),
        decibans: rounded(one.weight),
        chain,
        rival,
        over,
    }
}

impl WalkPage {
    /// As JSON.
    ///
    /// # Errors
    /// A sentence that makes a determination.
    pub fn json(&self) -> Result<String, ReportError> {
        asked::json(self)
    }
}
