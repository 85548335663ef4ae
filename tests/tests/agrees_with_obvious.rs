//! The engine agrees with a plain enumeration of the joint, to 1e-9, on random packs and cases.
#![allow(missing_docs)]

use approx::assert_abs_diff_eq;
use proptest::prelude::*;
use wythe_engine::{About, weigh};
use wythe_testing::{Dice, obvious, random_case, random_pack, seen};

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, ..ProptestConfig::default() })]

    #[test]
    fn engine_agrees_with_the_obvious_model(rolls in prop::collection::vec(any::<u16>(), 0..220)) {
        let mut dice = Dice::new(rolls);
        let (pack, _) = random_pack(&mut dice);
        let case = random_case(&mut dice, &pack);
        let plain = obvious(&pack, &case, &seen(&pack, &case));
        match weigh(&pack, &case) {
            Err(error) => prop_assert!(plain.evidence <= 0.0, "{error}, but its chance is {}", plain.evidence),
            Ok(outcome) => {
                let mut compared = 0;
                for conclusion in &outcome.conclusions {
                    let expected = match conclusion.about {
                        About::Mechanism { mechanism, at } => {
                            plain.chances.iter().find(|(site, _)| *site == (mechanism.0, at)).map(|(_, chance)| *chance)
                        }
                        About::Family(family) => plain.families.get(family.0).copied(),
                    };
                    assert_abs_diff_eq!(conclusion.chance, expected.unwrap(), epsilon = 1e-9);
                    compared += 1;
                }
                for ((mechanism, at), chance) in &plain.chances {
                    let named = outcome.conclusions.iter().any(|one| matches!(one.about, About::Mechanism { mechanism: m, at: a } if (m.0, a) == (*mechanism, *at)));
                    prop_assert!(named || *chance == 0.0);
                }
                prop_assert!(compared > 0 || plain.chances.iter().all(|(_, chance)| *chance == 0.0));
            }
        }
    }
}
