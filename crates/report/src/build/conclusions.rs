//! Conclusions as the page has them.

use wythe_case::Case;
use wythe_engine::{About, Conclusion, Decided, Outcome, Reading, Step, StepKind};
use wythe_pack::{Pack, Rival, SourceIx, Support, Zone};

use super::{bearing, sightings, sources};
use crate::number::{beside_words, odds_in_words, rounded, short_chance};
use crate::page;
use crate::phrase::{at_places, capital, sentence, with_place};

/// A step of less than this many decibans moved nothing and is left out.
const UNMOVED: f64 = 1e-6;

/// Every conclusion of an outcome, in its order.
pub(crate) fn conclusions(pack: &Pack, case: &Case, outcome: &Outcome) -> Vec<page::Conclusion> {
    outcome
        .conclusions
        .iter()
        .map(|one| conclusion(pack, case, outcome, one))
        .collect()
}

fn conclusion(pack: &Pack, case: &Case, outcome: &Outcome, one: &Conclusion) -> page::Conclusion {
    let (kind, rule, families, ordinary, from): (_, _, _, _, &[SourceIx]) = match one.about {
        About::Mechanism { mechanism, .. } => {
            let it = &pack[mechanism];
            let families = it.families.iter().map(|family| pack[*family].id.clone()).collect();
            ("mechanism", it.id.clone(), families, it.ordinary, &it.sources)
        }
        About::Family(family) => {
            let members = pack[family]
                .members
                .iter()
                .map(|member| pack[*member].id.clone())
                .collect();
            ("family", pack[family].id.clone(), members, false, &[])
        }
    };
    let wants_look = one.wants_look.map(|(clue, at)| bearing::look(case, &pack[clue], &[at]));
    page::Conclusion {
        id: id(pack, case, one.about),
        kind,
        rule,
        title: title(pack, one.about).into(),
        place: place(one.about)
            .and_then(|at| case.places.get(at))
            .map(|place| place.id.clone()),
        families,
        ordinary,
        base: rounded(one.base),
        prior: rounded(one.prior),
        chance: rounded(one.chance),
        range: [rounded(one.range.0), rounded(one.range.1)],
        words: odds_in_words(one.chance),
        weight: rounded(one.weight),
        support: one.support.name(),
        action: one.action.name(),
        decided: match one.decided {
            Decided::Support => "support",
            Decided::CostRatio => "cost_ratio",
            Decided::WantsLook => "wants_look",
            Decided::NoLookLeft => "no_look_left",
        },
        wants_look,
        coverage: rounded(one.coverage),
        steps: one
            .steps
            .iter()
            .filter(|step| step.weight.abs() > UNMOVED)
            .map(|step| self::step(pack, case, outcome, step))
            .collect(),
        corroboration: page::Corroboration {
            groups: one.corroboration.groups,
            zones: one.corroboration.zones.iter().map(|zone: &Zone| zone.name()).collect(),
            enough: one.corroboration.enough,
        },
        held_back: held_back(pack, case, one),
        sources: sources(pack, from),
    }
}

fn step(pack: &Pack, case: &Case, outcome: &Outcome, step: &Step) -> page::Step {
    let readings: Vec<&Reading> = step
        .readings
        .iter()
        .filter_map(|at| outcome.readings.get(*at))
        .collect();
    page::Step {
        kind: match step.kind {
            StepKind::Context => "context",
            StepKind::NoneThere => "none_there",
            StepKind::Seen => "seen",
        },
        says: step_says(pack, case, step.kind, &readings),
        sightings: readings.iter().map(|reading| reading.sighting.clone()).collect(),
        weight: rounded(step.weight),
        after: rounded(step.after),
    }
}

/// A step in words.
pub(crate) fn step_says(pack: &Pack, case: &Case, kind: StepKind, readings: &[&Reading]) -> String {
    match (kind, readings.len()) {
        (StepKind::Context, _) => "with the facts of this house".to_string(),
        (StepKind::NoneThere, 1) => "with 1 sign looked for and not there".into(),
        (StepKind::NoneThere, many) => format!("with {many} signs looked for and not there"),
        (StepKind::Seen, _) => format!("with {}", sightings::in_one_phrase(pack, case, readings)),
    }
}

fn held_back(pack: &Pack, case: &Case, one: &Conclusion) -> Option<page::HeldBack> {
    let held = one.held_back.as_ref()?;
    let About::Mechanism { mechanism, at } = one.about else {
        return None;
    };
    let harm = pack[mechanism].harm_if_wrong.as_ref()?;
    let (rival, rival_title) = match held.rival {
        Rival::Family(family) => (&pack[family].id, &pack[family].title),
        Rival::Mechanism(mechanism) => (&pack[mechanism].id, &pack[mechanism].title),
    };
    let clue = &pack[held.check_first];
    let here = case.places.get(at).is_some_and(|place| place.kind == pack[clue.at].id);
    Some(page::HeldBack {
        what: harm.what.clone(),
        hides: harm.hides.clone(),
        rival: rival.clone(),
        rival_title: rival_title.clone(),
        chance: rounded(held.chance),
        check_first: bearing::look(case, clue, if here { std::slice::from_ref(&at) } else { &[] }),
    })
}

/// The id of a conclusion: `corner_drop@back-left`, or a family's own.
pub(crate) fn id(pack: &Pack, case: &Case, about: About) -> String {
    match about {
        About::Mechanism { mechanism, at } => {
            format!(
                "{}@{}",
                pack[mechanism].id,
                case.places.get(at).map_or("", |place| &place.id)
            )
        }
        About::Family(family) => pack[family].id.clone(),
    }
}

/// The title of what a conclusion is about.
pub(crate) fn title(pack: &Pack, about: About) -> &str {
    match about {
        About::Mechanism { mechanism, .. } => &pack[mechanism].title,
        About::Family(family) => &pack[family].title,
    }
}

/// The title with its place: `corner pop at the south-west corner`.
pub(crate) fn title_and_place(pack: &Pack, case: &Case, about: About) -> String {
    match place(about) {
        Some(at) => with_place(title(pack, about), case, &[at]),
        None => title(pack, about).into(),
    }
}

/// The place of a mechanism.
pub(crate) fn place(about: About) -> Option<usize> {
    match about {
        About::Mechanism { at, .. } => Some(at),
        About::Family(_) => None,
    }
}

/// Whether the clues taken together lowered it, and left it likely enough to have a word of support.
pub(crate) fn lowered(one: &Conclusion) -> bool {
    one.chance < one.prior && one.support >= Support::Slight
}

/// How firm, with its number: `fair support (about 6 in 10; 0.61)`. What the clues lowered has no support from them.
pub(crate) fn firm(pack: &Pack, one: &Conclusion) -> String {
    firm_of(pack, one.support, one.prior, one.chance)
}

/// The same from its parts.
pub(crate) fn firm_of(pack: &Pack, support: Support, prior: f64, chance: f64) -> String {
    let words = if support >= Support::Slight && chance < prior {
        less_likely(chance)
    } else {
        support_words(support)
    };
    in_numbers(pack, words, chance)
}

/// Words for where something stands, with its chance.
pub(crate) fn in_numbers(pack: &Pack, words: &str, chance: f64) -> String {
    let number = beside_words(chance, &pack.policy.bounds);
    format!("{words} ({}; {number})", odds_in_words(chance))
}

/// What is said of a chance that the clues lowered.
pub(crate) fn less_likely(chance: f64) -> &'static str {
    if chance >= 0.5 {
        "less likely than before anything was seen, still likelier than not"
    } else {
        "less likely than before anything was seen, still possible"
    }
}

/// Support in words.
pub(crate) fn support_words(support: Support) -> &'static str {
    match support {
        Support::CannotTell => "cannot tell",
        Support::SpokenAgainst => "spoken against",
        Support::NotMoved => "about where it began",
        Support::Slight => "slight support",
        Support::Some => "some support",
        Support::Fair => "fair support",
        Support::Strong => "strong support",
    }
}

/// The places that a conclusion's sentence names, in the order of the case: where signs of it were seen, or, when it is
/// spoken against, where they were looked for and not there. With the number of signs.
pub(crate) fn places_of_signs(pack: &Pack, case: &Case, outcome: &Outcome, one: &Conclusion) -> (Vec<usize>, usize) {
    let kind = if one.support == Support::SpokenAgainst {
        StepKind::NoneThere
    } else {
        StepKind::Seen
    };
    let bears = bearing::of(pack, case, outcome, one.about);
    let signs: Vec<&Reading> = one
        .steps
        .iter()
        .filter(|step| step.kind == kind)
        .flat_map(|step| &step.readings)
        .filter_map(|at| outcome.readings.get(*at))
        .filter(|reading| bears.contains_key(&(reading.clue, reading.at)))
        .collect();
    let mut places: Vec<usize> = signs.iter().map(|reading| reading.at).collect();
    places.sort_unstable();
    places.dedup();
    (places, signs.len())
}

/// The pack's sentence for a conclusion's support, filled in. `same` says that its signs stand where those of the
/// sentence before it stood.
pub(crate) fn says(pack: &Pack, case: &Case, outcome: &Outcome, one: &Conclusion, same: bool) -> String {
    let picture = match one.about {
        About::Mechanism { mechanism, .. } => pack[mechanism].picture.as_str(),
        About::Family(_) => "",
    };
    if lowered(one) {
        let before = format!("{} ({})", odds_in_words(one.prior), short_chance(one.prior));
        return sentence(&format!(
            "{}: the clues taken together lowered it, from {before} before any sighting. What is left of it is how common it is on houses like this",
            capital(&title_and_place(pack, case, one.about))
        ));
    }
    let (places, signs) = places_of_signs(pack, case, outcome, one);
    // One sign by itself does not agree with others, however much it says.
    let support = if one.support == Support::Strong && signs < 2 {
        Support::Fair
    } else {
        one.support
    };
    let own = place(one.about).is_some_and(|at| places == [at]);
    let places = if same || own {
        "there".into()
    } else {
        at_places(case, &places)
    };
    let blank = |name: &str, with: &str, text: String| {
        if with.is_empty() {
            // A sentence that ends in it goes too.
            let end = text.find(&format!(": {name}."));
            let start = end.and_then(|end| text[..end].rfind(". "));
            let text = match (start, end) {
                (Some(start), Some(end)) => [&text[..start], &text[end + 2 + name.len()..]].concat(),
                _ => text,
            };
            text.replace(&format!(" ({name})"), "").replace(&format!(" {name}"), "")
        } else {
            text.replace(name, with)
        }
    };
    let text = pack.wording.support(support).to_string();
    let text = blank("{places}", &places, blank("{picture}", picture, text));
    sentence(&text.replace("{title}", &capital(&title_and_place(pack, case, one.about))))
}
