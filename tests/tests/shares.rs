//! Shares of ordinary houses, against plain enumeration of the joint.
#![allow(missing_docs, clippy::unwrap_used)]

use approx::assert_abs_diff_eq;
use proptest::prelude::*;
use wythe_engine::shares;
use wythe_testing::{Dice, News, obvious, random_case, random_pack};

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

    /// The share of a grade is the chance that no place stays below it; of a mechanism, that no place lacks it.
    #[test]
    fn shares_agree_with_the_obvious_model(rolls in prop::collection::vec(any::<u16>(), 400)) {
        let dice = &mut Dice::new(rolls);
        let (pack, _) = random_pack(dice);
        let case = random_case(dice, &pack);
        let shares = shares(&pack, &case).unwrap();
        let places = |kind: &str| (0..case.places.len()).filter(|at| case.places[*at].kind == kind).collect::<Vec<_>>();
        for share in &shares.clues {
            let clue = &pack[share.clue];
            let at = places(&pack[clue.at].id);
            prop_assert_eq!(share.places, at.len());
            for (grade, found) in share.at_least.iter().enumerate() {
                let below = |grades: usize| (0..clue.grades.len()).map(|one| f64::from(u8::from(one < grades))).collect::<Vec<_>>();
                let news: Vec<News> = at
                    .iter()
                    .map(|at| News { clue: share.clue.0, at: *at, likelihood: below(grade + 1), marks: Vec::new() })
                    .collect();
                assert_abs_diff_eq!(*found, 1.0 - obvious(&pack, &case, &news).evidence, epsilon = 1e-9);
            }
        }
        let plain = obvious(&pack, &case, &[]);
        for (family, found) in &shares.families {
            assert_abs_diff_eq!(*found, plain.families[family.0], epsilon = 1e-9);
        }
        for (mechanism, found) in &shares.mechanisms {
            let at: Vec<f64> = plain.chances.iter().filter(|((one, _), _)| *one == mechanism.0).map(|one| one.1).collect();
            let most = at.iter().copied().fold(0.0, f64::max);
            prop_assert!(*found >= most - 1e-9 && *found <= at.iter().sum::<f64>() + 1e-9);
            if let [only] = at.as_slice() {
                assert_abs_diff_eq!(*found, *only, epsilon = 1e-9);
            }
        }
    }
}

#[test]
fn no_share_of_the_built_in_pack_is_over_what_an_inspector_would_take_for_true() {
    let pack = wythe::built_in_pack();
    let shares = wythe::house_shares(pack, &wythe::built_in_population()).unwrap();
    assert_eq!(shares.notes(), Vec::<String>::new());
    // The check can fail: with a lower bound on corner pops there is a note.
    let bound = "at_most:\n  - {of: corner_pop_wedge, percent: 50, because: a test}";
    let texts = wythe::built_in_population();
    let texts: Vec<(&str, String)> = texts
        .iter()
        .map(|(file, text)| (*file, text.replace("at_most:", bound)))
        .collect();
    let files: Vec<(&str, &str)> = texts.iter().map(|(file, text)| (*file, text.as_str())).collect();
    let notes = wythe::house_shares(pack, &files).unwrap().notes();
    assert!(
        notes.len() == 1 && notes[0].starts_with("corner_pop_wedge cracked:"),
        "{notes:?}"
    );
}
