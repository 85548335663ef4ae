use super::*;

const HEAD: &str = "format: 1\nerror: 1/16 in\nunits: {plan: ft, readings: in}\nreadings:\n";

fn problems<T: std::fmt::Debug>(read: Result<T, wythe_text::Problems>) -> String {
    read.unwrap_err().to_string()
}

#[test]
fn yaml_and_csv_give_the_same_book() {
    let yaml = format!(
        "{HEAD}  - {{point: A, x: 0, y: 0, reading: 0.5}}\n  - {{point: B, x: 12, y: 0, reading: 1/4 in}}\n  - {{point: C, x: 0, y: 3 m, reading: 0}}\n"
    );
    let csv = "# error: 1/16 in\n# units: {plan: ft, readings: in}\n\npoint, reading, x, y\nA,0.5,0,0\nB,1/4 in,12,0\n\n# a remark\nC,0,0,3 m\n";
    let (yaml, csv) = (
        Survey::read("a.yaml", &yaml).unwrap(),
        Survey::read("a.csv", csv).unwrap(),
    );
    assert_eq!(yaml.book, csv.book);
    assert_eq!(yaml.book.shots[1].reading.as_inches(), 0.25);
    assert!((yaml.book.sd_mm - 1.5875 / 1.959_963_984_540_054).abs() < 1e-12);
}

#[test]
fn every_problem_has_its_line_and_column() {
    let csv = "# error: 1/16 in\npoint,x,y,reading\nA,0 ft,0 ft,NaN\nB,12 ft,0 ft,\nC,12,0 ft,1 in\n\"D\", 1 ft ,2 ft,2 furlongs,5\n";
    let text = problems(Survey::read("a.csv", csv));
    for part in [
        "a.csv:3:13: `NaN` is not a finite number",
        "a.csv:4:1: `reading` is missing",
        "a.csv:5:3: `12` is not read as a length",
        "a.csv:6:17: `2 furlongs`",
        "a.csv:6:28: this is one value more",
    ] {
        assert!(text.contains(part), "{part}\n{text}");
    }
    let text = problems(Survey::read(
        "a.yaml",
        &format!("{HEAD}  - {{point: A, x: .nan, y: 0, reading: 1}}\n"),
    ));
    assert!(text.contains("a.yaml:5:"), "{text}");
    assert!(problems(Survey::read("a.csv", "point,x,z\n")).contains("a.csv:1:9: `z` is not a column"));
    assert!(problems(Survey::read("a.csv", "")).contains("no table"));
    assert!(
        problems(Survey::read("a.csv", "point,x,y,reading\n\"A,0,0,0\nB,1,1,1\n"))
            .contains("a.csv:2:1: this row can't be read")
    );
    assert!(
        problems(Survey::read("a.csv", "point,x,y,reading\nA\u{202e},0 in,0 in,0 in\n"))
            .contains("a.csv:2:2: the control character U+202E")
    );
}

#[test]
fn what_stops_a_survey_points_at_its_row() {
    let csv = "point,x,y,reading\nA,0 ft,0 ft,1 in\nB,9 ft,0 ft,1 in\nC,9 ft,9 ft,1 in\nA,5 ft,0 ft,1 in\n";
    assert!(
        problems(Survey::read("a.csv", csv).unwrap().reduce()).contains("a.csv:2:1: point `A` is given at two places")
    );
}

#[test]
fn downgrades_are_stated() {
    let csv = "point,x,y,reading\nA,0 ft,0 ft,1 in\nB,9 ft,0 ft,20 mm\nC,9 ft,9 ft,1 in\n";
    let notes = Survey::read("a.csv", csv).unwrap().notes.join("\n");
    for part in ["No instrument error", "inches and in millimetres", "one station"] {
        assert!(notes.contains(part), "{part}: {notes}");
    }
}

#[test]
fn instruments_stand_apart_and_the_coarser_counts() {
    let csv = "# instruments: [{name: zip, error: 1 mm}, {name: laser, error: 3 mm}]\npoint,x,y,reading,instrument\nA,0 ft,0 ft,1 in,zip\nB,9 ft,0 ft,1 in,zip\nC,9 ft,9 ft,1 in,zip\nA,0 ft,0 ft,2 in,laser\nD,5 ft,9 ft,2 in,laser\n";
    let survey = Survey::read("a.csv", csv).unwrap();
    assert!((survey.book.sd_mm - 3.0 / 1.959_963_984_540_054).abs() < 1e-12);
    let levels = survey.reduce().unwrap().levels;
    assert!((levels.points()[3].z - levels.points()[0].z).abs() < 1e-6);
    assert!(
        problems(Survey::read("a.csv", &csv.replace("2 in,laser", "2 in,lazer")))
            .contains("a.csv:6:18: the instrument `lazer` is not listed")
    );
}

#[test]
fn dated_readings() {
    let csv = "# error: 0.1 mm\n# units: mm\npoint,date,width\nstudy,2025-01-10,2\nstudy,2025-01-10,2.2\nhall,2025-02-30,1\nhall,2025-03-01,1\n";
    let text = problems(CrackReadings::read("a.csv", csv));
    assert!(text.contains("a.csv:6:6:"), "{text}");
    let read = CrackReadings::read("a.csv", &csv.replace("02-30", "02-28")).unwrap();
    assert_eq!((read.points.len(), read.points[1].readings[1].value_mm), (2, 1.0));
}

#[test]
fn a_lintel() {
    let yaml = "format: 1\nangle: 3-1/2 x 3-1/2 x 5/16\nclear_span: 6 ft\nbrick_height: 4 ft\nsight_line: {left: 1 in, middle: 1 1/4 in, right: 1 in, error: 1/32 in}\n";
    let read = Lintel::read("a.yaml", yaml).unwrap();
    assert_eq!(read.lintel.angle.name, "3-1/2 x 3-1/2 x 5/16");
    assert!((read.dip_mm.unwrap().value - 6.35).abs() < 1e-9);
    let text = problems(Lintel::read(
        "a.yaml",
        "format: 1\nangle: big\nclear_span: 6\ncount: 9\n",
    ));
    for part in [
        "a.yaml:2:8: an angle has two legs",
        "a.yaml:3:13: `6` is not read",
        "`brick_height` is missing",
        "a.yaml:4:8: one angle or two",
    ] {
        assert!(text.contains(part), "{part}\n{text}");
    }
}
