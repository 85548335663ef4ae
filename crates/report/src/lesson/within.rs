//! What counted within a conclusion's steps, in words: of signs that were not there, those that did most; of signs that
//! hardly moved it, what they say by themselves.

use wythe_case::Case;
use wythe_engine::{About, Outcome, Reading};
use wythe_pack::Pack;

use super::reckoned::{Known, Turns};
use crate::build::{bearing, sightings};
use crate::number::times;
use crate::phrase::{listed_up_to, sentence};
use crate::reckoning::Row;

/// Decibans under which what is left of a step hardly moved anything.
const HARDLY: f64 = 0.5;
/// Most earlier signs named that say the same.
const MOST: usize = 3;

pub(super) struct Within<'a> {
    pub pack: &'a Pack,
    pub case: &'a Case,
    pub outcome: &'a Outcome,
    pub known: Known<'a>,
    pub turns: &'a Turns,
}

impl Within<'_> {
    fn says(&self, readings: &[&Reading]) -> String {
        sightings::in_one_phrase(self.pack, self.case, readings)
    }

    fn reading(&self, at: usize) -> Option<&Reading> {
        self.outcome.readings.get(at)
    }

    /// Where the first chance holds: at one of several places, or anywhere.
    pub fn start(&self) -> &'static str {
        let kind = |at: usize| self.case.places.get(at).map(|place| &place.kind);
        match self.known.one.about {
            About::Family(_) => "anywhere on houses like this one",
            About::Mechanism { at, .. }
                if self
                    .case
                    .places
                    .iter()
                    .filter(|one| Some(&one.kind) == kind(at))
                    .count()
                    > 1 =>
            {
                "at this one place on houses like this one"
            }
            About::Mechanism { .. } => "on houses like this one",
        }
    }

    /// Which of the signs that were not there did most of their step, and what the others did.
    pub fn absent(&self, row: &Row) -> String {
        let Some(counted) = self.known.counted else {
            return sentence(&format!("All of them{}", self.turns.all(&row.sightings)));
        };
        let mut others = row.sightings.clone();
        let mut said: Vec<String> = Vec::new();
        for absent in &counted.absent {
            let readings: Vec<&Reading> = absent.readings.iter().filter_map(|at| self.reading(*at)).collect();
            let ids: Vec<String> = readings.iter().map(|reading| reading.sighting.clone()).collect();
            others.retain(|id| !ids.contains(id));
            let which = self.turns.all(&ids);
            said.push(format!("{}: {}{which}", self.says(&readings), times(absent.weight)));
        }
        let which = self.turns.all(&others);
        let most = match said.as_slice() {
            [] => format!("No one kind of them moved it by as much as a deciban{which}."),
            [one] if others.is_empty() => sentence(one),
            some => format!("What counted among them: {}.", some.join("; ")),
        };
        let did = if counted.rest.abs() < HARDLY {
            "hardly moved it".into()
        } else {
            times(counted.rest)
        };
        match (others.len(), said.is_empty()) {
            (0, _) | (_, true) => most,
            (1, _) => format!("{most} The other one{which}: {did}."),
            (count, _) => format!("{most} The other {count} together{which}: {did}."),
        }
    }

    /// The signs of it that added little to the rest: those that say something by themselves, with what had said it before,
    /// then the others by name. Left out are those that something else would account for.
    pub fn little(&self, ids: &[String]) -> Vec<String> {
        let bears = bearing::of(self.pack, self.case, self.outcome, self.known.one.about);
        let here = |reading: &&Reading| {
            ids.contains(&reading.sighting)
                && bears.contains_key(&(reading.clue, reading.at))
                && !self.known.taken.contains(&reading.sighting)
        };
        let mut rest: Vec<&Reading> = self.outcome.readings.iter().filter(here).collect();
        let mut said: Vec<(&[usize], Vec<String>)> = Vec::new();
        for one in self.known.counted.iter().flat_map(|counted| &counted.said_before) {
            let Some(reading) = self.reading(one.reading) else {
                continue;
            };
            let all = rest.len();
            rest.retain(|other| other.sighting != reading.sighting);
            if rest.len() == all {
                continue;
            }
            let line = format!(
                "{}, by itself {}{}",
                self.says(&[reading]),
                times(one.alone),
                self.turns.one(&reading.sighting)
            );
            match said.iter_mut().find(|(by, _)| *by == one.by) {
                Some((_, lines)) => lines.push(line),
                None => said.push((&one.by, vec![line])),
            }
        }
        let mut lines: Vec<String> = said
            .into_iter()
            .map(|(by, signs)| self.said_before(by, &signs))
            .collect();
        if !rest.is_empty() {
            let own: Vec<String> = rest.iter().map(|reading| reading.sighting.clone()).collect();
            let alone = if self.known.counted.is_some() {
                ": little by itself, too"
            } else {
                ""
            };
            lines.push(sentence(&format!(
                "{}{}{alone}",
                self.says(&rest),
                self.turns.all(&own)
            )));
        }
        lines
    }

    /// Signs that would count by themselves, and what had said it before.
    fn said_before(&self, by: &[usize], signs: &[String]) -> String {
        let mut ids: Vec<String> = Vec::new();
        let mut same: Vec<String> = Vec::new();
        for step in by.iter().filter_map(|at| self.known.one.steps.get(*at)) {
            let readings: Vec<&Reading> = step.readings.iter().filter_map(|at| self.reading(*at)).collect();
            ids.extend(readings.iter().map(|reading| reading.sighting.clone()));
            let first = sightings::by_clue(self.pack, self.case, &readings).into_iter().next();
            same.extend(first.map(|first| match readings.len() {
                1 => first,
                _ => format!("{first} with what goes with it"),
            }));
        }
        let same = if same.is_empty() {
            "all that was reckoned before, taken together".to_string()
        } else {
            format!(
                "{}{}, which came first",
                listed_up_to(&same, MOST),
                self.turns.all(&ids)
            )
        };
        format!("Says the same as {same}: {}.", signs.join("; "))
    }
}
