//! A case read in the light of a pack: names resolved, sightings turned into likelihoods over grades.

use wythe_case::{Case, Looked, Seen, Sighting, Standing, Sure};
use wythe_measure::class_masses;
use wythe_pack::{Clue, ClueIx, ContextIx, KindIx, Pack, Pattern, PatternKind, SuppressedBy};
use wythe_text::{Problems, nearest};

use crate::{Reading, Used};

/// A case bound to a pack.
#[derive(Clone, Debug)]
pub(crate) struct Bound {
    /// Kind of each place of the case.
    pub kinds: Vec<KindIx>,
    /// Per context of the pack: whether it holds, where the case says.
    pub contexts: Vec<Option<bool>>,
    /// How many places of each kind the house has.
    pub how_many: Vec<f64>,
    /// The sightings that stand, then derived clues.
    pub readings: Vec<Reading>,
}

impl Bound {
    /// What the case says of a context.
    pub fn context(&self, at: ContextIx) -> Option<bool> {
        self.contexts.get(at.0).copied().flatten()
    }

    /// How many places of a kind the house has.
    pub fn how_many(&self, kind: KindIx) -> f64 {
        self.how_many.get(kind.0).copied().unwrap_or(1.0)
    }

    /// The places of a kind, in the order of the case.
    pub fn places(&self, kind: KindIx) -> impl Iterator<Item = usize> + '_ {
        self.kinds.iter().enumerate().filter(move |(_, of)| **of == kind).map(|(at, _)| at)
    }
}

/// Resolves every name of the case; all problems at once.
pub(crate) fn bind(pack: &Pack, case: &Case) -> Result<Bound, Problems> {
    let mut out = Problems::default();
    let mut kinds = Vec::with_capacity(case.places.len());
    for place in &case.places {
        let found = pack.kind(&place.kind);
        if found.is_none() {
            let names = pack.kinds.iter().map(|kind| kind.id.as_str());
            out.push(case.problem_in(&place.locus, &["kind"], format!("this pack has no kind of place `{}`", place.kind), near(&place.kind, names)));
        }
        kinds.push(found.unwrap_or(KindIx(0)));
    }
    let mut contexts = vec![None; pack.contexts.len()];
    for fact in &case.contexts {
        let slot = pack.context(&fact.id).and_then(|at| contexts.get_mut(at.0));
        match slot {
            Some(slot) => *slot = Some(fact.holds),
            None => {
                let names = pack.contexts.iter().map(|context| context.id.as_str());
                out.push(case.problem_at_name(&fact.locus, format!("this pack has no context `{}`", fact.id), near(&fact.id, names)));
            }
        }
    }
    let mut how_many: Vec<f64> = pack.kinds.iter().map(|kind| kind.usual).collect();
    for (kind, count) in &case.how_many {
        let slot = pack.kind(kind).and_then(|at| how_many.get_mut(at.0));
        match slot {
            Some(slot) => *slot = count.max(1.0),
            None => {
                let names = pack.kinds.iter().map(|kind| kind.id.as_str());
                out.push(case.problem_in(&Default::default(), &["how_many", kind], format!("this pack has no kind of place `{kind}`"), near(kind, names)));
            }
        }
    }
    for sighting in case.passes.iter().flat_map(|pass| &pass.sightings) {
        check(pack, case, &kinds, sighting, &mut out);
    }
    let mut bound = Bound { kinds, contexts, how_many, readings: Vec::new() };
    if !out.is_empty() {
        return Err(out);
    }
    bound.readings = case.standing().iter().filter_map(|standing| reading(pack, standing)).collect();
    suppress(pack, case, &mut bound);
    derive(pack, case, &mut bound);
    Ok(bound)
}

/// Most names listed in a message.
const LISTED: usize = 20;

/// The nearest name, else the names there are, when they are few.
fn near<'a>(word: &str, names: impl Iterator<Item = &'a str>) -> Option<String> {
    let names: Vec<&str> = names.collect();
    match nearest(word, names.iter().copied()) {
        Some(near) => Some(format!("did you mean `{near}`?")),
        None if names.len() <= LISTED => Some(format!("the names are {}", names.join(", "))),
        None => Some("leave it out, or add it to the pack".into()),
    }
}

fn check(pack: &Pack, case: &Case, kinds: &[KindIx], sighting: &Sighting, out: &mut Problems) {
    let Some(at) = pack.clue(&sighting.clue) else {
        let names = pack.clues.iter().map(|clue| clue.id.as_str());
        out.push(case.problem_in(&sighting.locus, &["clue"], format!("this pack has no clue `{}`", sighting.clue), near(&sighting.clue, names)));
        return;
    };
    let clue = &pack[at];
    if let Some(pattern) = clue.pattern {
        out.push(case.problem_in(&sighting.locus, &["clue"], format!("`{}` is derived, not seen", clue.id), Some(format!("record `{}` at each place", pack[pattern.of].id))));
    }
    if kinds.get(sighting.at) != Some(&clue.at) {
        let kind = case.places.get(sighting.at).map_or("", |place| place.kind.as_str());
        out.push(case.problem_in(
            &sighting.locus,
            &["at"],
            format!("`{}` is looked for at a place of kind `{}`, and this is of kind `{kind}`", clue.id, pack[clue.at].id),
            Some(format!("name a place of kind `{}`", pack[clue.at].id)),
        ));
    }
    match &sighting.seen {
        Seen::Grade(grade) if clue.grade(grade).is_none() => {
            let names = clue.grades.iter().map(|grade| grade.id.as_str());
            out.push(case.problem_in(&sighting.locus, &["seen"], format!("`{}` has no grade `{grade}`", clue.id), near(grade, names)));
        }
        Seen::Measured { reading, .. } => match &clue.measured_by {
            None => {
                let list: Vec<&str> = clue.grades.iter().map(|grade| grade.id.as_str()).collect();
                out.push(case.problem_in(&sighting.locus, &["measured"], format!("`{}` is graded by eye", clue.id), Some(format!("use `seen:` with one of {}", list.join(", ")))));
            }
            Some(by) if by.quantity != reading.quantity => {
                let classes: Vec<&str> = clue.grades.iter().filter_map(|grade| grade.up_to_text.as_deref()).collect();
                let help = format!("write it as its classes are written: {}", classes.join(", "));
                out.push(case.problem_in(&sighting.locus, &["measured"], format!("`{}` is measured as {}, and this is {}", clue.id, by.quantity, reading.quantity), Some(help)));
            }
            Some(_) => {}
        },
        _ => {}
    }
    for (mark, noted) in &sighting.marks {
        let Some(known) = clue.marks.iter().find(|known| known.id == *mark) else {
            let names = clue.marks.iter().map(|known| known.id.as_str());
            let help = if clue.marks.is_empty() { Some("it has none: put it in a note".into()) } else { near(mark, names) };
            out.push(case.problem_in(&sighting.locus, &["marks", mark], format!("`{}` has no mark `{mark}`", clue.id), help));
            continue;
        };
        for kind in noted.iter().filter(|kind| !known.kinds.contains(kind)) {
            let help = near(kind, known.kinds.iter().map(String::as_str));
            out.push(case.problem_in(&sighting.locus, &["marks", mark], format!("the mark `{mark}` has no kind `{kind}`"), help));
        }
    }
}

fn reading(pack: &Pack, standing: &Standing<'_>) -> Option<Reading> {
    let at = pack.clue(standing.clue)?;
    let clue = &pack[at];
    let (likelihood, used) = match &standing.sighting.seen {
        Seen::NotReached { .. } => (vec![1.0; clue.grades.len()], Used::NotReached),
        Seen::Grade(grade) => (sharp(clue.grades.len(), clue.grade(grade)?), Used::Weighed),
        Seen::NoneThere { looked } => (absence(pack, clue, *looked), Used::Weighed),
        Seen::Measured { reading, from_photo, .. } => {
            let instrument = clue.measured_by.as_ref()?;
            let widen = if *from_photo { pack.policy.photo_error } else { 1.0 };
            let sd = reading.sd.unwrap_or(instrument.sd) * widen;
            (class_masses(reading.value, sd, &clue.bounds()), Used::Weighed)
        }
    };
    let likelihood = unsure(pack, likelihood, standing.sighting.sure);
    let marks = standing
        .marks
        .iter()
        .filter_map(|(mark, kinds)| {
            let index = clue.marks.iter().position(|known| known.id == *mark)?;
            let known = clue.marks.get(index)?;
            let kinds = kinds.iter().filter_map(|kind| known.kinds.iter().position(|name| name == kind)).collect();
            Some((index, kinds))
        })
        .collect();
    Some(Reading {
        sighting: standing.sighting.id.clone(),
        clue: at,
        at: standing.at,
        grade: likeliest(&likelihood, &used),
        likelihood,
        marks,
        used,
        made_from: Vec::new(),
    })
}

/// Index of the largest; the first of equals. What was not reached shows nothing.
fn likeliest(likelihood: &[f64], used: &Used) -> usize {
    if *used == Used::NotReached {
        return 0;
    }
    let mut best = 0;
    for (grade, value) in likelihood.iter().enumerate() {
        if likelihood.get(best).is_some_and(|most| value > most) {
            best = grade;
        }
    }
    best
}

fn sharp(grades: usize, at: usize) -> Vec<f64> {
    (0..grades).map(|grade| if grade == at { 1.0 } else { 0.0 }).collect()
}

/// None was seen: certain if all was looked at, softened by the chance of having noticed if not.
fn absence(pack: &Pack, clue: &Clue, looked: Looked) -> Vec<f64> {
    let noticed = match looked {
        Looked::All => 1.0,
        Looked::Part => pack.policy.part_looked,
        Looked::Share(share) => share,
    };
    (0..clue.grades.len()).map(|grade| if grade == 0 { 1.0 } else { 1.0 - noticed }).collect()
}

/// Spreads a likelihood over neighbouring grades: a weight x at distance one, x² at two, and so on.
fn unsure(pack: &Pack, likelihood: Vec<f64>, sure: Sure) -> Vec<f64> {
    let x: f64 = match sure {
        Sure::Sure => 0.0,
        Sure::Fairly => pack.policy.unsure.fairly,
        Sure::Unsure => pack.policy.unsure.unsure,
    };
    let spread: Vec<f64> = if x == 0.0 {
        likelihood
    } else {
        let reach = |from: usize, to: usize| libm::pow(x, from.abs_diff(to) as f64);
        (0..likelihood.len()).map(|to| likelihood.iter().enumerate().map(|(from, value)| value * reach(from, to)).sum()).collect()
    };
    let most = spread.iter().copied().fold(0.0, f64::max);
    if most > 0.0 { spread.into_iter().map(|value| value / most).collect() } else { spread }
}

/// Sightings of none that something hides count as not looked.
fn suppress(pack: &Pack, case: &Case, bound: &mut Bound) {
    let near = |a: usize, b: usize| a == b || case.contains(a, b) || case.contains(b, a);
    let mut hidden = Vec::new();
    for (index, reading) in bound.readings.iter().enumerate() {
        if reading.shows() || reading.used != Used::Weighed {
            continue;
        }
        let by = pack.suppressions.iter().position(|rule| {
            rule.hides.contains(&reading.clue)
                && match rule.by {
                    SuppressedBy::Context(context) => bound.context(context) == Some(true),
                    SuppressedBy::Clue { clue, from } => bound.readings.iter().any(|other| {
                        other.clue == clue && other.grade >= from && other.used == Used::Weighed && near(other.at, reading.at)
                    }),
                }
        });
        hidden.extend(by.map(|by| (index, by)));
    }
    for (index, by) in hidden {
        if let Some(reading) = bound.readings.get_mut(index) {
            reading.used = Used::Hidden { by };
        }
    }
}

/// Derived clues: where a pattern holds over places, it stands for its members.
fn derive(pack: &Pack, case: &Case, bound: &mut Bound) {
    for (at, clue) in pack.clues.iter().enumerate() {
        let Some(pattern) = clue.pattern else { continue };
        let members: Vec<usize> = bound
            .readings
            .iter()
            .enumerate()
            .filter(|(_, reading)| reading.clue == pattern.of && reading.used == Used::Weighed)
            .map(|(index, _)| index)
            .collect();
        let read: Vec<(usize, usize)> = members.iter().filter_map(|index| bound.readings.get(*index)).map(|reading| (reading.at, reading.grade)).collect();
        if !holds(case, pattern, &read) {
            continue;
        }
        let highest = read.iter().map(|(_, grade)| *grade).max().unwrap_or(0);
        let grade = highest.min(clue.grades.len().saturating_sub(1));
        let made_from = members.iter().filter_map(|index| bound.readings.get(*index)).map(|reading| reading.sighting.clone()).collect();
        for index in members {
            if let Some(reading) = bound.readings.get_mut(index) {
                reading.used = Used::SetAside { by: ClueIx(at) };
            }
        }
        bound.readings.push(Reading {
            sighting: clue.id.clone(),
            clue: ClueIx(at),
            at: 0,
            likelihood: sharp(clue.grades.len(), grade),
            grade,
            marks: Vec::new(),
            used: Used::Weighed,
            made_from,
        });
    }
}

/// Whether a pattern holds over (place, grade) pairs.
fn holds(case: &Case, pattern: Pattern, read: &[(usize, usize)]) -> bool {
    if read.len() < pattern.at_least {
        return false;
    }
    let shows = |(_, grade): &&(usize, usize)| *grade > 0;
    let showing = read.iter().filter(shows).count();
    let beside = |wall: usize, at: usize| at == wall || case.contains(wall, at) || case.touching(wall, at);
    let walls = 1..case.places.len();
    match pattern.kind {
        PatternKind::AllAlike => showing == read.len(),
        PatternKind::OneOnly => showing == 1,
        PatternKind::OneWallOnly => {
            showing >= 2
                && showing < read.len()
                && walls.into_iter().any(|wall| read.iter().all(|(at, grade)| (*grade > 0) == beside(wall, *at)))
        }
        PatternKind::WorstToOneSide => {
            let most = read.iter().map(|(_, grade)| *grade).max().unwrap_or(0);
            showing >= 2
                && read.iter().any(|(_, grade)| *grade < most)
                && walls.into_iter().any(|wall| read.iter().all(|(at, grade)| (*grade == most) == beside(wall, *at)))
        }
    }
}
