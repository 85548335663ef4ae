use crate::testing::{case, close, pack, pack_with};
use crate::{About, Conclusion, weigh};
use wythe_pack::Pack;

const SEEN: [&str; 3] = [
    "clue: gap, at: corner, seen: open",
    "clue: crack, at: west, seen: none",
    "clue: dip, at: door, seen: seen",
];

fn conclusion(pack: &Pack, sightings: &[&str], about: About) -> Conclusion {
    let outcome = weigh(pack, &case("clay: no", sightings)).unwrap();
    let found = outcome.conclusions.into_iter().find(|one| one.about == about);
    found.unwrap()
}

/// The odds of a mechanism that nothing causes go with its prior odds: from 1 : 1 to p : 1 − p, 0.5^(1/4) and 0.01^(1/4) being
/// the chance that one of four walls has none.
#[test]
fn the_odds_go_with_the_prior_odds() {
    let pack = pack();
    let about = About::Mechanism {
        mechanism: pack.mechanism("drop").unwrap(),
        at: 1,
    };
    // None at the corner: 1 : 2 at prior odds of 1 (see `network`).
    let one = conclusion(
        &pack,
        &["clue: gap, at: corner, seen: none", "clue: crack, at: west, seen: none"],
        about,
    );
    let odds = one.chance / (1.0 - one.chance);
    let at = |absent: f64| {
        let odds = odds * (1.0 - absent) / absent;
        odds / (1.0 + odds)
    };
    close(one.range.0, at(0.5_f64.sqrt().sqrt()));
    close(one.range.1, at(0.01_f64.sqrt().sqrt()));
}

/// The ends are what comes out of a pack that has them as its prevalence: of a mechanism that another may cause, and of a
/// family with a member on each wall.
#[test]
fn the_ends_are_those_of_a_pack_that_has_them() {
    let caused = (
        "mechanisms/grow.yaml",
        "links:",
        "links:\n- {effect: sag, reach: here, how_often: 0.5, reason: a test, source: test}",
    );
    let pack = pack_with(&[caused]);
    let sag = About::Mechanism {
        mechanism: pack.mechanism("sag").unwrap(),
        at: 0,
    };
    let ground = About::Family(pack.family("ground").unwrap());
    for (about, file, now, [low, high]) in [
        (
            sag,
            "mechanisms/sag.yaml",
            "chance: 0.5, ",
            ["chance: 0.4, ", "chance: 0.6, "],
        ),
        (
            ground,
            "mechanisms/drop.yaml",
            "chance: 0.9375",
            ["chance: 0.5", "chance: 0.99"],
        ),
    ] {
        let one = conclusion(&pack, &SEEN, about);
        for (end, chance) in [(low, one.range.0), (high, one.range.1)] {
            let moved = pack_with(&[caused, (file, now, end)]);
            close(conclusion(&moved, &SEEN, about).chance, chance);
        }
        assert!(one.range.0 < one.chance && one.chance < one.range.1, "{one:?}");
    }
}
