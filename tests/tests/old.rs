//! Files of every format so far still read, and mean what they meant. `tests/old/<format>` holds them; they never change.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "test code")]

use wythe::field::{read_cracks, read_lintel, read_survey};
use wythe::{Looked, Seen, Sure, read_case, read_pack};

const OLD: &str = "old/1";

#[test]
fn a_case_of_format_1() {
    let case = read_case(format!("{OLD}/case.yaml")).unwrap();
    assert_eq!(
        (
            case.id.as_str(),
            case.places.len(),
            case.contexts.len(),
            case.repairs.len()
        ),
        ("old-1", 5, 2, 1)
    );
    assert!(case.touching(1, 3) && case.contains(1, 4));
    let first = &case.passes[0].sightings;
    assert_eq!(
        (first[0].id.as_str(), first[0].sure, first[0].photos.len()),
        ("first.1", Sure::Fairly, 2)
    );
    assert_eq!(
        first[0].marks[1],
        ("taper".into(), vec!["wide_at_top".into(), "uniform".into()])
    );
    assert_eq!(first[1].seen, Seen::NoneThere { looked: Looked::Part });
    assert_eq!(
        first[2].seen,
        Seen::NotReached {
            why: "locked gate".into(),
            ask_access: true
        }
    );
    assert!(
        matches!(&first[4].seen, Seen::Measured { reading, from_photo: true, .. } if reading.text == "1/16 in ± 1/64 in")
    );
    let standing: Vec<&str> = case.standing().iter().map(|one| one.sighting.id.as_str()).collect();
    // The repair covers the step crack, the correction the corner pop, the second look the gap at the west.
    assert_eq!(standing, ["first.2", "second.2", "second.1", "first.5"]);
    assert!(wythe::weigh(wythe::built_in_pack(), &case).is_ok());
}

#[test]
fn a_pack_of_format_1() {
    let pack = read_pack(format!("{OLD}/pack")).unwrap();
    assert_eq!(
        (
            pack.mechanisms.len(),
            pack.responses.len(),
            pack.clues.len(),
            pack.limits.len()
        ),
        (2, 2, 2, 1)
    );
    // What its format had no name for yet.
    assert_eq!(pack.policy.look_hour, 0.2);
}

#[test]
fn sheets_of_format_1() {
    assert!(read_survey(format!("{OLD}/survey.yaml")).is_ok());
    assert!(read_cracks(format!("{OLD}/trend.csv")).is_ok());
    assert!(read_lintel(format!("{OLD}/lintel.yaml")).is_ok());
}

/// Every format has its folder here, and the readers know no other.
#[test]
fn every_format_has_its_files() {
    let folders = std::fs::read_dir("old").unwrap().count() as i64;
    assert_eq!(folders, wythe_case::FORMAT);
    assert_eq!(folders, wythe_pack::FORMAT);
}
