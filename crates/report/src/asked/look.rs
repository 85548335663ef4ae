//! What to look at next, as values.

use serde::Serialize;
use wythe_case::Case;
use wythe_engine::{Look, Looks, Outcome, Tells};
use wythe_pack::Pack;

use crate::build::conclusions;
use crate::number::rounded;
use crate::phrase::{clean, the_place};

/// What to look at next: a walking list.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LookPage {
    /// The format of this page.
    pub format: u32,
    /// Id of the case.
    pub case: String,
    /// Its title.
    pub title: String,
    /// The last pass taken in.
    pub as_of: Option<String>,
    /// What a miss costs, in needless referrals: the pack's policy.
    pub miss_costs: f64,
    /// The expected loss of the decisions as they stand, in needless referrals.
    pub loss: Option<f64>,
    /// Places, in the order in which to walk them.
    pub places: Vec<LookPlace>,
    /// Looks that tell next to nothing, left out above.
    pub left_out: usize,
    /// The cautions of the pack.
    pub cautions: Vec<String>,
}

/// The looks at one place.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LookPlace {
    /// Id of the place.
    pub place: String,
    /// Its name.
    pub label: String,
    /// What its looks take, in minutes.
    pub minutes: Option<f64>,
    /// What they are worth, each by itself, summed.
    pub worth: Option<f64>,
    /// What they tell, in bits, each by itself, summed.
    pub bits: Option<f64>,
    /// The looks, best first.
    pub looks: Vec<LookSays>,
}

/// One look.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LookSays {
    /// Id of the clue.
    pub clue: String,
    /// Its title.
    pub title: String,
    /// How to look.
    pub look_for: String,
    /// What it takes.
    pub effort: &'static str,
    /// In minutes.
    pub minutes: Option<f64>,
    /// How long other looks must wait after it.
    pub wait: Option<LookWait>,
    /// Each grade of the clue, and the chance of finding it.
    pub chances: Vec<(String, Option<f64>)>,
    /// The chance of finding something.
    pub shows: Option<f64>,
    /// Expected drop of the loss, in needless referrals.
    pub worth: Option<f64>,
    /// Expected drop of the leading conclusions' entropy, in bits.
    pub bits: Option<f64>,
    /// What it would do, most first; conclusions that it leaves alone are left out.
    pub tells: Vec<LookTells>,
    /// Ids of the sources of the clue.
    pub sources: Vec<String>,
}

/// A look that interferes with others.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LookWait {
    /// Days.
    pub days: f64,
    /// Why.
    pub reason: String,
}

/// What a look would do to one conclusion.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LookTells {
    /// Id of the conclusion.
    pub conclusion: String,
    /// Its title, with its place.
    pub title: String,
    /// Its chance now.
    pub now: Option<f64>,
    /// Its chance after each grade.
    pub given: Vec<Option<f64>>,
    /// Its chance if something is found, whatever its grade.
    pub if_found: Option<f64>,
    /// Expected drop of its loss.
    pub worth: Option<f64>,
    /// Expected drop of its entropy, in bits.
    pub bits: Option<f64>,
}

/// Looks that tell less than this, in bits, and are worth nothing, are left out.
const LITTLE: f64 = 0.005;

pub(super) fn page(pack: &Pack, case: &Case, outcome: &Outcome, looks: &Looks, at: Option<usize>) -> LookPage {
    let mut left_out = 0;
    let mut places = Vec::new();
    for place in looks.places.iter().filter(|place| at.is_none_or(|at| place.at == at)) {
        let all: Vec<&Look> = place.looks.iter().filter_map(|index| looks.looks.get(*index)).collect();
        let worth_it: Vec<&Look> = all
            .iter()
            .filter(|look| look.worth > 1e-9 || look.bits >= LITTLE)
            .copied()
            .collect();
        left_out += all.len().saturating_sub(worth_it.len());
        let Some(here) = case.places.get(place.at) else {
            continue;
        };
        if worth_it.is_empty() {
            continue;
        }
        places.push(LookPlace {
            place: here.id.clone(),
            label: the_place(here),
            minutes: rounded(worth_it.iter().map(|look| look.minutes).sum()),
            worth: rounded(worth_it.iter().map(|look| look.worth).sum()),
            bits: rounded(worth_it.iter().map(|look| look.bits).sum()),
            looks: worth_it.iter().map(|look| says(pack, case, outcome, look)).collect(),
        });
    }
    LookPage {
        format: crate::page::FORMAT,
        case: case.id.clone(),
        title: clean(&case.title),
        as_of: outcome.as_of.clone(),
        miss_costs: pack.policy.referral.miss_costs,
        loss: rounded(looks.loss),
        places,
        left_out,
        cautions: pack.wording.cautions.clone(),
    }
}

pub(super) fn says(pack: &Pack, case: &Case, outcome: &Outcome, look: &Look) -> LookSays {
    let clue = &pack[look.clue];
    let mut tells: Vec<&Tells> = look
        .tells
        .iter()
        .filter(|one| one.worth > 1e-9 || one.bits > 1e-4)
        .collect();
    tells.sort_by(|a, b| b.worth.total_cmp(&a.worth).then(b.bits.total_cmp(&a.bits)));
    let grades = clue.grades.iter().map(|grade| grade.id.clone());
    LookSays {
        clue: clue.id.clone(),
        title: clue.title.clone(),
        look_for: clue.look_for.clone(),
        effort: clue.effort.name(),
        minutes: rounded(look.minutes),
        wait: look.wait.as_ref().map(|wait| LookWait {
            days: wait.days,
            reason: wait.reason.clone(),
        }),
        chances: grades.zip(look.chances.iter().map(|chance| rounded(*chance))).collect(),
        shows: rounded(look.chances.iter().skip(1).sum()),
        worth: rounded(look.worth),
        bits: rounded(look.bits),
        tells: tells
            .into_iter()
            .map(|one| told(pack, case, outcome, look, one))
            .collect(),
        sources: clue.sources.iter().map(|at| pack[*at].id.clone()).collect(),
    }
}

fn told(pack: &Pack, case: &Case, outcome: &Outcome, look: &Look, one: &Tells) -> LookTells {
    let now = outcome
        .conclusions
        .iter()
        .find(|other| other.about == one.about)
        .map(|other| other.chance);
    let found = || {
        look.chances
            .iter()
            .zip(&one.given)
            .skip(1)
            .filter(|(chance, _)| **chance > 0.0)
    };
    let all: f64 = found().map(|(chance, _)| chance).sum();
    let if_found: f64 = found().map(|(chance, given)| chance * given).sum();
    LookTells {
        conclusion: conclusions::id(pack, case, one.about),
        title: conclusions::title_and_place(pack, case, one.about),
        now: now.and_then(rounded),
        given: one.given.iter().map(|chance| rounded(*chance)).collect(),
        if_found: rounded(if_found / all),
        worth: rounded(one.worth),
        bits: rounded(one.bits),
    }
}
