//! The laws: what must be so whatever the pack and the case. DEVELOPERS.md lists them by the names of these tests.
#![allow(missing_docs)]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "test code: a broken fixture should stop the test"
)]

use approx::assert_abs_diff_eq;
use proptest::prelude::*;
use wythe_case::Seen;
use wythe_engine::{About, Options, Outcome, Weighed, margins, reasons, weigh, weigh_with};
use wythe_pack::{ClueIx, Node, Pack, PackFile, Support};
use wythe_testing::{Dice, obvious, random_case, random_pack};
use wythe_tests::same::{
    SAME, SAME_WEIGHT, assert_same_ledgers, assert_same_numbers, assert_steps_sum, assert_unrelated,
    assert_written_and_read, forgeries, keeps_to_itself,
};
use wythe_tests::{causes, drawn, none_there, sighting, sites, with_pass};

fn rolls() -> impl Strategy<Value = Vec<u16>> {
    prop::collection::vec(any::<u16>(), 40..240)
}

/// Weighs, or gives up a draw whose sightings cannot all hold.
macro_rules! weighed {
    ($pack:expr, $case:expr) => {
        match weigh($pack, $case) {
            Ok(outcome) => outcome,
            Err(_) => return Err(TestCaseError::reject("these sightings cannot all hold")),
        }
    };
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    /// Without a sighting, every chance is its prior, as the obvious model has it, and there is nothing to step through.
    #[test]
    fn nothing_seen_leaves_every_prior(rolls in rolls()) {
        let (pack, mut case) = drawn(rolls);
        let seen = weigh(&pack, &case);
        case.passes.clear();
        let outcome = weigh(&pack, &case).unwrap();
        let plain = obvious(&pack, &case, &[]);
        for one in &outcome.conclusions {
            let expected = match one.about {
                About::Mechanism { mechanism, at } => plain.chances.iter().find(|(site, _)| *site == (mechanism.0, at)).unwrap().1,
                About::Family(family) => plain.families[family.0],
            };
            assert_abs_diff_eq!(one.prior, expected, epsilon = SAME);
            assert_abs_diff_eq!(one.chance, one.prior, epsilon = SAME);
            assert_abs_diff_eq!(one.weight, 0.0, epsilon = SAME_WEIGHT);
            prop_assert_eq!(one.steps.len(), 1);
            prop_assert!(matches!(one.support, Support::NotMoved | Support::CannotTell));
        }
        assert_abs_diff_eq!(outcome.ln_evidence, 0.0, epsilon = SAME);
        if let Ok(seen) = seen {
            for (one, other) in seen.conclusions.iter().zip(&outcome.conclusions) {
                assert_abs_diff_eq!(one.prior, other.chance, epsilon = SAME);
            }
        }
    }

    /// Saying of every clue at every place that it could not be reached changes no number and no step. It may turn
    /// "cannot tell" into "not moved", and an action may rise, for a look that can't be had is no longer asked for.
    #[test]
    fn not_reached_changes_nothing(rolls in rolls()) {
        let (pack, case) = drawn(rolls);
        let before = weighed!(&pack, &case);
        let out_of_reach = || Seen::NotReached { why: "a fence".into(), ask_access: true };
        let extra = sites(&pack, &case).into_iter().map(|site| sighting(&pack, site, out_of_reach())).collect();
        let after = weigh(&pack, &with_pass(&case, extra)).unwrap();
        assert_same_numbers(&before, &after);
        assert_same_ledgers(&before, &after);
        assert_abs_diff_eq!(before.ln_evidence, after.ln_evidence, epsilon = SAME);
        assert_abs_diff_eq!(before.misfit.decibans, after.misfit.decibans, epsilon = SAME_WEIGHT);
        for (one, other) in before.conclusions.iter().zip(&after.conclusions) {
            prop_assert!(one.support == other.support || (one.support, other.support) == (Support::CannotTell, Support::NotMoved));
            prop_assert!(one.action <= other.action);
        }
    }

    /// Looked at all of it and none there: no cause of that clue becomes likelier. The premise: all else that is known is
    /// that other clues are not there either; a response that goes further makes its clues no rarer; and no opposed
    /// response leads to any of these clues, for that it did not go up is news that it went down. With something seen
    /// elsewhere it need not hold: what speaks against a rival speaks for whatever else would account for the sighting.
    #[test]
    fn looked_and_none_never_raises_its_cause(rolls in rolls(), keep in any::<u64>(), which in any::<prop::sample::Index>()) {
        let mut dice = Dice::new(rolls);
        let (mut pack, _) = random_pack(&mut dice);
        let mut case = random_case(&mut dice, &pack);
        further_is_no_rarer(&mut pack);
        let free = |(clue, _): &(usize, usize)| !hangs_on_opposed(&pack, Node::Clue(ClueIx(*clue)));
        let all: Vec<_> = sites(&pack, &case).into_iter().filter(free).collect();
        prop_assume!(!all.is_empty());
        let (clue, at) = *which.get(&all);
        let others = all.iter().enumerate().filter(|(index, site)| **site != (clue, at) && keep >> (index % 64) & 1 == 1);
        let none = |site: &(usize, usize)| sighting(&pack, *site, none_there());
        let known: Vec<_> = others.map(|(_, site)| none(site)).collect();
        case.passes.clear();
        let before = weigh(&pack, &with_pass(&case, known.clone())).unwrap();
        let after = weigh(&pack, &with_pass(&case, [known, vec![none(&(clue, at))]].concat())).unwrap();
        let mut compared = 0;
        for (mechanism, place) in causes(&pack, &case, (Node::Clue(ClueIx(clue)), at), None) {
            let about = About::Mechanism { mechanism: wythe_pack::MechanismIx(mechanism), at: place };
            let find = |outcome: &Outcome| outcome.conclusions.iter().find(|one| one.about == about).map(|one| one.chance);
            if let (Some(before), Some(after)) = (find(&before), find(&after)) {
                prop_assert!(after <= before + 1e-12, "{about:?}: {before} then {after}");
                compared += 1;
            }
        }
        prop_assume!(compared > 0);
    }

    /// The order of the sightings of a pass changes no number and no step.
    #[test]
    fn order_of_sightings_does_not_matter(rolls in rolls(), turn in 1..40_usize) {
        let (pack, case) = drawn(rolls);
        let before = weighed!(&pack, &case);
        let mut turned = case.clone();
        for pass in &mut turned.passes {
            pass.sightings.reverse();
            let by = turn % pass.sightings.len().max(1);
            pass.sightings.rotate_left(by);
        }
        let after = weigh(&pack, &turned).unwrap();
        assert_same_numbers(&before, &after);
        assert_same_ledgers(&before, &after);
        let decided = |outcome: &Outcome| outcome.conclusions.iter().map(|one| (one.support, one.action, one.decided)).collect::<Vec<_>>();
        prop_assert_eq!(decided(&before), decided(&after));
        prop_assert_eq!(before.action, after.action);
    }

    /// Prior plus steps is the posterior, in decibans; the steps after the contexts add up to the weight.
    #[test]
    fn steps_sum_to_the_weight(rolls in rolls()) {
        let (pack, case) = drawn(rolls);
        assert_steps_sum(&weighed!(&pack, &case));
    }

    /// Every chain of reasoning can be derived again from the rules that it names, and one that was tampered with can't.
    #[test]
    fn every_chain_checks(rolls in rolls()) {
        let (pack, case) = drawn(rolls);
        let outcome = weighed!(&pack, &case);
        for conclusion in &outcome.conclusions {
            for chain in reasons(&pack, &case, conclusion.about).unwrap().chains {
                prop_assert_eq!(chain.check(&pack, &case, &outcome), Ok(()));
                for forged in forgeries(&chain) {
                    prop_assert!(forged.check(&pack, &case, &outcome).is_err(), "{forged:?}");
                }
            }
        }
    }

    /// Nodes that have no bearing on the answers may be left out of the network or not.
    #[test]
    fn pruning_changes_nothing(rolls in rolls()) {
        let (pack, case) = drawn(rolls);
        let pruned = weighed!(&pack, &case);
        let mut options = Options::default();
        options.prune = false;
        let whole = weigh_with(&pack, &case, options).unwrap();
        assert_same_numbers(&pruned, &whole);
        assert_same_ledgers(&pruned, &whole);
        assert_abs_diff_eq!(pruned.misfit.decibans, whole.misfit.decibans, epsilon = SAME_WEIGHT);
    }

    /// One more place from which no link leads to another place: what is concluded of all others stays.
    #[test]
    fn an_unrelated_place_changes_nothing(rolls in rolls(), kind in 1..4_usize) {
        let (pack, case) = drawn(rolls);
        prop_assume!(keeps_to_itself(&pack, kind));
        let before = weighed!(&pack, &case);
        assert_unrelated(&pack, &case, kind, &before);
    }

    /// With its limits, a pack asks for no less than without them.
    #[test]
    fn a_passed_limit_never_lowers_an_action(rolls in rolls()) {
        let (pack, case) = drawn(rolls);
        let mut without = pack.clone();
        without.limits.clear();
        let (outcome, bare) = (weighed!(&pack, &case), weigh(&without, &case).unwrap());
        prop_assert!(outcome.action >= bare.action);
        for (one, other) in outcome.conclusions.iter().zip(&bare.conclusions) {
            prop_assert!(one.action >= other.action);
        }
        for notice in &outcome.notices {
            prop_assert!(outcome.action >= notice.action);
        }
    }

    /// The same pack and case give the same bytes, in whatever order the files of the pack are read.
    #[test]
    fn same_input_same_bytes(rolls in rolls()) {
        let mut dice = Dice::new(rolls);
        let (pack, mut files) = random_pack(&mut dice);
        let case = random_case(&mut dice, &pack);
        let first = weighed!(&pack, &case);
        files.reverse();
        let read: Vec<PackFile<'_>> = files.iter().map(|(path, text)| PackFile { path, text }).collect();
        let again = Pack::read(&read).unwrap();
        let second = weigh(&again, &case).unwrap();
        prop_assert_eq!(format!("{first:?}"), format!("{second:?}"));
        prop_assert_eq!(wythe::report::json(&pack, &case, &first), wythe::report::json(&again, &case, &second));
        prop_assert_eq!(wythe::report::text(&pack, &case, &first), wythe::report::text(&again, &case, &second));
    }

    /// Weighings of one thread share memory, one after the other. Whatever was weighed before, the same comes out as where
    /// nothing was: a thread of its own.
    #[test]
    fn what_was_weighed_before_does_not_show(rolls in rolls(), others in rolls()) {
        let (pack, case) = drawn(rolls);
        let (other_pack, other_case) = drawn(others);
        let fresh = std::thread::scope(|scope| scope.spawn(|| format!("{:?}", weigh(&pack, &case))).join().unwrap());
        for _ in 0..2 {
            let _ = weigh(&other_pack, &other_case);
            prop_assert_eq!(format!("{:?}", weigh(&pack, &case)), fresh.as_str());
        }
    }

    /// A number of the pack moved by the stated margin and a hair more gives the stated grade; a hair less leaves the
    /// conclusion as it is.
    #[test]
    fn margin_moved_by_a_hair_flips_the_grade(rolls in rolls()) {
        let (pack, case) = drawn(rolls);
        let Ok(weighed) = Weighed::new(&pack, &case) else { return Err(TestCaseError::reject("these sightings cannot all hold")) };
        for one in &weighed.outcome().conclusions {
            for margin in margins(&weighed, one.about).unwrap().numbers {
                let at = |by: f64| {
                    let mut moved = pack.clone();
                    assert!(margin.number.set(&mut moved, margin.number.moved(&pack, by).unwrap()));
                    let outcome = weigh(&moved, &case).unwrap();
                    let other = outcome.conclusions.iter().find(|other| other.about == one.about).unwrap();
                    (other.support, other.action)
                };
                let hair = 1e-6 * margin.decibans.signum();
                prop_assert_eq!(at(margin.decibans + hair), (margin.becomes.support, margin.becomes.action));
                prop_assert_eq!(at(margin.decibans - hair), (one.support, one.action));
            }
        }
    }

    /// A case written to a file and read again is weighed to the same bytes, and written the same.
    #[test]
    fn write_then_read_is_the_same_case(rolls in rolls()) {
        let (pack, case) = drawn(rolls);
        assert_written_and_read(&pack, &case);
    }
}

/// Links out of a graded response speak of any state above rest, so that going further makes nothing rarer.
fn further_is_no_rarer(pack: &mut Pack) {
    for response in pack.responses.iter_mut().filter(|response| response.opposed.is_none()) {
        for link in &mut response.links {
            link.when = None;
        }
    }
}

/// Whether an opposed response leads to a node.
fn hangs_on_opposed(pack: &Pack, node: Node) -> bool {
    pack.template().into(node).into_iter().any(|rule| {
        let opposed = matches!(rule.from, Node::Response(at) if pack[at].opposed.is_some());
        opposed || hangs_on_opposed(pack, rule.from)
    })
}
