//! The drawing of a house: whole, readable, and every place and sighting in it once.

use std::collections::BTreeSet;
use std::path::Path;

use roxmltree::{Document, Node};
use wythe_case::{Case, Place};
use wythe_pack::guard::refused;

use super::{house, pack, weighed};
use crate::{Key, ReportError, plan_svg};

/// The example houses.
pub(super) fn examples() -> Vec<Case> {
    let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/cases");
    let mut paths: Vec<_> = std::fs::read_dir(dir)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    paths.retain(|path| path.extension().is_some_and(|ending| ending == "yaml"));
    paths.sort();
    assert!(paths.len() >= 4);
    paths
        .iter()
        .map(|path| {
            let mut beside = |file: &str| {
                let path = path.with_file_name(file);
                Ok((path.display().to_string(), std::fs::read_to_string(&path).unwrap()))
            };
            let text = std::fs::read_to_string(path).unwrap();
            Case::read_with(&path.to_string_lossy(), &text, &mut beside).unwrap()
        })
        .collect()
}

fn number(node: Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).unwrap().parse().unwrap()
}

/// Left, top, right and bottom of a shape.
fn bounds(shape: Node<'_, '_>) -> [f64; 4] {
    if shape.has_tag_name(("http://www.w3.org/2000/svg", "ellipse")) {
        let [cx, cy, rx, ry] = ["cx", "cy", "rx", "ry"].map(|name| number(shape, name));
        [cx - rx, cy - ry, cx + rx, cy + ry]
    } else {
        let [x, y, w, h] = ["x", "y", "width", "height"].map(|name| number(shape, name));
        [x, y, x + w, y + h]
    }
}

/// The marks of a drawing with their bounds.
fn marks(svg: &Document<'_>) -> Vec<(String, [f64; 4])> {
    svg.descendants()
        .filter(|node| node.attribute("class").is_some_and(|class| class.starts_with("mark ")))
        .map(|mark| {
            let shape = mark
                .children()
                .find(|node| node.has_tag_name(("http://www.w3.org/2000/svg", "rect")));
            let shape = shape
                .or_else(|| mark.children().find(|node| node.attribute("cx").is_some()))
                .unwrap();
            (mark.attribute("id").unwrap().to_owned(), bounds(shape))
        })
        .collect()
}

/// Houses of other shapes: a jog in the front, no names, rooms only, a place of each kind that has no place in a plan.
fn odd_houses() -> Vec<Case> {
    let pack = pack();
    let mut bare = Case::new("bare", "Nothing but the house");
    bare.places.push(Place::new("attic", "roof"));
    let mut rooms = Case::new("rooms", "Rooms and no walls");
    for n in 0..40 {
        rooms.places.push(Place::new(&format!("room-{n}"), "room"));
    }
    let mut walls = Case::new("walls", "Six walls without names, fifteen openings in one");
    for n in 1..7 {
        walls.places.push(Place::new(&format!("w{n}"), "exterior_wall"));
    }
    for n in 1..7 {
        walls.places.push(Place {
            touches: vec![n, n % 6 + 1],
            ..Place::new(&format!("c{n}"), "outside_corner")
        });
    }
    for n in 0..15 {
        walls.places.push(Place {
            within: Some(2),
            ..Place::new(&format!("o{n}"), "opening")
        });
    }
    let mut every = Case::new("every", "A place of every kind");
    for kind in pack.kinds.iter().skip(1) {
        every.places.push(Place::new(&kind.id, &kind.id));
    }
    let mut high = Case::new("high", "Rooms on four storeys");
    high.places.push(Place {
        label: "front wall".into(),
        ..Place::new("front", "exterior_wall")
    });
    for name in [
        "kitchen",
        "upstairs-bedroom",
        "upper-hall",
        "attic-room",
        "basement-den",
    ] {
        high.places.push(Place {
            touches: vec![1],
            ..Place::new(name, "room")
        });
        high.places.push(Place {
            within: Some(1),
            ..Place::new(&format!("{name}-window"), "opening")
        });
        high.places.push(Place {
            within: Some(high.places.len() - 2),
            ..Place::new(&format!("{name}-door"), "door")
        });
    }
    vec![bare, rooms, walls, every, high]
}

/// A bedroom over the kitchen is not drawn beside it.
#[test]
fn each_storey_is_a_plan_of_its_own() {
    let pack = pack();
    let plans = |case: &Case| -> Vec<(String, BTreeSet<String>)> {
        let text = plan_svg(&pack, case, &weighed(&pack, case), Key::LeftOut).unwrap();
        let svg = Document::parse(&text).unwrap();
        let plans = svg.descendants().filter(|node| node.attribute("class") == Some("plan"));
        let places = |plan: Node<'_, '_>| {
            let all = plan.descendants().filter_map(|node| node.attribute("data-place"));
            all.map(str::to_owned).collect()
        };
        plans
            .map(|plan| (plan.attribute("data-storey").unwrap().to_owned(), places(plan)))
            .collect()
    };
    let high = odd_houses().pop().unwrap();
    let drawn = plans(&high);
    let named: Vec<&str> = drawn.iter().map(|(storey, _)| storey.as_str()).collect();
    assert_eq!(named, ["Ground storey", "Upper storey", "Attic", "Basement"]);
    for (turn, rooms) in [
        &["kitchen"][..],
        &["upstairs-bedroom", "upper-hall"],
        &["attic-room"],
        &["basement-den"],
    ]
    .iter()
    .enumerate()
    {
        for room in *rooms {
            for place in [room.to_string(), format!("{room}-window"), format!("{room}-door")] {
                for (at, (storey, places)) in drawn.iter().enumerate() {
                    assert_eq!(places.contains(&place), at == turn, "{place} on {storey}");
                }
            }
        }
    }
    let of = |name: &str| plans(&examples().into_iter().find(|case| case.id == name).unwrap());
    assert_eq!(of("quiet-corner").len(), 1);
    let second = of("second-pass");
    assert!(
        second.len() == 2 && second[1].1.contains("bedroom-window"),
        "{second:?}"
    );
}

#[test]
fn every_place_and_sighting_is_drawn_once_with_its_id() {
    let pack = pack();
    for case in examples().into_iter().chain(odd_houses()) {
        let outcome = weighed(&pack, &case);
        let text = plan_svg(&pack, &case, &outcome, Key::Below).unwrap();
        let svg = Document::parse(&text).unwrap();
        let mut ids = BTreeSet::new();
        for id in svg.descendants().filter_map(|node| node.attribute("id")) {
            assert!(ids.insert(id), "{}: {id} twice", case.id);
        }
        for place in case.places.iter().skip(1) {
            assert!(
                ids.contains(format!("place-{}", place.id).as_str()),
                "{}: {}",
                case.id,
                place.id
            );
        }
        for reading in &outcome.readings {
            let id = format!("sighting-{}", reading.sighting);
            assert!(ids.contains(id.as_str()), "{}: {id}", case.id);
        }
        assert_eq!(refused(&text), None, "{}", case.id);
        assert_eq!(text, plan_svg(&pack, &case, &outcome, Key::Below).unwrap());
    }
}

#[test]
fn no_mark_lies_on_another_or_outside_the_drawing() {
    let pack = pack();
    for case in examples().into_iter().chain(odd_houses()) {
        let text = plan_svg(&pack, &case, &weighed(&pack, &case), Key::LeftOut).unwrap();
        let svg = Document::parse(&text).unwrap();
        let view: Vec<f64> = svg
            .root_element()
            .attribute("viewBox")
            .unwrap()
            .split(' ')
            .map(|part| part.parse().unwrap())
            .collect();
        let marks = marks(&svg);
        for (at, (id, [x1, y1, x2, y2])) in marks.iter().enumerate() {
            assert!(
                *x1 >= 0.0 && *y1 >= 0.0 && *x2 <= view[2] && *y2 <= view[3],
                "{}: {id}",
                case.id
            );
            for (other, [a1, b1, a2, b2]) in &marks[at + 1..] {
                let apart = x2 <= a1 || a2 <= x1 || y2 <= b1 || b2 <= y1;
                assert!(apart, "{}: {id} lies on {other}", case.id);
            }
        }
    }
}

#[test]
fn shapes_differ_by_state_not_by_colour_alone() {
    let pack = pack();
    let case = examples().into_iter().find(|case| case.id == "dropped-corner").unwrap();
    let text = plan_svg(&pack, &case, &weighed(&pack, &case), Key::Below).unwrap();
    let svg = Document::parse(&text).unwrap();
    let mut looks: BTreeSet<(String, Vec<String>)> = BTreeSet::new();
    for mark in svg.descendants() {
        let Some(class) = mark.attribute("class").filter(|class| class.starts_with("mark ")) else {
            continue;
        };
        // Elements, their number, their dashes: what is left of a mark without its colours.
        let shape = mark
            .children()
            .filter(|node| node.is_element() && !["title", "text"].contains(&node.tag_name().name()))
            .map(|node| format!("{} {:?}", node.tag_name().name(), node.attribute("stroke-dasharray")))
            .collect();
        looks.insert((class.to_owned(), shape));
    }
    let shapes: BTreeSet<&Vec<String>> = looks.iter().map(|(_, shape)| shape).collect();
    assert_eq!((looks.len(), shapes.len()), (4, 4), "{looks:?}");
}

#[test]
fn a_note_in_a_label_can_not_make_a_determination() {
    let pack = pack();
    let mut case = house("a note");
    case.places[1].label = "wall that has failed".into();
    let drawn = plan_svg(&pack, &case, &weighed(&pack, &case), Key::LeftOut);
    assert!(matches!(
        drawn,
        Err(ReportError::Determination { phrase: "failed", .. })
    ));
}

/// The rect of a room, or the middle of the text of an opening.
fn part<'s>(svg: &'s Document<'s>, attribute: &str, id: &str) -> Option<Node<'s, 's>> {
    svg.descendants().find(|node| node.attribute(attribute) == Some(id))
}

#[test]
fn an_opening_stands_at_the_room_that_it_is_named_after_or_apart() {
    let pack = pack();
    // House, opening, room: none where neither the case nor its name tells.
    let expected = [
        ("short-seat", "family-window", Some("family")),
        ("short-seat", "breakfast-door", Some("breakfast")),
        ("short-seat", "garage-door", Some("garage")),
        ("short-seat", "bedroom-window", None),
        ("short-seat", "entry", None),
        ("second-pass", "garage-door", Some("garage")),
        ("second-pass", "dining-window", Some("dining")),
        ("second-pass", "laundry-door", Some("laundry")),
        ("second-pass", "patio-door", None),
        ("dropped-corner", "bedroom-window", Some("corner-bedroom")),
        ("quiet-corner", "study-window", Some("study")),
        ("quiet-corner", "garage-door", Some("garage")),
        ("quiet-corner", "bath-window", None),
        ("bent-corner", "study-window", Some("study")),
        ("bent-corner", "kitchen-window", Some("kitchen")),
        ("bent-corner", "front-door", None),
    ];
    let cases = examples();
    for (name, opening, room) in expected {
        let case = cases.iter().find(|case| case.id == name).unwrap();
        let text = plan_svg(&pack, case, &weighed(&pack, case), Key::LeftOut).unwrap();
        let svg = Document::parse(&text).unwrap();
        let place = part(&svg, "id", &format!("place-{opening}")).unwrap();
        let apart = place
            .prev_sibling_element()
            .is_some_and(|node| node.attribute("stroke-dasharray").is_some());
        assert_eq!(apart, room.is_none(), "{name}: {opening}");
        let Some(room) = room else { continue };
        let rect = part(&svg, "data-room", room).unwrap().first_element_child().unwrap();
        let [left, top, right, foot] = bounds(rect);
        let label = place.first_element_child().unwrap();
        let (x, y) = (number(label, "x"), number(label, "y"));
        let (beside, over) = (left <= x && x <= right, top <= y && y <= foot);
        // Beside the room on one axis, outside the walls on the other.
        assert!(
            beside != over,
            "{name}: {opening} at {x}, {y} by {room} {left}-{right}, {top}-{foot}"
        );
    }
}
