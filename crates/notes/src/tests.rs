use std::sync::OnceLock;

use proptest::prelude::*;
use wythe_case::{Looked, Seen, Sure};
use wythe_pack::PackFile;

use super::*;

fn pack() -> &'static Pack {
    static PACK: OnceLock<Pack> = OnceLock::new();
    PACK.get_or_init(|| {
        let files = wythe_rules::structural();
        let files: Vec<_> = files.iter().map(|(path, text)| PackFile { path, text }).collect();
        Pack::read(&files).unwrap_or_else(|problems| panic!("{problems}"))
    })
}

fn house() -> Case {
    let text = "format: 1\nid: a\nplaces:
  - {id: south, kind: exterior_wall, label: south wall}
  - {id: west, kind: exterior_wall}
  - {id: sw, kind: outside_corner, label: south west corner, touches: [south, west]}
  - {id: kitchen-window, kind: opening, in: south, label: kitchen window}
  - {id: study, kind: room}
  - {id: study-door, kind: door, in: study, label: study door}
passes:
  - {pass: first, sightings: [{clue: frieze_gap, at: west, seen: none}]}
";
    Case::read("a.yaml", text).unwrap_or_else(|problems| panic!("{problems}"))
}

fn noted(text: &str) -> Vec<Sighting> {
    read(pack(), &house(), "first", "notes", text)
        .unwrap_or_else(|problems| panic!("{problems}"))
        .sightings
}

fn refused(text: &str) -> String {
    read(pack(), &house(), "first", "notes", text)
        .expect_err(text)
        .to_string()
}

#[test]
fn a_line_as_an_inspector_types_it() {
    let line = "south wall: step crack 1/16 in, joints, wide at top; frieze gap none";
    let all = noted(line);
    assert_eq!(all.len(), 2);
    assert_eq!((all[0].clue.as_str(), all[0].at), ("step_crack_veneer", 1));
    assert!(matches!(&all[0].seen, Seen::Measured { reading, .. } if reading.text == "1/16 in"));
    assert_eq!(
        all[0].marks,
        [
            ("path".into(), vec!["joints".into()]),
            ("taper".into(), vec!["wide_at_top".into()])
        ]
    );
    assert_eq!(
        all[0].note.as_deref(),
        Some("south wall: step crack 1/16 in, joints, wide at top")
    );
    assert_eq!(
        (all[1].clue.as_str(), &all[1].seen),
        ("frieze_gap", &Seen::NoneThere { looked: Looked::All })
    );
    assert_eq!(all[1].note.as_deref(), Some("south wall: frieze gap none"));
}

/// Each line beside the line that says the same with every word in its place.
#[test]
fn many_ways_to_say_one_thing() {
    for (plain, same) in [
        (
            "south: step crack slight",
            "South Wall: a stepped crack through the veneer, SLIGHT",
        ),
        ("south: step crack slight", "the south wall: step_crack_veneer slight"),
        (
            "south: step crack slight",
            "# a remark\n\nsouth:\n  - step crack slight",
        ),
        ("south: frieze gap none", "south: no frieze gap"),
        ("south: frieze gap none", "south: a tight frieze"),
        (
            "south: frieze gap none, looked at part",
            "south: frieze gap none, part looked",
        ),
        ("south: step crack 2 mm, path joints", "south: step crack 2 mm joints"),
        (
            "south: step crack slight, joints or mixed, unsure",
            "south: step crack slight joints or mixed (I think), not sure",
        ),
        (
            "south: frieze gap not reached: locked gate, too high",
            "south: frieze gap, can't reach - locked gate, too high",
        ),
        ("study door: door binds rubs", "study-door: binds rubs"),
    ] {
        let bare = |text: &str| {
            let all = noted(text);
            all.into_iter()
                .map(|one| Sighting { note: None, ..one })
                .collect::<Vec<_>>()
        };
        assert_eq!(bare(plain), bare(same), "{same}");
    }
}

/// Other names of the trade for a clue are understood, and suggested.
#[test]
fn other_names_of_the_trade() {
    for (line, clue) in [
        ("south wall: stair-step crack 1/8 in", "step_crack_veneer"),
        ("south wall: leaning brick 1 in", "veneer_lean"),
        ("kitchen window: missing head flashing", "head_flashing_missing"),
        ("study door: sticking door, rubs", "door_binds"),
        ("south west corner: open miter, slight", "trim_corner_open"),
    ] {
        assert_eq!(noted(line)[0].clue, clue, "{line}");
    }
    let near = refused("south wall: stare-step crack");
    assert!(near.contains("did you mean `stair-step crack`?"), "{near}");
}

#[test]
fn what_stands_beside_the_finding() {
    let all = noted(
        "south: step crack 2 mm ± 0.5 mm, with crack gauge, from photo, fairly sure, photos P-1 and P-2 (low, near the hose); frieze gap none, looked at 60 %",
    );
    assert!(matches!(&all[0].seen, Seen::Measured { with: Some(with), from_photo: true, .. } if with == "crack gauge"));
    assert_eq!(
        (all[0].sure, all[0].photos.as_slice()),
        (Sure::Fairly, ["P-1".to_string(), "P-2".into()].as_slice())
    );
    assert_eq!(
        all[1].seen,
        Seen::NoneThere {
            looked: Looked::Share(0.6)
        }
    );
    let all = noted("south: frieze gap not reached: locked gate, ask access");
    assert_eq!(
        all[0].seen,
        Seen::NotReached {
            why: "locked gate".into(),
            ask_access: true
        }
    );
}

#[test]
fn new_places() {
    let text = "new opening: Back door, in west\nnew outside corner: north-west, touching west\nback door: crack at corner slight";
    let read = read(pack(), &house(), "first", "notes", text).unwrap_or_else(|problems| panic!("{problems}"));
    let named: Vec<(&str, &str)> = read
        .places
        .iter()
        .map(|one| (one.id.as_str(), one.kind.as_str()))
        .collect();
    assert_eq!(named, [("back-door", "opening"), ("north-west", "outside_corner")]);
    assert_eq!(
        (read.places[0].within, read.places[1].touches.as_slice()),
        (Some(2), [2].as_slice())
    );
    assert_eq!(
        (read.sightings[0].clue.as_str(), read.sightings[0].at),
        ("crack_at_opening_corner", 7)
    );
}

/// Each bad line, and what its message must say: where, and what to do.
#[test]
fn what_is_not_understood_is_pointed_at() {
    for (text, says) in [
        (
            "south: stpe crack slight",
            "notes:1:8: no sign looked for at `south wall` goes by these words",
        ),
        ("south: stpe crack slight", "did you mean `step` by `stpe`?"),
        ("south: frieze gpa none", "did you mean `gap` by `gpa`?"),
        ("souht: frieze gap none", "did you mean `south`?"),
        ("\nsouth: step crack sligt", "notes:2:19: `sligt` is not understood"),
        ("south: step crack sligt", "did you mean `slight`?"),
        ("south: step crack 1/16 inn", "notes:1:19:"),
        (
            "south: step crack 3 deg",
            "is measured as a length, and this is an angle",
        ),
        (
            "south: step crack",
            "say `none`, `fine`, `slight`, `moderate` or `severe`, a measurement, or `size unknown`",
        ),
        (
            "south: vertical crack slight",
            "`vertical crack mid wall` or `vertical crack near corner`",
        ),
        ("south: window frame gap slight", "begin a line with `kitchen window`"),
        ("south: dome slight", "`new part of the slab: NAME`"),
        ("kitchen: step crack slight", "there is no place `kitchen`"),
        ("step crack slight", "this line names no place"),
        ("- step crack slight", "no place is named above this line"),
        ("west: frieze gap slight", "as `first.1`"),
        ("south: no frieze gap; frieze gap slight", "noted twice"),
        ("south: no step crack, joints", "a mark goes with a sign that was seen"),
        ("south: step crack slight, with gauge", "`with` goes with a measurement"),
        ("study door: door binds 3 mm", "graded by eye"),
        ("new opening: back door", "add `, in PLACE`"),
        ("new hatch: attic", "there is no kind of place `hatch`"),
        ("new room: ../etc/passwd", "can't name a place"),
        ("south: frieze gap \u{202e}slight", "U+202E"),
    ] {
        let message = refused(text);
        assert!(message.contains(says), "{text}\n{message}");
    }
}

#[test]
fn all_problems_come_at_once() {
    let message = refused("south: stpe crack slight\nwset: frieze gap none\nsouth: frieze gap none, tihgt");
    for line in ["notes:1:", "notes:2:", "notes:3:"] {
        assert!(message.contains(line), "{message}");
    }
}

/// Every clue can be noted by its title, its id, and what a sentence calls it.
#[test]
fn every_clue_has_words() {
    for (at, clue) in pack()
        .clues
        .iter()
        .enumerate()
        .filter(|(_, clue)| clue.pattern.is_none())
    {
        let kind = &pack()[clue.at].id;
        let mut case = house();
        let at_place = if kind == "house" { 0 } else { case.places.len() };
        if at_place > 0 {
            case.places.push(Place::new("here", kind));
        }
        let name = if at_place > 0 { "here" } else { "house" };
        let worst = clue.grades.last().expect("has grades").id.replace('_', " ");
        for words in [&clue.id, &clue.title] {
            let words = words.replace(',', "");
            let text = format!("{name}: {words}, {worst}");
            let read = read(pack(), &case, "first", "notes", &text).unwrap_or_else(|problems| panic!("{problems}"));
            assert_eq!(
                (read.sightings[0].clue.as_str(), read.sightings[0].at),
                (clue.id.as_str(), at_place),
                "{at}"
            );
        }
    }
}

#[test]
fn a_place_by_its_own_name() {
    let text = "format: 1\nid: x\nplaces:\n  - {id: a, kind: exterior_wall}\n  - {id: b, kind: exterior_wall}\n  - {id: a-b, kind: outside_corner, touches: [a, b]}\n";
    let case = Case::read("x.yaml", text).unwrap_or_else(|problems| panic!("{problems}"));
    for (name, at) in [("a", 1), ("B", 2), ("a-b", 3), ("a-b corner", 3)] {
        let found = find_place(pack(), &case, "option", name).unwrap_or_else(|problems| panic!("{name}: {problems}"));
        assert_eq!(found, at, "{name}");
    }
}

#[test]
fn there_and_not_sized_and_a_place_on_a_line_of_its_own() {
    for words in ["present", "size unknown", "there, joints", "joints, size not noted"] {
        let all = noted(&format!("south: step crack {words}"));
        assert!(matches!(all[0].seen, Seen::Present), "{words}");
        assert_eq!(all[0].marks.len(), usize::from(words.contains("joints")), "{words}");
    }
    let under = noted("South wall\n- step crack slight\n- no frieze gap");
    assert_eq!(
        (under.len(), under[1].at, under[1].note.as_deref()),
        (2, 1, Some("South wall: no frieze gap"))
    );
    assert!(refused("south: step crack size unknown, 3 mm").contains("said twice"));
    assert!(refused("south: step crack, joints").contains("`size unknown`"));
}

#[test]
fn facts_of_the_house() {
    let read = |text: &str| read(pack(), &house(), "first", "notes", text);
    let all = read("Facts: recent drought (radio; July); no fill lot; storeys two = no; high-plasticity soil yes")
        .expect("is read");
    let facts: Vec<(&str, bool, Option<&str>)> = all
        .contexts
        .iter()
        .map(|one| (one.id.as_str(), one.holds, one.note.as_deref()))
        .collect();
    assert_eq!(
        facts,
        [
            ("recent_drought", true, Some("radio; July")),
            ("fill_lot", false, None),
            ("storeys_two", false, None),
            ("soil_plasticity_high", true, None)
        ]
    );
    for context in &pack().contexts {
        for name in [&context.id, &context.title] {
            let all =
                read(&format!("facts: {}", name.replace(';', ","))).unwrap_or_else(|problems| panic!("{problems}"));
            assert_eq!(all.contexts[0].id, context.id);
        }
    }
    for (text, says) in [
        ("facts: recent drough", "did you mean `recent drought`?"),
        ("facts: fill lot; no fill lot", "given twice"),
        ("facts: soil", "could be more than one fact"),
    ] {
        assert!(refused(text).contains(says), "{text}");
    }
}

#[test]
fn repairs_of_the_house() {
    let all = read(
        pack(),
        &house(),
        "first",
        "notes",
        "repair south wall and west: joints, repointed, on 2025-08-01\nrepair study: painted",
    );
    let all = all.expect("is read");
    let repairs: Vec<(&[usize], &str, Option<String>)> = all
        .repairs
        .iter()
        .map(|one| {
            (
                one.at.as_slice(),
                one.what.as_str(),
                one.date.map(|day| day.to_string()),
            )
        })
        .collect();
    assert_eq!(
        repairs,
        [
            (&[1, 2][..], "joints, repointed", Some("2025-08-01".into())),
            (&[5][..], "painted", None)
        ]
    );
    for (text, says) in [
        ("repair sout: painted", "did you mean `south"),
        ("repair south painted", "a colon and what was done"),
        ("repair south:", "what was done is not said"),
        ("repair south: x, on 1/8/2025", "write a day as in"),
    ] {
        assert!(refused(text).contains(says), "{text}");
    }
}

proptest! {
    #[test]
    fn any_text_is_read_or_refused(text in "([ -~]|\\PC|\n|south: |step crack|frieze gap| none|, joints|; |1/16 in|\\(|\\)|new opening: |, in west|facts: |repair |fill lot|, on 2025-01-01){0,40}") {
        if let Err(problems) = read(pack(), &house(), "first", "notes", &text) {
            prop_assert!(!problems.is_empty() && !problems.to_string().is_empty());
        }
    }
}
