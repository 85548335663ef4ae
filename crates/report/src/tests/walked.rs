//! The trainer's steps, and the reasoning as a drawing.

use std::collections::BTreeSet;

use roxmltree::Document;
use unicode_width::UnicodeWidthStr;
use wythe_engine::{About, reasons, walk};

use super::plan::examples;
use super::{pack, weighed};
use crate::{Form, reasoning_svg, steps};

/// What each example asks most for: where the reasons are richest.
fn leading(outcome: &wythe_engine::Outcome) -> About {
    let mut all: Vec<_> = outcome.conclusions.iter().collect();
    all.sort_by(|a, b| b.action.cmp(&a.action).then(b.chance.total_cmp(&a.chance)));
    all[0].about
}

#[test]
fn every_sighting_has_its_step_and_the_sum_adds_up() {
    let pack = pack();
    for case in examples() {
        let walk = walk(&pack, &case).unwrap();
        let all = steps(&pack, &case, &walk, None, Form::Text).unwrap();
        for sighting in case.passes.iter().flat_map(|pass| &pass.sightings) {
            assert!(
                all.contains(&format!("[{}]", sighting.id)),
                "{}: {}",
                case.id,
                sighting.id
            );
        }
        assert!(all.lines().all(|line| line.width() <= 80), "{}", case.id);
        let about = leading(&weighed(&pack, &case));
        let one = steps(&pack, &case, &walk, Some(about), Form::Text).unwrap();
        // Rows begin with whole decibans: all but the last add up to the last.
        let rows: Vec<i64> = one
            .lines()
            .skip_while(|line| !line.starts_with(" Adds"))
            .skip(1)
            .take_while(|line| !line.is_empty())
            .filter_map(|line| line.get(..5)?.trim().parse().ok())
            .collect();
        let (last, parts) = rows.split_last().unwrap();
        assert!(
            parts.len() >= 2 && parts.iter().sum::<i64>() == *last,
            "{}: {rows:?}",
            case.id
        );
    }
}

#[test]
fn a_rules_reason_is_told_once() {
    let pack = pack();
    let case = &examples().into_iter().find(|case| case.id == "dropped-corner").unwrap();
    let outcome = weighed(&pack, case);
    let walk = walk(&pack, case).unwrap();
    let told = |about| {
        let text = steps(&pack, case, &walk, Some(about), Form::Text).unwrap();
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let joined = told(leading(&outcome));
    assert_eq!(
        joined.matches("Both walls that meet at the corner hinge away").count(),
        1
    );
    let mut all = outcome.conclusions.iter().map(|one| told(one.about));
    assert!(all.any(|text| text.contains("Explained away: ")));
}

#[test]
fn the_reasoning_is_drawn_whole_and_without_a_crossing() {
    let pack = pack();
    let mut drawn = 0;
    for case in examples() {
        let outcome = weighed(&pack, &case);
        let reasons = reasons(&pack, &case, leading(&outcome)).unwrap();
        let text = reasoning_svg(&pack, &case, &outcome, &reasons).unwrap();
        assert_eq!(text, reasoning_svg(&pack, &case, &outcome, &reasons).unwrap());
        let svg = Document::parse(&text).unwrap();
        let boxes: Vec<_> = svg
            .descendants()
            .filter(|node| node.attribute("class") == Some("box"))
            .map(|node| {
                let rect = node.children().find(|child| child.tag_name().name() == "rect").unwrap();
                let of = |name: &str| rect.attribute(name).unwrap().parse::<f64>().unwrap();
                (
                    node.attribute("id").unwrap(),
                    of("x"),
                    of("y"),
                    of("width"),
                    of("height"),
                )
            })
            .collect();
        let ids: BTreeSet<&str> = boxes.iter().map(|one| one.0).collect();
        assert_eq!(ids.len(), boxes.len(), "{}", case.id);
        let strong = reasons.chains.iter().filter(|chain| chain.alone.abs() >= 3.0);
        for chain in strong {
            let id = format!("sign-{}", outcome.readings[chain.reading].sighting);
            assert!(ids.contains(id.as_str()), "{}: {id}", case.id);
        }
        for (at, (id, x, y, w, h)) in boxes.iter().enumerate() {
            for (other, x2, y2, w2, h2) in &boxes[at + 1..] {
                let apart = x + w <= *x2 || x2 + w2 <= *x || y + h <= *y2 || y2 + h2 <= *y;
                assert!(apart, "{}: {id} lies on {other}", case.id);
            }
        }
        drawn += boxes.len();
        assert_eq!(crossings(&svg), 0, "{}", case.id);
    }
    assert!(drawn > 30, "{drawn}");
}

/// Pairs of curves that swap their order between the same two columns.
fn crossings(svg: &Document<'_>) -> usize {
    let mut curves: Vec<[f64; 4]> = Vec::new();
    for path in svg.descendants().filter_map(|node| node.attribute("d")) {
        let mut start = (0.0, 0.0);
        for part in path.split(['M', 'C', 'H']) {
            let numbers: Vec<f64> = part.split_whitespace().map(|number| number.parse().unwrap()).collect();
            match numbers.as_slice() {
                [x, y] => start = (*x, *y),
                [x] => start.0 = *x,
                [.., x, y] => {
                    curves.push([start.0, start.1, *x, *y]);
                    start = (*x, *y);
                }
                [] => {}
            }
        }
    }
    let mut found = 0;
    for (at, one) in curves.iter().enumerate() {
        for other in &curves[at + 1..] {
            let same_columns = one[0] == other[0] && one[2] == other[2];
            found += usize::from(same_columns && (one[1] - other[1]) * (one[3] - other[3]) < 0.0);
        }
    }
    found
}
