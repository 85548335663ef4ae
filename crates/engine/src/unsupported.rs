//! Not supported: what kept a conclusion down.
//!
//! Three things keep a mechanism from being supported, and each is named: what was looked for and not there, or there of
//! another kind, and speaks against it; signs of it that something else accounts for; and signs of it that nobody has
//! looked for, with what its chance would be if one were found.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use wythe_infer::{Evidence, Limits, Solved, Supposed, Supposition, Var, solve_seen};
use wythe_pack::{ClueIx, Node, Support};

use crate::joint::{Asking, Column, Further, Questions, Row};
use crate::kept::{Reach, tangled};
use crate::{About, ExplainedAway, SOME, WeighError, Weighed, decibans};

/// What kept a conclusion down.
#[derive(Clone, Debug, PartialEq)]
pub struct Unsupported {
    /// The conclusion.
    pub about: About,
    /// Its support.
    pub support: Support,
    /// Its chance before any sighting, and given everything.
    pub chance: (f64, f64),
    /// Readings that speak against it beside all others, by a deciban or more, most first: index, and what it adds in
    /// decibans, under 0.
    pub against: Vec<(usize, f64)>,
    /// Signs of it that were seen, and that something else accounts for.
    pub taken: Vec<ExplainedAway>,
    /// Signs of it that nobody has looked for, those that would raise it most first.
    pub missing: Vec<Missing>,
}

/// A sign of a conclusion that nobody has looked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Missing {
    /// The clue.
    pub clue: ClueIx,
    /// Index of the place in the case.
    pub at: usize,
    /// The chance of finding something there, whatever its grade.
    pub shows: f64,
    /// The conclusion's chance if something were found there.
    pub if_found: f64,
    /// The conclusion's chance if nothing were.
    pub if_none: f64,
}

/// What kept a conclusion down, whatever its support is.
///
/// # Errors
/// [`WeighError::NoConclusion`] where the case has no such conclusion; [`WeighError::TooTangled`].
pub fn unsupported(weighed: &Weighed<'_>, about: About) -> Result<Unsupported, WeighError> {
    let found = unsupported_of(weighed, &[about])?.into_iter().next();
    found.ok_or(WeighError::Impossible)
}

/// What kept several conclusions down, at less cost together than one by one.
///
/// # Errors
/// As [`unsupported`].
pub fn unsupported_of(weighed: &Weighed<'_>, abouts: &[About]) -> Result<Vec<Unsupported>, WeighError> {
    let mut asking = Asking::default();
    let signs = Signs::ask(weighed, abouts, &mut asking)?;
    asking.answer(weighed)?;
    signs.finish(weighed, &asking, &signs.left_out(weighed)?)
}

/// The signs of some conclusions that nobody has looked for, once what they would do is answered.
pub(crate) struct Signs {
    all: Vec<OfOne>,
    /// The readings, and the columns without them.
    read: Vec<(usize, Column)>,
}

/// Of one conclusion: the rows of anything and of its absence, and the columns of finding nothing.
struct OfOne {
    about: About,
    reach: Reach,
    rows: (Row, Row),
    sites: Vec<(ClueIx, usize, Column)>,
    nothing: Column,
    /// The row of its absence by what was seen.
    absent: Row,
}

impl Signs {
    /// Asks what finding nothing at each would do.
    pub fn ask(weighed: &Weighed<'_>, abouts: &[About], asking: &mut Asking) -> Result<Signs, WeighError> {
        let (wide, questions) = (weighed.wide()?, &mut asking.wide);
        let unseen = weighed.unseen();
        let read: Vec<(usize, Column)> = (0..weighed.outcome().readings.len())
            .filter_map(|index| {
                let var = weighed.reading_var(index)?;
                Some((index, asking.seen.column(Further::Without(var))))
            })
            .collect();
        let mut all = Vec::with_capacity(abouts.len());
        for about in abouts {
            weighed.conclusion(*about)?;
            let reach = weighed.reach_of(*about);
            let own = crate::kept::vars(&weighed.weighing, &wide.model, *about);
            let rows = (questions.row(&[], &[]), questions.row(&own, &[]));
            let nothing = questions.column(Further::Nothing);
            let sites: Vec<(ClueIx, usize, Column)> = unseen
                .iter()
                .filter(|site| reach.contains_key(site))
                .filter_map(|(clue, at)| {
                    let var = wide.model.vars.get(&(Node::Clue(*clue), *at))?;
                    Some((*clue, *at, questions.column(Further::AtMost(*var, 0))))
                })
                .collect();
            for column in sites.iter().map(|(.., column)| *column).chain([nothing]) {
                questions.ask(rows.0, column);
                questions.ask(rows.1, column);
            }
            let absent = asking.seen.row(&weighed.vars(*about), &[]);
            read.iter().for_each(|(_, column)| asking.seen.ask(absent, *column));
            all.push(OfOne {
                about: *about,
                reach,
                rows,
                sites,
                nothing,
                absent,
            });
        }
        Ok(Signs { all, read })
    }

    /// The chances of all mechanisms without each of the readings.
    pub fn left_out(&self, weighed: &Weighed<'_>) -> Result<Vec<Supposed>, WeighError> {
        let targets: Vec<Var> = mechanisms(weighed).into_iter().map(|(_, var)| var).collect();
        let left_out = |(index, _): &(usize, Column)| Supposition {
            without: weighed.reading_var(*index),
            ..Supposition::default()
        };
        weighed.suppose(&self.read.iter().map(left_out).collect::<Vec<_>>(), &targets)
    }

    /// What kept each of the conclusions down.
    pub fn finish(
        &self,
        weighed: &Weighed<'_>,
        asking: &Asking,
        left_out: &[Supposed],
    ) -> Result<Vec<Unsupported>, WeighError> {
        let mut against = Against {
            weighed,
            read: &self.read,
            mechanisms: mechanisms(weighed),
            free: left_out,
            alone: BTreeMap::new(),
        };
        let each = self.all.iter().map(|one| against.finish(one, asking));
        each.collect()
    }
}

impl OfOne {
    fn missing(&self, questions: &Questions) -> Vec<Missing> {
        let no = questions.found(self.rows.1, self.nothing);
        let mut missing = Vec::with_capacity(self.sites.len());
        for &(clue, at, column) in &self.sites {
            let (none, none_and_no) = (
                questions.found(self.rows.0, column),
                questions.found(self.rows.1, column),
            );
            missing.push(Missing {
                clue,
                at,
                shows: 1.0 - none,
                if_found: 1.0 - (no - none_and_no) / (1.0 - none),
                if_none: 1.0 - none_and_no / none,
            });
        }
        missing.sort_by(|a, b| {
            b.if_found
                .total_cmp(&a.if_found)
                .then((a.clue, a.at).cmp(&(b.clue, b.at)))
        });
        missing
    }
}

/// The mechanisms of the case, each with its variable.
fn mechanisms(weighed: &Weighed<'_>) -> Vec<(About, Var)> {
    let all = weighed.outcome().conclusions.iter();
    all.filter(|other| matches!(other.about, About::Mechanism { .. }))
        .filter_map(|other| Some((other.about, *weighed.vars(other.about).first()?)))
        .collect()
}

/// The case without each of its readings, and with each alone.
struct Against<'w, 'a> {
    weighed: &'w Weighed<'a>,
    read: &'w [(usize, Column)],
    mechanisms: Vec<(About, Var)>,
    /// Without each reading, whatever else.
    free: &'w [Supposed],
    /// With one reading and nothing else.
    alone: BTreeMap<usize, Solved>,
}

impl<'w, 'a> Against<'w, 'a> {
    fn finish(&mut self, one: &OfOne, asking: &Asking) -> Result<Unsupported, WeighError> {
        let weighed = self.weighed;
        let conclusion = weighed.conclusion(one.about)?;
        let own = weighed.vars(one.about);
        let mut out = Unsupported {
            about: one.about,
            support: conclusion.support,
            chance: (conclusion.prior, conclusion.chance),
            against: Vec::new(),
            taken: Vec::new(),
            missing: one.missing(&asking.wide),
        };
        for at in 0..self.read.len() {
            let (Some((index, column)), Some(free)) = (self.read.get(at).copied(), self.free.get(at)) else {
                continue;
            };
            let free_share = libm::exp(free.ln() - weighed.solved.ln_evidence());
            let without = (1.0 - asking.seen.found(one.absent, column) / free_share).max(0.0);
            let adds = decibans(conclusion.chance) - decibans(without);
            if adds <= -SOME {
                out.against.push((index, adds));
            }
            let Some(reading) = weighed.outcome().readings.get(index) else {
                continue;
            };
            if !reading.shows() || !one.reach.contains_key(&(reading.clue, reading.at)) {
                continue;
            }
            let mut by: Option<(About, f64)> = None;
            for (other, var) in self.mechanisms.iter().filter(|(_, var)| !own.contains(var)) {
                let chance = |p: &[f64]| p.get(1).copied().unwrap_or(0.0);
                let (without, with) = (chance(free.posterior(*var)), chance(weighed.solved.posterior(*var)));
                if let Some(takes) = crate::reasons::takes(weighed.pack(), without, with)
                    && by.is_none_or(|(_, most)| takes > most)
                {
                    by = Some((*other, takes));
                }
            }
            let Some((by, _)) = by else { continue };
            let alone = self.alone(&own, index)? - decibans(conclusion.prior);
            if alone >= SOME && adds < alone - SOME {
                out.taken.push(ExplainedAway {
                    reading: index,
                    alone,
                    in_company: adds,
                    by,
                });
            }
        }
        out.against.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
        Ok(out)
    }

    /// Decibans of a conclusion's odds with one reading and nothing else.
    fn alone(&mut self, own: &[Var], reading: usize) -> Result<f64, WeighError> {
        let weighing = &self.weighed.weighing;
        let solved = match self.alone.entry(reading) {
            Entry::Occupied(found) => found.into_mut(),
            Entry::Vacant(slot) => {
                let readings = &weighing.bound.readings;
                let mut evidence: Evidence = weighing
                    .model
                    .evidence(weighing.pack, readings, |index| index == reading);
                crate::kept::quiet(&weighing.model, &mut evidence);
                slot.insert(solve_seen(&weighing.model.net, &evidence, &Limits::default()).map_err(tangled)?)
            }
        };
        let absent = Supposition {
            states: own.iter().map(|var| (*var, 0)).collect(),
            ..Supposition::default()
        };
        let found = solved.suppose(&[absent], &[]).map_err(tangled)?;
        let none = found.first().map_or(0.0, |one| one.ln() - solved.ln_evidence());
        Ok(decibans(-libm::expm1(none.min(0.0))))
    }
}
