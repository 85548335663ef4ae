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

use std::collections::BTreeSet;

use wythe_infer::{Limits, Solved, Supposition, Var, solve_seen};
use wythe_pack::{ClueIx, MechanismIx, Node};

use crate::kept::tangled;
use crate::{About, Used, WeighError, Weighed, decibans};

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

/// An event, as a sum of suppositions with signs.
#[derive(Clone, Debug)]
struct Event(Vec<(f64, Vec<(Var, usize)>)>);

impl Event {
    fn all_at(vars: &[Var], state: usize) -> Vec<(Var, usize)> {
        vars.iter().map(|var| (*var, state)).collect()
    }

    /// At least one of these is there.
    fn any(vars: &[Var]) -> Event {
        match vars {
            [one] => Event(vec![(1.0, vec![(*one, 1)])]),
            all => Event(vec![(1.0, Vec::new()), (-1.0, Event::all_at(all, 0))]),
        }
    }

    /// None of these is there.
    fn none(vars: &[Var]) -> Event {
        Event(vec![(1.0, Event::all_at(vars, 0))])
    }

    fn and(mut self, vars: &[Var], state: usize) -> Event {
        for (_, states) in &mut self.0 {
            states.extend(Event::all_at(vars, state));
        }
        self
    }

    fn suppositions(&self, further: Further) -> impl Iterator<Item = Supposition> + '_ {
        self.0.iter().map(move |(_, states)| {
            let mut one = Supposition {
                states: states.clone(),
                ..Supposition::default()
            };
            match further {
                Further::Nothing => {}
                Further::Without(var) => one.without = Some(var),
                Further::AtMost(var, state) => one.at_most.push((var, state)),
            }
            one
        })
    }
}

/// "The conclusion and not the rival", "the rival and not the conclusion"; or "the conclusion", "none that could".
fn events(instead: Instead, own: &[Var], other: &[Var]) -> (Event, Event) {
    match instead {
        Instead::Mechanism { .. } => (Event::any(own).and(other, 0), Event::none(own).and(other, 1)),
        Instead::Ordinary => (Event::any(own), Event::none(other).and(own, 0)),
    }
}

/// What is supposed beside an event: a finding left out, or a look that finds at most a state.
#[derive(Clone, Copy, Debug)]
enum Further {
    Nothing,
    Without(Var),
    AtMost(Var, usize),
}

/// Probabilities of two events, each with the same further suppositions, over P(evidence): for each of several pairs.
fn pairs(
    solved: &Solved,
    events: &[(Event, Event)],
    further: &[Vec<Further>],
) -> Result<Vec<Vec<(f64, f64)>>, WeighError> {
    let mut all = Vec::new();
    for ((a, b), further) in events.iter().zip(further) {
        for one in further {
            all.extend(a.suppositions(*one));
            all.extend(b.suppositions(*one));
        }
    }
    let mut found = solved.suppose(&all, &[]).map_err(tangled)?.into_iter();
    let scale = solved.ln_evidence();
    let mut sum = |event: &Event| -> f64 {
        let parts = event.0.iter().zip(found.by_ref());
        let sum: f64 = parts.map(|((sign, _), one)| sign * libm::exp(one.ln() - scale)).sum();
        sum.max(0.0)
    };
    let mut out = Vec::with_capacity(events.len());
    for ((a, b), further) in events.iter().zip(further) {
        out.push(further.iter().map(|_| (sum(a), sum(b))).collect());
    }
    Ok(out)
}

fn ratio((a, b): (f64, f64)) -> f64 {
    10.0 * (libm::log10(a) - libm::log10(b))
}

/// The rivals of a conclusion.
///
/// # Errors
/// [`WeighError::NoConclusion`] where the case has no such conclusion; [`WeighError::TooTangled`].
pub fn rivals(weighed: &Weighed<'_>, about: About) -> Result<Rivals, WeighError> {
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
    let mut out = Rivals {
        about,
        rivals: Vec::new(),
    };
    if shown.is_empty() {
        return Ok(out);
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
                    keys: reaches.into_keys().collect(),
                });
            }
        }
    }
    let targets: Vec<Var> = others.iter().map(|other| other.var).collect();
    let absent = |vars: &[Var]| Supposition {
        states: Event::all_at(vars, 0),
        ..Supposition::default()
    };
    let every: Vec<Var> = own.iter().chain(&targets).copied().collect();
    let found = weighed.suppose(&[absent(&own), absent(&every)], &targets)?;
    let [without_it, none_of_them] = found.as_slice() else {
        return Ok(out);
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
            instead: Instead::Mechanism { mechanism, at },
            sites: vec![other.site],
            keys: own_keys.union(&other.keys).copied().collect(),
            without,
            with,
            shared: other.shared.clone(),
        });
    }
    seeds.push(Seed {
        instead: Instead::Ordinary,
        sites: others.iter().map(|other| other.site).collect(),
        keys: own_keys,
        without: libm::exp(none_of_them.ln() - without_it.ln()),
        with: 0.0,
        shared: shown,
    });
    out.rivals = contenders(weighed, about, seeds)?;
    Ok(out)
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
    instead: Instead,
    sites: Vec<(MechanismIx, usize)>,
    keys: BTreeSet<(ClueIx, usize)>,
    without: f64,
    with: f64,
    shared: Vec<usize>,
}

/// What tells each rival from the conclusion.
fn contenders(weighed: &Weighed<'_>, about: About, seeds: Vec<Seed>) -> Result<Vec<Contender>, WeighError> {
    let model = &weighed.weighing.model;
    let own = weighed.vars(about);
    let event = |seed: &Seed| {
        let other: Vec<Var> = seed
            .sites
            .iter()
            .filter_map(|site| crate::kept::var(model, *site))
            .collect();
        events(seed.instead, &own, &other)
    };
    let events: Vec<(Event, Event)> = seeds.iter().map(event).collect();
    let readings = &weighed.outcome().readings;
    let read = |seed: &Seed| -> Vec<(usize, Var)> {
        let bears = |(index, one): (usize, &crate::Reading)| {
            let bears = seed.keys.contains(&(one.clue, one.at));
            bears.then(|| Some((index, weighed.reading_var(index)?))).flatten()
        };
        readings.iter().enumerate().filter_map(bears).collect()
    };
    let read: Vec<Vec<(usize, Var)>> = seeds.iter().map(read).collect();
    let further: Vec<Vec<Further>> = read
        .iter()
        .map(|read| {
            let without = read.iter().map(|(_, var)| Further::Without(*var));
            std::iter::once(Further::Nothing).chain(without).collect()
        })
        .collect();
    let found = pairs(&weighed.solved, &events, &further)?;
    let nothing = vec![vec![Further::Nothing]; events.len()];
    let before = pairs(weighed.before()?, &events, &nothing)?;
    let looks = separates(weighed, about, &seeds)?;
    let mut out = Vec::with_capacity(seeds.len());
    for ((((seed, read), found), before), look) in seeds.into_iter().zip(read).zip(found).zip(before).zip(looks) {
        let ahead = found.first().map_or(0.0, |pair| ratio(*pair));
        let mut apart: Vec<(usize, f64)> = read
            .iter()
            .zip(found.iter().skip(1))
            .map(|((index, _), pair)| (*index, ahead - ratio(*pair)))
            .collect();
        apart.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()).then(a.0.cmp(&b.0)));
        out.push(Contender {
            instead: seed.instead,
            without: seed.without,
            with: seed.with,
            ahead,
            weight: ahead - before.first().map_or(0.0, |pair| ratio(*pair)),
            shared: seed.shared,
            apart,
            look,
        });
    }
    Ok(out)
}

/// The look that tells each rival from the conclusion best.
fn separates(weighed: &Weighed<'_>, about: About, seeds: &[Seed]) -> Result<Vec<Option<Separates>>, WeighError> {
    let wide = weighed.wide()?;
    let own = crate::kept::vars(&weighed.weighing, &wide.model, about);
    let unseen = weighed.unseen();
    let (mut all, mut sites, mut further) = (Vec::new(), Vec::new(), Vec::new());
    for seed in seeds {
        let other = seed
            .sites
            .iter()
            .filter_map(|site| crate::kept::var(&wide.model, *site));
        all.push(events(seed.instead, &own, &other.collect::<Vec<Var>>()));
        let (mut own_sites, mut asked) = (Vec::new(), Vec::new());
        for (clue, at) in unseen.iter().copied().filter(|key| seed.keys.contains(key)) {
            if let Some(var) = wide.model.vars.get(&(Node::Clue(clue), at)).copied() {
                let states = wide.model.net.states(var);
                own_sites.push((clue, at, states));
                asked.extend((0..states).map(|state| Further::AtMost(var, state)));
            }
        }
        sites.push(own_sites);
        further.push(asked);
    }
    let found = pairs(&wide.solved, &all, &further)?;
    Ok(sites
        .into_iter()
        .zip(found)
        .map(|(sites, found)| best(&sites, found))
        .collect())
}

/// The best of some looks: the clue, its place, its number of grades; and the pairs "at most" each of them.
fn best(sites: &[(ClueIx, usize, usize)], found: Vec<(f64, f64)>) -> Option<Separates> {
    let mut best: Option<Separates> = None;
    let mut found = found.into_iter();
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
