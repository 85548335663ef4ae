use super::{Carried, found, walk, without};
use crate::testing::{case, close, pack, pack_with};
use crate::{About, decibans, weigh};

const GAP: &str = "clue: gap, at: corner, seen: open";
const NO_CRACK: &str = "clue: crack, at: south, seen: none";

fn named(pack: &wythe_pack::Pack, about: About) -> String {
    match about {
        About::Mechanism { mechanism, at } => format!("{} {at}", pack[mechanism].id),
        About::Family(family) => pack[family].id.clone(),
    }
}

#[test]
fn a_walk_ends_at_the_outcome_and_its_steps_add_up() {
    let pack = pack();
    let case = case("clay: yes", &[GAP, NO_CRACK]);
    let walk = walk(&pack, &case).unwrap();
    assert_eq!(walk.steps.len(), 2);
    assert_eq!(walk.steps[1].outcome, weigh(&pack, &case).unwrap());
    for (at, first) in walk.start.conclusions.iter().enumerate() {
        let moved: f64 = walk
            .steps
            .iter()
            .flat_map(|step| &step.moved)
            .filter(|one| one.about == first.about)
            .map(|one| one.weight)
            .sum();
        let last = &walk.steps[1].outcome.conclusions[at];
        // Movements under a deciban are not told: two steps hide two at most.
        assert!(
            (decibans(last.chance) - decibans(first.chance) - moved).abs() < 2.0,
            "{}",
            named(&pack, first.about)
        );
        close(first.prior, first.chance);
    }
}

#[test]
fn a_sign_speaks_by_a_chain_and_what_is_left_to_account_for_by_a_rival() {
    let pack = pack_with(&[
        (
            "mechanisms/drop.yaml",
            "reach: here, how_often: 0.5",
            "reach: here, how_often: 0.95",
        ),
        ("responses/moved.yaml", "how_often: 0.5", "how_often: 0.95"),
        (
            "clues/gap.yaml",
            "background: {how_often: 0.2}",
            "background: {how_often: 0.01}",
        ),
    ]);
    let case = case("clay: yes", &[GAP, NO_CRACK]);
    let walk = walk(&pack, &case).unwrap();
    let carried = |step: usize, name: &str| {
        let step = &walk.steps[step];
        step.moved
            .iter()
            .find(|one| named(&pack, one.about) == name)
            .map(|one| one.by.clone())
    };
    // The gap is by the corner that touches the south wall: one hop.
    assert!(matches!(carried(0, "drop 1"), Some(Carried::Chain(hops)) if hops.len() == 1));
    assert!(matches!(carried(0, "grow 0"), Some(Carried::Chain(hops)) if hops.len() == 1));
    // No crack speaks against the drop by the response; the gap is left to the growth.
    assert!(matches!(carried(1, "drop 1"), Some(Carried::Chain(hops)) if hops.len() == 2));
    let drop = walk.steps[1]
        .moved
        .iter()
        .find(|one| named(&pack, one.about) == "drop 1")
        .unwrap()
        .about;
    assert_eq!(carried(1, "grow 0"), Some(Carried::Rival { rival: drop, over: 0 }));
}

#[test]
fn without_a_sighting_is_the_case_that_never_had_it() {
    let pack = pack();
    let both = case("clay: yes", &[GAP, NO_CRACK]);
    let less = without(&pack, &both, &["first.1"]).unwrap();
    let chances = |outcome: &crate::Outcome| outcome.conclusions.iter().map(|one| one.chance).collect::<Vec<f64>>();
    assert_eq!(
        chances(&less),
        chances(&weigh(&pack, &case("clay: yes", &[NO_CRACK])).unwrap())
    );
    assert_eq!(
        without(&pack, &both, &["no such"]).unwrap(),
        weigh(&pack, &both).unwrap()
    );
}

#[test]
fn a_look_found_is_the_case_that_has_it() {
    let pack = pack();
    let clue = pack.clue("crack").unwrap();
    let chances = |outcome: &crate::Outcome| outcome.conclusions.iter().map(|one| one.chance).collect::<Vec<f64>>();
    let less = case("clay: yes", &[GAP]);
    for (grade, line) in [(0, NO_CRACK), (2, "clue: crack, at: south, seen: slight")] {
        let more = weigh(&pack, &case("clay: yes", &[GAP, line])).unwrap();
        assert_eq!(
            chances(&found(&pack, &less, clue, 1, grade).unwrap()),
            chances(&more),
            "{line}"
        );
    }
}
