//! From pack and case to chances: the network solved before and after each group of readings.

use std::cell::Cell;
use std::collections::BTreeMap;

use thiserror::Error;
use wythe_case::Case;
use wythe_infer::{Evidence, Finding, Limits, NetworkError, Room, SolveError, Solver, Var};
use wythe_pack::{FamilyIx, MechanismIx, Node, Pack};
use wythe_text::Problems;

use crate::bind::{Bound, bind};
use crate::ground::{Grounded, Site, ground};
use crate::network::{End, Model, base};
use crate::paths::Ways;
use crate::tangle::tangle;
use crate::{About, Outcome, Used};

/// Why a case could not be weighed.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum WeighError {
    /// The case names what the pack has not; every such place at once.
    #[error("{0}")]
    Mismatch(Problems),
    /// Too much hangs together to answer exactly.
    #[error("this case is too tangled to weigh exactly: it would take {}, and the limit is {limit}{}\nhelp: {help}", table(*width, *limit), lines(places))]
    TooTangled {
        /// Binary logarithm of the table needed.
        width: usize,
        /// The limit.
        limit: usize,
        /// What ties most together, in words: a line a place, with the clues there.
        places: Vec<String>,
        /// What to do.
        help: String,
    },
    /// Weighing it step by step would take too much time or memory: predicted from its size, not from a clock.
    #[error(
        "this case is too large to weigh step by step: {groups} groups of signs, each over {conclusions} conclusions and {sums} sums in all; weigh the house in parts"
    )]
    TooLarge {
        /// Groups of readings that enter one after the other.
        groups: usize,
        /// Conclusions that each of them may move.
        conclusions: usize,
        /// Sums over tables that all of them would take.
        sums: usize,
    },
    /// Working out more about it would take too much time or memory: predicted from its size, not from a clock.
    #[error(
        "this case is too large to {doing}: {kept} numbers to keep and {sums} sums over tables; ask it of a case with a part of the house"
    )]
    TooMuch {
        /// What was asked for.
        doing: &'static str,
        /// Numbers that would be kept.
        kept: usize,
        /// Sums over tables that it would take.
        sums: usize,
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

fn lines(places: &[String]) -> String {
    if places.is_empty() {
        return String::new();
    }
    let lines: String = places.iter().map(|place| format!("\n  {place}")).collect();
    format!("\nwhat ties most together:{lines}")
}

/// What to do about a tangle of which no more is known.
pub(crate) const IN_PARTS: &str = "weigh the house in parts, each with its own places, in a case of its own";

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
/// A thread keeps the memory of its last weighing for the next one, a few MB at most. Nothing else is kept.
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
    let outcome = crate::conclude::outcome(&mut weighing);
    ROOM.set(weighing.solver.into_room());
    outcome
}

thread_local! {
    /// The room of this thread's last weighing, for the next one.
    static ROOM: Cell<Room> = Cell::default();
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
    pub solver: Solver,
    /// What each reading says, in the order of the readings; none where it is no evidence.
    findings: Vec<Option<(Var, Finding)>>,
    /// The variables of the mechanisms, in the order of [`Weighing::about`].
    vars: Vec<Var>,
}

/// The chance of each conclusion, in the order of [`Weighing::about`].
pub(crate) type Chances = Vec<f64>;

impl<'a> Weighing<'a> {
    pub fn new(pack: &'a Pack, case: &'a Case, options: Options) -> Result<Self, WeighError> {
        let bound = bind(pack, case).map_err(WeighError::Mismatch)?;
        let grounded = ground(pack, case, &bound, options.prune);
        let model = Model::bare(pack, &bound, &grounded, End::Best)?;
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
        let var = |site: (MechanismIx, usize)| model.vars.get(&(Node::Mechanism(site.0), site.1)).copied();
        let vars: Vec<Var> = about
            .iter()
            .filter_map(|about| match *about {
                About::Mechanism { mechanism, at } => var((mechanism, at)),
                About::Family(_) => None,
            })
            .collect();
        // Its members are those among the mechanisms, each at all its places.
        let absent = about.iter().filter_map(|about| match *about {
            About::Family(family) => Some(members(pack, &grounded, family)),
            About::Mechanism { .. } => None,
        });
        let absent: Vec<Vec<(Var, usize)>> = absent
            .map(|members| members.into_iter().filter_map(|site| Some((var(site)?, 0))).collect())
            .collect();
        let findings = bound
            .readings
            .iter()
            .map(|reading| model.finding(pack, reading))
            .collect();
        let solver = ROOM
            .take()
            .solver(&model.net, &Limits { width: options.width })
            .keeping(&vars)
            .watching(&absent);
        Ok(Weighing {
            pack,
            case,
            bound,
            grounded,
            model,
            about,
            solver,
            findings,
            vars,
        })
    }

    /// The members of a family that the case has places for.
    pub fn members(&self, family: FamilyIx) -> Vec<(MechanismIx, usize)> {
        members(self.pack, &self.grounded, family)
    }

    /// The ways from its mechanisms to its clues.
    pub fn ways(&self) -> Ways<'_> {
        Ways::new(self.pack, self.case, &self.bound)
    }

    /// The readings that `keep` chooses, as evidence.
    pub fn evidence(&self, keep: impl Fn(usize) -> bool) -> Evidence {
        let mut evidence = Evidence::new();
        self.enter(&mut evidence, (0..self.findings.len()).filter(|index| keep(*index)));
        evidence
    }

    /// Adds readings to the evidence.
    pub fn enter(&self, evidence: &mut Evidence, readings: impl IntoIterator<Item = usize>) {
        for index in readings {
            if let Some(Some((var, finding))) = self.findings.get(index) {
                evidence.insert(*var, finding.clone());
            }
        }
    }

    /// The chances of all conclusions given this evidence, and its ln P.
    pub fn chances(&mut self, evidence: &Evidence) -> Result<(Chances, f64), WeighError> {
        let ln = self.solver.solve(evidence).map_err(|error| self.tangled(error))?;
        Ok((read(&mut self.solver, &self.vars, ln), ln))
    }

    /// The chances of all conclusions before any reading, by a plan of its own: without evidence next to nothing hangs
    /// together.
    pub fn prior(&self) -> Result<Chances, WeighError> {
        let mut solver = self.solver.anew();
        let ln = solver.solve(&Evidence::new()).map_err(|error| self.tangled(error))?;
        Ok(read(&mut solver, &self.vars, ln))
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

    /// The conflict of evidence whose ln P is `ln`, in decibans.
    pub fn conflict(&mut self, evidence: &Evidence, ln: f64) -> Result<f64, WeighError> {
        let nats = self
            .solver
            .conflict(evidence, ln)
            .map_err(|error| self.tangled(error))?;
        Ok(nats * 10.0 / std::f64::consts::LN_10)
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
            SolveError::TooTangled { width, limit, .. } => {
                let (places, help) = tangle(self);
                WeighError::TooTangled {
                    width,
                    limit,
                    places,
                    help,
                }
            }
            _ => WeighError::Impossible,
        }
    }
}

/// The chances of these variables and of what is watched, from a solution whose ln P is `ln`.
fn read(solver: &mut Solver, vars: &[Var], ln: f64) -> Chances {
    let chance = |var: &Var| solver.posterior(*var).and_then(|mut chances| chances.nth(1));
    let mut chances: Chances = vars.iter().map(|var| chance(var).unwrap_or(0.0)).collect();
    // A family's chance is that not every member is absent. All are kept in the plan.
    let none = solver.ln_watched().unwrap_or_default();
    chances.extend(none.into_iter().map(|without| -libm::expm1((without - ln).min(0.0))));
    chances
}

/// The members of a family that the graph has.
fn members(pack: &Pack, grounded: &Grounded, family: FamilyIx) -> Vec<(MechanismIx, usize)> {
    let of = &pack[family].members;
    let mut members: Vec<_> = mechanisms(grounded)
        .filter(|(mechanism, _)| of.contains(mechanism))
        .collect();
    members.sort();
    members
}

fn mechanisms(grounded: &Grounded) -> impl Iterator<Item = (MechanismIx, usize)> + '_ {
    grounded.order.iter().filter_map(|(node, at)| match node {
        Node::Mechanism(mechanism) => Some((*mechanism, *at)),
        _ => None,
    })
}
