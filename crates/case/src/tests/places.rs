use super::*;

fn index(case: &Case, id: &str) -> usize {
    case.place(id).expect("is there")
}

#[test]
fn the_house_is_always_first() {
    let ids = |text: &str| {
        let case = Case::read("a.yaml", text).expect("reads");
        case.places
            .into_iter()
            .map(|place| (place.id, place.within))
            .collect::<Vec<_>>()
    };
    assert_eq!(ids("format: 1\nid: a\n"), [("house".into(), None)]);
    let listed = "format: 1\nid: a\nplaces:\n  - {id: r, kind: room}\n  - {id: house, kind: house, label: The house}\n";
    assert_eq!(ids(listed), [("house".into(), None), ("r".into(), Some(0))]);
}

#[test]
fn lying_in_holds_over_any_number_of_steps() {
    let case = house("");
    let [south, window, kitchen, door] = ["south", "window", "kitchen", "back-door"].map(|id| index(&case, id));
    assert!(case.contains(south, window));
    assert!(case.contains(0, window) && case.contains(0, south) && case.contains(kitchen, door));
    assert!(!case.contains(window, south) && !case.contains(south, south) && !case.contains(kitchen, window));
    assert_eq!(case.around(door).collect::<Vec<_>>(), [kitchen, 0]);
}

#[test]
fn touching_goes_both_ways_and_into_what_is_inside() {
    let case = house("");
    let places = ["south", "west", "south-west", "window", "kitchen", "back-door"].map(|id| index(&case, id));
    let [south, west, corner, window, kitchen, door] = places;
    let pairs = [
        (south, corner),
        (west, corner),
        (corner, window),
        (south, kitchen),
        (south, door),
        (kitchen, window),
    ];
    for one in 0..case.places.len() {
        for two in 0..case.places.len() {
            // The window lies in the south wall, which the kitchen touches; the door lies in the kitchen. Neither of
            // window and door lies in a place that the other touches.
            let expected = pairs.contains(&(one, two)) || pairs.contains(&(two, one));
            assert_eq!(
                case.touching(one, two),
                expected,
                "{} {}",
                case.places[one].id,
                case.places[two].id
            );
        }
    }
    assert_eq!(case.places[south].touches, [corner, kitchen]);
}

#[test]
fn a_loop_made_in_memory_ends() {
    let mut case = Case::new("a", "a");
    case.places.extend([Place::new("b", "room"), Place::new("c", "room")]);
    (case.places[1].within, case.places[2].within) = (Some(2), Some(1));
    assert!(case.contains(2, 1));
    assert!(!case.touching(1, 2));
    assert!(!case.contains(7, 9));
}

#[test]
fn a_place_never_touches_what_it_lies_in() {
    let mut case = Case::new("a", "a");
    case.places
        .extend([Place::new("wall", "wall"), Place::new("window", "opening")]);
    case.places[2].within = Some(1);
    case.places[1].touches = vec![1, 2];
    assert!(!case.touching(1, 2) && !case.touching(2, 1) && !case.touching(1, 1));
}
