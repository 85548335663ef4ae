//! A case weighed and kept, so that more can be asked of it: rivals, margins, looks, the story.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

use wythe_case::Case;
use wythe_infer::{Evidence, Finding, Limits, SolveError, Solved, Supposition, Var, solve_seen};
use wythe_pack::{Action, ClueIx, MechanismIx, Node, Pack, Support};

use crate::ground::ground;
use crate::network::{End, Model};
use crate::paths::{Reached, reached};
use crate::weigh::{Options, Weighing};
use crate::{About, Conclusion, Outcome, Used, WeighError};

/// A case weighed and kept, so that more can be asked of it.
pub struct Weighed<'a> {
    pub(crate) weighing: Weighing<'a>,
    pub(crate) outcome: Outcome,
    pub(crate) solved: Solved,
    before: OnceLock<Solved>,
    wide: OnceLock<Wide>,
    reaches: Shelf<BTreeMap<(MechanismIx, usize), Arc<Reach>>>,
    /// The case solved anew, for margins.
    pub(crate) anew: Shelf<crate::margin::Anew>,
}

/// What a mechanism can reach: clues at places.
pub(crate) type Reach = BTreeMap<(ClueIx, usize), Reached>;

/// What was worked out and is put aside for the next who asks.
#[derive(Default)]
pub(crate) struct Shelf<T>(Mutex<T>);

impl<T: Default> Shelf<T> {
    fn lock(&self) -> MutexGuard<'_, T> {
        // What a panic left is as good: it is only ever added to, or taken whole.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Takes what there is; another who asks meanwhile starts from nothing.
    pub fn take(&self) -> T {
        std::mem::take(&mut *self.lock())
    }

    /// Puts it back.
    pub fn replace(&self, value: T) {
        *self.lock() = value;
    }
}

/// The network with every clue that could still be looked at.
pub(crate) struct Wide {
    pub model: Model,
    pub solved: Solved,
}

impl<'a> Weighed<'a> {
    /// Weighs a case by a pack.
    ///
    /// # Errors
    /// As [`crate::weigh`].
    pub fn new(pack: &'a Pack, case: &'a Case) -> Result<Self, WeighError> {
        let mut weighing = Weighing::new(pack, case, Options::default())?;
        let outcome = crate::conclude::outcome(&mut weighing)?;
        weighing.model = weighing.model.witnessed()?;
        let evidence = evidence(&weighing, &weighing.model);
        let solved = solve_seen(&weighing.model.net, &evidence, &Limits::default()).map_err(tangled)?;
        Ok(Weighed {
            weighing,
            outcome,
            solved,
            before: OnceLock::new(),
            wide: OnceLock::new(),
            reaches: Shelf::default(),
            anew: Shelf::default(),
        })
    }

    /// What came of weighing.
    pub fn outcome(&self) -> &Outcome {
        &self.outcome
    }

    /// The pack.
    pub fn pack(&self) -> &'a Pack {
        self.weighing.pack
    }

    /// The case.
    pub fn case(&self) -> &'a Case {
        self.weighing.case
    }

    /// What was asked, and is too tangled to be had, with the clues and places that tie the case together.
    pub(crate) fn tied(&self, error: WeighError) -> WeighError {
        match error {
            WeighError::TooTangled {
                width,
                limit,
                places,
                help,
            } if places.is_empty() => WeighError::TooTangled {
                width,
                limit,
                places: crate::tangle::tied(&self.weighing),
                help,
            },
            other => other,
        }
    }

    /// The conclusion about something.
    pub(crate) fn conclusion(&self, about: About) -> Result<&Conclusion, WeighError> {
        let found = self.outcome.conclusions.iter().find(|one| one.about == about);
        found.ok_or_else(|| WeighError::NoConclusion(crate::reasons::name(self.pack(), self.case(), about)))
    }

    /// What a mechanism at a place can reach.
    pub(crate) fn reach(&self, site: (MechanismIx, usize)) -> Arc<Reach> {
        if let Some(found) = self.reaches.lock().get(&site) {
            return found.clone();
        }
        let from = (Node::Mechanism(site.0), site.1);
        let found = reached(self.weighing.pack, self.weighing.case, &self.weighing.bound, from);
        self.reaches.lock().entry(site).or_insert(Arc::new(found)).clone()
    }

    /// What a conclusion can reach: of a family, what any member can, by the likeliest.
    pub(crate) fn reach_of(&self, about: About) -> Reach {
        let mut all = Reach::new();
        for site in self.sites(about) {
            for (key, found) in self.reach(site).iter() {
                if all.get(key).is_none_or(|other| other.chance < found.chance) {
                    all.insert(*key, found.clone());
                }
            }
        }
        all
    }

    /// The mechanisms that a conclusion is about, each at its place.
    pub(crate) fn sites(&self, about: About) -> Vec<(MechanismIx, usize)> {
        match about {
            About::Mechanism { mechanism, at } => vec![(mechanism, at)],
            About::Family(family) => self.weighing.members(family),
        }
    }

    /// The variables that are all at rest where a conclusion does not hold: one for a mechanism.
    pub(crate) fn vars(&self, about: About) -> Vec<Var> {
        vars(&self.weighing, &self.weighing.model, about)
    }

    /// The action that the pack's table gives a conclusion at a support.
    pub(crate) fn row(&self, about: About, support: Support) -> Action {
        row(self.pack(), about, support)
    }

    /// Whether a conclusion is one that the table refers once it is likelier than not.
    pub(crate) fn of_concern(&self, about: About) -> bool {
        self.row(about, Support::Fair) >= Action::Refer
    }

    /// Answers under suppositions.
    pub(crate) fn suppose(
        &self,
        all: &[Supposition],
        targets: &[Var],
    ) -> Result<Vec<wythe_infer::Supposed>, WeighError> {
        self.solved.suppose(all, targets).map_err(tangled)
    }

    /// The variable of the clue that a reading is about, where it is evidence.
    pub(crate) fn reading_var(&self, reading: usize) -> Option<Var> {
        let reading = self.weighing.bound.readings.get(reading)?;
        (reading.used == Used::Weighed).then(|| {
            self.weighing
                .model
                .vars
                .get(&(Node::Clue(reading.clue), reading.at))
                .copied()
        })?
    }

    /// The network before any sighting.
    pub(crate) fn before(&self) -> Result<&Solved, WeighError> {
        match self.before.get() {
            Some(before) => Ok(before),
            None => {
                let before = crate::rivals::before(self)?;
                Ok(self.before.get_or_init(|| before))
            }
        }
    }

    /// The network with every clue that could still be looked at, solved.
    pub(crate) fn wide(&self) -> Result<&Wide, WeighError> {
        if let Some(wide) = self.wide.get() {
            return Ok(wide);
        }
        let weighing = &self.weighing;
        let grounded = ground(weighing.pack, weighing.case, &weighing.bound, false);
        let model = Model::of(weighing.pack, &weighing.bound, &grounded, End::Best)?;
        let mut solved = solve_seen(&model.net, &evidence(weighing, &model), &Limits::default()).map_err(tangled)?;
        // What can't be summed out is kept live.
        let mut live: Vec<Var> = Vec::new();
        for (clue, at) in self.unseen() {
            let var = model
                .vars
                .get(&(Node::Clue(clue), at))
                .filter(|var| !solved.can_suppose(**var));
            live.extend(var.into_iter().flat_map(|var| model.net.parents(*var)));
        }
        if !live.is_empty() {
            live.sort();
            live.dedup();
            solved = solved.keeping(&live).map_err(tangled)?;
        }
        Ok(self.wide.get_or_init(|| Wide { model, solved }))
    }

    /// Clues at places that nobody has looked at and that can be reached, in the pack's order then the case's. A place
    /// where something could not be reached, and nothing was looked at, is taken to be out of reach.
    pub(crate) fn unseen(&self) -> Vec<(ClueIx, usize)> {
        let (pack, bound) = (self.weighing.pack, &self.weighing.bound);
        let read = &bound.readings;
        let shut = |place: usize| {
            let mut here = read.iter().filter(|reading| reading.at == place).peekable();
            here.peek().is_some() && here.all(|reading| reading.used == Used::NotReached)
        };
        let clues = pack.clues.iter().enumerate().filter(|(_, clue)| clue.pattern.is_none());
        let mut all = Vec::new();
        for (clue, place) in
            clues.flat_map(|(index, clue)| bound.places(clue.at).map(move |place| (ClueIx(index), place)))
        {
            let met = read.iter().any(|reading| (reading.clue, reading.at) == (clue, place));
            if !met && !shut(place) {
                all.push((clue, place));
            }
        }
        all
    }
}

/// All readings as evidence, and a finding that says nothing on every mechanism, which keeps it live.
pub(crate) fn evidence(weighing: &Weighing<'_>, model: &Model) -> Evidence {
    let mut evidence = model.evidence(weighing.pack, &weighing.bound.readings, |_| true);
    quiet(model, &mut evidence);
    evidence
}

pub(crate) fn quiet(model: &Model, evidence: &mut Evidence) {
    for var in model.witnesses.values() {
        evidence.insert(*var, Finding::Likelihood(vec![1.0, 1.0]));
    }
}

pub(crate) fn vars(weighing: &Weighing<'_>, model: &Model, about: About) -> Vec<Var> {
    let sites: Vec<(MechanismIx, usize)> = match about {
        About::Mechanism { mechanism, at } => vec![(mechanism, at)],
        About::Family(family) => weighing.members(family),
    };
    sites.into_iter().filter_map(|site| var(model, site)).collect()
}

/// The variable of a mechanism at a place.
pub(crate) fn var(model: &Model, (mechanism, at): (MechanismIx, usize)) -> Option<Var> {
    model.vars.get(&(Node::Mechanism(mechanism), at)).copied()
}

/// The action that a pack's table gives a conclusion at a support.
pub(crate) fn row(pack: &Pack, about: About, support: Support) -> Action {
    let table = |at: usize| pack.policy.consequences.get(at).map(|row| row.action(support));
    let found = match about {
        About::Mechanism { mechanism, .. } => {
            let own = pack[mechanism].actions.iter().find(|(key, _)| *key == support);
            own.map(|(_, action)| *action)
                .or_else(|| table(pack[mechanism].consequence))
        }
        About::Family(family) => pack[family].consequence.and_then(table),
    };
    found.unwrap_or(Action::Record)
}

pub(crate) fn tangled(error: SolveError) -> WeighError {
    match error {
        SolveError::TooTangled { width, limit, .. } => WeighError::TooTangled {
            width,
            limit,
            places: Vec::new(),
            help: crate::weigh::IN_PARTS.into(),
        },
        _ => WeighError::Impossible,
    }
}
