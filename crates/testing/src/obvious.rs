//! The obvious model: try every combination of mechanisms and responses, and add up.

use wythe_case::Case;
use wythe_pack::{Link, Node, Pack, Reach};

use crate::News;

/// A kind of node at a place.
type Site = (Node, usize);

/// The answers.
#[derive(Clone, Debug)]
pub struct Obvious {
    /// Chance of each mechanism (index) at each place, 0 where a context rules it out.
    pub chances: Vec<((usize, usize), f64)>,
    /// Chance of at least one member of each family.
    pub families: Vec<f64>,
    /// Probability of the news.
    pub evidence: f64,
}

/// Weighs news by enumerating the joint.
pub fn obvious(pack: &Pack, case: &Case, news: &[News]) -> Obvious {
    let hidden = hidden(pack, case);
    let mut out = Obvious {
        chances: Vec::new(),
        families: vec![0.0; pack.families.len()],
        evidence: 0.0,
    };
    let mechanisms: Vec<(usize, (usize, usize))> = hidden
        .iter()
        .enumerate()
        .filter_map(|(index, (node, at))| {
            if let Node::Mechanism(mechanism) = node {
                Some((index, (mechanism.0, *at)))
            } else {
                None
            }
        })
        .collect();
    out.chances = mechanisms.iter().map(|(_, site)| (*site, 0.0)).collect();
    worlds(pack, case, news, &hidden, &mut |state, p| {
        out.evidence += p;
        for ((index, _), slot) in mechanisms.iter().zip(&mut out.chances) {
            slot.1 += p * state[*index] as f64;
        }
        for (family, slot) in pack.families.iter().zip(&mut out.families) {
            let member = |(index, (mechanism, _)): &(usize, (usize, usize))| {
                state[*index] == 1 && family.members.iter().any(|one| one.0 == *mechanism)
            };
            *slot += if mechanisms.iter().any(member) { p } else { 0.0 };
        }
    });
    out.chances.iter_mut().for_each(|slot| slot.1 /= out.evidence);
    out.families.iter_mut().for_each(|slot| *slot /= out.evidence);
    out
}

/// Whether a mechanism (index) at a place is there.
pub type There<'a> = &'a dyn Fn(usize, usize) -> bool;

/// Probability of the news and each event together, an event being said of which mechanisms are there.
pub fn obvious_events(pack: &Pack, case: &Case, news: &[News], events: &[&dyn Fn(There<'_>) -> bool]) -> Vec<f64> {
    let hidden = hidden(pack, case);
    let mut out = vec![0.0; events.len()];
    worlds(pack, case, news, &hidden, &mut |state, p| {
        let there = |mechanism: usize, at: usize| {
            let site = (Node::Mechanism(wythe_pack::MechanismIx(mechanism)), at);
            hidden
                .iter()
                .position(|one| *one == site)
                .is_some_and(|index| state[index] == 1)
        };
        for (event, slot) in events.iter().zip(&mut out) {
            *slot += if event(&there) { p } else { 0.0 };
        }
    });
    out
}

/// Every mechanism and response at every place of its kind, causes first.
fn hidden(pack: &Pack, case: &Case) -> Vec<Site> {
    let kind = |at: usize| pack.kind(&case.places[at].kind).unwrap();
    let sites = |node: Node| {
        (0..case.places.len())
            .filter(move |at| kind(*at) == pack.at(node))
            .map(move |at| (node, at))
    };
    let order = pack.template().order();
    let causes = order.iter().filter(|node| !matches!(node, Node::Clue(_)));
    causes.flat_map(|node| sites(*node)).collect()
}

/// Calls `then` with every combination of states of what is hidden, and its probability together with the news.
fn worlds(pack: &Pack, case: &Case, news: &[News], hidden: &[Site], then: &mut dyn FnMut(&[usize], f64)) {
    let mut state = vec![0; hidden.len()];
    each(&mut state, 0, &|index| pack.states(hidden[index].0), &mut |state| {
        let joined = |site: Site| causes(pack, case, hidden, state, site);
        let mut p = 1.0;
        for (index, site) in hidden.iter().enumerate() {
            p *= hidden_chance(pack, case, *site, state[index], &joined(*site));
        }
        if p > 0.0 {
            for one in news {
                p *= clue_chance(pack, one, &joined((Node::Clue(wythe_pack::ClueIx(one.clue)), one.at)));
            }
        }
        then(state, p);
    });
}

/// Calls `then` with every combination of states.
fn each(state: &mut Vec<usize>, index: usize, states: &dyn Fn(usize) -> usize, then: &mut dyn FnMut(&[usize])) {
    if index == state.len() {
        return then(state);
    }
    for value in 0..states(index) {
        state[index] = value;
        each(state, index + 1, states, then);
    }
}

/// The active causes of a site: each link, and the chance that it makes its effect show there.
fn causes<'p>(
    pack: &'p Pack,
    case: &Case,
    hidden: &[Site],
    state: &[usize],
    (effect, at): Site,
) -> Vec<(&'p Link, f64)> {
    let mut all = Vec::new();
    for ((cause, from), value) in hidden.iter().zip(state) {
        for link in pack.links(*cause).iter().filter(|link| link.effect == effect) {
            let active = link.when.map_or(*value > 0, |when| *value == when);
            let reaches = match link.reach {
                Reach::Here => *from == at,
                Reach::Inside => case.contains(*from, at),
                Reach::Around => case.contains(at, *from),
                Reach::Touching => case.touching(*from, at),
                Reach::Anywhere | Reach::Each => true,
            };
            let given = link.only_if.map_or(1.0, |context| holds(pack, case, context.0));
            if active && reaches {
                let n = pack
                    .among(link.reach, pack.at(*cause), pack.at(effect), &|kind| {
                        count(pack, case, kind.0)
                    })
                    .unwrap();
                all.push((link, (1.0 - (1.0 - link.how_often.value).powf(1.0 / n)) * given));
            }
        }
    }
    all
}

/// How many places of a kind the house has.
fn count(pack: &Pack, case: &Case, kind: usize) -> f64 {
    case.how_many
        .iter()
        .find(|(name, _)| *name == pack.kinds[kind].id)
        .map_or(pack.kinds[kind].usual, |(_, n)| *n)
}

/// Chance that a context holds: stated, or its share.
fn holds(pack: &Pack, case: &Case, context: usize) -> f64 {
    let stated = case.contexts.iter().find(|fact| fact.id == pack.contexts[context].id);
    stated.map_or(pack.contexts[context].share, |fact| f64::from(u8::from(fact.holds)))
}

/// Chance of a hidden node's state given its active causes.
fn hidden_chance(pack: &Pack, case: &Case, (node, _): Site, state: usize, causes: &[(&Link, f64)]) -> f64 {
    let none_of = |leak: f64, direction: Option<usize>| {
        causes
            .iter()
            .filter(|(link, _)| link.direction == direction)
            .fold(1.0 - leak, |none, (_, p)| none * (1.0 - p))
    };
    match node {
        Node::Mechanism(at) => {
            // What a stated context rules out cannot be, whatever might bring it about.
            let own = prior(pack, case, at.0);
            let none = if own == 0.0 { 1.0 } else { none_of(own, None) };
            if state == 0 { none } else { 1.0 - none }
        }
        Node::Response(at) => match &pack[at].opposed {
            Some(opposed) => {
                let [one, other] = [1, 2].map(|way| 1.0 - none_of(opposed.background[way - 1].value, Some(way)));
                [
                    (1.0 - one) * (1.0 - other),
                    one * (1.0 - other / 2.0),
                    other * (1.0 - one / 2.0),
                ][state]
            }
            None => {
                let up_to = |top: usize| {
                    let part = |p: f64, grades: &[f64]| 1.0 - p * grades.iter().skip(top).sum::<f64>();
                    causes.iter().fold(
                        part(pack[at].background.value, &pack[at].background_grades),
                        |all, (link, p)| all * part(*p, &link.grades),
                    )
                };
                up_to(state) - if state == 0 { 0.0 } else { up_to(state - 1) }
            }
        },
        Node::Clue(_) => unreachable!("clues are not hidden"),
    }
}

/// Prior chance of a mechanism at one place: every combination of the contexts it asks about.
fn prior(pack: &Pack, case: &Case, at: usize) -> f64 {
    let mechanism = &pack.mechanisms[at];
    let p = 1.0 - (1.0 - mechanism.prevalence.chance).powf(1.0 / count(pack, case, mechanism.at.0));
    let mut sum = 0.0;
    each(&mut vec![0; pack.contexts.len()], 0, &|_| 2, &mut |state| {
        let weight = |context: usize| {
            if state[context] == 1 {
                holds(pack, case, context)
            } else {
                1.0 - holds(pack, case, context)
            }
        };
        let weight: f64 = (0..state.len()).map(weight).product();
        let mut times = 1.0;
        let mut out = mechanism.applies_if.iter().any(|context| state[context.0] == 0);
        for effect in mechanism.contexts.iter().filter(|effect| state[effect.context.0] == 1) {
            times *= effect.times;
            out |= effect.times == 0.0;
        }
        let odds = p / (1.0 - p) * times.min(pack.policy.context_cap).max(1.0 / pack.policy.context_cap);
        sum += weight * if out { 0.0 } else { odds / (1.0 + odds) };
    });
    sum
}

/// Chance of the news of one clue: every cause and the background makes nothing, or a grade of the right kind or not; the
/// highest grade shows, and every one that shows must be of the kind noted.
fn clue_chance(pack: &Pack, news: &News, causes: &[(&Link, f64)]) -> f64 {
    let clue = &pack.clues[news.clue];
    let kind = |shares: &dyn Fn(usize, usize) -> f64| -> f64 {
        news.marks
            .iter()
            .map(|(mark, kinds)| kinds.iter().map(|kind| shares(*mark, *kind)).sum::<f64>())
            .product()
    };
    let mut makers = vec![(
        clue.background.value,
        &clue.background_grades,
        kind(&|mark, of| clue.marks[mark].background[of]),
    )];
    makers.extend(
        causes
            .iter()
            .map(|(link, p)| (*p, &link.grades, kind(&|mark, of| link.marks[mark][of]))),
    );
    let mut at = vec![0.0; clue.grades.len()];
    at[0] = 1.0;
    for (p, grades, q) in makers {
        let mut next = vec![0.0; at.len()];
        for (grade, chance) in at.iter().enumerate() {
            next[grade] += chance * (1.0 - p);
            for (above, portion) in grades.iter().enumerate() {
                next[grade.max(above + 1)] += chance * p * portion * q;
            }
        }
        at = next;
    }
    at.iter().zip(&news.likelihood).map(|(p, l)| p * l).sum()
}
