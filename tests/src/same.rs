//! What the laws assert, of whatever pack and case.

use std::collections::BTreeMap;

use wythe_case::{Case, Place};
use wythe_engine::{About, Chain, Conclusion, Outcome, StepKind, Used, decibans, weigh};
use wythe_pack::{Pack, Reach, Rule};

/// Chances are computed to about 1e-14; two ways to one chance may differ by this.
pub const SAME: f64 = 1e-10;

/// Two ways to one weight in decibans may differ by this: a chance near 1 has few digits left below 1.
pub const SAME_WEIGHT: f64 = 1e-6;

fn close(one: f64, other: f64, by: f64) -> bool {
    (one - other).abs() < by
}

/// What is concluded, by what it is about: base, prior, chance, the ends of the range, and coverage.
pub fn numbers(outcome: &Outcome) -> BTreeMap<About, [f64; 6]> {
    let row = |one: &Conclusion| [one.base, one.prior, one.chance, one.range.0, one.range.1, one.coverage];
    outcome.conclusions.iter().map(|one| (one.about, row(one))).collect()
}

/// Every number of every conclusion is the same.
pub fn assert_same_numbers(one: &Outcome, other: &Outcome) {
    let (one, other) = (numbers(one), numbers(other));
    assert_eq!(one.keys().collect::<Vec<_>>(), other.keys().collect::<Vec<_>>());
    for (about, row) in &one {
        for (a, b) in row.iter().zip(&other[about]) {
            assert!((a - b).abs() < SAME, "{about:?}: {row:?} and {:?}", other[about]);
        }
    }
}

/// The ledger of each conclusion with the sightings of each step by name.
pub fn ledgers(outcome: &Outcome) -> BTreeMap<About, Vec<(StepKind, Vec<String>, f64)>> {
    let names = |readings: &[usize]| {
        let mut names: Vec<String> = readings
            .iter()
            .map(|at| outcome.readings[*at].sighting.clone())
            .collect();
        names.sort();
        names
    };
    let steps = |one: &Conclusion| {
        one.steps
            .iter()
            .map(|step| (step.kind, names(&step.readings), step.weight))
            .collect()
    };
    outcome.conclusions.iter().map(|one| (one.about, steps(one))).collect()
}

/// Every ledger has the same steps, with the same sightings and weights.
pub fn assert_same_ledgers(one: &Outcome, other: &Outcome) {
    let (one, other) = (ledgers(one), ledgers(other));
    for (about, steps) in &one {
        assert_eq!(steps.len(), other[about].len(), "{about:?}");
        for (a, b) in steps.iter().zip(&other[about]) {
            assert_eq!((a.0, &a.1), (b.0, &b.1), "{about:?}");
            assert!(close(a.2, b.2, SAME_WEIGHT), "{about:?}: {a:?} and {b:?}");
        }
    }
}

/// Prior plus steps is the posterior, the steps after the contexts are the weight, and each reading enters once.
pub fn assert_steps_sum(outcome: &Outcome) {
    for one in &outcome.conclusions {
        let all: f64 = one.steps.iter().map(|step| step.weight).sum();
        assert!(
            close(decibans(one.base) + all, decibans(one.chance), SAME_WEIGHT),
            "{one:?}"
        );
        let seen: f64 = one
            .steps
            .iter()
            .filter(|step| step.kind != StepKind::Context)
            .map(|step| step.weight)
            .sum();
        assert!(close(seen, one.weight, SAME_WEIGHT), "{one:?}");
        assert_eq!(one.steps.first().map(|step| step.kind), Some(StepKind::Context));
        assert!(
            one.steps.last().is_some_and(|step| close(step.after, one.chance, SAME)),
            "{one:?}"
        );
        let mut entered: Vec<usize> = one.steps.iter().flat_map(|step| step.readings.clone()).collect();
        entered.sort_unstable();
        let weighed: Vec<usize> = (0..outcome.readings.len())
            .filter(|at| outcome.readings[*at].used == Used::Weighed)
            .collect();
        assert_eq!(entered, weighed, "each reading enters once");
    }
}

/// A chain with one thing wrong, in each way there is.
pub fn forgeries(chain: &Chain) -> Vec<Chain> {
    let forge = |change: &dyn Fn(&mut Chain)| {
        let mut forged = chain.clone();
        change(&mut forged);
        forged
    };
    vec![
        forge(&|chain| chain.hops[0].chance += 0.001),
        forge(&|chain| chain.hops[0].from_at += 100),
        forge(&|chain| chain.hops.last_mut().unwrap().to_at += 100),
        forge(&|chain| {
            chain.hops[0].rule = Rule {
                from: chain.hops[0].rule.from,
                link: 99,
            }
        }),
        forge(&|chain| chain.hops.clear()),
        forge(&|chain| chain.reading += 100),
    ]
}

/// Whether nothing at a place of this kind leads to another place, when the place touches nothing and holds nothing.
pub fn keeps_to_itself(pack: &Pack, kind: usize) -> bool {
    let stays = |reach: Reach| matches!(reach, Reach::Here | Reach::Inside | Reach::Touching);
    let nodes = pack.template().order().iter().filter(|node| pack.at(**node).0 == kind);
    nodes.flat_map(|node| pack.links(*node)).all(|link| stays(link.reach))
}

/// One more place of a kind that keeps to itself changes no chance but its own and those of its families.
pub fn assert_unrelated(pack: &Pack, case: &Case, kind: usize, before: &Outcome) {
    let mut more = case.clone();
    let at = more.places.len();
    more.places.push(Place::new("elsewhere", &pack.kinds[kind].id));
    let after = weigh(pack, &more).unwrap();
    let (before, after) = (numbers(before), numbers(&after));
    for (about, row) in &after {
        let touched = match about {
            About::Mechanism { at: place, .. } => *place == at,
            About::Family(family) => pack[*family].members.iter().any(|member| pack[*member].at.0 == kind),
        };
        if !touched {
            for (a, b) in row.iter().take(5).zip(&before[about]) {
                assert!((a - b).abs() < SAME, "{about:?}: {:?} and {row:?}", before[about]);
            }
        }
    }
}

/// A case written and read again is the same case.
pub fn assert_written_and_read(pack: &Pack, case: &Case) {
    let text = case.to_yaml();
    let again = Case::read("again.yaml", &text).unwrap_or_else(|problems| panic!("{problems}\n{text}"));
    assert_eq!(again.to_yaml(), text);
    match (weigh(pack, case), weigh(pack, &again)) {
        (Ok(one), Ok(other)) => assert_eq!(format!("{one:?}"), format!("{other:?}")),
        (one, other) => assert_eq!(one.is_err(), other.is_err()),
    }
}
