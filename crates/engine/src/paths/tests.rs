use wythe_pack::Node;

use super::{reached, telling};
use crate::testing::{bound, case, close, pack, pack_with};

#[test]
fn chances_multiply_along_a_path() {
    let (pack, case) = (pack(), case("", &[]));
    let found = reached(
        &pack,
        &case,
        &bound(&pack, &case),
        (Node::Mechanism(pack.mechanism("drop").unwrap()), 1),
    );
    let clue = |id: &str| pack.clue(id).unwrap();
    // Straight to the gap: 0.75 of at least one of two corners, 1 − √0.25 = 0.5 at each.
    let gap = &found[&(clue("gap"), 5)];
    close(gap.chance, 0.5);
    assert_eq!(gap.path.len(), 1);
    // By the moved wall to the crack: 0.5 down, 0.5 cracked.
    let crack = &found[&(clue("crack"), 1)];
    close(crack.chance, 0.25);
    assert_eq!(
        crack
            .path
            .iter()
            .map(|hop| (hop.from_at, hop.to_at))
            .collect::<Vec<_>>(),
        [(1, 1), (1, 1)]
    );
    close(crack.path[0].chance * crack.path[1].chance, 0.25);
    // Nothing else: not the other wall's crack, nor the dips.
    assert_eq!(found.len(), 2);
}

/// `lift` pushes up, and only down makes cracks.
#[test]
fn a_push_the_other_way_leads_nowhere() {
    let (pack, case) = (pack(), case("", &[]));
    let found = reached(
        &pack,
        &case,
        &bound(&pack, &case),
        (Node::Mechanism(pack.mechanism("lift").unwrap()), 1),
    );
    assert!(found.is_empty());
}

/// A link that asks for clay: barred without it, and with its share of 0.5 where nobody knows. Shared over 8 openings,
/// 1 − (1/256)^(1/8) = 0.5.
#[test]
fn a_link_that_asks_for_a_context_has_its_share() {
    let pack = pack();
    let chance = |contexts: &str| {
        let case = case(contexts, &[]);
        let found = reached(
            &pack,
            &case,
            &bound(&pack, &case),
            (Node::Mechanism(pack.mechanism("sag").unwrap()), 0),
        );
        found.get(&(pack.clue("dip").unwrap(), 3)).map(|reached| reached.chance)
    };
    close(chance("clay: yes").unwrap(), 0.5);
    close(chance("").unwrap(), 0.25);
    assert_eq!(chance("clay: no"), None);
}

/// Two paths: 1 − (1 − 0.25)(1 − 0.3) = 0.475, and the likelier of the two is kept.
#[test]
fn paths_join_as_causes_do() {
    let other = "id: tipped\ntitle: tipped\nat: wall\nstates: [no, yes]\nbackground: {how_often: 0.1}\nsource: test\nlinks:\n- {effect: crack, reach: here, how_often: 0.6, reason: a test, source: test}\n";
    let more = "links:\n- {effect: tipped, reach: here, how_often: 0.5, reason: a test, source: test}";
    let pack = pack_with(&[
        ("responses/tipped.yaml", "", other),
        ("mechanisms/drop.yaml", "links:", more),
    ]);
    let case = case("", &[]);
    let found = reached(
        &pack,
        &case,
        &bound(&pack, &case),
        (Node::Mechanism(pack.mechanism("drop").unwrap()), 1),
    );
    let crack = &found[&(pack.clue("crack").unwrap(), 1)];
    close(crack.chance, 0.475);
    close(crack.path[0].chance * crack.path[1].chance, 0.3);
}

/// The gap shows in 0.2 without and in 1 − 0.8 · 0.5 = 0.6 with: 10 (0.6 log₁₀ 3 + 0.4 log₁₀ 0.5), where
/// log₁₀ 3 = 0.477121254720 and log₁₀ 2 = 0.301029995664 (tables): 1.6586075457.
#[test]
fn what_a_look_would_tell_is_the_divergence() {
    let pack = pack();
    let found = telling(&pack, pack.clue("gap").unwrap(), 0.5);
    close(found, 1.658_607_545_7);
    close(telling(&pack, pack.clue("gap").unwrap(), 0.0), 0.0);
}
