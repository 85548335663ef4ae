//! What counted within a conclusion's steps, as the end of a lesson tells it: of many signs that were not there, which did
//! most; of a sign that hardly moved anything, what it says by itself; and each number beside a word that fits it.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use std::path::Path;
use std::sync::OnceLock;

use wythe::report::lesson::{End, EndMatter, Reckoned, Told, reckoned_of};
use wythe::report::{odds_in_words, short_chance};
use wythe::{About, Case, Outcome, built_in_pack, lesson_of, weigh, with_computed};
use wythe_engine::{StepKind, counted, decibans};

const HOUSES: [&str; 6] = [
    "bent-corner",
    "dropped-corner",
    "quiet-corner",
    "second-pass",
    "short-seat",
    "tilted-slab",
];

fn read(name: &str) -> Case {
    wythe::read_case(Path::new(&format!("../examples/cases/{name}.yaml"))).unwrap()
}

fn end(name: &str) -> &'static End {
    static ALL: OnceLock<Vec<End>> = OnceLock::new();
    let made = |name: &&str| lesson_of(built_in_pack(), &read(name)).unwrap().end;
    let at = HOUSES.iter().position(|one| *one == name).unwrap();
    &ALL.get_or_init(|| HOUSES.iter().map(made).collect())[at]
}

/// The weight of some sightings and no others, by a case that has no others.
fn only(case: &Case, outcome: &Outcome, about: About, readings: &[usize]) -> f64 {
    let mut only = with_computed(built_in_pack(), case).into_owned();
    only.readings.clear();
    let kept: Vec<&str> = readings
        .iter()
        .map(|at| outcome.readings[*at].sighting.as_str())
        .collect();
    for pass in &mut only.passes {
        pass.sightings.retain(|one| kept.contains(&one.id.as_str()));
    }
    let found = weigh(built_in_pack(), &only).unwrap();
    let one = found.conclusions.iter().find(|one| one.about == about).unwrap();
    decibans(one.chance) - decibans(one.prior)
}

#[test]
fn what_counted_is_what_a_case_with_nothing_else_gives() {
    let (mut absent, mut before) = (0, 0);
    for name in HOUSES {
        let case = read(name);
        let outcome = weigh(built_in_pack(), &case).unwrap();
        for told in counted(built_in_pack(), &case, &reckoned_of(built_in_pack(), &case, &outcome)).unwrap() {
            let one = outcome.conclusions.iter().find(|one| one.about == told.about).unwrap();
            let mut readings: Vec<usize> = Vec::new();
            let mut sum = 0.0;
            for kind in &told.absent {
                readings.extend(&kind.readings);
                sum += kind.weight;
                let alone = only(&case, &outcome, told.about, &readings);
                assert!((alone - sum).abs() < 1e-6, "{name}: {alone} {sum}");
                absent += 1;
            }
            // What is named and the rest are the step.
            let step = one.steps.iter().find(|step| step.kind == StepKind::NoneThere);
            let whole = step.map_or(0.0, |step| step.weight);
            assert!(
                (sum + told.rest - whole).abs() < 1e-6,
                "{name}: {sum} {} {whole}",
                told.rest
            );
            for sign in &told.said_before {
                let alone = only(&case, &outcome, told.about, &[sign.reading]);
                assert!((alone - sign.alone).abs() < 1e-6 && alone >= 3.0, "{name}: {alone}");
                for step in &sign.by {
                    let by = &one.steps[*step].readings;
                    let both: Vec<usize> = by.iter().chain([&sign.reading]).copied().collect();
                    let adds = only(&case, &outcome, told.about, &both) - only(&case, &outcome, told.about, by);
                    assert!(adds < alone / 2.0, "{name}: {adds} of {alone}");
                }
                before += 1;
            }
        }
    }
    assert!(absent >= 10 && before >= 8, "{absent} {before}");
}

fn says(lines: &[String], all: &[&str]) -> bool {
    lines.iter().any(|line| all.iter().all(|says| line.contains(says)))
}

#[test]
fn of_many_signs_that_were_not_there_those_that_counted_are_named() {
    let nails = &end("quiet-corner").matters[1].reckoned;
    assert!(
        nails.against[0]
            .contains("What counted among them: no slanting drywall crack at the main bedroom: odds divided by about")
            && nails.against[0].contains("(sighting 35). The other 32 together")
            && nails.against[0].ends_with(": hardly moved it."),
        "{:?}",
        nails.against
    );
    // None of many, and none is named.
    let clay = &end("second-pass").matters[1].reckoned;
    assert!(
        says(&clay.against, &["No one kind of them moved it by as much as a deciban"]),
        "{:?}",
        clay.against
    );
}

/// What is told of drying at the garage leads to 0.60; small moves take it to where it stands.
#[test]
fn small_moves_lead_from_what_is_told_to_where_it_stands() {
    let outcome = weigh(built_in_pack(), &read("second-pass")).unwrap();
    let mut told = 0;
    for matter in &end("second-pass").matters {
        let reckoned = &matter.reckoned;
        let Some(line) = reckoned
            .little
            .iter()
            .find(|line| line.starts_with("All such small moves"))
        else {
            continue;
        };
        // "… (0.8 decibans). Without them it would stand at 0.60; with them it stands at 0.55."
        let number = |before: &str| -> f64 {
            let rest = &line[line.find(before).unwrap() + before.len()..];
            let end = rest.find([' ', ';']).unwrap_or(rest.len());
            rest[..end].trim_end_matches('.').parse().unwrap()
        };
        let (weight, from, to) = (number(" ("), number("stand at "), number("stands at "));
        let stands = outcome
            .conclusions
            .iter()
            .any(|one| short_chance(one.chance) == format!("{to:.2}"));
        assert!(stands && from != to, "{line}");
        // Two digits of a chance near a half are good to a quarter of a deciban.
        assert!(((decibans(to) - decibans(from)).abs() - weight).abs() < 0.25, "{line}");
        // The chance that the told lines end at, where they are all there is.
        if matter.title.starts_with("Drying of drywall") {
            let last = reckoned
                .carried
                .iter()
                .any(|line| line.contains(&format!(" to {from:.2} (")));
            assert!(last, "{line} {:?}", reckoned.carried);
        }
        told += 1;
    }
    assert!(told >= 2, "{told}");
}

/// Where no engineer is asked for, what was seen of ground movement stands beside what spoke against it.
#[test]
fn what_was_seen_of_what_would_ask_for_an_engineer_is_named() {
    let crack = "Seen of it: a stepped crack in the brick at the south wall (sighting 5)";
    assert!(says(
        &end("quiet-corner").engineer,
        &["Ground movement", "signs looked for and not there", crack]
    ));
    assert!(says(
        &end("tilted-slab").engineer,
        &["Ground movement", "Seen of it: with a floor that tilts one way"]
    ));
}

/// A stepped crack is no small thing for having been reckoned last.
#[test]
fn a_sign_that_repeats_others_says_what_it_would_do_by_itself() {
    let ground = &end("dropped-corner").matters[0];
    let crack = "a stepped crack in the brick at the left wall, by itself odds about 19 times as large (sighting 3)";
    assert!(
        says(
            &ground.reckoned.little,
            &["Says the same as sticking at the corner bedroom door", crack]
        ),
        "{:?}",
        ground.reckoned.little
    );
}

#[test]
fn a_cause_within_a_group_has_its_reasons() {
    let ground = &end("dropped-corner").matters[0];
    let edge = "Edge drop from drying soil at the left wall: some support";
    assert!(
        says(
            &ground.within,
            &[edge, "What carried it most: with ", "What spoke against it most: with "]
        ),
        "{:?}",
        ground.within
    );
}

/// A level corner raises no ground movement: what comes back is what the absence of a bend had lowered, which is not
/// weighed beside the falls of corners and edges.
#[test]
fn a_sighting_that_only_sets_another_aside_says_so() {
    let lesson = lesson_of(built_in_pack(), &read("tilted-slab")).unwrap();
    let step = &lesson.steps[1];
    assert!(
        step.says
            .starts_with("No local fall of the floor at the front left corner")
    );
    let ground = |told: &&Told| lesson.beliefs[told.belief].id == "ground_movement";
    let told = step.moved.iter().find(ground).unwrap();
    assert!(
        told.decibans > 1.0
            && told.by[0].starts_with("Floor profiles without a bend: from here on this is not weighed"),
        "{:?}",
        told.by
    );
}

/// Where an engineer is asked for, or would be, the reason gives the chance, the bound, and what came before it.
#[test]
fn the_rule_that_asks_for_an_engineer_or_for_a_look_first_is_named() {
    let lesson = lesson_of(built_in_pack(), &read("bent-corner")).unwrap();
    let ground = lesson
        .beliefs
        .iter()
        .position(|one| one.id == "ground_movement")
        .unwrap();
    let bound = built_in_pack().policy.referral.bound();
    for (step, then) in [
        (0, "does not wait for one"),
        (1, "a look that can still be made comes first: mitre"),
    ] {
        let state = &lesson.steps[step].state;
        let (why, chance) = (&lesson.whys[state.whys[ground]], state.chances[ground]);
        let says = format!("its chance of {} is over {}", short_chance(chance), short_chance(bound));
        assert!(chance > bound && why.starts_with(&says) && why.contains(then), "{why}");
    }
}

/// A seat long enough, and the cause still likely: what carries it then is said. Another class of a sign comes with its size.
#[test]
fn a_change_says_what_is_left_and_how_large_a_class_is() {
    let short = &end("short-seat").matters;
    assert!(
        says(
            &short[0].change.less,
            &[
                "With 4 in (102 mm) or more of seat",
                "the other signs of it still stand (a course that sags and broken brick under the lintel end), and the rules expect this one in about 8 in 10 such cases."
            ]
        ),
        "{:?}",
        short[0].change.less
    );
    // The class of the clue's file: 3 mm, 1/8 in to the nearest sixteenth.
    assert!(
        says(
            &short[1].change.less,
            &["With the grade \"slight, up to 1/8 in (3 mm)\" instead, for a slanting"]
        ),
        "{:?}",
        short[1].change.less
    );
}

/// How often a sign goes with a cause says little without how often it is there otherwise.
#[test]
fn a_sign_that_is_there_says_how_often_it_is_without_any_cause() {
    let lesson = lesson_of(built_in_pack(), &read("short-seat")).unwrap();
    let step = lesson
        .steps
        .iter()
        .find(|step| step.says.starts_with("Broken brick"))
        .unwrap();
    let without = built_in_pack()[built_in_pack().clue("brick_crushed_at_bearing").unwrap()]
        .background
        .value;
    let says = format!(
        "Without any cause in these rules the sign is there {}",
        odds_in_words(without)
    );
    assert!(step.moved[0].by[0].contains(&says), "{:?}", step.moved[0].by);
}

fn lines(matter: &EndMatter) -> Vec<String> {
    let Reckoned {
        begins,
        carried,
        against,
        little,
    } = &matter.reckoned;
    let change = &matter.change;
    let rivals = matter.rivals.iter().flatten();
    let rivals: Vec<String> = rivals
        .flat_map(|(head, lines)| [std::slice::from_ref(head), lines].concat())
        .collect();
    let mut all = vec![begins.clone(), matter.stands.clone()];
    for lines in [carried, against, little, &matter.within, &matter.taken, &rivals] {
        all.extend(lines.iter().cloned());
    }
    for lines in [&change.less, &change.more, &change.numbers, &change.ends] {
        all.extend(lines.iter().cloned());
    }
    let member = matter.member.iter().flat_map(|(_, member)| self::lines(member));
    all.extend(member);
    all
}

fn every_line() -> Vec<String> {
    let ends = HOUSES.map(end);
    let matters = ends.iter().flat_map(|end| end.matters.iter().chain(&end.recorded));
    matters.flat_map(lines).collect()
}

#[test]
fn no_number_goes_to_itself_and_ranges_run_up() {
    let mut moves = 0;
    for line in every_line() {
        for part in line.split("from ").skip(1) {
            let words: Vec<&str> = part.split([' ', ',', ';', '.']).collect();
            if let [from, "to", to, ..] = part.split(' ').collect::<Vec<_>>().as_slice() {
                let to = to.trim_end_matches([',', ';', '.']);
                assert!(*from != to, "{line}");
                moves += usize::from(words.len() > 2);
            }
        }
        if let Some((_, range)) = line.split_once("stay (chance ")
            && let Some((low, high)) = range.split_once(" to ")
        {
            let high = high.trim_end_matches([')', '.']);
            assert!(low.parse::<f64>().unwrap() < high.parse::<f64>().unwrap(), "{line}");
        }
    }
    assert!(moves > 50, "{moves}");
}

/// A chance beside a word of support lies where the legend of the words says.
#[test]
fn a_word_of_support_fits_the_number_that_is_printed_beside_it() {
    let mut told = 0;
    for line in every_line() {
        for (word, low, high) in [
            ("some support", 0.2, 0.5),
            ("fair support", 0.5, 0.851),
            ("strong support", 0.85, 1.1),
        ] {
            for part in line.split(&format!("{word} (")).skip(1) {
                let number = part.split(')').next().unwrap().split("; ").nth(1).unwrap();
                let Ok(chance) = number.parse::<f64>() else { continue };
                let over = if word == "strong support" {
                    chance > low
                } else {
                    chance >= low
                };
                assert!(over && chance < high, "{line}");
                told += 1;
            }
        }
    }
    assert!(told > 10, "{told}");
}

#[test]
fn what_was_lowered_or_not_moved_is_not_headed_as_fitting_the_signs() {
    let lesson = lesson_of(built_in_pack(), &read("tilted-slab")).unwrap();
    let page = wythe::report::lesson::lesson_page(&[lesson]).unwrap();
    assert!(page.contains("<h3>1. Not ruled out: ordinary long-term settlement</h3>"));
    assert!(!page.contains("Signs consistent with: "));
    // A change that would lower it promises no support.
    assert!(
        !says(&every_line(), &["With a floor without a tilt", "some support"]),
        "support for what fell"
    );
}
