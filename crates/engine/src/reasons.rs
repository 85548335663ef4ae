//! Why a conclusion came out as it did: chains, what it would be without each reading, what was explained away.

use thiserror::Error;
use wythe_case::Case;
use wythe_pack::{Action, Node, Pack, Rule};

use crate::conclude;
use crate::ground::joins;
use crate::paths::{Hop, reached};
use crate::steps::{All, Stages};
use crate::weigh::{Options, Weighing};
use crate::{About, Outcome, SOME, Used, WeighError, decibans};

/// The reasons for one conclusion.
#[derive(Clone, Debug, PartialEq)]
pub struct Reasons {
    /// What it is about.
    pub about: About,
    /// From each reading that bears on it, its likeliest chain.
    pub chains: Vec<Chain>,
    /// What it would be without each reading.
    pub without: Vec<Without>,
    /// Readings that another conclusion accounts for.
    pub explained_away: Vec<ExplainedAway>,
}

/// A chain of reasoning: from a mechanism, by the rule of each hop, to a reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Chain {
    /// The mechanism at its place; a family's chains start at its members.
    pub about: About,
    /// Index into [`Outcome::readings`].
    pub reading: usize,
    /// From the mechanism down to the clue.
    pub hops: Vec<Hop>,
    /// Weight of this reading alone on the conclusion, nothing else known, in decibans.
    pub alone: f64,
    /// The action of the conclusion.
    pub action: Action,
}

/// The chance without one reading. Another question than the steps; these do not add up.
#[derive(Clone, Debug, PartialEq)]
pub struct Without {
    /// Index into [`Outcome::readings`].
    pub reading: usize,
    /// The chance if this reading were taken away, 0–1.
    pub chance: f64,
    /// Weight that it adds to all the others, in decibans.
    pub adds: f64,
    /// Weight of it alone, in decibans.
    pub alone: f64,
    /// Set where the two differ in sign.
    pub flag: Option<Flag>,
}

/// Why a reading counts otherwise in company than alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flag {
    /// Alone it speaks for; in company something else accounts for it.
    ExplainedElsewhere,
    /// Alone it speaks against or not at all; in company it speaks for.
    OnlyInCompany,
}

/// A reading whose weight another conclusion took.
#[derive(Clone, Debug, PartialEq)]
pub struct ExplainedAway {
    /// Index into [`Outcome::readings`].
    pub reading: usize,
    /// Weight alone, in decibans.
    pub alone: f64,
    /// Weight in company, in decibans.
    pub in_company: f64,
    /// What accounts for it.
    pub by: About,
}

/// Why a chain does not check.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum ChainError {
    /// It names a rule that the pack has not.
    #[error("the chain names a rule that the pack has not")]
    NoRule,
    /// A rule does not join the places that it is said to.
    #[error("the rule `{0}` does not join these places")]
    NotJoined(String),
    /// A hop does not start where the last one ended.
    #[error("the hops do not follow one another at `{0}`")]
    Broken(String),
    /// A chance is not what the rule gives.
    #[error("the chance of `{0}` is not what its rule gives")]
    Chance(String),
    /// The case does not fit the pack.
    #[error("the chain is checked against a case that does not fit the pack")]
    OtherCase,
    /// It ends at another clue or place than its reading.
    #[error("the chain does not end at its reading")]
    End,
}

impl Chain {
    /// Checks the chain anew from the rules that it names.
    ///
    /// # Errors
    /// The first thing that is not so.
    pub fn check(&self, pack: &Pack, case: &Case, outcome: &Outcome) -> Result<(), ChainError> {
        let About::Mechanism { mechanism, at } = self.about else {
            return Err(ChainError::End);
        };
        let bound = crate::bind::bind(pack, case).map_err(|_| ChainError::OtherCase)?;
        let mut site = (Node::Mechanism(mechanism), at);
        for hop in &self.hops {
            let link = pack.links(hop.rule.from).get(hop.rule.link).ok_or(ChainError::NoRule)?;
            if (hop.rule.from, hop.from_at) != site {
                return Err(ChainError::Broken(link.id.clone()));
            }
            if !joins(case, link.reach, hop.from_at, hop.to_at) {
                return Err(ChainError::NotJoined(link.id.clone()));
            }
            let how_many = |kind| bound.how_many(kind);
            let among = pack.among(link.reach, pack.at(hop.rule.from), pack.at(link.effect), &how_many);
            let row = crate::network::row(
                pack,
                &bound,
                link,
                among.ok_or_else(|| ChainError::NotJoined(link.id.clone()))?,
            );
            if (1.0 - row.first().copied().unwrap_or(1.0) - hop.chance).abs() > 1e-12 {
                return Err(ChainError::Chance(link.id.clone()));
            }
            site = (link.effect, hop.to_at);
        }
        let reading = outcome.readings.get(self.reading).ok_or(ChainError::End)?;
        if site == (Node::Clue(reading.clue), reading.at) {
            Ok(())
        } else {
            Err(ChainError::End)
        }
    }

    /// The rules that it names, from the mechanism down.
    pub fn rules(&self) -> impl Iterator<Item = Rule> + '_ {
        self.hops.iter().map(|hop| hop.rule)
    }
}

/// A rival takes a sign if that makes it likelier by this chance at least.
const ACCOUNTS: f64 = 0.01;

/// How much of a sign a rival takes: by how much its chance rises with the sign, where that counts, and where it is then of
/// "some" support at least: one that hardly stands itself accounts for nothing.
pub(crate) fn takes(pack: &Pack, without: f64, with: f64) -> Option<f64> {
    let rise = with - without;
    let stands = with >= pack.policy.bounds.some;
    (stands && rise >= ACCOUNTS && decibans(with) - decibans(without) > SOME).then_some(rise)
}

/// The reasons for one conclusion of a case.
///
/// # Errors
/// As [`crate::weigh`]; [`WeighError::NoConclusion`] where the case has no such place, or a context rules it out.
pub fn reasons(pack: &Pack, case: &Case, about: About) -> Result<Reasons, WeighError> {
    let mut weighing = Weighing::new(pack, case, Options::default())?;
    let Some(target) = weighing.about.iter().position(|other| *other == about) else {
        return Err(WeighError::NoConclusion(name(pack, case, about)));
    };
    let all = All::of(&mut weighing)?;
    let stages = Stages::of(&mut weighing, all)?;
    let action = conclude::one(&weighing, &stages, target).map_or(Action::Record, |one| one.action);
    let (all, prior) = (&stages.last, &stages.prior);
    let used: Vec<usize> = (0..weighing.bound.readings.len())
        .filter(|index| {
            weighing
                .bound
                .readings
                .get(*index)
                .is_some_and(|reading| reading.used == Used::Weighed)
        })
        .collect();
    let starts: Vec<(wythe_pack::MechanismIx, usize)> = match about {
        About::Mechanism { mechanism, at } => vec![(mechanism, at)],
        About::Family(family) => weighing.members(family),
    };
    let reaches: Vec<_> = starts
        .iter()
        .map(|(mechanism, at)| {
            (
                (*mechanism, *at),
                reached(pack, case, &weighing.bound, (Node::Mechanism(*mechanism), *at)),
            )
        })
        .collect();
    let mut reasons = Reasons {
        about,
        chains: Vec::new(),
        without: Vec::new(),
        explained_away: Vec::new(),
    };
    let weight = |after: &[f64], before: &[f64], at: usize| match (after.get(at), before.get(at)) {
        (Some(after), Some(before)) => decibans(*after) - decibans(*before),
        _ => 0.0,
    };
    for index in used {
        let [alone, others] = [true, false].map(|alone| weighing.evidence(|other| (other == index) == alone));
        let (alone, _) = weighing.chances(&alone)?;
        let (others, _) = weighing.chances(&others)?;
        let Some(reading) = weighing.bound.readings.get(index) else {
            continue;
        };
        let (alone_weight, adds) = (weight(&alone, prior, target), weight(all, &others, target));
        let flag = match (alone_weight, adds) {
            (alone, adds) if alone >= SOME && adds <= -SOME / 10.0 => Some(Flag::ExplainedElsewhere),
            (alone, adds) if alone <= -SOME / 10.0 && adds >= SOME => Some(Flag::OnlyInCompany),
            _ => None,
        };
        reasons.without.push(Without {
            reading: index,
            chance: others.get(target).copied().unwrap_or(0.0),
            adds,
            alone: alone_weight,
            flag,
        });
        let key = (reading.clue, reading.at);
        // Of a family, the member that is likeliest to be there and to have left it.
        let there = |(mechanism, at): &(wythe_pack::MechanismIx, usize)| {
            let about = About::Mechanism {
                mechanism: *mechanism,
                at: *at,
            };
            let found = weighing.about.iter().position(|other| *other == about);
            found.and_then(|at| all.get(at)).copied().unwrap_or(0.0)
        };
        let best = reaches
            .iter()
            .filter_map(|(start, reach)| Some((start, reach.get(&key)?)))
            .map(|(start, reach)| (there(start) * reach.chance, start, reach))
            .reduce(|best, next| if next.0 > best.0 { next } else { best });
        if let Some((_, (mechanism, at), reach)) = best {
            reasons.chains.push(Chain {
                about: About::Mechanism {
                    mechanism: *mechanism,
                    at: *at,
                },
                reading: index,
                hops: reach.path.clone(),
                alone: alone_weight,
                action,
            });
        }
        if reading.shows() && alone_weight >= SOME && adds < alone_weight - SOME {
            let mut by: Option<(About, f64)> = None;
            for (at, other) in weighing.about.iter().enumerate() {
                let rival = matches!(other, About::Mechanism { mechanism, at } if !starts.contains(&(*mechanism, *at)));
                let chance = |of: &[f64]| of.get(at).copied().unwrap_or(0.0);
                if rival
                    && let Some(takes) = takes(pack, chance(&others), chance(all))
                    && by.is_none_or(|(_, most)| takes > most)
                {
                    by = Some((*other, takes));
                }
            }
            if let Some((by, _)) = by {
                reasons.explained_away.push(ExplainedAway {
                    reading: index,
                    alone: alone_weight,
                    in_company: adds,
                    by,
                });
            }
        }
    }
    Ok(reasons)
}

pub(crate) fn name(pack: &Pack, case: &Case, about: About) -> String {
    match about {
        About::Mechanism { mechanism, at } => {
            format!(
                "{} at {}",
                pack[mechanism].id,
                case.places.get(at).map_or("an unknown place", |place| &place.id)
            )
        }
        About::Family(family) => pack[family].id.clone(),
    }
}
