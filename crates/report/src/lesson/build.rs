//! From a walk to a lesson.

use std::collections::BTreeMap;

use wythe_case::{Case, Seen, Sighting};
use wythe_engine::{About, Carried, Moved, Outcome, Walk, WalkStep};
use wythe_pack::{Action, Pack, Support};

use super::{Belief, Change, Changed, Lesson, LessonStep, State, Suppose, Told};
use crate::build::{self, conclusions, notices, sightings};
use crate::number::{odds_in_words, rounded};
use crate::phrase::{capital, clean, sentence};
use crate::plain::action_name;
use crate::reasons::hop_says;

/// Most beliefs shown.
const MOST: usize = 18;
/// A belief is shown when its chance moved by this much at some step.
const SHOWN: f64 = 0.02;

struct Builder<'a> {
    pack: &'a Pack,
    case: &'a Case,
    shown: Vec<About>,
    words: Vec<String>,
}

pub(super) fn lesson(
    pack: &Pack,
    case: &Case,
    walk: &Walk,
    changed: &[Changed],
    pairs: &[(usize, usize, Outcome)],
) -> Lesson {
    let mut builder = Builder {
        pack,
        case,
        shown: shown(walk),
        words: Vec::new(),
    };
    let start = builder.state(&walk.start);
    let steps: Vec<LessonStep> = (0..walk.steps.len()).filter_map(|at| builder.step(walk, at)).collect();
    let suppose = changed.iter().filter_map(|one| builder.suppose(one, &steps)).collect();
    let pairs = pairs
        .iter()
        .map(|(a, b, outcome)| (*a, *b, builder.state(outcome)))
        .collect();
    let mut notes = crate::build::about(case);
    notes.extend(pack.wording.cautions.clone());
    Lesson {
        case: case.id.clone(),
        title: clean(&case.title),
        pack: format!("{} {}", pack.id, pack.version),
        notes,
        beliefs: builder
            .shown
            .iter()
            .map(|about| Belief {
                id: conclusions::id(pack, case, *about),
                title: capital(&conclusions::title_and_place(pack, case, *about)),
                mind_changers: match about {
                    About::Mechanism { mechanism, .. } => {
                        let all = pack[*mechanism].mind_changers.iter();
                        all.map(|one| one.says.clone()).collect()
                    }
                    About::Family(_) => Vec::new(),
                },
            })
            .collect(),
        supports: Support::ALL
            .iter()
            .map(|support| conclusions::support_words(*support))
            .collect(),
        actions: Action::ALL.iter().map(|action| action_name(action.name())).collect(),
        start,
        steps,
        suppose,
        pairs,
        words: builder.words,
        plan: String::new(),
    }
}

/// The conclusions that the walk moved most, those that ask for most at its end first.
fn shown(walk: &Walk) -> Vec<About> {
    let mut span: BTreeMap<About, (f64, f64)> = BTreeMap::new();
    let last = walk.steps.last().map_or(&walk.start, |step| &step.outcome);
    for outcome in std::iter::once(&walk.start).chain(walk.steps.iter().map(|step| &step.outcome)) {
        for one in &outcome.conclusions {
            let (low, high) = span.entry(one.about).or_insert((one.chance, one.chance));
            (*low, *high) = (low.min(one.chance), high.max(one.chance));
        }
    }
    let moved = |about: &About| span.get(about).map_or(0.0, |(low, high)| high - low);
    let mut most: Vec<(About, Action, f64)> = last
        .conclusions
        .iter()
        .filter(|one| one.action > Action::Record || moved(&one.about) >= SHOWN)
        .map(|one| (one.about, one.action, one.chance))
        .collect();
    most.sort_by(|a, b| {
        b.1.cmp(&a.1)
            .then(moved(&b.0).total_cmp(&moved(&a.0)))
            .then(a.0.cmp(&b.0))
    });
    most.truncate(MOST);
    most.sort_by(|a, b| b.1.cmp(&a.1).then(b.2.total_cmp(&a.2)).then(a.0.cmp(&b.0)));
    most.into_iter().map(|(about, ..)| about).collect()
}

impl Builder<'_> {
    fn state(&mut self, outcome: &Outcome) -> State {
        let matters = build::matters_in_order(self.pack, self.case, outcome);
        let mut state = State {
            chances: Vec::new(),
            words: Vec::new(),
            supports: Vec::new(),
            actions: Vec::new(),
            most: outcome.action as usize,
            notices: notices::notices(self.pack, self.case, outcome, &matters)
                .iter()
                .map(|notice| format!("{} {}", sentence(&notice.title), notice.says.join(" ")))
                .collect(),
        };
        for about in self.shown.clone() {
            // A conclusion that the facts rule out is not among them.
            let one = outcome.conclusions.iter().find(|one| one.about == about);
            let chance = one.map_or(0.0, |one| one.chance);
            state.chances.push(rounded(chance).unwrap_or(0.0));
            state.words.push(self.word(odds_in_words(chance)));
            state
                .supports
                .push(one.map_or(Support::NotMoved, |one| one.support) as usize);
            state
                .actions
                .push(one.map_or(Action::Record, |one| one.action) as usize);
        }
        state
    }

    fn word(&mut self, words: String) -> usize {
        match self.words.iter().position(|known| *known == words) {
            Some(at) => at,
            None => {
                self.words.push(words);
                self.words.len().saturating_sub(1)
            }
        }
    }

    fn step(&mut self, walk: &Walk, at: usize) -> Option<LessonStep> {
        let step = walk.steps.get(at)?;
        let pass = self.case.passes.get(step.pass)?;
        let sighting = pass.sightings.iter().find(|one| one.id == step.sighting)?;
        let told: Vec<Told> = step.moved.iter().filter_map(|one| self.told(step, one)).collect();
        Some(LessonStep {
            sighting: step.sighting.clone(),
            pass: pass.title.as_deref().map_or_else(|| pass.id.clone(), clean),
            place: self.case.places.get(sighting.at)?.id.clone(),
            kind: match sighting.seen {
                Seen::Grade(_) | Seen::Present => "seen",
                Seen::NoneThere { .. } => "none",
                Seen::NotReached { .. } => "not reached",
                Seen::Measured { .. } if shows(step) => "seen",
                Seen::Measured { .. } => "none",
            },
            says: self.says(step, at, sighting),
            others: step.moved.len().saturating_sub(told.len()),
            moved: told,
            state: self.state(&step.outcome),
        })
    }

    /// What a sighting found, in a sentence.
    fn says(&self, step: &WalkStep, at: usize, sighting: &Sighting) -> String {
        let then = self.case.first(at.saturating_add(1));
        let all = sightings::sightings(self.pack, &then, &step.outcome.readings);
        match all.iter().find(|one| one.id == step.sighting) {
            Some(one) => crate::plain::in_full(one),
            // What could not be reached again leaves what stood before.
            None => {
                let clue = self.pack.clue(&sighting.clue).map(|clue| self.pack[clue].title.clone());
                let place = crate::phrase::at_places(self.case, &[sighting.at]);
                let what = capital(&clue.unwrap_or_else(|| sighting.clue.clone()));
                format!("{what} {place}: not reached this time; what was found before stands.")
            }
        }
    }

    fn told(&self, step: &WalkStep, one: &Moved) -> Option<Told> {
        let belief = self.shown.iter().position(|about| *about == one.about)?;
        let by = match &one.by {
            Carried::Chain(hops) => hops
                .iter()
                .rev()
                .map(|hop| hop_says(self.pack, self.case, hop))
                .collect(),
            Carried::Rival { rival, over } => {
                let rival = conclusions::title_and_place(self.pack, self.case, *rival);
                let over = step.outcome.readings.get(*over)?;
                let over = sightings::in_one_phrase(self.pack, self.case, &[over]);
                let less = if one.weight < 0.0 {
                    format!("{rival} rose, and could leave {over} as well: less is left for this to account for.")
                } else {
                    format!("{rival} fell, and could have left {over}: more is left for this to account for.")
                };
                vec![capital(&less)]
            }
            Carried::Together => vec![
                "By a pattern of several places, or through what shares its signs; no single rule carries it.".into(),
            ],
        };
        Some(Told {
            belief,
            decibans: (one.weight * 10.0).round() / 10.0,
            by,
        })
    }

    fn suppose(&mut self, one: &Changed, steps: &[LessonStep]) -> Option<Suppose> {
        let (says, step) = match &one.what {
            Change::Without(id) => {
                let step = steps.iter().position(|step| step.sighting == *id)?;
                (steps.get(step)?.says.clone(), Some(step))
            }
            Change::Found { clue, at, grade } => {
                let clue = &self.pack[*clue];
                let place = crate::phrase::at_places(self.case, &[*at]);
                let found = if *grade == 0 {
                    sightings::absence(clue)
                } else {
                    format!("{}, {}", clue.says, crate::phrase::words(&clue.grades.get(*grade)?.id))
                };
                (sentence(&format!("Not looked at so far: {found} {place}")), None)
            }
        };
        Some(Suppose {
            says,
            taken_in: step.is_some(),
            step,
            state: self.state(&one.outcome),
        })
    }
}

/// Whether the step's own sighting says that something is there.
fn shows(step: &WalkStep) -> bool {
    let own = step.outcome.readings.iter().find(|one| one.sighting == step.sighting);
    own.is_some_and(|reading| reading.shows())
}
