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
use wythe_engine::{
    About, Instead, Number, Outcome, Weighed, look, looks, margin, margins, rivals, story, unsupported, weigh,
};
use wythe_pack::{Action, Pack, Support};
use wythe_testing::{News, There, obvious_events, seen};
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

/// The mechanisms that a conclusion is about, each at its place.
fn members(weighed: &Weighed<'_>, about: About) -> Vec<(usize, usize)> {
    match about {
        About::Mechanism { mechanism, at } => vec![(mechanism.0, at)],
        About::Family(family) => {
            let of = &weighed.pack()[family].members;
            let all = weighed.outcome().conclusions.iter().filter_map(|one| match one.about {
                About::Mechanism { mechanism, at } if of.contains(&mechanism) => Some((mechanism.0, at)),
                _ => None,
            });
            all.collect()
        }
    }
}

/// The mechanisms, but for some, that by themselves could leave one of these readings.
fn sharing(
    pack: &Pack,
    case: &Case,
    weighed: &Weighed<'_>,
    own: &[(usize, usize)],
    shared: &[usize],
) -> Vec<(usize, usize)> {
    let mut quiet = pack.clone();
    for clue in &mut quiet.clues {
        clue.background.value = 0.0;
    }
    for response in &mut quiet.responses {
        response.background.value = 0.0;
        for chance in response.opposed.iter_mut().flat_map(|opposed| &mut opposed.background) {
            chance.value = 0.0;
        }
    }
    for mechanism in &mut quiet.mechanisms {
        mechanism.prevalence.chance = 0.0;
        mechanism
            .links
            .retain(|link| !matches!(link.effect, wythe_pack::Node::Mechanism(_)));
    }
    let alone = |(mechanism, at): (usize, usize), reading: usize| {
        let mut pack = quiet.clone();
        pack.mechanisms[mechanism].prevalence.chance = 0.5;
        let reading = &weighed.outcome().readings[reading];
        let grades = pack.clues[reading.clue.0].grades.len();
        let news = News {
            clue: reading.clue.0,
            at: reading.at,
            likelihood: (0..grades).map(|grade| f64::from(u8::from(grade > 0))).collect(),
            marks: Vec::new(),
        };
        let here = |there: There<'_>| {
            there(mechanism, at)
                && weighed.outcome().conclusions.iter().all(|one| match one.about {
                    About::Mechanism { mechanism: m, at: a } => (m.0, a) == (mechanism, at) || !there(m.0, a),
                    About::Family(_) => true,
                })
        };
        obvious_events(&pack, case, &[news], &[&here])[0] > 0.0
    };
    let all = weighed.outcome().conclusions.iter().filter_map(|one| match one.about {
        About::Mechanism { mechanism, at } => Some((mechanism.0, at)),
        About::Family(_) => None,
    });
    all.filter(|site| !own.contains(site) && shared.iter().any(|reading| alone(*site, *reading)))
        .collect()
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

    /// A rival's chances, how far the conclusion is ahead of it, and what each sighting adds, by plain enumeration.
    #[test]
    fn rivals_agree_with_the_obvious_model(rolls in rolls()) {
        let (pack, case) = drawn(rolls);
        let pack = plain(pack);
        let Ok(weighed) = Weighed::new(&pack, &case) else { return Err(TestCaseError::reject("cannot hold")) };
        let news = seen(&pack, &case);
        let readings = &weighed.outcome().readings;
        for one in &weighed.outcome().conclusions {
            let own = members(&weighed, one.about);
            let holds = |there: There<'_>| own.iter().any(|(m, at)| there(*m, *at));
            for rival in rivals(&weighed, one.about).unwrap().rivals {
                let others = match rival.instead {
                    Instead::Mechanism { mechanism, at } => vec![(mechanism.0, at)],
                    // Ordinary causes: none of the mechanisms that could leave one of these signs.
                    Instead::Ordinary => sharing(&pack, &case, &weighed, &own, &rival.shared),
                };
                let ordinary = rival.instead == Instead::Ordinary;
                let other = |there: There<'_>| others.iter().any(|(m, at)| there(*m, *at));
                let alone = |there: There<'_>| holds(there) && (ordinary || !other(there));
                let instead = |there: There<'_>| !holds(there) && other(there) != ordinary;
                let both = |there: There<'_>| holds(there) && other(there);
                let of = |news: &[_]| obvious_events(&pack, &case, news, &[&alone, &instead, &holds, &both, &|_| true]);
                let now = of(&news);
                let ahead = |p: &[f64]| 10.0 * (p[0] / p[1]).log10();
                let near = |a: f64, b: f64| (a - b).abs() < 1e-7 * b.abs().max(1.0) || a == b || (a.is_nan() && b.is_nan());
                prop_assert!((rival.without - now[1] / (now[4] - now[2])).abs() < 1e-9, "{rival:?} {now:?}");
                if !ordinary {
                    prop_assert!((rival.with - now[3] / now[2]).abs() < 1e-9, "{rival:?} {now:?}");
                }
                prop_assert!(near(rival.ahead, ahead(&now)), "{rival:?} {now:?}");
                prop_assert!(near(rival.weight, ahead(&now) - ahead(&of(&[]))), "{rival:?}");
                for (index, adds) in &rival.apart {
                    let reading = &readings[*index];
                    let less: Vec<_> = news.iter().filter(|one| (one.clue, one.at) != (reading.clue.0, reading.at)).cloned().collect();
                    prop_assert!(near(*adds, ahead(&now) - ahead(&of(&less))), "{rival:?} {index}");
                }
            }
        }
    }

    /// The most probable combinations, by plain enumeration.
    #[test]
    fn story_agrees_with_the_obvious_model(rolls in rolls()) {
        let (pack, case) = drawn(rolls);
        let Ok(weighed) = Weighed::new(&pack, &case) else { return Err(TestCaseError::reject("cannot hold")) };
        let told = story(&weighed).unwrap();
        let news = seen(&pack, &case);
        let mut chances = Vec::new();
        for row in 0..1_usize << told.over.len() {
            let event = |there: There<'_>| told.over.iter().enumerate().all(|(bit, (m, at))| there(m.0, *at) == (row >> bit & 1 == 1));
            let p = obvious_events(&pack, &case, &news, &[&event, &|_| true]);
            chances.push((p[0] / p[1], row));
        }
        chances.sort_by(|a, b| b.0.total_cmp(&a.0));
        prop_assert_eq!(told.combinations.len(), chances.iter().filter(|(p, _)| *p > 0.0).count().min(3));
        for (one, (chance, _)) in told.combinations.iter().zip(&chances) {
            prop_assert!((one.chance - chance).abs() < 1e-9);
            let row: usize = told.over.iter().enumerate().map(|(bit, site)| usize::from(one.present.contains(site)) << bit).sum();
            let own = chances.iter().find(|(_, other)| *other == row).unwrap().0;
            prop_assert!((one.chance - own).abs() < 1e-9);
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
