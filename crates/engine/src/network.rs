//! The grounded graph as a network for exact inference.

use std::collections::BTreeMap;

use wythe_infer::{Cause, Evidence, Finding, Network, NetworkError, Var};
use wythe_pack::{ContextIx, Link, Mechanism, MechanismIx, Node, Pack, ResponseIx};

use crate::bind::Bound;
use crate::ground::{Arc, Grounded, Site};
use crate::{Reading, Used};

/// Which value of each prevalence to use: an end of its range, the best, or another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum End {
    Low,
    Best,
    High,
    /// The best value, had it been this; 0–1.
    At(f64),
}

/// The network, and which variable stands for what.
#[derive(Clone, Debug)]
pub(crate) struct Model {
    pub net: Network,
    /// The variable of each site.
    pub vars: BTreeMap<Site, Var>,
    /// A variable that follows each mechanism, but in a bare model: what is found out about it keeps the mechanism in the
    /// answers.
    pub witnesses: BTreeMap<Site, Var>,
    /// Of each mechanism, the variable that says whether it is present of its own accord: itself, where nothing causes it.
    pub own: BTreeMap<Site, Var>,
    /// The links behind the causes of each clue, in the order of its causes.
    links: BTreeMap<Site, Vec<Arc>>,
}

/// The chance of a mechanism at one place before any context: the prevalence on the house, shared out.
pub(crate) fn base(pack: &Pack, bound: &Bound, at: MechanismIx, end: End) -> f64 {
    let mechanism = &pack[at];
    let prevalence = &mechanism.prevalence;
    let chance = match end {
        End::Low => prevalence.from,
        End::Best => prevalence.chance,
        End::High => prevalence.to,
        End::At(chance) => chance,
    };
    let among = bound.how_many(mechanism.at);
    if among <= 1.0 {
        chance
    } else {
        -libm::expm1(libm::log1p(-chance) / among)
    }
}

/// The chance of a mechanism at one place before any sighting: its odds times the effects of the contexts that hold,
/// whose joint effect is capped.
///
/// A context that the case does not state is taken at its share of the reference population, for each mechanism by
/// itself: it is summed out, and carries no news from one mechanism to another.
pub(crate) fn prior(pack: &Pack, bound: &Bound, at: MechanismIx, end: End) -> f64 {
    let mechanism = &pack[at];
    let asked = mechanism
        .applies_if
        .iter()
        .copied()
        .chain(mechanism.contexts.iter().map(|effect| effect.context));
    let mut unknown: Vec<ContextIx> = asked.filter(|context| bound.context(*context).is_none()).collect();
    unknown.sort();
    unknown.dedup();
    let base = base(pack, bound, at, end);
    let mut sum = 0.0;
    for row in 0..1_u32 << unknown.len().min(20) {
        let told = |context: ContextIx| {
            unknown
                .iter()
                .position(|other| *other == context)
                .map(|bit| row >> bit & 1 == 1)
        };
        let holds = |context: ContextIx| told(context).unwrap_or(bound.context(context) == Some(true));
        let share = |context: &ContextIx| {
            if holds(*context) {
                pack[*context].share
            } else {
                1.0 - pack[*context].share
            }
        };
        sum += unknown.iter().map(share).product::<f64>() * chance(pack, mechanism, base, &holds);
    }
    sum
}

fn chance(pack: &Pack, mechanism: &Mechanism, base: f64, holds: &dyn Fn(ContextIx) -> bool) -> f64 {
    let effects = || mechanism.contexts.iter().filter(|effect| holds(effect.context));
    if mechanism.applies_if.iter().any(|context| !holds(*context)) || effects().any(|effect| effect.times == 0.0) {
        return 0.0;
    }
    let cap = pack.policy.context_cap;
    let times = effects()
        .map(|effect| effect.times)
        .product::<f64>()
        .clamp(1.0 / cap, cap);
    let odds = base / (1.0 - base) * times;
    odds / (1.0 + odds)
}

/// The distribution over the effect's states by one link alone, at one of the places it is shared over; times the share
/// of the context that it asks for, where the case does not state it.
pub(crate) fn row(pack: &Pack, bound: &Bound, link: &Link, among: f64) -> Vec<f64> {
    row_at(pack, bound, link, (link.how_often.value, among))
}

/// The same had the link been so often, 0–1.
pub(crate) fn row_at(pack: &Pack, bound: &Bound, link: &Link, (often, among): (f64, f64)) -> Vec<f64> {
    let mut row = link.row_at(often, among);
    if let Some(context) = link.only_if.filter(|context| bound.context(*context).is_none()) {
        let share = pack[context].share;
        for value in row.iter_mut().skip(1) {
            *value *= share;
        }
        let rest = 1.0 - row.iter().skip(1).sum::<f64>();
        if let Some(first) = row.first_mut() {
            *first = rest;
        }
    }
    row
}

impl Model {
    pub fn of(pack: &Pack, bound: &Bound, grounded: &Grounded, end: End) -> Result<Model, NetworkError> {
        Model::bare(pack, bound, grounded, end)?.witnessed()
    }

    /// The same without witnesses.
    pub fn bare(pack: &Pack, bound: &Bound, grounded: &Grounded, end: End) -> Result<Model, NetworkError> {
        let mut model = Model {
            net: Network::new(),
            vars: BTreeMap::new(),
            witnesses: BTreeMap::new(),
            own: BTreeMap::new(),
            links: BTreeMap::new(),
        };
        for site in &grounded.order {
            let causes = grounded.causes(*site);
            let var = match site.0 {
                Node::Mechanism(at) => model.mechanism(pack, bound, (at, site.1), &causes, end)?,
                Node::Response(at) => model.response(pack, bound, at, &causes)?,
                Node::Clue(at) => {
                    let causes_of = model.causes(pack, bound, &causes, pack[at].grades.len(), None)?;
                    model.links.insert(*site, causes.iter().map(|(_, arc)| *arc).collect());
                    model.net.noisy_max(pack[at].leak(), causes_of)?
                }
            };
            model.vars.insert(*site, var);
        }
        Ok(model)
    }

    /// A bare model with a witness of each mechanism.
    pub fn witnessed(mut self) -> Result<Model, NetworkError> {
        let mechanisms = self
            .vars
            .iter()
            .filter(|(site, _)| matches!(site.0, Node::Mechanism(_)));
        for (site, var) in mechanisms {
            let follows = Cause {
                parent: *var,
                rows: vec![vec![1.0, 0.0], vec![0.0, 1.0]],
            };
            let witness = self.net.noisy_max(vec![1.0, 0.0], vec![follows])?;
            self.witnesses.insert(*site, witness);
        }
        Ok(self)
    }

    /// A mechanism: present of its own accord with its chance, or by causes that are mechanisms themselves.
    fn mechanism(
        &mut self,
        pack: &Pack,
        bound: &Bound,
        (at, place): (MechanismIx, usize),
        causes: &[(Site, Arc)],
        end: End,
    ) -> Result<Var, NetworkError> {
        let p = prior(pack, bound, at, end);
        let own = self.net.table(2, &[], vec![1.0 - p, p])?;
        self.own.insert((Node::Mechanism(at), place), own);
        let mut causes = self.causes(pack, bound, causes, 2, None)?;
        if causes.is_empty() {
            return Ok(own);
        }
        causes.push(Cause::boolean(own, 1.0));
        self.net.noisy_max(vec![1.0, 0.0], causes)
    }

    /// A response: noisy-MAX; opposed directions are two pushes and one node of three states.
    fn response(
        &mut self,
        pack: &Pack,
        bound: &Bound,
        at: ResponseIx,
        causes: &[(Site, Arc)],
    ) -> Result<Var, NetworkError> {
        let response = &pack[at];
        let Some(opposed) = &response.opposed else {
            let causes = self.causes(pack, bound, causes, response.states.len(), None)?;
            return self.net.noisy_max(response.leak(), causes);
        };
        let mut pushes = Vec::with_capacity(2);
        for (direction, background) in opposed.background.iter().enumerate() {
            let causes = self.causes(pack, bound, causes, 2, Some(direction + 1))?;
            pushes.push(
                self.net
                    .noisy_max(vec![1.0 - background.value, background.value], causes)?,
            );
        }
        // Neither: still. One: that way. Both: either way, as likely.
        self.net.table(
            3,
            &pushes,
            vec![1.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 1.0, 0.0, 0.0, 0.5, 0.5],
        )
    }

    /// The causes of one variable, each with the distribution it makes alone per state of its own.
    fn causes(
        &mut self,
        pack: &Pack,
        bound: &Bound,
        causes: &[(Site, Arc)],
        states: usize,
        direction: Option<usize>,
    ) -> Result<Vec<Cause>, NetworkError> {
        let mut all = Vec::with_capacity(causes.len());
        for (site, arc) in causes {
            let Some(link) = pack.links(arc.rule.from).get(arc.rule.link) else {
                continue;
            };
            if direction.is_some() && link.direction != direction {
                continue;
            }
            let Some(parent) = self.vars.get(site).copied() else {
                continue;
            };
            let count = self.net.states(parent);
            let mut rest = vec![0.0; states];
            if let Some(first) = rest.first_mut() {
                *first = 1.0;
            }
            let row = row(pack, bound, link, arc.among);
            let rows = (0..count)
                .map(|state| if speaks(link, state) { row.clone() } else { rest.clone() })
                .collect();
            all.push(Cause { parent, rows });
        }
        Ok(all)
    }

    /// What one reading says about its clue.
    pub fn finding(&self, pack: &Pack, reading: &Reading) -> Option<(Var, Finding)> {
        let site = (Node::Clue(reading.clue), reading.at);
        let var = *self.vars.get(&site)?;
        if reading.used != Used::Weighed {
            return None;
        }
        let might_show = reading.likelihood.iter().skip(1).any(|value| *value > 0.0);
        if reading.marks.is_empty() || !might_show {
            let mut sharp = reading.likelihood.iter().enumerate().filter(|(_, value)| **value > 0.0);
            return Some(match (sharp.next(), sharp.next()) {
                (Some((grade, _)), None) => (var, Finding::State(grade)),
                _ => (var, Finding::Likelihood(reading.likelihood.clone())),
            });
        }
        let share = |marks: &dyn Fn(usize) -> Option<Vec<f64>>| {
            let one = |(mark, kinds): &(usize, Vec<usize>)| {
                let shares = marks(*mark).unwrap_or_default();
                kinds.iter().filter_map(|kind| shares.get(*kind)).sum::<f64>()
            };
            reading.marks.iter().map(one).product::<f64>().min(1.0)
        };
        let leak_share = share(&|mark| Some(pack[reading.clue].marks.get(mark)?.background.clone()));
        let shares = self.links.get(&site)?.iter().filter_map(|arc| {
            let link = pack.links(arc.rule.from).get(arc.rule.link)?;
            Some(vec![
                share(&|mark| link.marks.get(mark).cloned());
                pack.states(arc.rule.from)
            ])
        });
        Some((
            var,
            Finding::OfKind {
                likelihood: reading.likelihood.clone(),
                leak_share,
                shares: shares.collect(),
            },
        ))
    }

    /// All readings as evidence, chosen by `keep`.
    pub fn evidence(&self, pack: &Pack, readings: &[Reading], keep: impl Fn(usize) -> bool) -> Evidence {
        let mut evidence = Evidence::new();
        for (index, reading) in readings.iter().enumerate() {
            if keep(index)
                && let Some((var, finding)) = self.finding(pack, reading)
            {
                evidence.insert(var, finding);
            }
        }
        evidence
    }
}

/// Whether a link speaks of a state of its cause.
pub(crate) fn speaks(link: &Link, state: usize) -> bool {
    match link.when {
        Some(when) => state == when,
        None => state > 0,
    }
}

#[cfg(test)]
mod tests;
