//! The grounded graph as a network for exact inference.

use std::collections::BTreeMap;

use wythe_infer::{Cause, Evidence, Finding, Network, NetworkError, Var};
use wythe_pack::{ContextIx, Link, Mechanism, MechanismIx, Node, Pack, ResponseIx};

use crate::bind::Bound;
use crate::ground::{Arc, Grounded, Site};
use crate::{Reading, Used};

/// Which end of the range of each prevalence to use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum End {
    Low,
    Best,
    High,
}

/// The network, and which variable stands for what.
#[derive(Clone, Debug)]
pub(crate) struct Model {
    pub net: Network,
    /// The variable of each site.
    pub vars: BTreeMap<Site, Var>,
    /// The variable of each unknown context.
    contexts: BTreeMap<ContextIx, Var>,
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
    };
    let among = bound.how_many(mechanism.at);
    if among <= 1.0 { chance } else { -libm::expm1(libm::log1p(-chance) / among) }
}

/// The chance of a mechanism at one place, given which contexts hold: odds times the contexts' effects, whose joint
/// effect is capped.
fn chance(pack: &Pack, mechanism: &Mechanism, base: f64, holds: &dyn Fn(ContextIx) -> bool) -> f64 {
    if mechanism.applies_if.iter().any(|context| !holds(*context)) {
        return 0.0;
    }
    let effects = || mechanism.contexts.iter().filter(|effect| holds(effect.context));
    if effects().any(|effect| effect.times == 0.0) {
        return 0.0;
    }
    let cap = pack.policy.context_cap;
    let times = effects().map(|effect| effect.times).product::<f64>().clamp(1.0 / cap, cap);
    let odds = base / (1.0 - base) * times;
    odds / (1.0 + odds)
}

impl Model {
    pub fn of(pack: &Pack, bound: &Bound, grounded: &Grounded, end: End) -> Result<Model, NetworkError> {
        let mut model = Model { net: Network::new(), vars: BTreeMap::new(), contexts: BTreeMap::new(), links: BTreeMap::new() };
        for site in &grounded.order {
            let causes = grounded.causes(*site);
            let var = match site.0 {
                Node::Mechanism(at) => model.mechanism(pack, bound, at, &causes, end)?,
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

    /// The variable of a context that the case does not state, made when first needed.
    fn context(&mut self, pack: &Pack, at: ContextIx) -> Result<Var, NetworkError> {
        if let Some(var) = self.contexts.get(&at) {
            return Ok(*var);
        }
        let share = pack[at].share;
        let var = self.net.table(2, &[], vec![1.0 - share, share])?;
        self.contexts.insert(at, var);
        Ok(var)
    }

    /// A mechanism: a table over its unknown contexts; with causes of its own kind, present of its own accord or by them.
    fn mechanism(&mut self, pack: &Pack, bound: &Bound, at: MechanismIx, causes: &[(Site, Arc)], end: End) -> Result<Var, NetworkError> {
        let mechanism = &pack[at];
        let mut unknown: Vec<ContextIx> = mechanism
            .applies_if
            .iter()
            .copied()
            .chain(mechanism.contexts.iter().map(|effect| effect.context))
            .filter(|context| bound.context(*context).is_none())
            .collect();
        unknown.sort();
        unknown.dedup();
        let parents = unknown.iter().map(|context| self.context(pack, *context)).collect::<Result<Vec<_>, _>>()?;
        let base = base(pack, bound, at, end);
        let mut rows = Vec::with_capacity(2 << unknown.len());
        for row in 0..1_usize << unknown.len() {
            let holds = |context: ContextIx| match unknown.iter().position(|other| *other == context) {
                Some(bit) => row >> (unknown.len() - 1 - bit) & 1 == 1,
                None => bound.context(context) == Some(true),
            };
            let p = chance(pack, mechanism, base, &holds);
            rows.extend([1.0 - p, p]);
        }
        let own = self.net.table(2, &parents, rows)?;
        if causes.is_empty() {
            return Ok(own);
        }
        let mut all = vec![Cause { parent: own, rows: vec![vec![1.0, 0.0], vec![0.0, 1.0]] }];
        all.extend(self.causes(pack, bound, causes, 2, None)?);
        self.net.noisy_max(vec![1.0, 0.0], all)
    }

    /// A response: noisy-MAX; opposed directions are two pushes and one node of three states.
    fn response(&mut self, pack: &Pack, bound: &Bound, at: ResponseIx, causes: &[(Site, Arc)]) -> Result<Var, NetworkError> {
        let response = &pack[at];
        let Some(opposed) = &response.opposed else {
            let causes = self.causes(pack, bound, causes, response.states.len(), None)?;
            return self.net.noisy_max(response.leak(), causes);
        };
        let mut pushes = Vec::with_capacity(2);
        for (direction, background) in opposed.background.iter().enumerate() {
            let causes = self.causes(pack, bound, causes, 2, Some(direction + 1))?;
            pushes.push(self.net.noisy_max(vec![1.0 - background.value, background.value], causes)?);
        }
        // Neither: still. One: that way. Both: either way, as likely.
        self.net.table(3, &pushes, vec![1.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 1.0, 0.0, 0.0, 0.5, 0.5])
    }

    /// The causes of one variable, each with the distribution it makes alone per state of its own.
    fn causes(&mut self, pack: &Pack, bound: &Bound, causes: &[(Site, Arc)], states: usize, direction: Option<usize>) -> Result<Vec<Cause>, NetworkError> {
        let mut all = Vec::with_capacity(causes.len());
        for (site, arc) in causes {
            let Some(link) = pack.links(arc.rule.from).get(arc.rule.link) else { continue };
            if direction.is_some() && link.direction != direction {
                continue;
            }
            let Some(parent) = self.vars.get(site).copied() else { continue };
            let count = self.net.states(parent);
            let parent = self.gate(pack, bound, link, parent, count)?;
            let mut rest = vec![0.0; states];
            if let Some(first) = rest.first_mut() {
                *first = 1.0;
            }
            let row = link.row(arc.among);
            let rows = (0..count).map(|state| if speaks(link, state) { row.clone() } else { rest.clone() }).collect();
            all.push(Cause { parent, rows });
        }
        Ok(all)
    }

    /// Where a link asks for a context that is unknown: its cause if the context holds, at rest if not.
    fn gate(&mut self, pack: &Pack, bound: &Bound, link: &Link, parent: Var, states: usize) -> Result<Var, NetworkError> {
        let Some(context) = link.only_if.filter(|context| bound.context(*context).is_none()) else { return Ok(parent) };
        let context = self.context(pack, context)?;
        let mut rows = Vec::with_capacity(2 * states * states);
        for holds in [false, true] {
            for state in 0..states {
                let shown = if holds { state } else { 0 };
                rows.extend((0..states).map(|other| if other == shown { 1.0 } else { 0.0 }));
            }
        }
        self.net.table(states, &[context, parent], rows)
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
            Some(vec![share(&|mark| link.marks.get(mark).cloned()); pack.states(arc.rule.from)])
        });
        Some((var, Finding::OfKind { likelihood: reading.likelihood.clone(), leak_share, shares: shares.collect() }))
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
