//! The trials of the built-in pack come out as they say, and a trial that is wrong is noticed.
#![allow(missing_docs)]

use wythe::{built_in_pack, built_in_trials, run_trials};

#[test]
fn every_trial_comes_out() {
    let results = run_trials(built_in_pack(), &built_in_trials());
    assert!(!results.is_empty(), "the pack has no trials");
    let missed: String = results.iter().map(|result| result.says()).collect();
    assert!(missed.is_empty(), "{missed}");
}

/// The number of expectations that do not come out and are kept as such. It may fall, with a line of the pack's
/// README taken away; it may not grow unseen.
#[test]
fn known_disagreements_are_counted() {
    let results = run_trials(built_in_pack(), &built_in_trials());
    let known: Vec<String> = results
        .iter()
        .flat_map(|result| result.known.iter().map(|why| format!("{}: {why}", result.file)))
        .collect();
    assert_eq!(known.len(), KNOWN, "{}", known.join("\n"));
}

const KNOWN: usize = 15;

/// A second pack by data alone: it passes the whole check, and its trials come out, but for the two of its README.
#[test]
fn the_moisture_pack_comes_out() {
    let dir = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../rules/moisture");
    let pack = wythe::check_pack(&dir).unwrap_or_else(|error| panic!("{error}"));
    let trials = wythe::read_trials(&dir).unwrap_or_else(|error| panic!("{error}"));
    let trials: Vec<(&str, &str)> = trials
        .iter()
        .map(|(file, text)| (file.as_str(), text.as_str()))
        .collect();
    let results = run_trials(&pack, &trials);
    let missed: String = results.iter().map(|result| result.says()).collect();
    assert!(missed.is_empty(), "{missed}");
    let known: usize = results.iter().map(|result| result.known.len()).sum();
    assert_eq!((results.len(), known), (6, 2));
}

const WEDGE: &str = "\
format: 1
id: wedge
places: [{id: south-west, kind: outside_corner}]
passes: [{pass: first, sightings: [{clue: corner_pop_wedge, at: south-west, seen: cracked}]}]
shows: A broken wedge is a corner pop.
source: common practice, no source
expect:
";

/// What the one trial says, with this under `expect`.
fn says(expect: &str) -> String {
    let text = format!("{WEDGE}{expect}");
    run_trials(built_in_pack(), &[("wedge.yaml", &text)])[0].says()
}

#[test]
fn what_is_not_so_is_said_with_its_line() {
    let says = says("  conclusions:\n    - {of: corner_pop, at: south-west, support: spoken_against}\n");
    assert!(says.starts_with("wedge.yaml:9:"), "{says}");
    assert!(says.contains("spoken against was expected"), "{says}");
}

#[test]
fn a_disagreement_that_ended_is_noticed() {
    let says = says("  conclusions:\n    - {of: corner_pop, support: [fair, strong], known_disagreement: we differ}\n");
    assert!(says.contains("now it agrees"), "{says}");
    let quiet = says_nothing(
        "  conclusions:\n    - {of: corner_pop, support: spoken_against, known_disagreement: we differ}\n",
    );
    assert!(quiet);
}

fn says_nothing(expect: &str) -> bool {
    says(expect).is_empty()
}

#[test]
fn each_kind_of_expectation_can_fail_and_can_hold() {
    let holds = [
        "  action: [record, trade]\n",
        "  order: [corner_pop, corner_drop]\n",
        "  no_notices: [misfit, veneer_bulges]\n",
        "  conclusions: [{of: corner_pop, chance: {from: 0.5}}]\n",
        "  conclusions: [{of: ground_movement, weight: {from: -1, to: 1}, action: record}]\n",
        "  conclusions: [{of: corner_pop, because: corner_pop_wedge}]\n",
    ];
    let fails = [
        "  action: promptly\n",
        "  order: [corner_drop, corner_pop]\n",
        "  notices: misfit\n",
        "  conclusions: [{of: corner_pop, chance: {to: 0.5}}]\n",
        "  conclusions: [{of: corner_pop, weight: {to: 0}}]\n",
        "  conclusions: [{of: corner_pop, action: promptly}]\n",
        "  conclusions: [{of: corner_pop, despite: corner_pop_wedge}]\n",
        "  conclusions: [{of: centre_heave, because: corner_pop_wedge}]\n",
    ];
    for expect in holds {
        assert!(says_nothing(expect), "{}", says(expect));
    }
    for expect in fails {
        assert!(says(expect).contains("expected"), "{expect}");
    }
}

#[test]
fn wrong_names_get_the_nearest() {
    for (expect, near) in [
        (
            "  conclusions: [{of: corner_pup, support: fair}]\n",
            "did you mean `corner_pop`?",
        ),
        (
            "  conclusions: [{of: corner_pop, at: south-wets, support: fair}]\n",
            "did you mean `south-west`?",
        ),
        (
            "  conclusions: [{of: corner_pop, suport: fair}]\n",
            "did you mean `support`?",
        ),
        (
            "  conclusions: [{of: corner_pop, support: fare}]\n",
            "did you mean `fair`?",
        ),
        ("  notices: veneer_bulge\n", "did you mean `veneer_bulges`?"),
        ("  action: refr\n", "did you mean `refer`?"),
    ] {
        let says = says(expect);
        assert!(says.contains(near) && says.starts_with("wedge.yaml:"), "{says}");
    }
}

#[test]
fn a_trial_that_expects_nothing_is_refused() {
    assert!(says("  conclusions: []\n").contains("expects nothing"));
    assert!(says("  action: [refer, record]\n").contains("turn them round"));
}

#[test]
fn what_is_wrong_with_the_case_keeps_its_line() {
    let text = format!("{WEDGE}  action: record\npases: []\n");
    let says = run_trials(built_in_pack(), &[("wedge.yaml", &text)])[0].says();
    assert!(says.starts_with("wedge.yaml:9:1: `pases`"), "{says}");
}
