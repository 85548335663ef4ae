use wythe_case::Case;
use wythe_pack::{Node, Pack, Reach};

use super::{barred, ground, joins, ruled_out};
use crate::testing::{bound, case, pack, pack_with};

fn node(pack: &Pack, id: &str) -> Node {
    let all = pack.template().order();
    *all.iter().find(|node| pack.name(**node) == id).unwrap()
}

/// Names of the causes of a node at a place, with their places and the number that their chance is shared over.
fn causes(pack: &Pack, case: &Case, id: &str, at: usize) -> Vec<(String, usize, f64)> {
    let grounded = ground(pack, case, &bound(pack, case), true);
    let all = grounded.causes((node(pack, id), at)).into_iter();
    all.map(|((cause, from), arc)| (pack.name(cause).to_owned(), from, arc.among))
        .collect()
}

/// Places of the case: 0 the house, 1 south, 2 west, 3 door and 4 window in south, 5 corner touching south.
#[test]
fn each_reach_joins_what_it_says() {
    let case = case("", &[]);
    for (reach, joined, apart) in [
        (Reach::Here, vec![(1, 1), (3, 3)], vec![(1, 2), (0, 1)]),
        (
            Reach::Inside,
            vec![(1, 3), (0, 3), (0, 1)],
            vec![(3, 1), (2, 3), (1, 1)],
        ),
        (Reach::Around, vec![(3, 1), (3, 0), (1, 0)], vec![(1, 3), (3, 2)]),
        // What lies in a wall touches what the wall touches.
        (
            Reach::Touching,
            vec![(1, 5), (5, 1), (5, 3), (4, 5)],
            vec![(2, 5), (1, 3), (3, 4)],
        ),
        (Reach::Anywhere, vec![(1, 2), (5, 4), (0, 0)], vec![]),
        (Reach::Each, vec![(1, 2), (5, 4)], vec![]),
    ] {
        assert!(
            joined
                .into_iter()
                .all(|(cause, effect)| joins(&case, reach, cause, effect)),
            "{reach:?}"
        );
        assert!(
            !apart
                .into_iter()
                .any(|(cause, effect)| joins(&case, reach, cause, effect)),
            "{reach:?}"
        );
    }
}

/// One wall of four touches 2 · 4 / 4 = 2 corners, so its chance of at least one is shared over two; "each" is not
/// shared; "anywhere" is shared over the openings of the whole house, 8 by the pack.
#[test]
fn a_chance_of_at_least_one_is_shared_over_the_places_there_are() {
    let pack = pack();
    let seen = ["clue: gap, at: corner, seen: open", "clue: dip, at: door, seen: seen"];
    let mut house = case("", &seen);
    assert_eq!(
        causes(&pack, &house, "gap", 5),
        [("drop".to_owned(), 1, 2.0), ("grow".to_owned(), 0, 1.0)]
    );
    assert_eq!(causes(&pack, &house, "dip", 3), [("sag".to_owned(), 0, 8.0)]);
    house.how_many = vec![("opening".into(), 2.0), ("wall".into(), 8.0)];
    assert_eq!(causes(&pack, &house, "dip", 3), [("sag".to_owned(), 0, 2.0)]);
    // Eight walls and four corners: each wall touches one.
    assert_eq!(
        causes(&pack, &house, "gap", 5),
        [("drop".to_owned(), 1, 1.0), ("grow".to_owned(), 0, 1.0)]
    );
}

#[test]
fn only_what_bears_on_a_reading_is_laid_out() {
    let pack = pack();
    let house = case("", &["clue: crack, at: south, seen: fine"]);
    let bound = bound(&pack, &house);
    let pruned = ground(&pack, &house, &bound, true);
    let has = |id: &str, at: usize| pruned.has((node(&pack, id), at));
    assert!(has("crack", 1) && has("moved", 1) && has("drop", 1) && has("lift", 1));
    // Every mechanism is reported; a clue that nobody looked for and a response that leads to none are not needed.
    assert!(has("drop", 2) && has("sag", 0) && has("grow", 0));
    assert!(!has("crack", 2) && !has("moved", 2) && !has("gap", 5));
    let whole = ground(&pack, &house, &bound, false);
    // drop, lift, moved and crack at two walls; grow and sag; dip at two openings; gap.
    assert_eq!(whole.order.len(), 4 * 2 + 2 + 2 + 1);
    assert_eq!(pruned.order.len(), 2 * 2 + 2 + 2);
}

#[test]
fn causes_come_before_effects() {
    let pack = pack();
    let house = case(
        "",
        &[
            "clue: crack, at: south, seen: fine",
            "clue: gap, at: corner, seen: open",
        ],
    );
    let grounded = ground(&pack, &house, &bound(&pack, &house), false);
    for (index, site) in grounded.order.iter().enumerate() {
        for (cause, _) in grounded.causes(*site) {
            assert!(grounded.order[..index].contains(&cause), "{cause:?} after {site:?}");
        }
    }
}

#[test]
fn contexts_that_are_known_not_to_hold_rule_out_and_bar() {
    let pack = pack_with(&[(
        "mechanisms/lift.yaml",
        "consequence: grave",
        "contexts: [{context: clay, effect: rules_out, source: test}]\nconsequence: grave",
    )]);
    let of = |contexts: &str| bound(&pack, &case(contexts, &[]));
    let mechanism = |id: &str| &pack[pack.mechanism(id).unwrap()];
    // `sag` asks for fill.
    assert!(ruled_out(&of("fill: no"), mechanism("sag")));
    assert!(!ruled_out(&of("fill: yes"), mechanism("sag")) && !ruled_out(&of(""), mechanism("sag")));
    // `lift` is ruled out by clay.
    assert!(ruled_out(&of("clay: yes"), mechanism("lift")));
    assert!(!ruled_out(&of("clay: no"), mechanism("lift")) && !ruled_out(&of(""), mechanism("lift")));
    // The link of `sag` works on clay only.
    let link = &mechanism("sag").links[0];
    assert!(barred(&of("clay: no"), link) && !barred(&of("clay: yes"), link) && !barred(&of(""), link));
}
