use wythe_case::{Case, Seen, Sure};
use wythe_pack::Pack;

use super::with_computed;
use crate::testing::{close, pack_with};
use crate::{Used, weigh};

/// A wall whose lean is measured, and the same wall's bow as what stands aside for it; both from a sheet of offsets.
fn leaning() -> Pack {
    let clue = |id: &str, rest: &str| {
        format!(
            "id: {id}\ntitle: {id}\nsince: 0.1.0\nat: wall\nzone: outside\n{rest}\nusual_grades: {{some: 1}}\n\
             background: {{how_often: 0.1}}\nordinary_causes: [a test]\nlook_for: look\neffort: tool\nsays: a {id}\nsource: test\n"
        )
    };
    let measured = "measured_by: {quantity: length, error: 1 mm, how: rule, source: test}\ngrades: [{id: none, up_to: 6 mm}, {id: some}]";
    let lean = clue(
        "lean",
        &format!("{measured}\ncomputed_from: {{sheet: wall, value: wall-lean}}"),
    );
    let bow = clue(
        "bow",
        &format!(
            "{measured}\ncomputed_from: {{sheet: wall, value: wall-bow, stands_aside_for: lean, none_said_by: lean}}"
        ),
    );
    let by_eye = clue(
        "by_eye",
        "grades: [{id: none}, {id: some}]\ncomputed_from: {sheet: wall, value: out-of-plumb, up_to: [1/100]}",
    );
    let link =
        |clue: &str| format!("- {{effect: {clue}, reach: here, how_often: 0.5, reason: a test, source: test}}\n");
    let links = format!("links:\n{}", ["lean", "bow", "by_eye"].map(link).concat());
    pack_with(&[
        ("mechanisms/lift.yaml", "links:\n", &links),
        ("clues/lean.yaml", "", &lean),
        ("clues/bow.yaml", "", &bow),
        ("clues/by_eye.yaml", "", &by_eye),
    ])
}

fn case(offsets: &str, sightings: &str) -> Case {
    let text = format!(
        "format: 1\nid: tiny\nplaces:\n  - {{id: south, kind: wall}}\npasses:\n  - {{pass: first, sightings: [{sightings}]}}\n\
         walls:\n  - {{id: plumb, at: south, sheet: {{error: 1 mm, offsets: [{offsets}]}}}}\n"
    );
    Case::read("tiny.yaml", &text).unwrap()
}

const LEANS: &str = "{height: 0 mm, offset: 20 mm}, {height: 1000 mm, offset: 40 mm}, {height: 2000 mm, offset: 40 mm}";

#[test]
fn a_number_makes_the_sighting_that_its_rule_file_names() {
    let (pack, case) = (leaning(), case(LEANS, ""));
    let entered = with_computed(&pack, &case);
    let made: Vec<&str> = entered.passes[0].sightings.iter().map(|one| one.id.as_str()).collect();
    assert_eq!(
        made,
        [
            "plumb.wall-bow.south",
            "plumb.out-of-plumb.south",
            "plumb.wall-lean.south"
        ]
    );
    let Seen::Measured { reading, .. } = &entered.passes[0].sightings[2].seen else {
        panic!("a measurement")
    };
    // Least squares over 20, 40, 40 at 0, 1, 2 m: 10 mm per m, 20 mm over 2 m.
    close(reading.value, 20.0);
    assert_eq!(with_computed(&pack, &entered).passes, entered.passes, "entered once");
    // 1/100 with its error falls half in either class: the likeliest, not sure.
    assert_eq!(entered.passes[0].sightings[1].sure, Sure::Fairly);
}

#[test]
fn what_another_number_says_is_set_aside() {
    let (pack, case) = (leaning(), case(LEANS, ""));
    let outcome = weigh(&pack, &case).unwrap();
    let bow = pack.clue("bow").unwrap();
    let of = |clue| outcome.readings.iter().find(|one| one.clue == clue).unwrap();
    assert_eq!(
        of(bow).used,
        Used::SetAside {
            by: pack.clue("lean").unwrap()
        }
    );
    // A straight wall that stands plumb: nothing to stand aside for.
    let plumb = "{height: 0 mm, offset: 20 mm}, {height: 1000 mm, offset: 30 mm}, {height: 2000 mm, offset: 20 mm}";
    let outcome = weigh(&pack, &self::case(plumb, "")).unwrap();
    let of = |clue| outcome.readings.iter().find(|one| one.clue == clue).unwrap();
    assert!(of(bow).shows() && of(bow).used == Used::Weighed);
}

#[test]
fn what_a_person_saw_stands_over_what_was_computed() {
    let pack = leaning();
    let case = case(LEANS, "{clue: lean, at: south, seen: none}");
    let outcome = weigh(&pack, &case).unwrap();
    let lean = pack.clue("lean").unwrap();
    let stands: Vec<_> = outcome.readings.iter().filter(|one| one.clue == lean).collect();
    assert_eq!(stands.len(), 1);
    assert_eq!(stands[0].sighting, "first.1");
}

#[test]
fn a_wider_error_never_says_more() {
    let pack = leaning();
    let lean = pack.clue("lean").unwrap();
    let likelihood = |error: &str| {
        let case = case(LEANS, "");
        let text = case.to_yaml().replace("1 mm", error);
        let outcome = weigh(&pack, &Case::read("tiny.yaml", &text).unwrap()).unwrap();
        let found = outcome.readings.iter().find(|one| one.clue == lean).unwrap();
        found.likelihood.clone()
    };
    let (sharp, blunt) = (likelihood("1 mm"), likelihood("20 mm"));
    assert!(sharp[0] < blunt[0], "{sharp:?} {blunt:?}");
}

#[test]
fn a_clue_that_the_pack_has_not_is_a_problem() {
    let text = "format: 1\nid: tiny\nplaces:\n  - {id: south, kind: wall}\npasses: [{pass: first}]\ntrends:\n  - id: widths\n    points: {A: {at: south, clue: crak}}\n    sheet: {readings: [{point: A, date: 2026-01-02, width: 1 mm}]}\n";
    let case = Case::read("tiny.yaml", text).unwrap();
    let error = weigh(&leaning(), &case).unwrap_err().to_string();
    assert!(
        error.contains("no clue `crak`") && error.contains("did you mean `crack`?"),
        "{error}"
    );
    let error = weigh(
        &leaning(),
        &Case::read("tiny.yaml", &text.replace("crak", "lean")).unwrap(),
    )
    .unwrap_err();
    assert!(
        error.to_string().contains("does not follow from the crack-width"),
        "{error}"
    );
}

#[test]
fn a_none_that_another_none_says_is_set_aside() {
    let pack = leaning();
    let straight = "{height: 0 mm, offset: 20 mm}, {height: 1000 mm, offset: 20 mm}, {height: 2000 mm, offset: 20 mm}";
    let outcome = weigh(&pack, &case(straight, "")).unwrap();
    let of = |id: &str| {
        let clue = pack.clue(id).unwrap();
        outcome.readings.iter().find(|one| one.clue == clue).unwrap()
    };
    assert!(!of("lean").shows() && of("lean").used == Used::Weighed);
    assert!(!of("bow").shows());
    assert_eq!(
        of("bow").used,
        Used::SetAside {
            by: pack.clue("lean").unwrap()
        }
    );
}

/// The tiny pack with a context that the plasticity index says.
fn soiled(denies: &str) -> Pack {
    let from = format!("computed_from: {{sheet: site, value: plasticity-index, over: 35{denies}}}\nsource:");
    pack_with(&[("contexts/clay.yaml", "source:", &from)])
}

fn site(index: &str, stated: &str) -> Case {
    let text = format!(
        "format: 1\nid: tiny\nplaces:\n  - {{id: south, kind: wall}}\ncontexts: {{{stated}}}\npasses: [{{pass: first}}]\n\
         sites:\n  - {{id: ground, sheet: {{soil: {{plasticity_index: {index}}}}}}}\n"
    );
    Case::read("tiny.yaml", &text).unwrap()
}

#[test]
fn a_number_says_a_context_where_it_is_sure() {
    let holds = |denies: &str, index: &str, stated: &str| {
        let (pack, case) = (soiled(denies), site(index, stated));
        let clay = pack.context("clay").unwrap();
        let outcome = weigh(&pack, &case).unwrap();
        let said = outcome
            .contexts
            .iter()
            .find(|(at, _)| *at == clay)
            .map(|(_, holds)| *holds);
        let told = with_computed(&pack, &case).readings[0]
            .notes
            .iter()
            .any(|note| note.contains("What the case says stands"));
        (said, told)
    };
    let denies = ", denies: yes";
    assert_eq!(holds(denies, "41 ± 4", ""), (Some(true), false));
    // 36 ± 4: 0.69 of it over 35, so it says nothing; nor does the bound itself.
    assert_eq!(holds(denies, "36 ± 4", ""), (None, false));
    assert_eq!(holds(denies, "35", ""), (None, false));
    assert_eq!(holds(denies, "20", ""), (Some(false), false));
    assert_eq!(holds("", "20", ""), (None, false));
    // What a person stated stands, and the sheet says that it differs.
    assert_eq!(holds(denies, "41 ± 4", "clay: no"), (Some(false), true));
    assert_eq!(holds(denies, "41 ± 4", "clay: yes"), (Some(true), false));
}
