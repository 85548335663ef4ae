//! Trials: small cases with what a careful inspector would expect of them, held against a pack.
//!
//! A trial is a case file with three entries more: `shows`, one sentence of reasoning; `source`, where the expectation
//! comes from; and `expect`.
//!
//! ```yaml
//! shows: A wedge broken off a slab corner is on nearly every such house, and moves nothing else.
//! source: common practice, no source
//! expect:
//!   conclusions:
//!     - {of: corner_pop, at: south-west, support: [fair, strong], because: corner_pop_wedge}
//!     - {of: ground_movement, weight: {from: -3, to: 1}, action: record}
//!   order: [corner_pop, ground_movement]    # each likelier than the next
//!   action: [record, upkeep]                # of the house: one, or least and most
//!   notices: [cable_end_bare]               # each must be given: a hazard, a limit, or `misfit`
//!   no_notices: [misfit]
//!   known_disagreement: {action: why it is left so}
//! ```
//!
//! An expectation of a conclusion names a mechanism (`at` a place, or without it where it is likeliest) or a family,
//! and any of: `support` (one, or least and most), `chance` and `weight` (`from`, `to`; 0–1, and decibans of the
//! sightings), `action`, `because` and `despite` (clues that its reasons must count for it or against it),
//! `held_back` (`yes` when its advice must wait for a rival). In `order`, a mechanism at a place is `{of: …, at: …}`. With
//! `known_disagreement: why` it must *not* come out: when it does, the trial says so.

mod compare;
mod read;

use wythe_case::Case;
use wythe_engine::{NoticeKind, weigh};
use wythe_pack::{Action, ClueIx, FamilyIx, MechanismIx, Pack, Support};
use wythe_text::Problem;

use crate::Error;

/// What came of one trial.
#[derive(Debug)]
pub struct TrialResult {
    /// The file.
    pub file: String,
    /// The trial's title; the file's name when it could not be read.
    pub title: String,
    /// How many things were expected.
    pub expected: usize,
    /// What came out otherwise, each at its line.
    pub failures: Vec<Problem>,
    /// Disagreements that the trial itself declares, each with its reason.
    pub known: Vec<String>,
    /// Why it could not be read or weighed.
    pub stopped: Option<Error>,
}

impl TrialResult {
    /// Whether everything came out as expected.
    pub fn passed(&self) -> bool {
        self.stopped.is_none() && self.failures.is_empty()
    }

    /// Everything wrong with it, as text; empty when it passed.
    pub fn says(&self) -> String {
        let mut text: String = self.stopped.iter().map(|error| format!("{error}\n")).collect();
        text.extend(self.failures.iter().map(|failure| format!("{failure}\n")));
        text
    }
}

/// Runs trials against a pack: each file's name and text, in the order given.
///
/// ```
/// let trial = "
/// format: 1
/// id: wedge
/// places: [{id: south-west, kind: outside_corner}]
/// passes: [{pass: first, sightings: [{clue: corner_pop_wedge, at: south-west, seen: cracked}]}]
/// shows: A broken wedge is a corner pop.
/// source: common practice, no source
/// expect: {conclusions: [{of: corner_pop, at: south-west, support: [fair, strong]}]}
/// ";
/// let results = wythe::run_trials(wythe::built_in_pack(), &[("wedge.yaml", trial)]);
/// assert!(results.iter().all(|result| result.passed()));
/// ```
pub fn run_trials(pack: &Pack, files: &[(&str, &str)]) -> Vec<TrialResult> {
    files.iter().map(|(file, text)| run(pack, file, text)).collect()
}

/// The trials of the pack that comes with the library: name and text of each.
pub fn built_in_trials() -> Vec<(&'static str, &'static str)> {
    wythe_rules::structural()
        .into_iter()
        .filter(|(path, _)| path.starts_with("trials/"))
        .collect()
}

fn run(pack: &Pack, file: &str, text: &str) -> TrialResult {
    let stopped = |error: Error| TrialResult {
        file: file.to_owned(),
        title: file.to_owned(),
        expected: 0,
        failures: Vec::new(),
        known: Vec::new(),
        stopped: Some(error),
    };
    let trial = match read::trial(pack, file, text) {
        Ok(trial) => trial,
        Err(problems) => return stopped(problems.into()),
    };
    let pack = &*crate::pack_of(pack, &trial.case);
    let outcome = match weigh(pack, &trial.case) {
        Ok(outcome) => outcome,
        Err(error) => return stopped(error.into()),
    };
    let mut result = TrialResult {
        file: file.to_owned(),
        title: trial.case.title.clone(),
        expected: trial.expected.len(),
        failures: Vec::new(),
        known: Vec::new(),
        stopped: None,
    };
    for one in &trial.expected {
        let found = compare::found(pack, &trial.case, &outcome, &one.what);
        match (&one.disagrees, found) {
            (None, None) => {}
            (None, Some(found)) => result.failures.push(one.place.problem(found, None)),
            (Some(why), Some(found)) => result.known.push(format!("{found} ({why})")),
            (Some(_), None) => {
                let help = Some("take `known_disagreement` away, here and from the pack's list".into());
                result.failures.push(
                    one.place
                        .problem("this is a known disagreement, and now it agrees".into(), help),
                );
            }
        }
    }
    result
}

/// A trial, read.
struct Trial {
    case: Case,
    expected: Vec<Expected>,
}

/// One thing expected.
struct Expected {
    what: What,
    disagrees: Option<String>,
    place: Place,
}

/// Where in the file it is expected.
struct Place {
    doc: wythe_text::Doc,
    locus: wythe_text::Locus,
}

impl Place {
    fn problem(&self, what: String, help: Option<String>) -> Problem {
        self.doc.problem_at(&self.locus, what, help)
    }
}

/// What a conclusion is about: a mechanism at a place or where it is likeliest, or a family.
#[derive(Clone, Copy)]
enum Of {
    Mechanism(MechanismIx, Option<usize>),
    Family(FamilyIx),
}

enum What {
    Support(Of, Support, Support),
    Chance(Of, f64, f64),
    Weight(Of, f64, f64),
    ConclusionAction(Of, Action, Action),
    Because(Of, ClueIx),
    Despite(Of, ClueIx),
    HeldBack(Of, bool),
    Likelier(Of, Of),
    Action(Action, Action),
    Notice(NoticeKind),
    NoNotice(NoticeKind),
}
