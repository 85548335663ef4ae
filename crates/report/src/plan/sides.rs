//! Which side of the outline each wall lies on, and where: by its name, else by its turn in the ring that the corners
//! make of the walls.

use std::collections::BTreeMap;

use wythe_case::{Case, Place};

/// A side of the outline, anticlockwise as drawn: the front is at the foot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Side {
    Front,
    Right,
    Back,
    Left,
}

impl Side {
    pub const ALL: [Side; 4] = [Side::Front, Side::Right, Side::Back, Side::Left];

    fn index(self) -> usize {
        match self {
            Side::Front => 0,
            Side::Right => 1,
            Side::Back => 2,
            Side::Left => 3,
        }
    }
}

/// A wall, as a stretch of a side. Anticlockwise is from left to right for someone who stands outside before it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Wall {
    /// Index of the place.
    pub at: usize,
    pub side: Side,
    /// Where it begins, as a share of the side, anticlockwise.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
}

/// Words that speak of a side.
const NAMES: [(Side, [&str; 3]); 4] = [
    (Side::Front, ["front", "street", "south"]),
    (Side::Right, ["right", "east", "eastern"]),
    (Side::Back, ["back", "rear", "north"]),
    (Side::Left, ["left", "west", "western"]),
];

/// Whether a word speaks of a side.
pub(super) fn is_side(word: &str) -> bool {
    NAMES.iter().any(|(_, names)| names.contains(&word))
}

/// The sides that a place's name speaks of: ways round the compass, or as seen from the street.
pub(super) fn named(place: &Place) -> Vec<Side> {
    let text = format!("{} {}", place.id, place.label).to_lowercase();
    let words: Vec<&str> = text.split(|c: char| !c.is_alphanumeric()).collect();
    let says = |names: &[&str]| names.iter().any(|name| words.contains(name));
    NAMES
        .into_iter()
        .filter(|(_, names)| says(names))
        .map(|(side, _)| side)
        .collect()
}

/// Every wall of the outline, anticlockwise from the left end of the front.
pub(super) fn walls(case: &Case, walls: &[usize], corners: &[usize]) -> Vec<Wall> {
    let mut ring = ring(case, walls, corners);
    let name = |at: &usize| match case.places.get(*at).map(named).as_deref() {
        Some([side]) => Some(*side),
        _ => None,
    };
    let mut sides: Vec<Option<Side>> = ring.iter().map(name).collect();
    if sides.iter().all(Option::is_none) {
        let count = sides.len().max(1);
        sides = (0..sides.len())
            .map(|turn| Side::ALL.get(turn * 4 / count).copied())
            .collect();
    }
    // A wall without a side carries on from the one before it in the ring.
    let mut last = sides.iter().rev().find_map(|side| *side).unwrap_or(Side::Front);
    let mut placed: Vec<(usize, Side)> = Vec::with_capacity(ring.len());
    for (at, side) in ring.drain(..).zip(sides) {
        last = side.unwrap_or(last);
        placed.push((at, last));
    }
    if turns(&placed) < 0 {
        placed.reverse();
    }
    // Begin where a side begins, so that no side is split between the two ends of the list.
    let before = |turn: usize| {
        placed
            .iter()
            .cycle()
            .skip(turn + placed.len() - 1)
            .map(|(_, side)| *side)
            .next()
    };
    let starts = |side: Side| {
        placed
            .iter()
            .enumerate()
            .position(|(turn, (_, here))| *here == side && before(turn) != Some(side))
    };
    if let Some(turn) = Side::ALL.into_iter().find_map(starts) {
        placed.rotate_left(turn);
    }
    placed.sort_by_key(|(_, side)| *side);
    Side::ALL
        .into_iter()
        .flat_map(|side| {
            let mine: Vec<usize> = placed
                .iter()
                .filter(|(_, here)| *here == side)
                .map(|(at, _)| *at)
                .collect();
            let count = mine.len() as f64;
            mine.into_iter().enumerate().map(move |(turn, at)| Wall {
                at,
                side,
                from: turn as f64 / count,
                to: (turn as f64 + 1.0) / count,
            })
        })
        .collect()
}

/// Quarter turns anticlockwise less those clockwise, all the way round.
fn turns(placed: &[(usize, Side)]) -> i32 {
    let next = placed.iter().cycle().skip(1);
    placed
        .iter()
        .zip(next)
        .map(|((_, from), (_, to))| match (to.index() + 4 - from.index()) % 4 {
            1 => 1,
            3 => -1,
            _ => 0,
        })
        .sum()
}

/// The walls in the order in which corners join them; those that no corner joins in the order of the case.
fn ring(case: &Case, walls: &[usize], corners: &[usize]) -> Vec<usize> {
    let mut joined: BTreeMap<usize, Vec<usize>> = walls.iter().map(|at| (*at, Vec::new())).collect();
    for corner in corners.iter().filter_map(|at| case.places.get(*at)) {
        let met: Vec<usize> = corner
            .touches
            .iter()
            .copied()
            .filter(|at| joined.contains_key(at))
            .collect();
        if let [one, other] = met.as_slice() {
            joined.entry(*one).or_default().push(*other);
            joined.entry(*other).or_default().push(*one);
        }
    }
    let mut order = Vec::with_capacity(walls.len());
    let mut left: std::collections::BTreeSet<usize> = walls.iter().copied().collect();
    for start in walls {
        let mut next = Some(*start).filter(|at| left.contains(at));
        while let Some(here) = next {
            left.remove(&here);
            order.push(here);
            next = joined
                .get(&here)
                .and_then(|met| met.iter().find(|at| left.contains(at)))
                .copied();
        }
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    fn house(names: &[&str], ring: &[(usize, usize)]) -> Vec<(String, Side)> {
        let mut case = Case::new("h", "h");
        for name in names {
            case.places.push(Place::new(name, "wall"));
        }
        for (number, (one, other)) in ring.iter().enumerate() {
            case.places.push(Place {
                touches: vec![*one, *other],
                ..Place::new(&format!("c{number}"), "corner")
            });
        }
        let all: Vec<usize> = (1..=names.len()).collect();
        let corners: Vec<usize> = (names.len() + 1..case.places.len()).collect();
        walls(&case, &all, &corners)
            .into_iter()
            .map(|wall| (case.places[wall.at].id.clone(), wall.side))
            .collect()
    }

    #[test]
    fn names_place_walls_whatever_their_order() {
        let placed = house(&["left", "rear", "front-wall", "east"], &[]);
        let sides: Vec<(&str, Side)> = placed.iter().map(|(name, side)| (name.as_str(), *side)).collect();
        assert_eq!(
            sides,
            [
                ("front-wall", Side::Front),
                ("east", Side::Right),
                ("rear", Side::Back),
                ("left", Side::Left)
            ]
        );
    }

    #[test]
    fn corners_make_a_ring_of_walls_without_names() {
        let placed = house(&["a", "b", "c", "d"], &[(1, 3), (3, 2), (2, 4), (4, 1)]);
        let order: String = placed.iter().map(|(name, _)| name.as_str()).collect();
        assert_eq!(order, "acbd");
        assert_eq!(placed.iter().map(|(_, side)| *side).collect::<Vec<_>>(), Side::ALL);
    }

    #[test]
    fn a_jog_in_the_front_keeps_its_turn() {
        // Round a house: front, a set-back without a name, right, back, left.
        let placed = house(
            &["front", "jog", "right", "back", "left"],
            &[(1, 2), (2, 3), (3, 4), (4, 5), (5, 1)],
        );
        assert_eq!(placed[0], ("front".into(), Side::Front));
        assert_eq!(placed[1], ("jog".into(), Side::Front));
        assert_eq!(placed[4], ("left".into(), Side::Left));
    }

    #[test]
    fn no_walls_is_no_walls() {
        assert!(house(&[], &[]).is_empty());
    }
}
