use super::*;

const TEXT: &str = "\
format: 1
id: a  # the record
places:
  - {id: south, kind: wall}
passes:
  - pass: first
    date: 2026-03-01
    sightings:
      - {clue: crack, at: south, seen: slight}  # by the hose
      - {clue: gap, at: south, seen: none}
  - pass: second
    date: 2026-06-01
    sightings:
      - {clue: crack, at: south, seen: moderate}
";

fn read(text: &str) -> Result<Case, Problems> {
    Case::read("a.yaml", text)
}

fn seen(clue: &str, at: usize, grade: &str, corrects: &str) -> Sighting {
    Sighting {
        id: String::new(),
        clue: clue.into(),
        at,
        seen: Seen::Grade(grade.into()),
        marks: Vec::new(),
        sure: Sure::Sure,
        corrects: (!corrects.is_empty()).then(|| corrects.into()),
        note: None,
        photos: Vec::new(),
        computed: None,
        locus: Locus::default(),
    }
}

fn pass(id: &str, date: &str, sightings: Vec<Sighting>) -> More {
    let pass = Pass {
        id: id.into(),
        title: None,
        date: Date::parse(date).ok(),
        by: None,
        sightings,
        locus: Locus::default(),
    };
    More {
        places: Vec::new(),
        contexts: Vec::new(),
        repairs: Vec::new(),
        pass,
    }
}

fn added(more: More) -> Result<(String, Case), Problems> {
    read(TEXT).expect("reads").with_more(&more)
}

fn standing(case: &Case) -> Vec<(String, String)> {
    let all = case.standing();
    let grade = |seen: &Seen| match seen {
        Seen::Grade(grade) => grade.clone(),
        _ => "none".into(),
    };
    all.iter()
        .map(|one| (one.clue.to_owned(), grade(&one.sighting.seen)))
        .collect()
}

fn pairs(of: &[(&str, &str)]) -> Vec<(String, String)> {
    of.iter().map(|(a, b)| ((*a).into(), (*b).into())).collect()
}

#[test]
fn a_new_pass_comes_last_and_all_else_stays() {
    let mut gap = seen("gap", 1, "slight", "");
    gap.note = Some("a: b".into());
    let (text, case) = added(pass("third", "2026-07-01", vec![gap])).expect("can be added to");
    let new = "  - pass: third\n    date: 2026-07-01\n    sightings:\n      - {clue: gap, at: south, seen: slight, note: \"a: b\"}\n";
    assert_eq!(text, format!("{TEXT}{new}"));
    assert_eq!(case.passes[2].sightings[0].id, "third.1");
}

#[test]
fn a_place_comes_after_the_others() {
    let mut more = pass("second", "", vec![seen("pop", 2, "big", "")]);
    more.places.push(Place {
        touches: vec![1],
        ..Place::new("sw", "corner")
    });
    let (text, case) = added(more).expect("can be added to");
    assert!(
        text.contains("  - {id: south, kind: wall}\n  - {id: sw, kind: corner, touches: [south]}\npasses:"),
        "{text}"
    );
    assert!(
        text.ends_with("seen: moderate}\n      - {clue: pop, at: sw, seen: big}\n"),
        "{text}"
    );
    assert!(case.touching(1, 2));
}

#[test]
fn a_correction_stands_in_the_stead_of_a_slip() {
    let fix = |id: &str, of: Sighting| added(pass(id, "", vec![of])).expect("can be added to");
    let (text, case) = fix("second", seen("crack", 1, "severe", "first.1"));
    assert!(text.starts_with(TEXT), "nothing is taken out");
    // The second pass saw it later, so that still stands; as of the first pass nobody knew of the slip.
    assert_eq!(standing(&case), pairs(&[("crack", "moderate"), ("gap", "none")]));
    let first = case.as_of("first").expect("a pass");
    assert_eq!(standing(&first), pairs(&[("crack", "slight"), ("gap", "none")]));
    let (_, case) = fix("second", seen("crack", 1, "fine", "second.1"));
    assert_eq!(standing(&case), pairs(&[("crack", "fine"), ("gap", "none")]));
    // Put at another place, the slip leaves nothing behind.
    let (_, case) = fix("second", seen("gap", 0, "slight", "first.2"));
    assert_eq!(standing(&case), pairs(&[("crack", "moderate"), ("gap", "slight")]));
}

#[test]
fn a_correction_names_what_it_corrects() {
    let refused = |date: &str, of: Vec<Sighting>| added(pass("second", date, of)).expect_err("refused").to_string();
    let fix = |grade: &str| seen("crack", 1, grade, "second.1");
    assert!(refused("", vec![fix("fine"), fix("severe")]).contains("`second.1` is corrected twice"));
    assert!(refused("", vec![seen("gap", 1, "slight", "frist.2")]).contains("did you mean `first.2`?"));
    assert!(refused("", vec![seen("crack", 1, "fine", "")]).contains("which one it `corrects`"));
    assert!(refused("2026-06-02", vec![seen("gap", 1, "slight", "")]).contains("is there already, with another date"));
}

#[test]
fn as_of_a_day() {
    let case = read(TEXT).expect("reads");
    let on = |day: &str| case.as_of_day(Date::parse(day).expect("a day"));
    assert!(on("2026-02-28").is_none());
    assert_eq!(on("2026-03-01").expect("one pass").passes.len(), 1);
    assert_eq!(on("2026-05-31").expect("one pass").passes.len(), 1);
    assert_eq!(on("2026-06-01"), Some(case.clone()));
    let undated = read(&TEXT.replace("    date: 2026-03-01\n", "")).expect("reads");
    assert!(undated.as_of_day(Date::parse("2026-06-01").expect("a day")).is_none());
}

/// A repair between two passes: what was seen before it stands until its day, and no more after.
#[test]
fn a_repair_resets_what_came_before_it() {
    let repaired = format!("{TEXT}repairs:\n  - {{date: 2026-06-10, at: south, clues: crack, what: repointed}}\n");
    let case = read(&repaired).expect("reads");
    let on = |day: &str| standing(&case.as_of_day(Date::parse(day).expect("a day")).expect("a pass"));
    assert_eq!(on("2026-06-09"), pairs(&[("crack", "moderate"), ("gap", "none")]));
    assert_eq!(on("2026-06-10"), pairs(&[("gap", "none")]));
    // A slip put right after the repair speaks of the day before it.
    let fix = pass("third", "2026-07-01", vec![seen("crack", 1, "severe", "first.1")]);
    let (_, fixed) = case.with_more(&fix).expect("reads");
    assert_eq!(standing(&fixed), pairs(&[("gap", "none")]));
}

fn fact(id: &str, holds: bool, note: Option<&str>) -> ContextFact {
    ContextFact {
        computed: None,
        id: id.into(),
        holds,
        note: note.map(Into::into),
        locus: Locus::default(),
    }
}

#[test]
fn a_fact_put_right_keeps_what_it_said() {
    let text = TEXT.replace(
        "passes:",
        "contexts:\n  dry: unknown  # ask\n  clay: {holds: no, note: survey}\npasses:",
    );
    let mut more = pass("first", "", Vec::new());
    more.contexts = vec![
        fact("dry", true, None),
        fact("clay", true, Some("dug")),
        fact("new", false, None),
    ];
    let (after, case) = read(&text).expect("reads").with_more(&more).expect("can be added to");
    assert!(
        after.contains("\n  dry: yes  # ask\n  clay: {holds: yes, note: \"dug; before: no; survey\"}\n  new: no\n"),
        "{after}"
    );
    assert_eq!(case.contexts.len(), 3);
    // The same again changes nothing.
    more.contexts = vec![fact("dry", true, None)];
    assert_eq!(case.with_more(&more).expect("can be added to").0, after);
}

#[test]
fn a_repair_is_added_with_its_day() {
    let repair = Repair {
        date: Date::parse("2026-04-01").ok(),
        before_pass: 0,
        at: vec![1],
        clues: vec!["gap".into()],
        what: "sealed".into(),
        locus: Locus::default(),
    };
    let mut more = pass("third", "", Vec::new());
    more.repairs = vec![repair];
    let (after, case) = added(more).expect("can be added to");
    assert_eq!(
        after,
        format!("{TEXT}repairs:\n  - {{date: 2026-04-01, at: [south], clues: [gap], what: sealed}}\n")
    );
    // No pass is made of nothing, and the first pass lies before the repair.
    assert_eq!(
        (case.passes.len(), case.repairs.first().map(|one| one.before_pass)),
        (2, Some(1))
    );
}
