use super::*;

const FLOOR: &str = "passes: [{pass: first}, {pass: second}]
surveys:
  - id: floors
    pass: first
    sides: {x_low: west, y_low: south}
    SOURCE
";
const POINTS: &str =
    "point,x,y,reading\nA,0,0,0\nB,12,0,0\nC,24,0,0\nD,0,12,0\nE,12,12,0\nF,24,12,0\nG,0,24,0\nH,12,24,0\nI,24,24,0\n";

fn csv() -> String {
    format!("# error: 1/16 in\n# units: {{plan: ft, readings: in}}\n{POINTS}")
}

fn beside(file: &str) -> Result<(String, String), Problems> {
    match file {
        "floors.csv" => Ok((format!("cases/{file}"), csv())),
        _ => Err(Problem::new("a.yaml", format!("{file} could not be read"), None).into()),
    }
}

fn read(source: &str) -> Result<Case, Problems> {
    let house = super::house("").to_yaml();
    let text = format!("{house}{}", FLOOR.replace("SOURCE", source));
    Case::read_with("a.yaml", &text, &mut |file| beside(file))
}

#[test]
fn a_survey_stands_beside_the_case_or_in_it() {
    let rows: String = POINTS
        .lines()
        .skip(1)
        .map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            format!(
                "{{point: {}, x: {}, y: {}, reading: {}}}, ",
                cells[0], cells[1], cells[2], cells[3]
            )
        })
        .collect();
    let inline = format!("sheet: {{error: 1/16 in, units: {{plan: ft, readings: in}}, readings: [{rows}]}}");
    let (beside, inside) = (read("file: floors.csv").unwrap(), read(&inline).unwrap());
    let (one, two) = (&beside.readings[0], &inside.readings[0]);
    assert_eq!(one.computed, two.computed);
    assert_eq!((one.file.as_deref(), two.file.as_deref()), (Some("floors.csv"), None));
    assert_eq!((one.taken, one.pass), ((9, "points"), 0));
    // Written and read again it is the same.
    for case in [&beside, &inside] {
        let again = Case::read_with("b.yaml", &case.to_yaml(), &mut |file| super::sheets::beside(file)).unwrap();
        assert_eq!(again.readings[0].computed, case.readings[0].computed);
    }
}

#[test]
fn parts_of_a_plan_are_places_of_the_case() {
    let case = read("file: floors.csv").unwrap();
    let at = |name: &str| -> Vec<Vec<usize>> {
        let found = case.readings[0].computed.iter();
        found
            .filter(|one| one.reading.name == name)
            .map(|one| one.at.clone())
            .collect()
    };
    let place = |id: &str| case.place(id).unwrap();
    assert_eq!(at("tilt"), [[0]]);
    assert_eq!(at("edge-fall"), [[place("west")], [place("south")]]);
    assert_eq!(
        at("corner-fall"),
        [[place("south-west")]],
        "only the corner between two named sides"
    );
    assert!(at("dome").is_empty(), "nothing is named inside");
}

#[test]
fn a_pass_keeps_its_sheets() {
    let case = read("file: floors.csv").unwrap();
    assert_eq!(case.as_of("first").unwrap().readings.len(), 1);
    let text = format!(
        "{}{}",
        super::house("").to_yaml(),
        FLOOR.replace("pass: first\n    sides", "pass: second\n    sides")
    );
    let text = text.replace("SOURCE", "file: floors.csv");
    let case = Case::read_with("a.yaml", &text, &mut |file| beside(file)).unwrap();
    assert!(case.as_of("first").unwrap().readings.is_empty());
}

#[test]
fn problems_of_a_file_beside_point_into_it() {
    let text = format!(
        "{}{}",
        super::house("").to_yaml(),
        FLOOR.replace("SOURCE", "file: bad.csv")
    );
    let bad = csv().replace("F,24,12,0", "F,24,12,many");
    let error = Case::read_with("a.yaml", &text, &mut |file| Ok((format!("cases/{file}"), bad.clone()))).unwrap_err();
    let said = error.to_string();
    assert!(
        said.contains("cases/bad.csv:9:9: `many in` is not read") || said.contains("cases/bad.csv:9:9: `many`"),
        "{said}"
    );
    assert!(said.contains("F,24,12,many") && said.contains("^^^^"), "{said}");
    assert!(
        read("file: none.csv")
            .unwrap_err()
            .to_string()
            .contains("none.csv could not be read")
    );
    for out in [
        "../floors.csv",
        "/etc/hosts",
        "a//b.csv",
        "./floors.csv",
        "C:floors.csv",
    ] {
        let said = read(&format!("file: '{out}'")).unwrap_err().to_string();
        assert!(said.contains("does not lie beside the case"), "{said}");
    }
}

#[test]
fn what_changed_is_computed_from_two_surveys() {
    let later =
        "file: floors.csv\n  - {id: later, pass: second, earlier: floors, benchmarks: [A, B, C], file: floors.csv}";
    let case = read(later).unwrap();
    let change = case.readings[1]
        .computed
        .iter()
        .find(|one| one.reading.name == "change")
        .unwrap();
    assert!(change.reading.value.abs() < 1e-9, "the same readings twice");
    assert!(case.readings[0].computed.iter().all(|one| one.reading.name != "change"));
}

#[test]
fn a_short_trend_says_so_and_gives_no_rate() {
    let rest = "passes: [{pass: first}]\ntrends:\n  - id: widths\n    points: {A: {at: south, clue: step_crack_veneer}}\n    sheet:\n      error: 0.2 mm\n      readings:\n        - {point: A, date: 2026-01-02, width: 1 mm}\n        - {point: A, date: 2026-03-02, width: 1.6 mm}\n        - {point: A, date: 2026-05-02, width: 2.1 mm}\n        - {point: B, date: 2026-05-02, width: 2.1 mm}\n";
    let case = house(rest);
    let sheet = &case.readings[0];
    let names: Vec<&str> = sheet.computed.iter().map(|one| one.reading.name).collect();
    assert_eq!(names, ["crack-width"], "less than a year: no rate");
    assert_eq!(sheet.computed[0].reading.value, 2.1);
    assert_eq!(sheet.computed[0].clue.as_deref(), Some("step_crack_veneer"));
    assert!(
        sheet.notes.iter().any(|note| note.contains("B was given no place")),
        "{:?}",
        sheet.notes
    );
}

#[test]
fn a_lintel_that_is_not_bare_still_gives_what_was_seen() {
    let rest = "passes: [{pass: first}]\nlintels:\n  - {id: wide, at: window, sheet: {angle: 5 x 3 1/2 x 5/16, clear_span: 16 ft, brick_height: 2 ft, sight_line: {left: 0 in, middle: 3/4 in, right: 0 in}, left_seat: 2 in}}\n";
    let case = house(rest);
    let sheet = &case.readings[0];
    let names: Vec<&str> = sheet.computed.iter().map(|one| one.reading.name).collect();
    assert_eq!(
        names,
        ["lintel-dip", "lintel-dip-ratio", "lintel-seat", "lintel-seat-short"]
    );
    assert!(
        sheet
            .notes
            .iter()
            .any(|note| note.starts_with("No dip to expect was reckoned")),
        "{:?}",
        sheet.notes
    );
    // 4 in less 2 in.
    assert!((sheet.computed[3].reading.value - 50.8).abs() < 1e-9);
}

fn with(sheets: &str) -> Result<Case, Problems> {
    let house = super::house("").to_yaml();
    Case::read_with(
        "a.yaml",
        &format!("{house}passes: [{{pass: first}}]\n{sheets}"),
        &mut |file| {
            Ok((
                file.to_owned(),
                FLOORS.replace("SIGN", if file == "high.csv" { "" } else { "-" }),
            ))
        },
    )
}

/// A floor whose middle stands 1 in off the line between its ends along its low-y side.
const FLOORS: &str = "# error: 1/16 in
# units: {plan: ft, readings: in}
point,x,y,reading
A,0,0,0
B,20,0,SIGN1
C,40,0,0
D,10,0,SIGN0.75
E,30,0,SIGN0.75
F,0,20,0
G,20,20,SIGN1
H,40,20,0
I,10,20,SIGN0.75
J,30,20,SIGN0.75
";

fn cracks(file: &str, upper: &str) -> Case {
    with(&format!(
        "surveys: [{{id: floors, file: {file}, sides: {{y_low: south}}}}]
cracks:
  - id: stepped
    at: south
    clue: crack
    survey: floors
    sheet:
      error: 0.5 mm
      moved: left
      cracks:
        - {{name: A, lower: {{along: 6 ft, up: 1 ft, width: 2 mm}}, upper: {{along: 9 ft, up: 7 ft, width: {upper}}}}}
"
    ))
    .unwrap()
}

#[test]
fn cracks_are_held_against_the_floor() {
    let said = |file: &str, upper: &str| {
        let case = cracks(file, upper);
        let sheet = case.readings.iter().find(|one| one.id == "stepped").unwrap().clone();
        let note = sheet
            .notes
            .iter()
            .find(|note| note.starts_with("Floor and cracks"))
            .cloned();
        (sheet, note.unwrap_or_default())
    };
    let (sheet, agree) = said("high.csv", "5 mm");
    assert!(
        agree.starts_with("Floor and cracks agree") && agree.contains("wider at the top"),
        "{agree}"
    );
    let bend = sheet
        .computed
        .iter()
        .find(|one| one.reading.name == "floor-bend-along")
        .unwrap();
    // 1 in over 40 ft, middle high.
    assert!(
        (bend.reading.value - 1.0 / 480.0).abs() < 1e-9,
        "{}",
        bend.reading.value
    );
    assert_eq!(sheet.computed[0].findings, ["wider_up"]);
    assert_eq!(sheet.computed[0].clue.as_deref(), Some("crack"));
    let (_, disagree) = said("low.csv", "5 mm");
    assert!(disagree.starts_with("Floor and cracks disagree"), "{disagree}");
    let (sheet, cannot) = said("high.csv", "2 mm");
    assert!(cannot.contains("can't be compared"), "{cannot}");
    assert!(sheet.computed[0].findings.is_empty() || sheet.computed[0].findings == ["even_width"]);
}

#[test]
fn bad_sheets_of_cracks_and_sites_are_told_of() {
    let refused = |sheets: &str, want: &str| {
        let error = with(sheets).unwrap_err().to_string();
        assert!(error.contains(want), "{sheets}: {error}");
    };
    let crack = |sheet: &str, rest: &str| format!("cracks: [{{id: c, at: south{rest}, sheet: {{{sheet}}}}}]\n");
    refused(&crack("cracks: []", ""), "there are no cracks");
    let one = "{name: A, lower: {along: 0 ft, up: 0 ft, width: 1 mm}, upper: {along: 0 ft, up: 6 ft}";
    refused(
        &crack(&format!("cracks: [{one}}}]"), ""),
        "which side of the crack moved",
    );
    refused(
        &crack(&format!("moved: up, cracks: [{one}}}]"), ""),
        "`up` is not a choice",
    );
    refused(
        &crack(&format!("moved: left, cracks: [{one}}}, {one}}}]"), ""),
        "listed twice",
    );
    let flat = "{name: A, lower: {along: 0 ft, up: 0 ft, width: 1 mm}, upper: {along: 0 ft, up: 0 ft}}";
    refused(&crack(&format!("moved: left, cracks: [{flat}]"), ""), "has no length");
    refused(
        &crack(&format!("moved: left, cracks: [{one}}}]"), ", survey: floors"),
        "the case has no survey",
    );
    let nan = one.replace("1 mm", ".nan");
    assert!(with(&crack(&format!("moved: left, cracks: [{nan}}}]"), "")).is_err());
    let site = |sheet: &str| format!("sites: [{{id: s, sheet: {{{sheet}}}}}]\n");
    refused(&site("title: none"), "nothing is told of the site");
    refused(&site("soil: {plasticity_index: wet}"), "not read as a number");
    refused(&site("soil: {plasticity_index: -4}"), "0 to 1000");
    refused(&site("falls: [{name: a, fall: 6 in, run: 0 in}]"), "run of a fall");
    refused(
        &site("trees: [{name: a, distance: 3 m, species: englsh oak}]"),
        "did you mean `English oak`",
    );
    refused(
        &site("trees: [{name: a, distance: 3 m}]"),
        "height of the tree is missing",
    );
}
