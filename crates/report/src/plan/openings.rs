//! At which room an opening in a wall stands: at the one that it touches, else at the one that it is named after. A case
//! says in which wall an opening lies, and seldom where along it.

use std::collections::BTreeSet;

use wythe_case::{Case, Place};

use super::house::House;
use super::sides::{Side, Wall, is_side};
use super::storeys::is_storey;

/// Words that tell no room from another.
const SMALL: [&str; 9] = ["the", "to", "of", "from", "at", "in", "on", "and", "a"];

/// The openings of a wall at one room.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct AtRoom {
    /// Index of the room's place.
    pub room: usize,
    /// The row of rooms that it stands in.
    pub row: usize,
    /// Its stretch of the row, as shares from left to right.
    pub from: f64,
    pub to: f64,
    /// The openings, in the order of the case.
    pub openings: Vec<usize>,
}

/// The openings of a wall: those at rooms, anticlockwise; and those of which nobody says where along the wall they are.
pub(super) fn along(house: &House<'_>, wall: usize) -> (Vec<AtRoom>, Vec<usize>) {
    let (mut at_rooms, mut rest): (Vec<AtRoom>, Vec<usize>) = Default::default();
    let openings = house.openings.get(wall).map_or(&[][..], Vec::as_slice);
    let Some(wall) = house.walls.get(wall) else {
        return (at_rooms, rest);
    };
    for opening in openings {
        let room = room_of(house.case, *opening, &house.rooms).and_then(|room| cell(house, wall, room));
        match room {
            None => rest.push(*opening),
            Some(new) => match at_rooms.iter_mut().find(|known| known.room == new.room) {
                Some(known) => known.openings.push(*opening),
                None => at_rooms.push(AtRoom {
                    openings: vec![*opening],
                    ..new
                }),
            },
        }
    }
    at_rooms.sort_by(|a, b| match wall.side {
        Side::Front => a.from.total_cmp(&b.from),
        Side::Back => b.from.total_cmp(&a.from),
        Side::Left => a.row.cmp(&b.row),
        Side::Right => b.row.cmp(&a.row),
    });
    (at_rooms, rest)
}

/// Where a room is drawn, if it is drawn along that wall and the case says that it touches it.
fn cell(house: &House<'_>, wall: &Wall, room: usize) -> Option<AtRoom> {
    if !house.case.places.get(room)?.touches.contains(&wall.at) {
        return None;
    }
    let of_it = |row: &Vec<usize>| row.iter().position(|one| *one == room);
    let (row, turn) = house
        .rows
        .iter()
        .enumerate()
        .find_map(|(row, rooms)| Some((row, of_it(rooms)?)))?;
    let rows = house.rows.len() as f64;
    let in_row = house.rows.get(row)?.len();
    let (from, to) = (turn as f64 / in_row as f64, (turn as f64 + 1.0) / in_row as f64);
    let down = (row as f64 / rows, (row as f64 + 1.0) / rows);
    let (beside, own, stretch) = match wall.side {
        Side::Front => (row + 1 == house.rows.len(), (from, to), (wall.from, wall.to)),
        Side::Back => (row == 0, (from, to), (1.0 - wall.to, 1.0 - wall.from)),
        Side::Left => (turn == 0, down, (wall.from, wall.to)),
        Side::Right => (turn + 1 == in_row, down, (1.0 - wall.to, 1.0 - wall.from)),
    };
    let shared = own.1.min(stretch.1) - own.0.max(stretch.0);
    (beside && shared >= (own.1 - own.0) / 2.0).then(|| {
        let along = matches!(wall.side, Side::Front | Side::Back);
        AtRoom {
            room,
            row,
            from: if along { from.max(stretch.0) } else { from },
            to: if along { to.min(stretch.1) } else { to },
            openings: Vec::new(),
        }
    })
}

/// The room of an opening: the only one that it touches; else the one whose name shares most letters, in whole words,
/// with its own. Where two do so alike, none.
fn room_of(case: &Case, opening: usize, rooms: &[usize]) -> Option<usize> {
    let place = case.places.get(opening)?;
    let touched: Vec<usize> = rooms
        .iter()
        .copied()
        .filter(|room| place.touches.contains(room))
        .collect();
    if let [room] = touched.as_slice() {
        return Some(*room);
    }
    let own = words(place);
    let mut best: Vec<(usize, usize)> = rooms
        .iter()
        .filter(|room| touched.is_empty() || touched.contains(room))
        .filter_map(|room| {
            let other = words(case.places.get(*room)?);
            let shared: Vec<&String> = other.intersection(&own).collect();
            // A number, a side or a storey by itself names no room: the front door need not be the front bedroom's.
            let tells = |word: &str| !is_side(word) && !is_storey(word) && word.parse::<u32>().is_err();
            let names = shared.iter().any(|word| tells(word));
            names.then_some((shared.iter().map(|word| word.len()).sum::<usize>(), *room))
        })
        .collect();
    best.sort_by_key(|(shared, _)| std::cmp::Reverse(*shared));
    match best.as_slice() {
        [(most, room), rest @ ..] if rest.first().is_none_or(|(other, _)| other < most) => Some(*room),
        _ => None,
    }
}

/// The words of a place's name and id that tell it from others of its kind.
fn words(place: &Place) -> BTreeSet<String> {
    let split = |text: &str| -> Vec<String> {
        text.to_lowercase()
            .split(|c: char| !c.is_alphanumeric())
            .filter(|word| !word.is_empty() && !SMALL.contains(word))
            .map(str::to_owned)
            .collect()
    };
    let kind = split(&place.kind);
    split(&format!("{} {}", place.id, place.label))
        .into_iter()
        .filter(|word| !kind.contains(word))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn room(named: &str, rooms: &[&str], touches: &[usize]) -> Option<String> {
        let mut case = Case::new("h", "h");
        for room in rooms {
            case.places.push(Place::new(room, "room"));
        }
        let opening = case.places.len();
        case.places.push(Place {
            touches: touches.to_vec(),
            ..Place::new(named, "opening")
        });
        let all: Vec<usize> = (1..opening).collect();
        room_of(&case, opening, &all).map(|at| case.places[at].id.clone())
    }

    #[test]
    fn the_longest_name_in_common_wins_and_a_tie_tells_nothing() {
        let rooms = ["bedroom", "corner bedroom", "family room", "mud room"];
        assert_eq!(
            room("corner bedroom window", &rooms, &[]).as_deref(),
            Some("corner bedroom")
        );
        assert_eq!(room("family-room window", &rooms, &[]).as_deref(), Some("family room"));
        let two = ["front bedroom 1", "front bedroom 2"];
        assert_eq!(room("bedroom window", &two, &[]), None);
        assert_eq!(
            room("window 2 of bedroom 1", &["bedroom 1"], &[]).as_deref(),
            Some("bedroom 1")
        );
        assert_eq!(room("bedroom 2 window", &two, &[]).as_deref(), Some("front bedroom 2"));
        assert_eq!(
            room("front door 2", &two, &[]),
            None,
            "a side and a number name no room"
        );
        assert_eq!(room("entry", &rooms, &[]), None);
        assert_eq!(room("dining room window", &rooms, &[]), None, "\"room\" names no room");
    }

    #[test]
    fn what_the_case_says_goes_before_names() {
        let rooms = ["study", "kitchen"];
        assert_eq!(room("study window", &rooms, &[2]).as_deref(), Some("kitchen"));
        assert_eq!(room("study window", &rooms, &[1, 2]).as_deref(), Some("study"));
    }
}
