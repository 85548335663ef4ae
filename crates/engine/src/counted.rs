//! What counted within a conclusion's steps: of the signs that were looked for and not there, which make one step between
//! them, the kinds that did most of it; and of the signs that hardly moved it, what they say by themselves, and which had
//! said it before.
//!
//! With `W(r)` the weight of the readings `r` and no others on the conclusion, in decibans of its odds, a clue that was
//! not there, with its readings `r`, adds `W(n + r) − W(n)` to those named before it, `n`; so what is named and the rest
//! add up to the step. A sign
//! `s` says the same as a step `g` where `g` leaves it less than half: `W(g + s) − W(g) < W(s) / 2`.

use std::collections::BTreeMap;

use wythe_case::Case;
use wythe_pack::{ClueIx, Pack};

use crate::steps::{All, Stages};
use crate::weigh::{Options, Weighing};
use crate::{About, SOME, Step, StepKind, WeighError, decibans};

/// Most kinds of absent signs that are named.
const MOST: usize = 3;
/// Most kinds tried for that, from the one that says most by itself.
const TRIED: usize = 6;
/// Decibans by itself from which a sign that hardly moved a conclusion is told: the odds about twice as large.
const SAYS: f64 = 3.0;

/// What counted within the steps of one conclusion.
#[derive(Clone, Debug, PartialEq)]
pub struct Counted {
    /// The conclusion.
    pub about: About,
    /// Of the signs looked for and not there, the kinds that moved it most and the way that all of them together did, at
    /// most three. One that adds less than a deciban is not among them.
    pub absent: Vec<Absent>,
    /// The weight of all other absent signs beside these, in decibans.
    pub rest: f64,
    /// Signs seen in a step that moved it by less than a deciban, and that would move it by three or more by themselves.
    pub said_before: Vec<SaidBefore>,
}

/// A clue that was looked for and not there, at the places where that says something by itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Absent {
    /// Indices into [`crate::Outcome::readings`].
    pub readings: Vec<usize>,
    /// What they add to those named before them, in decibans.
    pub weight: f64,
}

/// A sign that hardly moved a conclusion, though by itself it would.
#[derive(Clone, Debug, PartialEq)]
pub struct SaidBefore {
    /// Index into [`crate::Outcome::readings`].
    pub reading: usize,
    /// Weight of it alone, in decibans.
    pub alone: f64,
    /// Steps before it that say the same, as indices into [`crate::Conclusion::steps`]: with one of them alone it adds less than half
    /// of that.
    pub by: Vec<usize>,
}

/// What counted within the steps of some conclusions. What the case has not is left out.
///
/// # Errors
/// As [`crate::weigh`]; [`WeighError::TooMuch`] where the house is too large to ask it.
///
/// ```
/// use wythe_case::Case;
/// use wythe_engine::{Weighed, counted};
/// use wythe_pack::{Pack, PackFile};
///
/// let files = wythe_rules::structural();
/// let files: Vec<PackFile> = files.iter().map(|(path, text)| PackFile { path, text }).collect();
/// let pack = Pack::read(&files)?;
/// let case = Case::read("quiet-corner.yaml", include_str!("../../../examples/cases/quiet-corner.yaml"))?;
/// let first = Weighed::new(&pack, &case)?.outcome().conclusions[0].about;
/// let found = counted(&pack, &case, &[first])?;
/// assert_eq!(found[0].about, first);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn counted(pack: &Pack, case: &Case, abouts: &[About]) -> Result<Vec<Counted>, WeighError> {
    let mut weighing = Weighing::new(pack, case, Options::default())?;
    let all = All::of(&mut weighing)?;
    let stages = Stages::of(&mut weighing, all)?;
    let (none, seen) = weighing.groups();
    let solved = none.len().saturating_add(seen.len().saturating_mul(abouts.len()));
    crate::effort::in_reason(
        "work out what counted",
        solved.saturating_mul(weighing.about.len()),
        solved.saturating_mul(weighing.solver.entries()),
    )?;
    let mut alone: Vec<Alone> = Vec::with_capacity(none.len());
    for index in none {
        let chances = given(&mut weighing, &[index])?;
        if let Some(reading) = weighing.bound.readings.get(index) {
            alone.push((index, reading.clue, chances));
        }
    }
    let mut out = Vec::with_capacity(abouts.len());
    for about in abouts {
        let Some(at) = weighing.about.iter().position(|other| other == about) else {
            continue;
        };
        let steps = stages.steps(at);
        let mut asking = Asking {
            weighing: &mut weighing,
            at,
            prior: decibans(stages.prior.get(at).copied().unwrap_or(0.0)),
        };
        let (absent, rest) = asking.absent(&steps, &alone)?;
        out.push(Counted {
            about: *about,
            absent,
            rest,
            said_before: asking.said_before(&steps)?,
        });
    }
    Ok(out)
}

/// A reading, its clue, and the chances given it alone.
type Alone = (usize, ClueIx, Vec<f64>);

/// The chances given these readings alone.
fn given(weighing: &mut Weighing<'_>, readings: &[usize]) -> Result<Vec<f64>, WeighError> {
    let evidence = weighing.evidence(|index| readings.contains(&index));
    Ok(weighing.chances(&evidence)?.0)
}

struct Asking<'a, 'w> {
    weighing: &'a mut Weighing<'w>,
    /// Index of the conclusion.
    at: usize,
    /// Decibans of its odds before any reading.
    prior: f64,
}

impl Asking<'_, '_> {
    fn of(&self, chances: &[f64]) -> f64 {
        decibans(chances.get(self.at).copied().unwrap_or(0.0)) - self.prior
    }

    fn weight(&mut self, readings: &[usize]) -> Result<f64, WeighError> {
        let chances = given(self.weighing, readings)?;
        Ok(self.of(&chances))
    }

    /// Of what was not there, what did most the way that all of it did; and what the rest adds.
    fn absent(&mut self, steps: &[Step], alone: &[Alone]) -> Result<(Vec<Absent>, f64), WeighError> {
        let whole = steps.iter().find(|step| step.kind == StepKind::NoneThere);
        let whole = whole.map_or(0.0, |step| step.weight);
        let way = whole.signum();
        // Of each clue the readings that say something by themselves, and roughly how much all of them do.
        let mut by_clue: BTreeMap<ClueIx, (Vec<usize>, f64)> = BTreeMap::new();
        for (index, clue, chances) in alone {
            let weight = way * self.of(chances);
            if weight >= SOME / 10.0 {
                let (readings, sum) = by_clue.entry(*clue).or_default();
                readings.push(*index);
                *sum += weight;
            }
        }
        let mut order: Vec<(Vec<usize>, f64)> = by_clue.into_values().collect();
        // Amounts that differ by rounding alone keep their order.
        let size = |weight: f64| (weight * 1e6).round();
        order.sort_by(|a, b| size(b.1).total_cmp(&size(a.1)));
        let (mut named, mut readings, mut sum): (Vec<Absent>, Vec<usize>, f64) = (Vec::new(), Vec::new(), 0.0);
        for (own, _) in order.into_iter().take(TRIED) {
            let together = [readings.as_slice(), &own].concat();
            let with = self.weight(&together)?;
            if way * (with - sum) >= SOME && named.len() < MOST {
                named.push(Absent {
                    readings: own,
                    weight: with - sum,
                });
                (readings, sum) = (together, with);
            }
        }
        Ok((named, whole - sum))
    }

    /// Signs of steps that hardly moved it, that would by themselves.
    fn said_before(&mut self, steps: &[Step]) -> Result<Vec<SaidBefore>, WeighError> {
        let mut out = Vec::new();
        for (own, little) in steps.iter().enumerate() {
            if little.kind != StepKind::Seen || little.weight.abs() >= SOME {
                continue;
            }
            for reading in &little.readings {
                let alone = self.weight(&[*reading])?;
                if !alone.is_finite() || alone < SAYS {
                    continue;
                }
                let mut by = Vec::new();
                for (index, step) in steps.iter().enumerate().take(own) {
                    if step.kind != StepKind::Seen || step.weight < SOME {
                        continue;
                    }
                    let before = self.weight(&step.readings)?;
                    let beside: Vec<usize> = step.readings.iter().copied().chain([*reading]).collect();
                    if self.weight(&beside)? - before < alone / 2.0 {
                        by.push(index);
                    }
                }
                out.push(SaidBefore {
                    reading: *reading,
                    alone,
                    by,
                });
            }
        }
        Ok(out)
    }
}
