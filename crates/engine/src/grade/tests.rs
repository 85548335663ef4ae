use wythe_pack::{Action, FamilyIx, Rival, Support, Zone};

use super::{Act, Coverage, act, cannot_tell, corroborated, coverage, support};
use crate::testing::{bound, case, close, pack, pack_with};
use crate::{About, Corroborated, Decided, Step, StepKind, weigh};

/// One each side of every bound. Odds worked by hand where they decide.
#[test]
fn support_turns_at_its_bounds() {
    let pack = pack();
    for (prior, chance, expected) in [
        // Under 0.05, with odds at least halved: 0.136 to 0.0515 is a factor of 0.38.
        (0.12, 0.049, Support::SpokenAgainst),
        (0.12, 0.051, Support::Slight),
        // Under 0.05 and not halved: 0.0989 to 0.0525 is a factor of 0.53.
        (0.09, 0.0499, Support::NotMoved),
        // Under 0.2, and under a third of the prior: 0.2 of 0.6, then 0.18 of 0.54.
        (0.6, 0.199, Support::SpokenAgainst),
        (0.6, 0.201, Support::Some),
        (0.54, 0.179, Support::SpokenAgainst),
        (0.54, 0.181, Support::Slight),
        // Odds of 1 to 1.994 and to 2.003, to 0.5015 and to 0.4993.
        (0.5, 0.666, Support::NotMoved),
        (0.5, 0.667, Support::Fair),
        (0.5, 0.334, Support::NotMoved),
        (0.5, 0.333, Support::Some),
        // Moved, by the chance alone.
        (0.01, 0.199, Support::Slight),
        (0.01, 0.2, Support::Some),
        (0.01, 0.499, Support::Some),
        (0.01, 0.5, Support::Fair),
        (0.01, 0.85, Support::Fair),
        (0.01, 0.851, Support::Strong),
    ] {
        assert_eq!(
            support(&pack.policy.bounds, prior, chance),
            expected,
            "{prior} to {chance}"
        );
    }
}

/// Under a quarter looked at, under 0.2, and one look could carry it over: 0.1 is odds of 1/9, times 3 is 1/3, a chance of
/// 0.25; times 2 is 2/9, a chance of 0.18.
#[test]
fn cannot_tell_needs_all_three() {
    let pack = pack();
    let tell = |chance: f64, share: f64, factor: f64| {
        cannot_tell(
            &pack.policy.bounds,
            chance,
            &Coverage {
                share,
                factor,
                ..Coverage::default()
            },
        )
    };
    assert!(tell(0.1, 0.24, 3.0));
    assert!(!tell(0.1, 0.25, 3.0));
    assert!(!tell(0.1, 0.24, 2.0));
    assert!(!tell(0.2, 0.24, 3.0));
}

/// A miss costs twice a needless referral, so refer from 1 / (1 + 2) (Pauker and Kassirer 1980).
#[test]
fn the_cost_ratio_refers_from_a_third() {
    let pack = pack();
    close(pack.policy.referral.bound(), 1.0 / 3.0);
    let enough = Corroborated {
        enough: true,
        ..Corroborated::default()
    };
    let acts = |row: usize, support: Support, chance: f64| {
        let row = pack.policy.consequences[row].clone();
        let act = act(
            &pack,
            &move |support| row.action(support),
            support,
            chance,
            &enough,
            &Coverage::default(),
        );
        (act.action, act.decided)
    };
    let (light, grave) = (0, 1);
    assert_eq!(acts(grave, Support::Some, 0.333), (Action::Monitor, Decided::Support));
    assert_eq!(acts(grave, Support::Some, 0.334), (Action::Refer, Decided::CostRatio));
    assert_eq!(acts(grave, Support::Fair, 0.6), (Action::Refer, Decided::Support));
    // Not moved by any sighting: not referred, however common.
    assert_eq!(acts(grave, Support::NotMoved, 0.6), (Action::Record, Decided::Support));
    // Nothing that would be referred at its strongest.
    assert_eq!(acts(light, Support::Strong, 0.9), (Action::Upkeep, Decided::Support));
}

fn step(kind: StepKind, readings: &[usize], weight: f64) -> Step {
    Step {
        kind,
        readings: readings.to_vec(),
        weight,
        after: 0.5,
    }
}

/// Two groups from two zones, each of a deciban or more. Readings: 0 and 1 outside, 2 inside.
#[test]
fn corroboration_counts_groups_and_zones() {
    let pack = pack();
    let seen = [
        "clue: crack, at: south, seen: fine",
        "clue: dip, at: door, seen: seen",
        "clue: gap, at: corner, seen: open",
    ];
    let readings = bound(&pack, &case("", &seen)).readings;
    let of = |steps: &[Step]| corroborated(&pack, &readings, steps);
    let seen = |readings: &[usize], weight: f64| step(StepKind::Seen, readings, weight);
    let both = of(&[seen(&[0], 1.0), seen(&[2], 1.0)]);
    assert_eq!(
        (both.groups, both.zones.as_slice(), both.enough),
        (2, &[Zone::Outside, Zone::Inside][..], true)
    );
    assert!(!of(&[seen(&[0], 1.0), seen(&[2], 0.99)]).enough, "too light");
    assert!(!of(&[seen(&[0], 5.0), seen(&[1], 5.0)]).enough, "one zone");
    assert!(!of(&[seen(&[0, 2], 9.0)]).enough, "one group");
    assert!(
        !of(&[seen(&[0], 5.0), step(StepKind::NoneThere, &[2], 5.0)]).enough,
        "what was not there is no group"
    );
}

/// With less than that, the look that would supply it is asked for. Short of strong support the referral waits for it; where
/// support is strong, people are to be kept clear or no look is left, the referral stands.
#[test]
fn a_referral_without_corroboration_asks_for_a_look() {
    let pack = pack();
    let clue = |id: &str| pack.clue(id).unwrap();
    let one = Corroborated {
        groups: 1,
        zones: vec![Zone::Outside],
        enough: false,
    };
    let acts = |support: Support, action: Action, unlooked: &[(wythe_pack::ClueIx, usize, f64)]| {
        let covered = Coverage {
            unlooked: unlooked.to_vec(),
            ..Coverage::default()
        };
        act(&pack, &|_| action, support, 0.9, &one, &covered)
    };
    let made = |action, decided, wants_look| Act {
        action,
        decided,
        wants_look,
    };
    // Another zone first, however much more the same zone would tell.
    let left = [(clue("crack"), 2, 5.0), (clue("gap"), 5, 1.0)];
    let gap = Some((clue("gap"), 5));
    for (support, action, expected) in [
        (Support::Fair, Action::Refer, (Action::Monitor, Decided::WantsLook)),
        (Support::Strong, Action::Refer, (Action::Refer, Decided::Support)),
        (Support::Fair, Action::Promptly, (Action::Promptly, Decided::Support)),
    ] {
        assert_eq!(acts(support, action, &left), made(expected.0, expected.1, gap));
        for none in [&[][..], &[(clue("crack"), 2, 5.0), (clue("gap"), 5, 0.9)]] {
            assert_eq!(acts(support, action, none), made(action, Decided::NoLookLeft, None));
        }
    }
    assert_eq!(
        acts(Support::Fair, Action::Trade, &left).wants_look,
        None,
        "no referral, no look"
    );
}

/// Of drop at south: the gap tells 1.6586 decibans (see `paths`), the crack by the same sum with 0.1 and
/// 1 − 0.9 · 0.75 = 0.325.
#[test]
fn coverage_is_a_share_of_what_would_tell() {
    let pack = pack();
    let gap: f64 = 10.0 * (0.6 * 3.0_f64.log10() + 0.4 * 0.5_f64.log10());
    let crack: f64 = 10.0 * (0.325 * 3.25_f64.log10() + 0.675 * 0.75_f64.log10());
    let of = |sightings: &[&str]| {
        let case = case("", sightings);
        let bound = bound(&pack, &case);
        let site = (wythe_pack::Node::Mechanism(pack.mechanism("drop").unwrap()), 1);
        coverage(
            &pack,
            &bound.readings,
            crate::paths::Ways::new(&pack, &case, &bound).chances(site),
        )
    };
    let nothing = of(&[]);
    close(nothing.share, 0.0);
    // Seen, the gap would be 0.6 / 0.2 = 3 times as likely, the crack 3.25 times.
    close(nothing.factor, 3.25);
    assert_eq!(nothing.unlooked.len(), 2);
    close(of(&["clue: gap, at: corner, seen: none"]).share, gap / (gap + crack));
    // Out of reach is not looked at, and no candidate for a look either.
    let fenced = of(&["clue: crack, at: south, not_reached: a fence"]);
    close(fenced.share, 0.0);
    assert_eq!(
        fenced
            .unlooked
            .iter()
            .map(|(clue, at, _)| (*clue, *at))
            .collect::<Vec<_>>(),
        [(pack.clue("gap").unwrap(), 5)]
    );
}

/// Growth of 0.1 that opens the gap with 0.9: none is left with 0.8 · 0.75 = 0.6 without it and 0.06 with it, so seeing one
/// takes it to 0.1 · 0.94 / (0.1 · 0.94 + 0.9 · 0.4) = 0.207, some support and upkeep. Filling the gap would hide ground
/// movement, which is over 0.75: held back where the rule says 0.2, given where it says 0.99.
#[test]
fn advice_that_does_harm_if_wrong_is_held_back() {
    let held = |over: &str| {
        let pack = pack_with(&[
            ("mechanisms/grow.yaml", "over: 0.2", over),
            (
                "mechanisms/grow.yaml",
                "chance: 0.5, from: 0.4",
                "chance: 0.1, from: 0.1",
            ),
            ("mechanisms/grow.yaml", "how_often: 0.25", "how_often: 0.9"),
            (
                "clues/gap.yaml",
                "[{id: none}, {id: open}, {id: gaping}]",
                "[{id: none}, {id: open}]",
            ),
            ("clues/gap.yaml", "{open: 0.5, gaping: 0.5}", "{open: 1}"),
        ]);
        let outcome = weigh(
            &pack,
            &case("clay: no, fill: no", &["clue: gap, at: corner, seen: open"]),
        )
        .unwrap();
        let about = About::Mechanism {
            mechanism: pack.mechanism("grow").unwrap(),
            at: 0,
        };
        let grow = outcome.conclusions.into_iter().find(|one| one.about == about).unwrap();
        close(grow.chance, 0.094 / (0.094 + 0.36));
        assert_eq!((grow.support, grow.action), (Support::Some, Action::Upkeep));
        grow.held_back
            .map(|back| (back.rival, back.check_first == pack.clue("crack").unwrap()))
    };
    assert_eq!(held("over: 0.2"), Some((Rival::Family(FamilyIx(0)), true)));
    assert_eq!(held("over: 0.99"), None);
}
