//! A comparison as values.

use serde::Serialize;
use wythe_engine::{Conclusion, decibans};
use wythe_pack::Pack;

use super::signs::{Found, Stand, State, signs, stand};
use super::{Comparison, Difference, Telling, key};
use crate::build::conclusions;
use crate::number::rounded;
use crate::{ReportError, asked};

/// Two visits, passes or inspectors on one house: what differs, and what it did.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ComparePage {
    /// The format of this page.
    pub format: u32,
    /// What the two are called.
    pub names: [String; 2],
    /// The most that anything asks for, in each.
    pub actions: [&'static str; 2],
    /// Every clue at a place that either of the two looked for.
    pub signs: Vec<SignSays>,
    /// Facts of the house that differ: id, and what each of the two has; none where it is not known.
    pub facts: Vec<(String, Option<bool>, Option<bool>)>,
    /// Every conclusion of both that moved.
    pub conclusions: Vec<PairSays>,
    /// The cautions of the pack.
    pub cautions: Vec<String>,
}

/// A clue at a place, as each of the two has it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SignSays {
    /// Id of the clue.
    pub clue: String,
    /// Id of the place.
    pub place: String,
    /// `same`, `detail` (the same grade with other particulars), `grade`, `contrary` (seen by one and not there for the
    /// other), `one_looked` or `neither`.
    pub stand: &'static str,
    /// What each has of it; none where it did not look.
    pub found: [Option<FoundSays>; 2],
}

/// What one of the two has of a clue at a place.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FoundSays {
    /// Id of the sighting.
    pub sighting: String,
    /// `seen`, `none` or `not_reached`.
    pub state: &'static str,
    /// Grade, measurement and marks, in words.
    pub detail: String,
}

/// A conclusion of both.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PairSays {
    /// Id of the conclusion.
    pub conclusion: String,
    /// Its title, with its place.
    pub title: String,
    /// Its chance in each, 0–1.
    pub chance: [Option<f64>; 2],
    /// Its support in each.
    pub support: [&'static str; 2],
    /// Its action in each.
    pub action: [&'static str; 2],
    /// From the one to the other, in decibans of its odds.
    pub decibans: Option<f64>,
    /// What each difference did, taken over in turn; they add up.
    pub parts: Vec<PartSays>,
}

/// What one difference did to a conclusion.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PartSays {
    /// `sign`, `facts`, `places` or `rest`.
    pub what: &'static str,
    /// Id of the clue of a sign.
    pub clue: Option<String>,
    /// Id of the place of a sign.
    pub place: Option<String>,
    /// Decibans.
    pub decibans: Option<f64>,
}

/// A comparison as values.
///
/// # Errors
/// A sentence that makes a determination.
pub fn compare_page(pack: &Pack, it: &Comparison) -> Result<ComparePage, ReportError> {
    let telling = Telling {
        pack,
        it,
        signs: signs(pack, it),
    };
    let [one, other] = it.outcomes.each_ref();
    let holds = |outcome: &wythe_engine::Outcome, at| {
        let mut all = outcome.contexts.iter();
        all.find(|(context, _)| *context == at).map(|(_, holds)| *holds)
    };
    let facts = (0..pack.contexts.len()).map(wythe_pack::ContextIx).filter_map(|at| {
        let (first, second) = (holds(one, at), holds(other, at));
        (first != second).then(|| (pack[at].id.clone(), first, second))
    });
    let pairs = telling.pairs().into_iter().filter_map(|(id, one, other)| {
        let (one, other) = (one?, other?);
        (one.chance != other.chance).then(|| pair(&telling, id, one, other))
    });
    let page = ComparePage {
        format: crate::page::FORMAT,
        names: it.names.clone(),
        actions: [one.action.name(), other.action.name()],
        signs: telling
            .signs
            .iter()
            .map(|sign| SignSays {
                clue: sign.clue.clone(),
                place: sign.place.clone(),
                stand: match stand(sign) {
                    Stand::Same => "same",
                    Stand::Detail => "detail",
                    Stand::Grade => "grade",
                    Stand::Contrary => "contrary",
                    Stand::OneLooked => "one_looked",
                    Stand::Neither => "neither",
                },
                found: sign.found.each_ref().map(|found| found.as_ref().map(found_says)),
            })
            .collect(),
        facts: facts.collect(),
        conclusions: pairs.collect(),
        cautions: pack.wording.cautions.clone(),
    };
    asked::guarded(&page)?;
    Ok(page)
}

fn found_says(found: &Found) -> FoundSays {
    FoundSays {
        sighting: found.id.clone(),
        state: match found.state {
            State::Seen => "seen",
            State::NoneThere => "none",
            State::Blocked => "not_reached",
        },
        detail: found.detail.clone(),
    }
}

fn pair(telling: &Telling<'_>, id: String, one: &Conclusion, other: &Conclusion) -> PairSays {
    let it = telling.it;
    let mut before = decibans(one.chance);
    let mut parts = Vec::new();
    for (number, leg) in it.legs.iter().enumerate() {
        let last = number + 1 == it.legs.len();
        let case = if last { &it.cases[1] } else { &it.cases[0] };
        let found = leg.outcome.conclusions.iter().find(|now| {
            if last {
                key(telling.pack, case, now.about) == id
            } else {
                now.about == one.about
            }
        });
        let Some(now) = found.map(|now| decibans(now.chance)) else {
            continue;
        };
        let (what, clue, place) = match &leg.what {
            Difference::Places => ("places", None, None),
            Difference::Facts => ("facts", None, None),
            Difference::Rest => ("rest", None, None),
            Difference::Sign { clue, place } => ("sign", Some(clue.clone()), Some(place.clone())),
        };
        if now != before {
            parts.push(PartSays {
                what,
                clue,
                place,
                decibans: rounded(now - before),
            });
        }
        before = now;
    }
    PairSays {
        title: conclusions::title_and_place(telling.pack, &it.cases[0], one.about),
        conclusion: id,
        chance: [rounded(one.chance), rounded(other.chance)],
        support: [one.support.name(), other.support.name()],
        action: [one.action.name(), other.action.name()],
        decibans: rounded(decibans(other.chance) - decibans(one.chance)),
        parts,
    }
}

impl ComparePage {
    /// As JSON.
    ///
    /// # Errors
    /// A sentence that makes a determination.
    pub fn json(&self) -> Result<String, ReportError> {
        asked::json(self)
    }
}
