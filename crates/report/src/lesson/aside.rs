//! What there is to say of a sighting beside what it moved: that it was waited for, and what it says by itself.

use wythe_case::Case;
use wythe_engine::{About, Conclusion, Decided, Outcome, Reading, Used, Walk, WalkStep, decibans};
use wythe_pack::Pack;

use super::Told;
use crate::build::conclusions;
use crate::number::{short_chance, times};
use crate::phrase::sentence;
use crate::steps::in_decibans;

/// Decibans from which a sign by itself is told: the odds about twice as large.
const SAYS: f64 = 3.0;
/// Decibans by which earlier signs had raised a conclusion so that they are said to have said as much.
const SOME: f64 = 1.0;
/// Most conclusions told of one sign.
const MOST: usize = 2;

pub(super) struct Aside<'a> {
    pack: &'a Pack,
    case: &'a Case,
    walk: &'a Walk,
    alone: &'a [(usize, Outcome)],
}

impl<'a> Aside<'a> {
    pub fn new(pack: &'a Pack, case: &'a Case, walk: &'a Walk, alone: &'a [(usize, Outcome)]) -> Self {
        Self {
            pack,
            case,
            walk,
            alone,
        }
    }

    /// Of the step at an index: `told` is what it moved of what is `shown`.
    pub fn of(&self, at: usize, shown: &[About], told: &[Told]) -> Vec<String> {
        let Some(step) = self.walk.steps.get(at) else {
            return Vec::new();
        };
        let own = step.outcome.readings.iter().find(|one| one.sighting == step.sighting);
        let mut said: Vec<String> = own.map(|own| self.waited_for(at, own)).unwrap_or_default();
        if told.is_empty() {
            said.extend(self.by_itself(at, step, shown));
        }
        said
    }

    fn before(&self, at: usize) -> &Outcome {
        let earlier = at.checked_sub(1).and_then(|at| self.walk.steps.get(at));
        earlier.map_or(&self.walk.start, |step| &step.outcome)
    }

    /// The conclusions that waited for this look before an engineer was asked for, and since when.
    fn waited_for(&self, at: usize, own: &Reading) -> Vec<String> {
        let waits = |one: &&Conclusion| one.decided == Decided::WantsLook && one.wants_look == Some((own.clue, own.at));
        let came = match own.used {
            Used::NotReached | Used::Hidden { .. } => "It could not be made",
            _ if own.shows() => "It bears that out",
            _ => "It does not bear that out",
        };
        let mut earlier = self.walk.steps.iter().zip(1..).take(at);
        let Some((step, turn)) = earlier.find(|(step, _)| step.outcome.conclusions.iter().any(|one| waits(&one)))
        else {
            return Vec::new();
        };
        let waiting = step.outcome.conclusions.iter().filter(waits).take(MOST);
        waiting
            .map(|one| {
                let title = conclusions::title_and_place(self.pack, self.case, one.about);
                format!("The look that was waited for at sighting {turn}, for {title}. {came}.")
            })
            .collect()
    }

    /// What a sign that moved nothing shown would say by itself.
    fn by_itself(&self, at: usize, step: &WalkStep, shown: &[About]) -> Vec<String> {
        let Some((_, alone)) = self.alone.iter().find(|(of, _)| *of == at) else {
            return Vec::new();
        };
        let chance = |outcome: &Outcome, about: About| {
            let one = outcome.conclusions.iter().find(|one| one.about == about);
            one.map(|one| one.chance)
        };
        let before = self.before(at);
        let mut says: Vec<(f64, String)> = Vec::new();
        for about in shown.iter().copied() {
            let all = [&self.walk.start, alone, before, &step.outcome].map(|outcome| chance(outcome, about));
            let [Some(start), Some(by_itself), Some(was), Some(is)] = all else {
                continue;
            };
            let weight = decibans(by_itself) - decibans(start);
            let moved = decibans(is) - decibans(was);
            if !weight.is_finite() || weight < SAYS || moved.abs() >= SOME {
                continue;
            }
            let title = conclusions::title_and_place(self.pack, self.case, about);
            let why = if was >= by_itself {
                format!(
                    "Earlier signs had already said as much: with them it stood at {}",
                    short_chance(was)
                )
            } else {
                "Beside the other signs, something else accounts for it".into()
            };
            says.push((
                weight,
                format!(
                    "By itself it would speak for {title}: {} ({}). {}",
                    times(weight),
                    in_decibans(weight),
                    sentence(&why)
                ),
            ));
        }
        says.sort_by(|a, b| b.0.total_cmp(&a.0));
        says.truncate(MOST);
        says.into_iter().map(|(_, says)| says).collect()
    }
}
