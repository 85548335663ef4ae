//! Matters to act on: conclusions gathered by family, or by mechanism where the family does not bind them.

use std::collections::BTreeSet;

use wythe_case::Case;
use wythe_engine::{About, Conclusion, Outcome, Reading, StepKind, Used};
use wythe_pack::{Action, ClueIx, FamilyIx, MechanismIx, Pack, Support};

use super::bearing::{self, Sign};
use super::{conclusions, todo};
use crate::page::{Matter, Meaning};
use crate::phrase::{capital, with_place};
use crate::units::with_both_units;

/// Most meanings said in full in one matter.
const MOST_MEANINGS: usize = 4;
/// Most kinds of sign not yet looked for, named in one matter.
const MOST_LOOKS: usize = 4;

/// What binds conclusions into one matter.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Bond {
    /// A family that asks for something by itself.
    Family(FamilyIx),
    /// Members of one family at one place.
    FamilyAt(FamilyIx, usize),
    /// One mechanism, at one place or at several.
    Mechanism(MechanismIx),
}

/// The conclusions of one matter, the leading one first.
struct Group<'o> {
    bond: Bond,
    members: Vec<&'o Conclusion>,
}

/// Every matter: highest action first, then highest chance.
pub(crate) fn matters(pack: &Pack, case: &Case, outcome: &Outcome) -> Vec<Matter> {
    let mut groups = groups(pack, outcome);
    for group in &mut groups {
        // Stable, so that ties keep the order of the outcome; a family leads its members.
        group.members.sort_by(|a, b| {
            let family = |one: &Conclusion| matches!(one.about, About::Family(_));
            family(b)
                .cmp(&family(a))
                .then(b.action.cmp(&a.action))
                .then(b.chance.total_cmp(&a.chance))
        });
    }
    let rank = |group: &Group<'_>| {
        let action = group
            .members
            .iter()
            .map(|one| one.action)
            .max()
            .unwrap_or(Action::Record);
        (action, group.members.first().map_or(0.0, |lead| lead.chance))
    };
    groups.sort_by(|a, b| {
        let (a, b) = (rank(a), rank(b));
        b.0.cmp(&a.0).then(b.1.total_cmp(&a.1))
    });
    groups.iter().map(|group| matter(pack, case, outcome, group)).collect()
}

fn groups<'o>(pack: &Pack, outcome: &'o Outcome) -> Vec<Group<'o>> {
    let acting: Vec<&Conclusion> = outcome
        .conclusions
        .iter()
        .filter(|one| one.action > Action::Record)
        .collect();
    let mut groups: Vec<Group<'o>> = Vec::new();
    let mut put = |bond: Bond, one: &'o Conclusion| match groups.iter_mut().find(|group| group.bond == bond) {
        Some(group) => group.members.push(one),
        None => groups.push(Group {
            bond,
            members: vec![one],
        }),
    };
    for one in &outcome.conclusions {
        let acts = one.action > Action::Record;
        match one.about {
            About::Family(family) if acts => put(Bond::Family(family), one),
            About::Family(_) => {}
            About::Mechanism { mechanism, at } => {
                let families = &pack[mechanism].families;
                let leads = |family: &FamilyIx| acting.iter().any(|other| other.about == About::Family(*family));
                let beside = |family: &FamilyIx| {
                    acting.iter().any(|other| {
                        matches!(other.about, About::Mechanism { mechanism: next, at: there }
                        if next != mechanism && there == at && pack[next].families.contains(family))
                    })
                };
                if let Some(family) = families.iter().find(|family| leads(family)) {
                    if acts || one.support >= Support::Some {
                        put(Bond::Family(*family), one);
                    }
                } else if let Some(family) = families.iter().find(|family| beside(family)).filter(|_| acts) {
                    put(Bond::FamilyAt(*family, at), one);
                } else if acts {
                    put(Bond::Mechanism(mechanism), one);
                }
            }
        }
    }
    groups
}

fn matter(pack: &Pack, case: &Case, outcome: &Outcome, group: &Group<'_>) -> Matter {
    let mut signs: BTreeSet<Sign> = BTreeSet::new();
    let mut wanted = std::collections::BTreeMap::new();
    for one in &group.members {
        for (sign, strength) in bearing::of(pack, case, outcome, one.about) {
            signs.insert(sign);
            // The leading conclusion says what is worth a look; a family says it through its members.
            if matches!(one.about, About::Mechanism { .. }) {
                let known = wanted.entry(sign).or_insert(0.0_f64);
                *known = known.max(strength * one.chance);
            }
        }
    }
    let moved_by: BTreeSet<usize> = group
        .members
        .iter()
        .flat_map(|one| &one.steps)
        .filter(|step| step.kind == StepKind::Seen)
        .flat_map(|step| step.readings.iter().copied())
        .collect();
    let changers = of_members(pack, case, outcome, &group.members);
    let mut matter = Matter {
        title: title(pack, case, group),
        places: places(group)
            .iter()
            .filter_map(|at| case.places.get(*at))
            .map(|place| place.id.clone())
            .collect(),
        action: group
            .members
            .iter()
            .map(|one| one.action)
            .max()
            .unwrap_or(Action::Record)
            .name(),
        conclusions: group
            .members
            .iter()
            .map(|one| conclusions::id(pack, case, one.about))
            .collect(),
        seen: Vec::new(),
        not_there: Vec::new(),
        not_reached: Vec::new(),
        not_looked: bearing::not_looked(pack, case, outcome, &wanted, MOST_LOOKS),
        means: means(pack, case, outcome, group),
        todo: todo::todo(pack, case, &group.members, matches!(group.bond, Bond::Family(_))),
        mind_changers: changers.open,
        found_otherwise: changers.otherwise,
        coverage: coverage(group.members.first().map_or(0.0, |lead| lead.coverage)),
    };
    for (at, reading) in outcome.readings.iter().enumerate() {
        if !signs.contains(&(reading.clue, reading.at)) {
            continue;
        }
        let list = match reading.used {
            Used::NotReached | Used::Hidden { .. } => &mut matter.not_reached,
            Used::Weighed if reading.shows() && moved_by.contains(&at) => &mut matter.seen,
            Used::SetAside { .. } if reading.shows() => &mut matter.seen,
            Used::Weighed | Used::SetAside { .. } if !reading.shows() => &mut matter.not_there,
            _ => continue,
        };
        list.push(reading.sighting.clone());
    }
    matter
}

fn title(pack: &Pack, case: &Case, group: &Group<'_>) -> String {
    let at = places(group);
    capital(&match group.bond {
        Bond::Family(family) => pack[family].title.clone(),
        Bond::FamilyAt(family, _) => with_place(&pack[family].title, case, &at),
        Bond::Mechanism(mechanism) => with_place(&pack[mechanism].title, case, &at),
    })
}

fn places(group: &Group<'_>) -> Vec<usize> {
    let mut places: Vec<usize> = Vec::new();
    for at in group.members.iter().filter_map(|one| conclusions::place(one.about)) {
        if !places.contains(&at) {
            places.push(at);
        }
    }
    places
}

fn means(pack: &Pack, case: &Case, outcome: &Outcome, group: &Group<'_>) -> Vec<Meaning> {
    let mut before: Option<Vec<usize>> = None;
    let meaning = |one: &&Conclusion| {
        let (places, _) = conclusions::places_of_signs(pack, case, outcome, one);
        let same = before.as_ref() == Some(&places);
        before = Some(places);
        Meaning {
            conclusion: conclusions::id(pack, case, one.about),
            support: conclusions::firm(pack, one),
            says: conclusions::says(pack, case, outcome, one, same),
        }
    };
    group.members.iter().take(MOST_MEANINGS).map(meaning).collect()
}

/// How what a look found otherwise would have to be found, at the head of a line.
pub(crate) const SECOND_LOOK: &str = "If a second look found it, against what was noted";

/// What would speak against a conclusion by the pack.
#[derive(Default)]
pub(crate) struct Changers {
    /// What can still be found.
    pub open: Vec<String>,
    /// What a look of the visit has found otherwise: it would have to be read anew.
    pub otherwise: Vec<String>,
}

/// What would change a matter, from the members said in full; no sentence twice.
fn of_members(pack: &Pack, case: &Case, outcome: &Outcome, members: &[&Conclusion]) -> Changers {
    let mut said = Changers::default();
    for one in members.iter().take(MOST_MEANINGS) {
        let all = changers(pack, case, outcome, one.about);
        for (said, all) in [(&mut said.open, all.open), (&mut said.otherwise, all.otherwise)] {
            for says in all {
                if !said.contains(&says) {
                    said.push(says);
                }
            }
        }
    }
    said.open.truncate(MOST_MEANINGS);
    said.otherwise.truncate(MOST_MEANINGS);
    said
}

/// What would speak against one conclusion by the pack. Left out is what a look of the visit has found so already: it is
/// weighed, and would change nothing.
pub(crate) fn changers(pack: &Pack, case: &Case, outcome: &Outcome, about: About) -> Changers {
    let mut said = Changers::default();
    let About::Mechanism { mechanism, .. } = about else {
        return said;
    };
    let bears = bearing::of(pack, case, outcome, about);
    let found = |clue: ClueIx, at: usize| {
        let mut readings = outcome.readings.iter();
        let looked = |used: &Used| matches!(used, Used::Weighed | Used::SetAside { .. });
        readings
            .find(|reading| (reading.clue, reading.at) == (clue, at) && looked(&reading.used))
            .map(Reading::shows)
    };
    for changer in &pack[mechanism].mind_changers {
        let says = with_both_units(&changer.says);
        let Some((clue, shows)) = changer.clue else {
            said.open.push(says);
            continue;
        };
        let places = bears.keys().filter(|(other, _)| *other == clue);
        let found: Vec<Option<bool>> = places.map(|(_, at)| found(clue, *at)).collect();
        if found.contains(&Some(shows)) {
            continue;
        }
        if !found.is_empty() && found.iter().all(Option::is_some) {
            said.otherwise.push(says);
        } else {
            said.open.push(says);
        }
    }
    said
}

/// How much was looked at, in words.
fn coverage(share: f64) -> String {
    let words = if share > 0.995 {
        "all".into()
    } else if share >= 0.95 {
        "nearly all".into()
    } else if share < 0.05 {
        "hardly any".into()
    } else if (0.45..0.55).contains(&share) {
        "about half".into()
    } else {
        format!("about {:.0} in 10", (share * 10.0).round().max(1.0))
    };
    format!("Of the signs that would tell most, {words} were looked for.")
}
