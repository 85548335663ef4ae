//! Every feature is really drawn, so that the agreement with the obvious model cannot go hollow.
#![allow(missing_docs)]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "test code: a broken fixture should stop the test"
)]

use std::collections::BTreeMap;

use wythe_case::{Case, Looked, Seen, Sure};
use wythe_engine::{Used, weigh};
use wythe_pack::{Node, Pack, Reach, SuppressedBy};
use wythe_tests::drawn;

/// Rolls like those that proptest makes, from a fixed start (a linear congruential generator; constants of Knuth's MMIX).
fn rolls(seed: u64) -> Vec<u16> {
    let mut state = seed;
    let mut roll = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 48) as u16
    };
    for _ in 0..8 {
        roll();
    }
    let length = 60 + usize::from(roll()) % 160;
    (0..length).map(|_| roll()).collect()
}

/// How many draws had each feature, and the least number that must.
struct Tally(BTreeMap<&'static str, usize>);

impl Tally {
    fn count(&mut self, feature: &'static str, drawn: bool) {
        *self.0.entry(feature).or_default() += usize::from(drawn);
    }
}

/// What a pack has and a case can make bear: only links whose cause and effect have places in the case.
fn of_the_pack(tally: &mut Tally, pack: &Pack, case: &Case) {
    let has_place = |node: Node| {
        case.places
            .iter()
            .any(|place| pack.kind(&place.kind) == Some(pack.at(node)))
    };
    let nodes: Vec<Node> = pack
        .template()
        .order()
        .iter()
        .copied()
        .filter(|node| has_place(*node))
        .collect();
    let links: Vec<_> = nodes
        .iter()
        .flat_map(|from| pack.links(*from).iter().map(move |link| (*from, link)))
        .filter(|(_, link)| has_place(link.effect))
        .collect();
    let opposed = |node: &Node| matches!(node, Node::Response(at) if pack[*at].opposed.is_some());
    let graded = |node: &Node| matches!(node, Node::Response(at) if pack[*at].opposed.is_none());
    tally.count("an opposed response", nodes.iter().any(opposed));
    tally.count("a graded response", nodes.iter().any(graded));
    let pushed = |way| {
        links
            .iter()
            .any(|(_, link)| opposed(&link.effect) && link.direction == Some(way))
    };
    tally.count("pushed one way", pushed(1));
    tally.count("pushed the other way", pushed(2));
    tally.count("pushed both ways", pushed(1) && pushed(2));
    tally.count(
        "a mechanism by a mechanism",
        links.iter().any(|(_, link)| matches!(link.effect, Node::Mechanism(_))),
    );
    tally.count(
        "a clue by a mechanism straight",
        links
            .iter()
            .any(|(from, link)| matches!((from, link.effect), (Node::Mechanism(_), Node::Clue(_)))),
    );
    for (name, reach) in [
        ("reach here", Reach::Here),
        ("reach inside", Reach::Inside),
        ("reach around", Reach::Around),
        ("reach touching", Reach::Touching),
        ("reach anywhere", Reach::Anywhere),
        ("reach each", Reach::Each),
    ] {
        tally.count(name, links.iter().any(|(_, link)| link.reach == reach));
    }
    let stated = |id: &str| case.contexts.iter().find(|fact| fact.id == id).map(|fact| fact.holds);
    let asks = |answer: Option<bool>| {
        links
            .iter()
            .any(|(_, link)| link.only_if.is_some_and(|context| stated(&pack[context].id) == answer))
    };
    tally.count("only if, and it holds", asks(Some(true)));
    tally.count("only if, and it does not", asks(Some(false)));
    tally.count("only if, and nobody knows", asks(None));
    tally.count(
        "a link with marks of its own",
        links.iter().any(|(_, link)| link.states_marks.contains(&true)),
    );
    let mechanisms = || pack.mechanisms.iter();
    tally.count(
        "applies if, and nobody knows",
        mechanisms().any(|one| one.applies_if.iter().any(|at| stated(&pack[*at].id).is_none())),
    );
    tally.count(
        "applies if, and it does not",
        mechanisms().any(|one| one.applies_if.iter().any(|at| stated(&pack[*at].id) == Some(false))),
    );
    let product = |one: &wythe_pack::Mechanism| -> f64 {
        one.contexts
            .iter()
            .filter(|effect| stated(&pack[effect.context].id) == Some(true))
            .map(|effect| effect.times)
            .product()
    };
    tally.count(
        "the context cap reached",
        mechanisms().any(|one| product(one) > pack.policy.context_cap),
    );
    tally.count("ruled out by a context", mechanisms().any(|one| product(one) == 0.0));
    tally.count(
        "a context that lowers",
        mechanisms().any(|one| (0.01..0.99).contains(&product(one))),
    );
    tally.count("how many stated", !case.how_many.is_empty());
    tally.count("two passes", case.passes.len() == 2);
}

fn of_the_sightings(tally: &mut Tally, pack: &Pack, case: &Case) {
    let standing = case.standing();
    let any = |is: &dyn Fn(&Seen) -> bool| standing.iter().any(|one| is(&one.sighting.seen));
    tally.count("a grade", any(&|seen| matches!(seen, Seen::Grade(_))));
    tally.count("present, size unknown", any(&|seen| matches!(seen, Seen::Present)));
    tally.count(
        "none there",
        any(&|seen| matches!(seen, Seen::NoneThere { looked: Looked::All })),
    );
    tally.count(
        "part looked",
        any(&|seen| matches!(seen, Seen::NoneThere { looked: Looked::Part })),
    );
    tally.count(
        "a share looked",
        any(&|seen| {
            matches!(
                seen,
                Seen::NoneThere {
                    looked: Looked::Share(_)
                }
            )
        }),
    );
    tally.count("not reached", any(&|seen| matches!(seen, Seen::NotReached { .. })));
    tally.count(
        "measured, error of the instrument",
        any(&|seen| matches!(seen, Seen::Measured { reading, .. } if reading.sd.is_none())),
    );
    tally.count(
        "measured, stated error",
        any(&|seen| matches!(seen, Seen::Measured { reading, .. } if reading.sd.is_some())),
    );
    tally.count(
        "measured from a photo",
        any(&|seen| matches!(seen, Seen::Measured { from_photo: true, .. })),
    );
    tally.count(
        "fairly sure",
        standing.iter().any(|one| one.sighting.sure == Sure::Fairly),
    );
    tally.count("unsure", standing.iter().any(|one| one.sighting.sure == Sure::Unsure));
    tally.count(
        "a mark of one kind",
        standing
            .iter()
            .any(|one| one.marks.iter().any(|(_, kinds)| kinds.len() == 1)),
    );
    tally.count(
        "a mark of several kinds",
        standing
            .iter()
            .any(|one| one.marks.iter().any(|(_, kinds)| kinds.len() > 1)),
    );
    tally.count("seen twice", standing.iter().any(|one| !one.history.is_empty()));
    let Ok(outcome) = weigh(pack, case) else {
        tally.count("cannot all hold", true);
        return;
    };
    let hidden = |by: &dyn Fn(&SuppressedBy) -> bool| {
        outcome
            .readings
            .iter()
            .any(|reading| matches!(reading.used, Used::Hidden { by: rule } if by(&pack.suppressions[rule].by)))
    };
    tally.count(
        "hidden by a context",
        hidden(&|by| matches!(by, SuppressedBy::Context(_))),
    );
    tally.count(
        "hidden by a clue",
        hidden(&|by| matches!(by, SuppressedBy::Clue { .. })),
    );
    tally.count(
        "a pattern that holds",
        outcome.readings.iter().any(|reading| !reading.made_from.is_empty()),
    );
    let marked_soft = |reading: &wythe_engine::Reading| {
        !reading.marks.is_empty() && reading.likelihood.iter().filter(|value| **value > 0.0).count() > 1
    };
    tally.count("marks on a soft reading", outcome.readings.iter().any(marked_soft));
    tally.count(
        "several places of one clue",
        outcome.readings.iter().any(|one| {
            outcome
                .readings
                .iter()
                .any(|other| one.clue == other.clue && one.at < other.at)
        }),
    );
    tally.count(
        "moved by what was seen",
        outcome.conclusions.iter().any(|one| one.weight.abs() > 1.0),
    );
}

#[test]
fn every_feature_is_drawn() {
    const DRAWS: usize = 600;
    let mut tally = Tally(BTreeMap::new());
    for seed in 0..DRAWS as u64 {
        let (pack, case) = drawn(rolls(seed));
        of_the_pack(&mut tally, &pack, &case);
        of_the_sightings(&mut tally, &pack, &case);
    }
    // At least one draw in fifty: forty of the two thousand that the agreement test makes.
    let rare: Vec<_> = tally
        .0
        .iter()
        .filter(|(feature, count)| **count < DRAWS / 50 && **feature != "cannot all hold")
        .collect();
    assert!(rare.is_empty(), "hardly drawn: {rare:?}\nof all: {:#?}", tally.0);
    let lost = tally.0.get("cannot all hold").copied().unwrap_or(0);
    assert!(
        lost < DRAWS / 20,
        "{lost} draws in {DRAWS} are of sightings that cannot all hold, and test nothing"
    );
    println!("{:#?}", tally.0);
}
