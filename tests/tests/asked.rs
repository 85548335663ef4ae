//! What may be asked of a weighed case, against weighing anew: margins, looks, rivals, the story.
#![allow(missing_docs)]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "test code: a broken fixture should stop the test"
)]

use proptest::prelude::*;
use wythe_case::{Case, Seen};
use wythe_engine::{About, Number, Outcome, Weighed, look, looks, margin, margins, rivals, story, unsupported, weigh};
use wythe_pack::{Action, Pack, Support};
use wythe_tests::{drawn, none_there, sighting, with_pass};

fn rolls() -> impl Strategy<Value = Vec<u16>> {
    prop::collection::vec(any::<u16>(), 40..240)
}

fn chance(outcome: &Outcome, about: About) -> f64 {
    outcome
        .conclusions
        .iter()
        .find(|one| one.about == about)
        .unwrap()
        .chance
}

fn grade(pack: &Pack, case: &Case, about: About) -> (Support, Action) {
    let outcome = weigh(pack, case).unwrap();
    let one = outcome.conclusions.iter().find(|one| one.about == about).unwrap();
    (one.support, one.action)
}

/// Patterns and hidings are not foreseen by a look: the packs here have none.
fn plain(mut pack: Pack) -> Pack {
    pack.suppressions.clear();
    for clue in &mut pack.clues {
        clue.pattern = None;
    }
    pack
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    /// What a look is worth is what weighing anew after each thing that it could find says.
    #[test]
    fn worth_of_a_look_equals_brute_force(rolls in rolls()) {
        let (pack, case) = drawn(rolls);
        let pack = plain(pack);
        let Ok(weighed) = Weighed::new(&pack, &case) else { return Err(TestCaseError::reject("cannot hold")) };
        let now = weighed.outcome().clone();
        let k = pack.policy.referral.miss_costs;
        let found = looks(&weighed).unwrap();
        for one in &found.looks {
            let mut outcomes = Vec::new();
            for (index, grade) in pack[one.clue].grades.iter().enumerate() {
                let seen = if index == 0 { none_there() } else { Seen::Grade(grade.id.clone()) };
                let anew = with_pass(&case, vec![sighting(&pack, (one.clue.0, one.at), seen)]);
                let outcome = weigh(&pack, &anew).unwrap();
                outcomes.push(((outcome.ln_evidence - now.ln_evidence).exp(), outcome));
            }
            let mut worth = 0.0;
            let mut bits = 0.0;
            for tells in &one.tells {
                let before = chance(&now, tells.about);
                let loss: f64 = outcomes.iter().map(|(p, after)| p * look::loss(k, chance(after, tells.about))).sum();
                let entropy: f64 = outcomes.iter().map(|(p, after)| p * look::entropy(chance(after, tells.about))).sum();
                for ((p, after), given) in outcomes.iter().zip(&tells.given) {
                    prop_assert!(*p < 1e-12 || (chance(after, tells.about) - given).abs() < 1e-9);
                }
                if tells.worth > 0.0 { prop_assert!((tells.worth - (look::loss(k, before) - loss)).abs() < 1e-9); worth += tells.worth; }
                if tells.bits > 0.0 { prop_assert!((tells.bits - (look::entropy(before) - entropy)).abs() < 1e-9); bits += tells.bits; }
            }
            prop_assert!((one.worth - worth).abs() < 1e-9 && (one.bits - bits).abs() < 1e-9);
            for ((p, _), chance) in outcomes.iter().zip(&one.chances) {
                prop_assert!((p - chance).abs() < 1e-9);
            }
        }
    }

    /// No number changes a conclusion by less than the nearest that is told: every number, moved in steps.
    #[test]
    fn no_number_is_nearer(rolls in rolls()) {
        let (pack, case) = drawn(rolls);
        let Ok(weighed) = Weighed::new(&pack, &case) else { return Err(TestCaseError::reject("cannot hold")) };
        let nearest: Vec<_> = weighed.outcome().conclusions.iter().map(|one| {
            let found = margins(&weighed, one.about).unwrap();
            (one, found.numbers.first().map_or(margin::REACH, |margin| margin.decibans.abs()))
        }).collect();
        for number in Number::all(&pack) {
            for step in 1..=10 {
                for by in [f64::from(step), -f64::from(step)] {
                    let mut moved = pack.clone();
                    prop_assert!(number.set(&mut moved, number.moved(&pack, by).unwrap()));
                    let outcome = weigh(&moved, &case).unwrap();
                    for (one, nearest) in nearest.iter().filter(|(_, nearest)| by.abs() < nearest - 1e-6) {
                        let other = outcome.conclusions.iter().find(|other| other.about == one.about).unwrap();
                        prop_assert_eq!((one.support, one.action), (other.support, other.action), "{:?}: {:?} by {} under {}", one.about, number, by, nearest);
                    }
                }
            }
        }
    }

    /// A sighting taken away, or moved by a class, changes a conclusion as weighing without it says.
    #[test]
    fn sightings_taken_away_change_what_is_told(rolls in rolls()) {
        let (pack, case) = drawn(rolls);
        let pack = plain(pack);
        let mut case = case;
        // The last pass alone, so that no earlier sighting takes the place of one taken away.
        let last = case.passes.pop();
        case.passes = last.into_iter().collect();
        let Ok(weighed) = Weighed::new(&pack, &case) else { return Err(TestCaseError::reject("cannot hold")) };
        for (index, reading) in weighed.outcome().readings.iter().enumerate() {
            if reading.used != wythe_engine::Used::Weighed { continue; }
            let mut less = case.clone();
            less.passes[0].sightings.retain(|one| one.id != reading.sighting);
            for one in &weighed.outcome().conclusions {
                let told = margins(&weighed, one.about).unwrap();
                let expected = grade(&pack, &less, one.about);
                let found = told.without.iter().find(|other| other.reading == index);
                let found = found.map_or((one.support, one.action), |found| (found.becomes.support, found.becomes.action));
                prop_assert_eq!(found, expected);
            }
        }
    }

    #[test]
    fn all_can_be_asked(rolls in rolls()) {
        let (pack, case) = drawn(rolls);
        let Ok(weighed) = Weighed::new(&pack, &case) else { return Err(TestCaseError::reject("cannot hold")) };
        for one in &weighed.outcome().conclusions {
            rivals(&weighed, one.about).unwrap();
            unsupported(&weighed, one.about).unwrap();
        }
        let told = story(&weighed).unwrap();
        prop_assert!(told.combinations.windows(2).all(|pair| pair[0].chance >= pair[1].chance));
    }
}
