//! The end of a lesson tells of each conclusion what the engine found of it, and the steps before it say what a sign says
//! by itself, what was waited for, and what a sign that was not there would have meant.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use std::path::Path;
use std::sync::OnceLock;

use wythe::report::lesson::{EndMatter, Lesson, Reckoned, told};
use wythe::report::short_chance;
use wythe::{About, Case, Conclusion, Instead, Outcome, Support, built_in_pack, lesson_of, reasons, weigh};
use wythe_engine::{StepKind, Used, Weighed, decibans, found, rivals};

const HOUSES: [&str; 6] = [
    "bent-corner",
    "dropped-corner",
    "quiet-corner",
    "second-pass",
    "short-seat",
    "tilted-slab",
];

struct House {
    case: Case,
    outcome: Outcome,
    lesson: Lesson,
    told: Vec<About>,
}

/// Each example house, weighed once.
fn house(name: &str) -> &'static House {
    static ALL: OnceLock<Vec<House>> = OnceLock::new();
    let at = HOUSES.iter().position(|one| *one == name).unwrap();
    &ALL.get_or_init(|| HOUSES.iter().map(|name| made(name)).collect())[at]
}

fn made(name: &str) -> House {
    let case = wythe::read_case(Path::new(&format!("../examples/cases/{name}.yaml"))).unwrap();
    let outcome = weigh(built_in_pack(), &case).unwrap();
    House {
        told: told(built_in_pack(), &case, &outcome),
        lesson: lesson_of(built_in_pack(), &case).unwrap(),
        outcome,
        case,
    }
}

impl House {
    /// What the end tells, with the conclusion that it is about.
    fn ends(&self) -> Vec<(&Conclusion, &EndMatter)> {
        let end = &self.lesson.end;
        let matters = if end.matters.is_empty() {
            &end.recorded
        } else {
            &end.matters
        };
        // Of a group also the cause in it that stands out most.
        let members = matters.iter().filter_map(|matter| matter.member.as_ref());
        let all: Vec<&EndMatter> = matters.iter().chain(members.map(|(_, member)| &**member)).collect();
        assert_eq!(all.len(), self.told.len(), "{}", self.case.id);
        let one = |about: &About| self.outcome.conclusions.iter().find(|one| one.about == *about).unwrap();
        self.told.iter().map(one).zip(all).collect()
    }
}

/// Every step of the engine that moves a conclusion by two decibans or more stands on its side, with the chance after it;
/// a step that moves it by less than a half stands on neither.
fn holds(name: &str, one: &Conclusion, told: &Reckoned) {
    let at = |lines: &[String], after: f64| {
        let stands = format!(" to {}", short_chance(after));
        lines
            .iter()
            .any(|line| line.contains("), from ") && line.contains(&stands))
    };
    for step in one.steps.iter().filter(|step| step.kind != StepKind::Context) {
        if step.weight >= 2.0 {
            assert!(at(&told.carried, step.after), "{name}: {} of {told:?}", step.after);
        } else if step.weight <= -2.0 {
            assert!(at(&told.against, step.after), "{name}: {} of {told:?}", step.after);
        }
    }
    let large = one.steps.iter().filter(|step| step.weight.abs() >= 0.5).count();
    assert!(told.carried.len() + told.against.len() <= large, "{name}: {told:?}");
}

#[test]
fn the_end_reckons_as_the_report_does() {
    for name in HOUSES {
        let house = house(name);
        for (one, told) in house.ends() {
            holds(name, one, &told.reckoned);
        }
    }
}

#[test]
fn absent_signs_that_count_little_one_by_one_are_told_together() {
    for (name, signs) in [("bent-corner", 31), ("dropped-corner", 20)] {
        let house = house(name);
        let (_, told) = house.ends()[0];
        let says = format!("With {signs} signs looked for and not there: odds divided by about ");
        assert!(
            told.reckoned.against[0].starts_with(&says),
            "{:?}",
            told.reckoned.against
        );
    }
}

#[test]
fn the_rivals_are_the_engines_in_their_order() {
    let house = house("dropped-corner");
    let weighed = Weighed::new(built_in_pack(), &house.case).unwrap();
    for (one, told) in house.ends() {
        let engine = rivals(&weighed, one.about).unwrap().rivals;
        let told = told.rivals.as_ref().unwrap();
        assert_eq!(engine.len(), told.len());
        for (rival, (head, _)) in engine.iter().zip(told) {
            let title = match rival.instead {
                Instead::Mechanism { mechanism, .. } => built_in_pack()[mechanism].title.as_str(),
                Instead::Ordinary => "ordinary causes only",
            };
            assert!(head.to_lowercase().starts_with(title), "{head} is not {title}");
            let stands = rival.with * one.chance + rival.without * (1.0 - one.chance);
            let [alone, stands] = [rival.without, stands].map(short_chance);
            let says = format!("{alone} if this one were not there; as it stands, {stands}.");
            assert!(head.contains(&says), "{head}");
        }
    }
}

/// What would change a conclusion says which way, and the way is that of the engine.
#[test]
fn what_would_change_it_says_which_way() {
    let mut both = [0, 0];
    for name in HOUSES {
        for (one, told) in house(name).ends() {
            for (up, lines) in [(false, &told.change.less), (true, &told.change.more)] {
                for line in lines {
                    let Some(rest) = line.split("; 0.").nth(1) else {
                        continue;
                    };
                    let Ok(then) = format!("0.{}", &rest[..rest.find(')').unwrap()]).parse::<f64>() else {
                        continue;
                    };
                    assert!(
                        (then - one.chance) * if up { 1.0 } else { -1.0 } > -0.006,
                        "{name}: {line}"
                    );
                    both[usize::from(up)] += 1;
                }
            }
        }
    }
    assert!(both[0] > 5 && both[1] > 0, "{both:?}");
}

/// The pack's own list of what would change a mind speaks against its mechanism: the end says so of all of it.
#[test]
fn what_would_change_a_mind_makes_it_less_likely() {
    let pack = built_in_pack();
    let mut tried = 0;
    for name in ["dropped-corner", "second-pass", "short-seat"] {
        let house = house(name);
        for one in &house.outcome.conclusions {
            let About::Mechanism { mechanism, at } = one.about else {
                continue;
            };
            if one.support < Support::Fair {
                continue;
            }
            for changer in &pack[mechanism].mind_changers {
                let Some((clue, shows)) = changer.clue else { continue };
                if pack[clue].at != pack[mechanism].at {
                    continue;
                }
                let then = found(pack, &house.case, clue, at, usize::from(shows)).unwrap();
                let chance = then
                    .conclusions
                    .iter()
                    .find(|other| other.about == one.about)
                    .unwrap()
                    .chance;
                assert!(chance < one.chance + 1e-9, "{name}: {}", changer.says);
                tried += 1;
            }
        }
    }
    assert!(tried >= 3, "{tried}");
}

#[test]
fn what_the_signs_lowered_has_no_word_of_support() {
    let mut fell = 0;
    for name in HOUSES {
        let house = house(name);
        let lesson = &house.lesson;
        let last = &lesson.steps.last().unwrap().state;
        for (belief, word) in lesson.beliefs.iter().zip(&last.supports) {
            let ids = |one: &&Conclusion| match one.about {
                About::Mechanism { mechanism, at } => {
                    format!("{}@{}", built_in_pack()[mechanism].id, house.case.places[at].id) == belief.id
                }
                About::Family(family) => built_in_pack()[family].id == belief.id,
            };
            let one = house.outcome.conclusions.iter().find(ids).unwrap();
            let words = lesson.supports[*word];
            if one.chance < one.prior && one.support >= Support::Slight {
                assert!(
                    words.starts_with("less likely than before anything was seen"),
                    "{words}"
                );
                fell += 1;
            } else {
                assert!(!words.starts_with("less"), "{name}: {} {words}", belief.id);
            }
        }
        let words = lesson.start.supports.iter().map(|word| lesson.supports[*word]);
        assert!(
            words.into_iter().all(|words| words.starts_with("about where it began")),
            "{name}"
        );
    }
    assert!(fell >= 5, "{fell}");
}

/// By itself: what the engine weighs when only that sighting was made.
#[test]
fn a_sign_that_moved_nothing_says_what_it_would_by_itself() {
    let mut said = 0;
    for name in HOUSES {
        let house = house(name);
        for (at, step) in house.lesson.steps.iter().enumerate() {
            for aside in step.asides.iter().filter(|aside| aside.starts_with("By itself")) {
                assert!(step.moved.is_empty(), "{name} {}", at + 1);
                // Earlier signs said as much only where it stood as high as this one alone would have raised it.
                let as_much = aside.contains("Earlier signs had already said as much");
                let mut alone = wythe::with_computed(built_in_pack(), &house.case).first(at + 1);
                alone.readings.clear();
                for pass in &mut alone.passes {
                    pass.sightings.retain(|one| one.id == step.sighting);
                }
                let (alone, start) = (
                    weigh(built_in_pack(), &alone).unwrap(),
                    weigh(built_in_pack(), &house.case.first(0)).unwrap(),
                );
                let made = wythe::with_computed(built_in_pack(), &house.case);
                let before = weigh(built_in_pack(), &made.first(at)).unwrap();
                let told = alone.conclusions.iter().zip(&start.conclusions).any(|(with, without)| {
                    let weight = decibans(with.chance) - decibans(without.chance);
                    let one = before.conclusions.iter().find(|one| one.about == with.about).unwrap();
                    aside.contains(&format!("({weight:.0} decibans)")) && (one.chance >= with.chance) == as_much
                });
                assert!(told, "{name} {}: {aside}", at + 1);
                said += 1;
            }
        }
    }
    assert!(said >= 3, "{said}");
}

#[test]
fn the_look_that_was_waited_for_is_named_when_it_comes() {
    let house = house("bent-corner");
    let step = house
        .lesson
        .steps
        .iter()
        .find(|step| step.says.contains("open mitre"))
        .unwrap();
    assert!(
        step.asides
            .iter()
            .any(|aside| aside.starts_with("The look that was waited for at sighting 2, for ")),
        "{:?}",
        step.asides
    );
}

/// A look that nobody could make bears nothing out, and speaks against nothing.
#[test]
fn a_look_that_was_waited_for_and_could_not_be_made_says_so() {
    let steps = &house("second-pass").lesson.steps;
    let unmade = steps.iter().filter(|step| step.kind == "not reached");
    let asides: Vec<&String> = unmade.flat_map(|step| &step.asides).collect();
    assert!(
        !asides.is_empty() && asides.iter().all(|aside| aside.ends_with("It could not be made.")),
        "{asides:?}"
    );
}

#[test]
fn a_sign_that_was_not_there_is_not_said_to_have_been_left() {
    let mut told = 0;
    for name in HOUSES {
        for step in house(name).lesson.steps.iter().filter(|step| step.kind == "none") {
            for line in step.moved.iter().flat_map(|told| &told.by) {
                assert!(!line.contains(" goes with this sign "), "{name}: {line}");
                told += usize::from(line.contains(" would go with ") && line.contains("; there was none"));
            }
        }
    }
    assert!(told > 5, "{told}");
}

#[test]
fn what_could_not_be_seen_and_what_else_was_seen_are_listed() {
    for name in HOUSES {
        let house = house(name);
        // What a later pass has seen is no longer among them.
        let unseen = house
            .outcome
            .readings
            .iter()
            .filter(|one| matches!(one.used, Used::NotReached | Used::Hidden { .. }));
        assert_eq!(house.lesson.end.not_seen.len(), unseen.count(), "{name}");
    }
    let quiet = &house("quiet-corner").lesson.end;
    assert!(
        quiet.also.iter().any(|line| line.starts_with("A stepped crack")),
        "{:?}",
        quiet.also
    );
    assert!(
        quiet
            .engineer
            .iter()
            .any(|line| line.starts_with("Ground movement of concern: "))
    );
}

/// A word of the trade that the page uses is explained, and one that it does not use is not.
#[test]
fn the_words_used_are_explained() {
    let end = &house("bent-corner").lesson.end;
    assert!(
        end.words.iter().any(|line| line.starts_with("Frieze: ")),
        "{:?}",
        end.words
    );
    assert!(end.words.len() < built_in_pack().wording.client_words.len());
}

/// What a survey gave is no look that nobody made.
#[test]
fn what_was_computed_is_not_to_be_supposed() {
    for name in ["tilted-slab", "bent-corner"] {
        let lesson = &house(name).lesson;
        let looks = lesson.suppose.iter().filter(|one| !one.taken_in);
        assert!(looks.clone().count() > 0);
        assert!(
            looks.into_iter().all(|one| !one.says.contains("out of level")),
            "{name}"
        );
        assert!(
            lesson
                .end
                .readings
                .iter()
                .any(|line| line.contains("Not weighed: high to low"))
        );
    }
}

/// A sign that was seen and is said to speak against a conclusion names what it speaks for more.
#[test]
fn a_wide_opening_speaks_more_for_a_header_that_sags() {
    let house = house("short-seat");
    let (one, told) = house.ends()[0];
    let line = told
        .reckoned
        .against
        .iter()
        .find(|line| line.contains("opening wider than 6 ft"))
        .unwrap();
    assert!(line.contains("It speaks more for another cause, header sag"), "{line}");
    // By itself it speaks for it: that is why it must be said.
    let alone = reasons(built_in_pack(), &house.case, one.about).unwrap();
    let id = &house.lesson.steps[43].sighting;
    let wide = alone
        .without
        .iter()
        .find(|other| house.outcome.readings[other.reading].sighting == *id);
    assert!(wide.unwrap().alone > 3.0 && wide.unwrap().adds < 0.0);
}

/// What is looked at again names the sighting whose place it takes, and nothing else does.
#[test]
fn what_is_looked_at_again_says_so() {
    let house = house("second-pass");
    let all: Vec<_> = house.case.passes.iter().flat_map(|pass| &pass.sightings).collect();
    let mut again = 0;
    for (at, (step, own)) in house.lesson.steps.iter().zip(&all).enumerate() {
        let before = all[..at]
            .iter()
            .rposition(|one| (&one.clue, one.at) == (&own.clue, own.at));
        let says = before.map(|turn| format!("this takes the place of sighting {}.", turn + 1));
        match says {
            Some(says) => assert!(step.says.ends_with(&says), "{}: {}", at + 1, step.says),
            None => assert!(!step.says.contains("takes the place"), "{}: {}", at + 1, step.says),
        }
        again += usize::from(before.is_some());
    }
    assert!(again >= 5 && again < all.len(), "{again}");
}
