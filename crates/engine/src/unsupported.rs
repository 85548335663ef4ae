//! Not supported: what kept a conclusion down.
//!
//! Three things keep a mechanism from being supported, and each is named: what was looked for and not there, or there of
//! another kind, and speaks against it; signs of it that something else accounts for; and signs of it that nobody has
//! looked for, with what its chance would be if one were found.

use wythe_infer::{Evidence, Limits, Supposition, Var, solve_seen};
use wythe_pack::{ClueIx, Node, Support};

use crate::kept::tangled;
use crate::{About, ExplainedAway, WeighError, Weighed, decibans};

/// A weight that counts as some, in decibans.
const SOME: f64 = 1.0;

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
    let one = weighed.conclusion(about)?;
    let own = weighed.vars(about);
    let reach = weighed.reach_of(about);
    let outcome = weighed.outcome();
    let mut out = Unsupported {
        about,
        support: one.support,
        chance: (one.prior, one.chance),
        against: Vec::new(),
        taken: Vec::new(),
        missing: missing(weighed, about, &reach.keys().copied().collect::<Vec<_>>())?,
    };
    let read: Vec<(usize, Var)> = (0..outcome.readings.len())
        .filter_map(|index| Some((index, weighed.reading_var(index)?)))
        .collect();
    let mechanisms: Vec<(About, Var)> = outcome
        .conclusions
        .iter()
        .filter(|other| matches!(other.about, About::Mechanism { .. }))
        .filter_map(|other| Some((other.about, *weighed.vars(other.about).first()?)))
        .collect();
    let targets: Vec<Var> = mechanisms.iter().map(|(_, var)| *var).collect();
    let left_out = |states: Vec<(Var, usize)>| {
        let all = read.iter().map(move |(_, var)| Supposition {
            states: states.clone(),
            at_most: Vec::new(),
            without: Some(*var),
        });
        all.collect::<Vec<_>>()
    };
    let free = weighed.suppose(&left_out(Vec::new()), &targets)?;
    let absent = weighed.suppose(&left_out(own.iter().map(|var| (*var, 0)).collect()), &[])?;
    for (((index, _), free), absent) in read.iter().zip(&free).zip(&absent) {
        let without = -libm::expm1((absent.ln() - free.ln()).min(0.0));
        let adds = decibans(one.chance) - decibans(without);
        if adds <= -SOME {
            out.against.push((*index, adds));
        }
        let Some(reading) = outcome.readings.get(*index) else {
            continue;
        };
        if !reading.shows() || !reach.contains_key(&(reading.clue, reading.at)) {
            continue;
        }
        let alone = alone(weighed, about, *index)? - decibans(one.prior);
        if alone < SOME || adds >= alone - SOME {
            continue;
        }
        let mut by: Option<(About, f64)> = None;
        for (other, var) in mechanisms.iter().filter(|(_, var)| !own.contains(var)) {
            let chance = |p: &[f64]| p.get(1).copied().unwrap_or(0.0);
            let (without, with) = (chance(free.posterior(*var)), chance(weighed.solved.posterior(*var)));
            if let Some(takes) = crate::reasons::takes(without, with)
                && by.is_none_or(|(_, most)| takes > most)
            {
                by = Some((*other, takes));
            }
        }
        if let Some((by, _)) = by {
            out.taken.push(ExplainedAway {
                reading: *index,
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
fn alone(weighed: &Weighed<'_>, about: About, reading: usize) -> Result<f64, WeighError> {
    let weighing = &weighed.weighing;
    let readings = &weighing.bound.readings;
    let mut evidence: Evidence = weighing
        .model
        .evidence(weighing.pack, readings, |index| index == reading);
    crate::kept::quiet(&weighing.model, &mut evidence);
    let solved = solve_seen(&weighing.model.net, &evidence, &Limits::default()).map_err(tangled)?;
    let absent = Supposition {
        states: weighed.vars(about).into_iter().map(|var| (var, 0)).collect(),
        ..Supposition::default()
    };
    let found = solved.suppose(&[absent], &[]).map_err(tangled)?;
    let none = found.first().map_or(0.0, |one| one.ln() - solved.ln_evidence());
    Ok(decibans(-libm::expm1(none.min(0.0))))
}

fn missing(weighed: &Weighed<'_>, about: About, reach: &[(ClueIx, usize)]) -> Result<Vec<Missing>, WeighError> {
    let wide = weighed.wide()?;
    let absent: Vec<(Var, usize)> = crate::kept::vars(&weighed.weighing, &wide.model, about)
        .into_iter()
        .map(|var| (var, 0))
        .collect();
    let sites: Vec<(ClueIx, usize, Var)> = weighed
        .unseen()
        .into_iter()
        .filter(|site| reach.contains(site))
        .filter_map(|(clue, at)| Some((clue, at, *wide.model.vars.get(&(Node::Clue(clue), at))?)))
        .collect();
    let mut all = vec![Supposition {
        states: absent.clone(),
        ..Supposition::default()
    }];
    for (_, _, var) in &sites {
        for states in [&Vec::new(), &absent] {
            all.push(Supposition {
                states: states.clone(),
                at_most: vec![(*var, 0)],
                without: None,
            });
        }
    }
    let found = wide.solved.suppose(&all, &[]).map_err(tangled)?;
    let total = wide.solved.ln_evidence();
    let share: Vec<f64> = found.iter().map(|one| libm::exp(one.ln() - total)).collect();
    let no = share.first().copied().unwrap_or(1.0);
    let mut missing = Vec::with_capacity(sites.len());
    for ((clue, at, _), pair) in sites.into_iter().zip(share.get(1..).unwrap_or(&[]).chunks_exact(2)) {
        let [none, none_and_no] = pair else { continue };
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
    Ok(missing)
}
