//! What matters to a case: which variables its evidence touches, and what each finding says.

use crate::network::Family;
use crate::noisy::{Grade, count_grades, grades_of};
use crate::{Evidence, Finding, Network, Var};

/// The likelihood a finding amounts to, state by state.
pub(crate) fn likelihood(finding: Option<&Finding>, state: usize) -> f64 {
    match finding {
        None => 1.0,
        Some(Finding::State(s)) => f64::from(u8::from(*s == state)),
        Some(Finding::Likelihood(l) | Finding::OfKind { likelihood: l, .. }) => l[state],
    }
}

pub(crate) fn finding_grades(finding: Option<&Finding>, states: usize, out: &mut Vec<Grade>) {
    if let Some(Finding::State(s)) = finding {
        out.clear();
        if *s > 0 {
            out.push(Grade { end: *s, weight: 0.0 });
        }
        out.push(Grade {
            end: s + 1,
            weight: 1.0,
        });
        return;
    }
    grades_of((0..states).map(|s| likelihood(finding, s)), out);
}

/// The first of [`finding_grades`].
pub(crate) fn first_grade(finding: &Finding, states: usize) -> Grade {
    if let Finding::State(s) = finding {
        let weight = f64::from(u8::from(*s == 0));
        return Grade {
            end: (*s).max(1),
            weight,
        };
    }
    let weight = likelihood(Some(finding), 0);
    let alike = (1..states).take_while(|s| likelihood(Some(finding), *s) == weight);
    Grade {
        end: 1 + alike.count(),
        weight,
    }
}

/// How many [`finding_grades`] there are.
pub(crate) fn grade_count(finding: &Finding, states: usize) -> usize {
    match finding {
        Finding::State(s) => 1 + usize::from(*s > 0),
        _ => count_grades((0..states).map(|s| likelihood(Some(finding), s))),
    }
}

/// Whether the likelihood never rises with the state.
pub(crate) fn falls(finding: &Finding, states: usize) -> bool {
    (1..states).all(|s| likelihood(Some(finding), s) <= likelihood(Some(finding), s - 1))
}

/// For each variable: 0 barren; 1 observed, with nothing relevant below; 2 relevant otherwise.
pub(crate) fn relevance(net: &Network, evidence: &Evidence, extra: &[Var]) -> Vec<u8> {
    let nodes = &net.model.nodes;
    let mut mark = vec![0u8; nodes.len()];
    evidence.iter().for_each(|(v, _)| mark[v.index()] = 1);
    let known = extra.iter().filter(|v| v.index() < nodes.len());
    known.for_each(|v| mark[v.index()] = 2);
    for c in &net.model.constraints {
        c.over.iter().for_each(|v| mark[v.index()] = 2);
    }
    for v in (0..nodes.len()).rev() {
        if mark[v] > 0 {
            let parents = &nodes[v].parents;
            parents.iter().for_each(|p| mark[p.index()] = 2);
        }
    }
    mark
}

/// Variables that are not above any evidence but have to be live for every posterior to follow
/// from weights on single live variables: barren tables, and what barren noisy-MAX ones rest on.
pub(crate) fn deep(net: &Network, evidence: &Evidence) -> Vec<Var> {
    let mark = relevance(net, evidence, &[]);
    let mut wanted = vec![false; net.len()];
    for (v, node) in net.model.nodes.iter().enumerate() {
        if mark[v] > 0 || node.parents.is_empty() {
            continue;
        }
        if matches!(node.family, Family::Table(_)) {
            wanted[v] = true;
            continue;
        }
        for p in &node.parents {
            let out = match mark[p.index()] {
                0 => !net.parents(*p).is_empty(),
                1 => net.is_noisy_max(*p) && !is_hard(evidence, *p),
                _ => false,
            };
            wanted[p.index()] |= out;
        }
    }
    net.vars().filter(|v| wanted[v.index()]).collect()
}

pub(crate) fn is_hard(evidence: &Evidence, var: Var) -> bool {
    matches!(evidence.get(var), Some(Finding::State(_)))
}
