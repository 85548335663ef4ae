//! From a walk to a lesson.

use std::collections::BTreeMap;

use wythe_case::{Case, Seen, Sighting};
use wythe_engine::{About, Conclusion, Outcome, Reading, Used, Walk, WalkStep};
use wythe_pack::{Action, Pack, Support};

use super::aside::Aside;
use super::end::asked_for;
use super::said::{Said, all_words, word_of};
use super::{Belief, Change, Changed, End, Lesson, LessonStep, State, Suppose, Told, Weighings};
use crate::build::{self, conclusions, notices, sightings};
use crate::number::{odds_in_words, rounded};
use crate::page;
use crate::phrase::{capital, clean, sentence};
use crate::plain::{self, action_name};

/// Most beliefs shown.
const MOST: usize = 18;
/// A belief is shown when its chance moved by this much at some step.
const SHOWN: f64 = 0.02;

struct Builder<'a> {
    pack: &'a Pack,
    case: &'a Case,
    said: Said<'a>,
    shown: Vec<About>,
    words: Vec<String>,
    whys: Vec<String>,
    aside: Aside<'a>,
    /// The mark in the drawing of each sighting that stands at the end.
    marks: BTreeMap<String, String>,
}

pub(super) fn lesson(pack: &Pack, case: &Case, weighings: Weighings<'_>) -> Lesson {
    let Weighings {
        walk, changed, pairs, ..
    } = weighings;
    let mut builder = Builder {
        pack,
        case,
        said: Said { pack, case },
        shown: shown(walk),
        words: Vec::new(),
        whys: Vec::new(),
        aside: Aside::new(pack, case, walk, weighings.alone),
        marks: crate::plan::names_of_marks(pack, case, walk),
    };
    let start = builder.state(&walk.start);
    let steps: Vec<LessonStep> = (0..walk.steps.len()).filter_map(|at| builder.step(walk, at)).collect();
    let last = walk.steps.last().map_or(&walk.start, |step| &step.outcome);
    let suppose = changed
        .iter()
        .filter_map(|one| builder.suppose(one, last, &steps))
        .collect();
    let pairs = pairs
        .iter()
        .map(|(a, b, outcome)| (*a, *b, builder.state(outcome)))
        .collect();
    let mut notes = crate::build::about(case);
    notes.extend(pack.wording.cautions.clone());
    notes.extend([plain::rests_on(&build::policy(pack)), asked_for()]);
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
                group: matches!(about, About::Family(_)),
                causes: causes(pack, *about, &builder.shown),
            })
            .collect(),
        supports: all_words(),
        bounds: [
            pack.policy.bounds.some,
            pack.policy.bounds.fair,
            pack.policy.bounds.strong,
        ],
        actions: Action::ALL.iter().map(|action| action_name(action.name())).collect(),
        start,
        steps,
        suppose,
        pairs,
        words: builder.words,
        whys: builder.whys,
        end: End::default(),
        plan: String::new(),
        key: Vec::new(),
    }
}

/// The conclusions that the walk moved most or that ask for something at its end, in the order of the pack.
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
    let mut most: Vec<(About, Action)> = last
        .conclusions
        .iter()
        .filter(|one| one.action > Action::Record || moved(&one.about) >= SHOWN)
        .map(|one| (one.about, one.action))
        .collect();
    most.sort_by(|a, b| {
        b.1.cmp(&a.1)
            .then(moved(&b.0).total_cmp(&moved(&a.0)))
            .then(a.0.cmp(&b.0))
    });
    most.truncate(MOST);
    let mut shown: Vec<About> = most.into_iter().map(|(about, ..)| about).collect();
    shown.sort_unstable();
    shown
}

impl Builder<'_> {
    fn state(&mut self, outcome: &Outcome) -> State {
        let matters = build::matters_in_order(self.pack, self.case, outcome);
        let noticed = notices::notices(self.pack, self.case, outcome, &matters);
        let mut state = State {
            chances: Vec::new(),
            words: Vec::new(),
            supports: Vec::new(),
            actions: Vec::new(),
            whys: Vec::new(),
            most: outcome.action as usize,
            who: self.who(outcome, &noticed),
            notices: noticed
                .iter()
                .map(|notice| format!("{} {}", sentence(&notice.title), notice.says.join(" ")))
                .collect(),
        };
        for about in self.shown.clone() {
            // A conclusion that the facts rule out is not among them.
            let one = outcome.conclusions.iter().find(|one| one.about == about);
            let chance = one.map_or(0.0, |one| one.chance);
            state.chances.push(rounded(chance).unwrap_or(0.0));
            state.words.push(pooled(&mut self.words, odds_in_words(chance)));
            let why = one.map(|one| self.said.why(one)).unwrap_or_default();
            state.whys.push(pooled(&mut self.whys, why));
            let moved = !outcome.readings.is_empty();
            state
                .supports
                .push(one.map_or(Support::NotMoved as usize, |one| word_of(one, moved)));
            state
                .actions
                .push(one.map_or(Action::Record, |one| one.action) as usize);
        }
        state
    }

    fn step(&mut self, walk: &Walk, at: usize) -> Option<LessonStep> {
        let step = walk.steps.get(at)?;
        let pass = self.case.passes.get(step.pass)?;
        let sighting = pass.sightings.iter().find(|one| one.id == step.sighting)?;
        let earlier = at.checked_sub(1).and_then(|at| walk.steps.get(at));
        let before = earlier.map_or(&walk.start, |step| &step.outcome);
        let (mut told, mut others) = (Vec::new(), Vec::new());
        for one in &step.moved {
            let decibans = (one.weight * 10.0).round() / 10.0;
            match self.shown.iter().position(|about| *about == one.about) {
                Some(belief) => told.push(Told {
                    belief,
                    decibans,
                    by: self.said.by(before, step, one),
                }),
                None => others.push((
                    capital(&conclusions::title_and_place(self.pack, self.case, one.about)),
                    decibans,
                )),
            }
        }
        Some(LessonStep {
            sighting: step.sighting.clone(),
            pass: pass.title.as_deref().map_or_else(|| pass.id.clone(), clean),
            place: self.case.places.get(sighting.at)?.id.clone(),
            kind: kind(step, sighting),
            mark: self.marks.get(&step.sighting).cloned(),
            says: self.said.sighting(step, at, sighting),
            asides: self.aside.of(at, &self.shown, &told),
            others,
            moved: told,
            state: self.state(&step.outcome),
        })
    }

    /// Who asks for the most that is asked for: conclusions by name, groups before their causes; else what was noticed.
    fn who(&self, outcome: &Outcome, noticed: &[page::Notice]) -> Vec<String> {
        if outcome.action == Action::Record {
            return Vec::new();
        }
        let mut asks: Vec<&Conclusion> = outcome.conclusions.iter().collect();
        asks.retain(|one| one.action == outcome.action);
        asks.sort_by(|a, b| b.chance.total_cmp(&a.chance));
        let mut named: Vec<String> = asks
            .iter()
            .map(|one| conclusions::title_and_place(self.pack, self.case, one.about))
            .collect();
        let noticed = noticed.iter().filter(|one| one.action == outcome.action.name());
        named.extend(noticed.map(|one| one.title.clone()));
        named.dedup();
        named
    }

    /// Readings that something stood for and that are weighed by themselves without it.
    fn frees(&self, last: &Outcome, without: &Outcome) -> Vec<String> {
        let free = |reading: &&Reading| {
            let before = last.readings.iter().find(|one| one.sighting == reading.sighting);
            reading.used == Used::Weighed && before.is_some_and(|one| matches!(one.used, Used::SetAside { .. }))
        };
        let freed: Vec<&Reading> = without.readings.iter().filter(free).collect();
        sightings::by_clue(self.pack, self.case, &freed)
    }

    fn suppose(&mut self, one: &Changed, last: &Outcome, steps: &[LessonStep]) -> Option<Suppose> {
        let (says, step) = match &one.what {
            Change::Without(id) => {
                let step = steps.iter().position(|step| step.sighting == *id)?;
                (steps.get(step)?.says.clone(), Some(step))
            }
            Change::Found { clue, at, grade } => (self.said.supposed(*clue, *at, *grade), None),
        };
        Some(Suppose {
            says,
            taken_in: step.is_some(),
            step,
            frees: self.frees(last, &one.outcome),
            state: self.state(&one.outcome),
        })
    }
}

/// The causes of a group among those shown.
fn causes(pack: &Pack, group: About, shown: &[About]) -> Vec<usize> {
    let About::Family(family) = group else {
        return Vec::new();
    };
    let member =
        |about: &About| matches!(about, About::Mechanism { mechanism, .. } if pack[family].members.contains(mechanism));
    (0..)
        .zip(shown)
        .filter(|(_, about)| member(about))
        .map(|(at, _)| at)
        .collect()
}

/// What became of a step's own sighting.
fn kind(step: &WalkStep, sighting: &Sighting) -> &'static str {
    let own = step.outcome.readings.iter().find(|one| one.sighting == step.sighting);
    match (own.map(|reading| &reading.used), &sighting.seen) {
        (Some(Used::NotReached), _) | (_, Seen::NotReached { .. }) => "not reached",
        (Some(Used::Hidden { .. }), _) => "hidden",
        (_, Seen::Grade(_) | Seen::Present) => "seen",
        (_, Seen::NoneThere { .. }) => "none",
        (_, Seen::Measured { .. }) if own.is_some_and(|reading| reading.shows()) => "seen",
        (_, Seen::Measured { .. }) => "none",
    }
}

/// The index of a text in a pool, put there when it is new.
fn pooled(pool: &mut Vec<String>, text: String) -> usize {
    match pool.iter().position(|known| *known == text) {
        Some(at) => at,
        None => {
            pool.push(text);
            pool.len().saturating_sub(1)
        }
    }
}
