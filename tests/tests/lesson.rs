//! A case as a lesson: what it says is what is weighed, and nothing typed into a case gets out of its place.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use wythe::report::lesson::lesson_page;
use wythe::{Case, built_in_pack, lesson_of, weigh};

const HOSTILE: &str = r#"
format: 1
id: hostile
title: "</script><script>alert(1)</script>{{data}}"
places:
  - {id: south, kind: exterior_wall, label: "<img src=x onerror=alert(2)>"}
passes:
  - pass: first
    title: "\"><b>"
    sightings:
      - {clue: step_crack_veneer, at: south, measured: 1/8 in, note: "</script><svg onload=alert(3)> {{script}}"}
      - {clue: frieze_gap, at: south, not_reached: "<!-- gate"}
"#;

#[test]
fn what_is_typed_into_a_case_stays_text_in_the_page() {
    let case = Case::read("hostile", HOSTILE).unwrap();
    let page = lesson_page(&[lesson_of(built_in_pack(), &case).unwrap()]).unwrap();
    for trick in ["<script>alert", "<img src=x", "<svg onload", "<b>", "<!-- gate"] {
        assert!(!page.contains(trick), "{trick}");
    }
    assert!(page.contains("&lt;img src=x onerror=alert(2)&gt;"));
    assert!(page.contains("{{data}}"), "a blank in what was typed is not filled");
    // Two scripts, the data and the program, open and close.
    assert_eq!(page.matches("<script").count(), 2);
    assert_eq!(page.matches("</script>").count(), 2);
}

#[test]
fn every_supposed_state_is_the_case_weighed_without_it() {
    let text = std::fs::read_to_string("../examples/cases/short-seat.yaml").unwrap();
    let case = Case::read("short-seat", &text).unwrap();
    let lesson = lesson_of(built_in_pack(), &case).unwrap();
    assert!(lesson.suppose.len() > 5);
    for one in &lesson.suppose {
        let Some(step) = one.step else { continue };
        let id = &lesson.steps[step].sighting;
        let gone = case
            .passes
            .iter()
            .flat_map(|pass| &pass.sightings)
            .find(|other| other.id == *id)
            .unwrap();
        let mut less = case.clone();
        for pass in &mut less.passes {
            pass.sightings
                .retain(|other| (&other.clue, other.at) != (&gone.clue, gone.at));
        }
        let outcome = weigh(built_in_pack(), &less).unwrap();
        assert_eq!(one.state.most, outcome.action as usize);
        let chances: Vec<f64> = outcome.conclusions.iter().map(|one| one.chance).collect();
        for chance in &one.state.chances {
            assert!(
                chances.iter().any(|other| (other - chance).abs() < 1e-5),
                "{chance} without {id}"
            );
        }
    }
}

#[test]
fn the_walk_starts_with_nothing_seen_and_ends_with_everything() {
    let text = std::fs::read_to_string("../examples/cases/second-pass.yaml").unwrap();
    let case = Case::read("second-pass", &text).unwrap();
    let lesson = lesson_of(built_in_pack(), &case).unwrap();
    let sightings: usize = case.passes.iter().map(|pass| pass.sightings.len()).sum();
    assert_eq!(lesson.steps.len(), sightings);
    let outcome = weigh(built_in_pack(), &case).unwrap();
    let last = &lesson.steps.last().unwrap().state;
    assert_eq!(last.most, outcome.action as usize);
    assert_eq!(lesson.start.most, 0, "a house that nobody looked at asks for nothing");
}

#[test]
fn a_house_that_asks_for_nothing_says_that_no_engineer_is_asked_for() {
    let case = wythe::read_case(std::path::Path::new("../examples/cases/tilted-slab.yaml")).unwrap();
    let end = lesson_of(built_in_pack(), &case).unwrap().end;
    assert!(end.matters.is_empty());
    assert_eq!(end.asks.last().unwrap(), "No engineer is asked for.");
}

/// A lesson asks for an engineer on signs, and names no cause as found.
#[test]
fn an_engineer_is_asked_to_look_at_signs() {
    let case = wythe::read_case(std::path::Path::new("../examples/cases/short-seat.yaml")).unwrap();
    let end = lesson_of(built_in_pack(), &case).unwrap().end;
    assert_eq!(
        end.asks.last().unwrap(),
        "An engineer is asked to look at the signs consistent with: lintel with too short a seat at the family-room window."
    );
}
