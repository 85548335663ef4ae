//! The trainer's walk: a case weighed anew after each sighting, in the order that they were made; and as if a sighting
//! had not been made.

use std::collections::BTreeMap;

use wythe_case::{Case, Locus, Looked, Pass, Seen, Sighting, Sure};
use wythe_pack::{ClueIx, Node, Pack};

use crate::paths::{Hop, Reached, reached};
use crate::{About, Outcome, WeighError, decibans, weigh, with_computed};

/// A case, one sighting at a time.
#[derive(Clone, Debug, PartialEq)]
pub struct Walk {
    /// Before any sighting: the pack and the facts of the house.
    pub start: Outcome,
    /// After each sighting, in the order that they were made.
    pub steps: Vec<WalkStep>,
}

/// What one sighting did.
#[derive(Clone, Debug, PartialEq)]
pub struct WalkStep {
    /// Id of the sighting.
    pub sighting: String,
    /// Index of its pass in the case.
    pub pass: usize,
    /// The outcome with it and all before it.
    pub outcome: Outcome,
    /// The conclusions that it moved by a deciban or more, those that moved most first.
    pub moved: Vec<Moved>,
}

/// A conclusion that one sighting moved.
#[derive(Clone, Debug, PartialEq)]
pub struct Moved {
    /// The conclusion.
    pub about: About,
    /// The chance before and after, 0–1.
    pub chance: (f64, f64),
    /// Decibans: ten times the decimal logarithm of the factor on its odds.
    pub weight: f64,
    /// What carried it there.
    pub by: Carried,
}

/// What carried a sighting's weight to a conclusion.
#[derive(Clone, Debug, PartialEq)]
pub enum Carried {
    /// The pack's rules, from the mechanism down to the sighting's clue.
    Chain(Vec<Hop>),
    /// A rival that both could leave the same signs: what made the rival likelier left this less to account for, and
    /// the other way round.
    Rival {
        /// The rival.
        rival: About,
        /// Index into [`Outcome::readings`]: the most telling sign that both could leave.
        over: usize,
    },
    /// No single chain or rival: a pattern of several places, or many small ways together.
    Together,
}

/// Movements smaller than this, in decibans, are not told.
const SOME: f64 = 1.0;

type Reaches = BTreeMap<About, BTreeMap<(ClueIx, usize), Reached>>;

/// Weighs a case anew after each of its sightings; those computed from its sheets are among them.
///
/// # Errors
/// As [`weigh`].
pub fn walk(pack: &Pack, case: &Case) -> Result<Walk, WeighError> {
    let case = &*with_computed(pack, case);
    let start = weigh(pack, &case.first(0))?;
    let bound = crate::bind::bind(pack, case).map_err(WeighError::Mismatch)?;
    let mut reaches = Reaches::new();
    let mut steps: Vec<WalkStep> = Vec::with_capacity(case.sightings());
    for (at, pass) in case.passes.iter().enumerate() {
        for sighting in &pass.sightings {
            let outcome = weigh(pack, &case.first(steps.len().saturating_add(1)))?;
            let before = steps.last().map_or(&start, |step| &step.outcome);
            let mut moved = movements(before, &outcome);
            for one in &moved {
                if let About::Mechanism { mechanism, at } = one.about {
                    reaches
                        .entry(one.about)
                        .or_insert_with(|| reached(pack, case, &bound, (Node::Mechanism(mechanism), at)));
                }
            }
            let key = pack.clue(&sighting.clue).map(|clue| (clue, sighting.at));
            let carried: Vec<Carried> = moved
                .iter()
                .map(|one| carried(pack, one, &moved, &outcome, &reaches, key))
                .collect();
            for (one, by) in moved.iter_mut().zip(carried) {
                one.by = by;
            }
            steps.push(WalkStep {
                sighting: sighting.id.clone(),
                pass: at,
                outcome,
                moved,
            });
        }
    }
    Ok(Walk { start, steps })
}

fn movements(before: &Outcome, after: &Outcome) -> Vec<Moved> {
    let earlier: BTreeMap<About, f64> = before.conclusions.iter().map(|one| (one.about, one.chance)).collect();
    let mut moved: Vec<Moved> = after
        .conclusions
        .iter()
        .filter_map(|one| {
            let was = *earlier.get(&one.about)?;
            let weight = decibans(one.chance) - decibans(was);
            (weight.abs() >= SOME).then_some(Moved {
                about: one.about,
                chance: (was, one.chance),
                weight,
                by: Carried::Together,
            })
        })
        .collect();
    moved.sort_by(|a, b| b.weight.abs().total_cmp(&a.weight.abs()).then(a.about.cmp(&b.about)));
    moved
}

/// How a sighting of the clue at the place came to move `one`.
fn carried(
    pack: &Pack,
    one: &Moved,
    moved: &[Moved],
    outcome: &Outcome,
    reaches: &Reaches,
    key: Option<(ClueIx, usize)>,
) -> Carried {
    // A family moves by its members: the one that moved most the same way.
    if let About::Family(family) = one.about {
        let of_it = |other: &&Moved| matches!(other.about, About::Mechanism { mechanism, .. } if pack[family].members.contains(&mechanism));
        let same_way = |other: &&Moved| (other.weight > 0.0) == (one.weight > 0.0);
        return match moved.iter().filter(of_it).find(same_way) {
            Some(member) => carried(pack, member, moved, outcome, reaches, key),
            None => Carried::Together,
        };
    }
    let Some(own) = reaches.get(&one.about) else {
        return Carried::Together;
    };
    let shows = key.and_then(|key| outcome.readings.iter().find(|other| (other.clue, other.at) == key));
    let shows = shows.is_some_and(|reading| reading.shows());
    // A sign there speaks for what could leave it; none there, against. Else a rival did it.
    if let Some(way) = key.and_then(|key| own.get(&key))
        && (one.weight > 0.0) == shows
    {
        return Carried::Chain(way.path.clone());
    }
    for rival in moved.iter().filter(|other| (other.weight > 0.0) != (one.weight > 0.0)) {
        let Some(theirs) = reaches.get(&rival.about) else {
            continue;
        };
        let shared = |at: &usize| {
            let reading = outcome.readings.get(*at)?;
            let key = (reading.clue, reading.at);
            let both = own.get(&key)?.chance * theirs.get(&key)?.chance;
            reading.shows().then_some((*at, both))
        };
        let over = (0..outcome.readings.len())
            .filter_map(|at| shared(&at))
            .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)));
        if let Some((over, _)) = over {
            return Carried::Rival {
                rival: rival.about,
                over,
            };
        }
    }
    Carried::Together
}

/// The outcome as if these sightings' clues had never been looked for at their places.
///
/// `sightings` are ids of the case; an id that it does not have changes nothing.
///
/// # Errors
/// As [`weigh`].
pub fn without(pack: &Pack, case: &Case, sightings: &[&str]) -> Result<Outcome, WeighError> {
    let case = &*with_computed(pack, case);
    let mut less = case.clone();
    for sighting in case.passes.iter().flat_map(|pass| &pass.sightings) {
        if sightings.contains(&sighting.id.as_str()) {
            less = less.without(&sighting.clue, sighting.at);
        }
    }
    weigh(pack, &less)
}

/// The outcome as if that clue had been looked at there, on one pass more, and that grade found.
///
/// # Errors
/// As [`weigh`].
pub fn found(pack: &Pack, case: &Case, clue: ClueIx, at: usize, grade: usize) -> Result<Outcome, WeighError> {
    let clue = &pack[clue];
    let seen = match clue.grades.get(grade) {
        Some(grade) if clue.grade(&grade.id) > Some(0) => Seen::Grade(grade.id.clone()),
        _ => Seen::NoneThere { looked: Looked::All },
    };
    let sighting = Sighting {
        id: "supposed".into(),
        clue: clue.id.clone(),
        at,
        seen,
        marks: Vec::new(),
        sure: Sure::Sure,
        note: None,
        photos: Vec::new(),
        corrects: None,
        computed: None,
        locus: Locus::default(),
    };
    let mut more = case.clone();
    more.passes.push(Pass {
        id: "supposed".into(),
        title: None,
        date: None,
        by: None,
        sightings: vec![sighting],
        locus: Locus::default(),
    });
    weigh(pack, &more)
}

#[cfg(test)]
mod tests;
