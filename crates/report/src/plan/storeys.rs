//! On which storey a place is: what its name says of it, or the name of what it lies in; else on the ground. Each storey is
//! a plan of its own.

use std::collections::BTreeSet;

use wythe_case::Case;

use super::house::House;
use super::rooms;

/// A storey, in the order in which they are drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Storey {
    #[default]
    Ground,
    Upper,
    Third,
    Attic,
    Basement,
}

/// Words that speak of a storey; a number does so only before "floor" or "storey".
const NAMES: [(Storey, &[&str], &[&str]); 4] = [
    (Storey::Upper, &["upstairs", "upper"], &["second", "2nd"]),
    (Storey::Third, &[], &["third", "3rd"]),
    (Storey::Attic, &["attic", "loft"], &[]),
    (Storey::Basement, &["basement", "cellar"], &[]),
];

/// Whether a word speaks of a storey, and so of no room.
pub(super) fn is_storey(word: &str) -> bool {
    NAMES.iter().any(|(_, words, _)| words.contains(&word))
        || ["downstairs", "floor", "storey", "story"].contains(&word)
}

impl Storey {
    /// What a plan of it is called.
    pub fn says(self) -> &'static str {
        match self {
            Storey::Ground => "Ground storey",
            Storey::Upper => "Upper storey",
            Storey::Third => "Third storey",
            Storey::Attic => "Attic",
            Storey::Basement => "Basement",
        }
    }

    /// The storey of a place.
    pub fn of(case: &Case, at: usize) -> Storey {
        std::iter::once(at)
            .chain(case.around(at).filter(|outer| *outer != 0))
            .find_map(|at| {
                case.places
                    .get(at)
                    .and_then(|place| named(&format!("{} {}", place.id, place.label)))
            })
            .unwrap_or_default()
    }
}

/// The storey that a name speaks of.
fn named(text: &str) -> Option<Storey> {
    let text = text.to_lowercase();
    let words: Vec<&str> = text.split(|c: char| !c.is_alphanumeric()).collect();
    let numbered = |numbers: &[&str]| {
        let mut pairs = words.windows(2);
        pairs.any(|pair| matches!(pair, [number, "floor" | "storey" | "story"] if numbers.contains(number)))
    };
    NAMES
        .into_iter()
        .find(|(_, names, numbers)| words.iter().any(|word| names.contains(word)) || numbered(numbers))
        .map(|(storey, ..)| storey)
}

/// The house storey by storey: the ground first, with the walls, the corners and the parts of the slab; each other one that
/// a room or an opening is on, with those.
pub(super) fn storeys<'c>(house: &House<'c>) -> Vec<House<'c>> {
    let on = |at: &usize| Storey::of(house.case, *at);
    let there = house.rooms.iter().chain(house.openings.iter().flatten());
    let mut all: BTreeSet<Storey> = there.map(on).collect();
    all.insert(Storey::Ground);
    let keep = |storey: Storey, places: &[usize]| -> Vec<usize> {
        places.iter().copied().filter(|at| on(at) == storey).collect()
    };
    all.into_iter()
        .map(|storey| {
            let ground = storey == Storey::Ground;
            let mut one = House {
                storey,
                walls: house.walls.clone(),
                corners: house.corners.iter().map(|at| at.filter(|_| ground)).collect(),
                openings: house.openings.iter().map(|some| keep(storey, some)).collect(),
                rooms: keep(storey, &house.rooms),
                rows: Vec::new(),
                doors: house.doors.clone(),
                parts: if ground { house.parts.clone() } else { Vec::new() },
                beside: Vec::new(),
                case: house.case,
            };
            one.rows = rooms::rows(&one);
            one
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use wythe_case::Place;

    #[test]
    fn a_name_or_what_it_lies_in_says_the_storey() {
        let mut case = Case::new("h", "h");
        case.places.push(Place::new("upstairs bedroom", "room"));
        case.places.push(Place {
            within: Some(1),
            ..Place::new("closet door", "door")
        });
        for name in [
            "second bedroom",
            "second floor hall",
            "loft",
            "basement den",
            "kitchen",
            "upper story bath",
        ] {
            case.places.push(Place::new(name, "room"));
        }
        let all: Vec<Storey> = (1..case.places.len()).map(|at| Storey::of(&case, at)).collect();
        use Storey::{Attic, Basement, Ground, Upper};
        assert_eq!(all, [Upper, Upper, Ground, Upper, Attic, Basement, Ground, Upper]);
    }
}
