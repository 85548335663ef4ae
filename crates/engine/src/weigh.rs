//! From pack and case to chances: the network solved before and after each group of readings.

use std::collections::BTreeMap;

use thiserror::Error;
use wythe_case::Case;
use wythe_infer::{Evidence, Finding, Limits, NetworkError, SolveError, Solver, Var, solve};
use wythe_pack::{FamilyIx, MechanismIx, Node, Pack};
use wythe_text::Problems;

use crate::bind::{Bound, bind};
use crate::ground::{Grounded, Site, ground};
use crate::network::{End, Model, base};
use crate::{About, Outcome, Used};

/// Why a case could not be weighed.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum WeighError {
    /// The case names what the pack has not; every such place at once.
    #[error("{0}")]
    Mismatch(Problems),
    /// Too much hangs together to answer exactly.
    #[error("this case is too tangled to weigh exactly: it would take {}, and the limit is {limit}{}", table(*width, *limit), hangs(places))]
    TooTangled {
        /// Binary logarithm of the table needed.
        width: usize,
        /// The limit.
        limit: usize,
        /// What hangs together, in words.
        places: Vec<String>,
    },
    /// The sightings contradict each other under this pack.
    #[error(
        "these sightings cannot all hold under this pack: their chance is 0; check the contexts that rule causes out"
    )]
    Impossible,
    /// There is no such conclusion in this case.
    #[error("there is no such conclusion here: {0}")]
    NoConclusion(String),
    /// The pack made a network that is not one; a fault of this program.
    #[error("the pack and case do not make a network: {0}")]
    Network(#[from] NetworkError),
}

/// What it would take, in words: one table, or all of them together.
fn table(width: usize, limit: usize) -> String {
    if width > limit {
        format!("a table of width {width}")
    } else {
        "more tables than fit together".into()
    }
}

fn hangs(places: &[String]) -> String {
    if places.is_empty() {
        return "; weigh it in parts".into();
    }
    format!("; what hangs together: {}", places.join(", "))
}

/// What may be changed about weighing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Options {
    /// Leave out what has no bearing on the answers. The answers are the same.
    pub prune: bool,
    /// Largest table, as the binary logarithm of its entries.
    pub width: usize,
}

impl Default for Options {
    fn default() -> Self {
        Options {
            prune: true,
            width: Limits::default().width,
        }
    }
}

/// Weighs a case by a pack.
///
/// # Errors
/// [`WeighError::Mismatch`] with every name that the pack does not have; [`WeighError::TooTangled`];
/// [`WeighError::Impossible`].
pub fn weigh(pack: &Pack, case: &Case) -> Result<Outcome, WeighError> {
    weigh_with(pack, case, Options::default())
}

/// Weighs a case by a pack, with options.
///
/// # Errors
/// As [`weigh`].
pub fn weigh_with(pack: &Pack, case: &Case, options: Options) -> Result<Outcome, WeighError> {
    let mut weighing = Weighing::new(pack, case, options)?;
    crate::conclude::outcome(&mut weighing)
}

/// A case on its way from readings to an outcome.
pub(crate) struct Weighing<'a> {
    pub pack: &'a Pack,
    pub case: &'a Case,
    pub bound: Bound,
    pub grounded: Grounded,
    pub model: Model,
    /// What every conclusion is about: mechanisms at their places, then families.
    pub about: Vec<About>,
    options: Options,
    pub solver: Solver,
    /// A finding that says nothing, on every mechanism: keeps them all live in one plan.
    quiet: Evidence,
}

/// The chance of each conclusion, in the order of [`Weighing::about`].
pub(crate) type Chances = Vec<f64>;

impl<'a> Weighing<'a> {
    pub fn new(pack: &'a Pack, case: &'a Case, options: Options) -> Result<Self, WeighError> {
        let bound = bind(pack, case).map_err(WeighError::Mismatch)?;
        let grounded = ground(pack, case, &bound, options.prune);
        let model = Model::of(pack, &bound, &grounded, End::Best)?;
        let mut about: Vec<About> = mechanisms(&grounded)
            .map(|(mechanism, at)| About::Mechanism { mechanism, at })
            .collect();
        about.sort();
        let here: Vec<MechanismIx> = mechanisms(&grounded).map(|(mechanism, _)| mechanism).collect();
        let families = (0..pack.families.len()).map(FamilyIx);
        about.extend(
            families
                .filter(|at| pack[*at].members.iter().any(|one| here.contains(one)))
                .map(About::Family),
        );
        let mut quiet = Evidence::new();
        for (mechanism, at) in mechanisms(&grounded) {
            if let Some(var) = model.witnesses.get(&(Node::Mechanism(mechanism), at)) {
                quiet.insert(*var, Finding::Likelihood(vec![1.0, 1.0]));
            }
        }
        let solver = Solver::new(&model.net, &Limits { width: options.width });
        Ok(Weighing {
            pack,
            case,
            bound,
            grounded,
            model,
            about,
            options,
            solver,
            quiet,
        })
    }

    /// The variable of a mechanism at a place.
    pub fn var(&self, site: Site) -> Option<Var> {
        self.model.vars.get(&site).copied()
    }

    /// The members of a family that the case has places for.
    pub fn members(&self, family: FamilyIx) -> Vec<(MechanismIx, usize)> {
        let of = &self.pack[family].members;
        let mut members: Vec<_> = mechanisms(&self.grounded)
            .filter(|(mechanism, _)| of.contains(mechanism))
            .collect();
        members.sort();
        members
    }

    /// The chances of all conclusions given the readings that `keep` chooses.
    pub fn chances(&mut self, keep: impl Fn(usize) -> bool) -> Result<(Chances, f64), WeighError> {
        let mut evidence = self.quiet.clone();
        for (var, finding) in self.model.evidence(self.pack, &self.bound.readings, keep).iter() {
            evidence.insert(var, finding.clone());
        }
        let ln = self.solver.solve(&evidence).map_err(|error| self.tangled(error))?;
        let mut chances = Vec::with_capacity(self.about.len());
        for about in &self.about {
            if let About::Mechanism { mechanism, at } = about {
                let var = self.var((Node::Mechanism(*mechanism), *at));
                let chance = var.and_then(|var| self.solver.posterior(var)?.nth(1));
                chances.push(chance.unwrap_or(0.0));
            }
        }
        // A family's chance is that not every member is absent.
        let absent: Vec<Vec<(Var, usize)>> = self
            .about
            .iter()
            .filter_map(|about| match about {
                About::Family(family) => Some(self.members(*family)),
                About::Mechanism { .. } => None,
            })
            .map(|members| {
                members
                    .into_iter()
                    .filter_map(|(one, at)| Some((self.var((Node::Mechanism(one), at))?, 0)))
                    .collect()
            })
            .collect();
        // Their witnesses keep all mechanisms live; without that each family is solved for by itself.
        let none = match self.solver.ln_with(&absent) {
            Some(none) => none,
            None => self.ln_absent(&evidence, &absent)?,
        };
        chances.extend(none.into_iter().map(|without| -libm::expm1((without - ln).min(0.0))));
        Ok((chances, ln))
    }

    /// ln P(evidence and all of these variables at rest), one list after another.
    fn ln_absent(&mut self, evidence: &Evidence, absent: &[Vec<(Var, usize)>]) -> Result<Vec<f64>, WeighError> {
        let mut out = Vec::with_capacity(absent.len());
        for vars in absent {
            let mut with = evidence.clone();
            for (var, state) in vars {
                with.insert(*var, Finding::State(*state));
            }
            out.push(self.solver.ln_evidence(&with).map_err(|error| self.tangled(error))?);
        }
        Ok(out)
    }

    /// The chances before any context of this house is known.
    pub fn bases(&self) -> Chances {
        let of = |mechanism| base(self.pack, &self.bound, mechanism, End::Best);
        self.about
            .iter()
            .map(|about| match about {
                About::Mechanism { mechanism, .. } => of(*mechanism),
                About::Family(family) => {
                    1.0 - self
                        .members(*family)
                        .into_iter()
                        .map(|(mechanism, _)| 1.0 - of(mechanism))
                        .product::<f64>()
                }
            })
            .collect()
    }

    /// The conflict of all readings, in decibans.
    pub fn conflict(&self) -> Result<f64, WeighError> {
        let evidence = self.model.evidence(self.pack, &self.bound.readings, |_| true);
        let limits = Limits {
            width: self.options.width,
        };
        let nats = solve(&self.model.net, &evidence, &limits).and_then(|solved| solved.conflict());
        nats.map(|nats| nats * 10.0 / std::f64::consts::LN_10)
            .map_err(|error| self.tangled(error))
    }

    /// Readings grouped as the ledger enters them: what was not there, then what was seen, by shared response or place.
    pub fn groups(&self) -> (Vec<usize>, Vec<Vec<usize>>) {
        let mut none = Vec::new();
        let mut seen: BTreeMap<Site, Vec<usize>> = BTreeMap::new();
        for (index, reading) in self.bound.readings.iter().enumerate() {
            if reading.used != Used::Weighed {
                continue;
            }
            if !reading.shows() {
                none.push(index);
                continue;
            }
            let site = (Node::Clue(reading.clue), reading.at);
            let responses = self.grounded.causes(site).into_iter().map(|(cause, _)| cause);
            let shared = responses.filter(|(node, _)| matches!(node, Node::Response(_))).min();
            seen.entry(shared.unwrap_or(site)).or_default().push(index);
        }
        let mut groups: Vec<Vec<usize>> = seen.into_values().collect();
        let order = |index: &usize| {
            self.bound
                .readings
                .get(*index)
                .map(|reading| (reading.clue, reading.at))
        };
        for group in &mut groups {
            group.sort_by_key(order);
        }
        groups.sort_by_key(|group| group.first().and_then(order));
        (none, groups)
    }

    fn tangled(&self, error: SolveError) -> WeighError {
        match error {
            SolveError::TooTangled { width, limit, vars } => {
                let name = |var: Var| {
                    let (node, at) = self
                        .model
                        .vars
                        .iter()
                        .find(|(_, other)| **other == var)
                        .map(|(site, _)| *site)?;
                    let place = self.case.places.get(at)?;
                    Some(format!("{} at {}", self.pack.name(node), place.id))
                };
                WeighError::TooTangled {
                    width,
                    limit,
                    places: vars.into_iter().filter_map(name).take(12).collect(),
                }
            }
            _ => WeighError::Impossible,
        }
    }
}

fn mechanisms(grounded: &Grounded) -> impl Iterator<Item = (MechanismIx, usize)> + '_ {
    grounded.order.iter().filter_map(|(node, at)| match node {
        Node::Mechanism(mechanism) => Some((*mechanism, *at)),
        _ => None,
    })
}
