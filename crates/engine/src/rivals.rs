//! Rivals: what else could have left the same signs, what tells the two apart, and which look would.
//!
//! A rival `d` of a conclusion `c` is a mechanism that can leave a sign which was seen and which `c` can leave too, and
//! that is likelier if `c` is not there than if it is. *Ordinary causes* are a rival as well: that none of the pack's
//! mechanisms which can leave those signs is there, so that they come from the backgrounds.
//!
//! With `A` = "`c` and not `d`" and `B` = "`d` and not `c`" (for ordinary causes `A` = `c`), all that is known tells them
//! apart by the weight, in decibans,
//!
//! ```text
//! W = 10 log10 [ P(A | e) / P(B | e) ] − 10 log10 [ P(A) / P(B) ]            (Good 1950)
//! ```
//!
//! and one sighting `s` by what it adds to all others: `W(e) − W(e without s)`. These do not add up. A look at a clue not
//! looked at tells them apart by the mean of the two expected weights, with `a_g = P(g | e, A)` and `b_g = P(g | e, B)`:
//!
//! ```text
//! J = ½ Σ_g (a_g − b_g) · 10 log10 (a_g / b_g)                  (Jeffreys' divergence, halved)
//! ```

mod event;

use std::collections::BTreeSet;

use wythe_infer::{Limits, Solved, Supposition, Var, solve_seen};
use wythe_pack::{ClueIx, MechanismIx, Node};

use crate::joint::{Asking, Column, Further, Questions};
use crate::kept::tangled;
use crate::network::Model;
use crate::{About, Used, WeighError, Weighed, decibans};
use event::{Event, events};

/// Most rivals that are mechanisms.
const MOST: usize = 3;
/// A rival is likelier without the conclusion than with it by at least this, in decibans of odds.
const SOME: f64 = 1.0;

/// The rivals of one conclusion.
#[derive(Clone, Debug, PartialEq)]
pub struct Rivals {
    /// The conclusion.
    pub about: About,
    /// Mechanisms, those likeliest without it first, then ordinary causes; empty where it can leave nothing that was seen.
    pub rivals: Vec<Contender>,
}

/// What else could be behind the signs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Instead {
    /// A mechanism at a place of the case.
    Mechanism {
        /// The mechanism.
        mechanism: MechanismIx,
        /// Index of the place in the case.
        at: usize,
    },
    /// No mechanism of the pack that can leave these signs: their backgrounds.
    Ordinary,
}

/// A rival of a conclusion.
#[derive(Clone, Debug, PartialEq)]
pub struct Contender {
    /// What it is.
    pub instead: Instead,
    /// Its chance if the conclusion does not hold, given everything, 0–1.
    pub without: f64,
    /// Its chance if the conclusion holds, 0–1; 0 for ordinary causes.
    pub with: f64,
    /// Decibans of the odds of the conclusion alone against the rival alone, given everything: over 0 favours the
    /// conclusion.
    pub ahead: f64,
    /// The part of that which the sightings made.
    pub weight: f64,
    /// Signs seen that both can leave: indices into [`crate::Outcome::readings`].
    pub shared: Vec<usize>,
    /// What each reading that either can leave adds to telling them apart, largest first: its index, and decibans, over 0
    /// for the conclusion.
    pub apart: Vec<(usize, f64)>,
    /// The look that would tell them apart best.
    pub look: Option<Separates>,
}

/// A look that tells two rivals apart.
#[derive(Clone, Debug, PartialEq)]
pub struct Separates {
    /// The clue.
    pub clue: ClueIx,
    /// Index of the place in the case.
    pub at: usize,
    /// How well it tells them apart, in decibans on average.
    pub decibans: f64,
    /// The weight that finding each grade would have, in decibans, over 0 for the conclusion.
    pub weights: Vec<f64>,
}

fn ratio((a, b): (f64, f64)) -> f64 {
    10.0 * (libm::log10(a) - libm::log10(b))
}

/// The rivals of a conclusion.
///
/// # Errors
/// [`WeighError::NoConclusion`] where the case has no such conclusion; [`WeighError::TooTangled`].
pub fn rivals(weighed: &Weighed<'_>, about: About) -> Result<Rivals, WeighError> {
    let found = rivals_of(weighed, &[about])?.into_iter().next();
    found.ok_or(WeighError::Impossible)
}

/// The rivals of several conclusions, at less cost together than one by one.
///
/// # Errors
/// As [`rivals`].
pub fn rivals_of(weighed: &Weighed<'_>, abouts: &[About]) -> Result<Vec<Rivals>, WeighError> {
    let mut asking = Asking::default();
    let telling = Telling::ask(weighed, abouts, &mut asking)?;
    asking.answer(weighed)?;
    Ok(telling.finish(abouts, &asking))
}

/// What else could be behind the signs of a conclusion; nothing where it can leave nothing that was seen.
fn seeds_of(weighed: &Weighed<'_>, about: About) -> Result<Vec<Seed>, WeighError> {
    weighed.conclusion(about)?;
    let own = weighed.vars(about);
    let reach = weighed.reach_of(about);
    let readings = &weighed.outcome().readings;
    let shown: Vec<usize> = (0..readings.len())
        .filter(|index| {
            readings.get(*index).is_some_and(|reading| {
                reading.used == Used::Weighed && reading.shows() && reach.contains_key(&(reading.clue, reading.at))
            })
        })
        .collect();
    if shown.is_empty() {
        return Ok(Vec::new());
    }
    let sites = weighed.sites(about);
    let mut others = Vec::new();
    for one in &weighed.outcome().conclusions {
        if let About::Mechanism { mechanism, at } = one.about
            && !sites.contains(&(mechanism, at))
            && let [var] = weighed.vars(one.about).as_slice()
        {
            let reaches = weighed.reach((mechanism, at));
            let both = |index: &&usize| {
                let reading = readings.get(**index);
                reading.is_some_and(|one| reaches.contains_key(&(one.clue, one.at)))
            };
            let shared: Vec<usize> = shown.iter().filter(both).copied().collect();
            if !shared.is_empty() {
                others.push(Other {
                    site: (mechanism, at),
                    var: *var,
                    shared,
                    keys: reaches.keys().copied().collect(),
                });
            }
        }
    }
    let targets: Vec<Var> = others.iter().map(|other| other.var).collect();
    let absent = |vars: &[Var]| Supposition {
        states: vars.iter().map(|var| (*var, 0)).collect(),
        ..Supposition::default()
    };
    let every: Vec<Var> = own.iter().chain(&targets).copied().collect();
    let found = weighed.suppose(&[absent(&own), absent(&every)], &targets)?;
    let [without_it, none_of_them] = found.as_slice() else {
        return Ok(Vec::new());
    };
    let no = libm::exp(without_it.ln() - weighed.solved.ln_evidence());
    let mut list = Vec::new();
    for other in &others {
        let present = |p: &[f64]| p.get(1).copied().unwrap_or(0.0);
        let without = present(without_it.posterior(other.var));
        let with = (present(weighed.solved.posterior(other.var)) - no * without) / (1.0 - no);
        let with = with.clamp(0.0, 1.0);
        if decibans(without) - decibans(with) >= SOME {
            list.push((without, with, other));
        }
    }
    list.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.2.site.cmp(&b.2.site)));
    list.truncate(MOST);
    let own_keys: BTreeSet<(ClueIx, usize)> = reach.keys().copied().collect();
    let mut seeds = Vec::new();
    for (without, with, other) in list {
        let (mechanism, at) = other.site;
        seeds.push(Seed {
            about,
            instead: Instead::Mechanism { mechanism, at },
            sites: vec![other.site],
            keys: own_keys.union(&other.keys).copied().collect(),
            without,
            with,
            shared: other.shared.clone(),
        });
    }
    seeds.push(Seed {
        about,
        instead: Instead::Ordinary,
        sites: others.iter().map(|other| other.site).collect(),
        keys: own_keys,
        without: libm::exp(none_of_them.ln() - without_it.ln()),
        with: 0.0,
        shared: shown,
    });
    Ok(seeds)
}

/// A mechanism that shares signs with the conclusion.
struct Other {
    site: (MechanismIx, usize),
    var: Var,
    shared: Vec<usize>,
    keys: BTreeSet<(ClueIx, usize)>,
}

/// A rival, and what is known of it before it is told apart.
struct Seed {
    about: About,
    instead: Instead,
    sites: Vec<(MechanismIx, usize)>,
    keys: BTreeSet<(ClueIx, usize)>,
    without: f64,
    with: f64,
    shared: Vec<usize>,
}

/// Two events that are held against each other, and what is supposed beside both.
struct Pair {
    events: (Event, Event),
    columns: Vec<Column>,
}

impl Pair {
    fn ask(
        questions: &mut Questions,
        weighed: &Weighed<'_>,
        model: &Model,
        seed: &Seed,
        further: impl IntoIterator<Item = Further>,
    ) -> Pair {
        let own = crate::kept::vars(&weighed.weighing, model, seed.about);
        let other = seed.sites.iter().filter_map(|site| crate::kept::var(model, *site));
        let events = events(questions, seed.instead, &own, &other.collect::<Vec<Var>>());
        let columns: Vec<Column> = further.into_iter().map(|one| questions.column(one)).collect();
        events.0.ask(questions, &columns);
        events.1.ask(questions, &columns);
        Pair { events, columns }
    }

    /// The chances of both, with each that is supposed beside.
    fn found(&self, questions: &Questions) -> impl Iterator<Item = (f64, f64)> {
        let (a, b) = &self.events;
        let columns = self.columns.iter();
        columns.map(move |column| (a.chance(questions, *column), b.chance(questions, *column)))
    }
}

/// What tells some rivals from their conclusions, once that is answered.
pub(crate) struct Telling(Vec<Told>);

/// Of one rival.
struct Told {
    /// The place of its conclusion among those asked about.
    of: usize,
    seed: Seed,
    /// The readings that bear on either: with none, and without each.
    read: Vec<usize>,
    seen: Pair,
    before: Pair,
    /// The looks that bear on either, each with its number of grades.
    sites: Vec<(ClueIx, usize, usize)>,
    looks: Pair,
}

impl Telling {
    /// Asks of what was seen and of what could be looked at, for each of the conclusions.
    pub fn ask(weighed: &Weighed<'_>, abouts: &[About], asking: &mut Asking) -> Result<Telling, WeighError> {
        let (model, wide) = (&weighed.weighing.model, weighed.wide()?);
        let unseen = weighed.unseen();
        let mut all = Vec::new();
        for (of, about) in abouts.iter().enumerate() {
            for seed in seeds_of(weighed, *about)? {
                let (mut read, mut without) = (Vec::new(), vec![Further::Nothing]);
                for (index, one) in weighed.outcome().readings.iter().enumerate() {
                    if let Some(var) = weighed.reading_var(index)
                        && seed.keys.contains(&(one.clue, one.at))
                    {
                        read.push(index);
                        without.push(Further::Without(var));
                    }
                }
                let (mut sites, mut further) = (Vec::new(), Vec::new());
                for (clue, at) in unseen.iter().copied().filter(|key| seed.keys.contains(key)) {
                    if let Some(var) = wide.model.vars.get(&(Node::Clue(clue), at)).copied() {
                        let states = wide.model.net.states(var);
                        sites.push((clue, at, states));
                        further.extend(Further::up_to(var, states));
                    }
                }
                all.push(Told {
                    of,
                    read,
                    sites,
                    seen: Pair::ask(&mut asking.seen, weighed, model, &seed, without),
                    before: Pair::ask(&mut asking.before, weighed, model, &seed, [Further::Nothing]),
                    looks: Pair::ask(&mut asking.wide, weighed, &wide.model, &seed, further),
                    seed,
                });
            }
        }
        Ok(Telling(all))
    }

    /// The rivals of each of the conclusions.
    pub fn finish(&self, abouts: &[About], asking: &Asking) -> Vec<Rivals> {
        let none = |about: &About| Rivals {
            about: *about,
            rivals: Vec::new(),
        };
        let mut out: Vec<Rivals> = abouts.iter().map(none).collect();
        for told in &self.0 {
            if let Some(own) = out.get_mut(told.of) {
                own.rivals.push(told.contender(asking));
            }
        }
        out
    }
}

impl Told {
    fn contender(&self, asking: &Asking) -> Contender {
        let mut found = self.seen.found(&asking.seen).map(ratio);
        let ahead = found.next().unwrap_or(0.0);
        let without = self.read.iter().copied().zip(found);
        let mut apart: Vec<(usize, f64)> = without.map(|(index, without)| (index, ahead - without)).collect();
        apart.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()).then(a.0.cmp(&b.0)));
        Contender {
            instead: self.seed.instead,
            without: self.seed.without,
            with: self.seed.with,
            ahead,
            weight: ahead - self.before.found(&asking.before).map(ratio).next().unwrap_or(0.0),
            shared: self.seed.shared.clone(),
            apart,
            look: best(&self.sites, self.looks.found(&asking.wide)),
        }
    }
}

/// The best of some looks: the clue, its place, its number of grades; and the pairs "at most" each of them.
fn best(sites: &[(ClueIx, usize, usize)], mut found: impl Iterator<Item = (f64, f64)>) -> Option<Separates> {
    let mut best: Option<Separates> = None;
    for &(clue, at, states) in sites {
        let found: Vec<(f64, f64)> = found.by_ref().take(states).collect();
        let Some(&(all_a, all_b)) = found.last() else { continue };
        let (mut weights, mut sum, mut below) = (Vec::with_capacity(states), 0.0, (0.0, 0.0));
        for (a, b) in found {
            let (p, q) = ((a - below.0).max(0.0) / all_a, (b - below.1).max(0.0) / all_b);
            below = (a, b);
            let weight = ratio((p, q));
            if p > 0.0 && q > 0.0 {
                sum += (p - q) * weight / 2.0;
            }
            weights.push(weight);
        }
        if sum > 0.0 && best.as_ref().is_none_or(|best| sum > best.decibans) {
            best = Some(Separates {
                clue,
                at,
                decibans: sum,
                weights,
            });
        }
    }
    best
}

/// The network before any sighting.
pub(crate) fn before(weighed: &Weighed<'_>) -> Result<Solved, WeighError> {
    let mut quiet = wythe_infer::Evidence::new();
    crate::kept::quiet(&weighed.weighing.model, &mut quiet);
    solve_seen(&weighed.weighing.model.net, &quiet, &Limits::default()).map_err(tangled)
}
