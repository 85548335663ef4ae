//! A house as it is drawn: which places are walls, corners, openings, rooms, and which hang on which.

use std::collections::{BTreeMap, BTreeSet};

use wythe_case::Case;
use wythe_pack::{Drawn, Pack};

use crate::phrase::clean;

use super::block::Block;
use super::marks::Mark;
use super::rooms::{self, Row};
use super::sides::{self, Wall};
use super::storeys::Storey;

/// The places of a house by what they are in a drawing. Numbers are indices of places.
pub(super) struct House<'c> {
    pub case: &'c Case,
    /// The storey, of one that is drawn by itself.
    pub storey: Storey,
    /// Walls, anticlockwise from the left end of the front.
    pub walls: Vec<Wall>,
    /// The corner at the start of each wall, anticlockwise.
    pub corners: Vec<Option<usize>>,
    /// The openings in each wall.
    pub openings: Vec<Vec<usize>>,
    pub rooms: Vec<usize>,
    /// The rooms as they are drawn: rows from the back to the front, each from left to right.
    pub rows: Vec<Row>,
    /// What lies in each room.
    pub doors: BTreeMap<usize, Vec<usize>>,
    pub parts: Vec<usize>,
    /// Everything else, the house itself first.
    pub beside: Vec<usize>,
}

impl<'c> House<'c> {
    pub fn of(pack: &Pack, case: &'c Case) -> Self {
        let kinds: BTreeMap<&str, Drawn> = pack.kinds.iter().map(|kind| (kind.id.as_str(), kind.drawn)).collect();
        let mut of: BTreeMap<Drawn, Vec<usize>> = BTreeMap::new();
        for (at, place) in case.places.iter().enumerate() {
            let drawn = kinds.get(place.kind.as_str()).copied().unwrap_or_default();
            of.entry(drawn).or_default().push(at);
        }
        let mut take = |drawn: Drawn| of.remove(&drawn).unwrap_or_default();
        let (walls, corners) = (take(Drawn::Wall), take(Drawn::Corner));
        let (openings, doors) = (take(Drawn::Opening), take(Drawn::Door));
        let rooms = take(Drawn::Room);
        let parts = take(Drawn::Part);
        let mut beside = take(Drawn::Beside);
        let walls = sides::walls(case, &walls, &corners);
        let mut house = House {
            case,
            storey: Storey::default(),
            corners: vec![None; walls.len()],
            openings: vec![Vec::new(); walls.len()],
            walls,
            rooms,
            rows: Vec::new(),
            doors: BTreeMap::new(),
            parts,
            beside: Vec::new(),
        };
        let by_place: BTreeMap<usize, usize> = house.walls.iter().enumerate().map(|(n, wall)| (wall.at, n)).collect();
        for at in corners {
            match house.joint(at, &by_place) {
                Some(slot) => *slot = Some(at),
                None => beside.push(at),
            }
        }
        for at in openings {
            let wall = case.around(at).find_map(|outer| by_place.get(&outer)).copied();
            match wall.and_then(|wall| house.openings.get_mut(wall)) {
                Some(list) => list.push(at),
                None => beside.push(at),
            }
        }
        let rooms: BTreeSet<usize> = house.rooms.iter().copied().collect();
        for at in doors {
            let touched = case.places.get(at).map(|place| place.touches.as_slice());
            let touched = match touched {
                Some([room]) => Some(*room),
                _ => None,
            };
            match case.around(at).chain(touched).find(|outer| rooms.contains(outer)) {
                Some(room) => house.doors.entry(room).or_default().push(at),
                None => beside.push(at),
            }
        }
        beside.sort_unstable();
        house.beside = beside;
        house.rows = rooms::rows(&house);
        house
    }

    /// The free joint between two walls at which a corner stands: between those it touches, else at a free end of the
    /// one that it touches, else where the sides that its name speaks of meet.
    fn joint(&mut self, corner: usize, by_place: &BTreeMap<usize, usize>) -> Option<&mut Option<usize>> {
        let count = self.walls.len();
        let place = self.case.places.get(corner)?;
        let met: Vec<usize> = place
            .touches
            .iter()
            .filter_map(|at| by_place.get(at))
            .copied()
            .collect();
        let after = |wall: usize| (wall + 1).checked_rem(count).unwrap_or(0);
        let mut wanted: Vec<usize> = Vec::new();
        match met.as_slice() {
            [one, other] if after(*one) == *other => wanted.push(*other),
            [one, other] if after(*other) == *one => wanted.push(*one),
            [] => {
                let named = sides::named(place);
                let meets = |joint: &usize| {
                    let before = (joint + count).saturating_sub(1).checked_rem(count).unwrap_or(0);
                    let here = [before, *joint].map(|wall| self.walls.get(wall).map(|wall| wall.side));
                    named.len() == 2 && here[0] != here[1] && here.iter().flatten().all(|side| named.contains(side))
                };
                wanted.extend((0..count).find(meets));
            }
            walls => wanted.extend(walls.iter().flat_map(|wall| [*wall, after(*wall)])),
        }
        let free = wanted
            .into_iter()
            .find(|joint| self.corners.get(*joint) == Some(&None))?;
        self.corners.get_mut(free)
    }

    /// A place with its marks.
    pub fn block<'m>(&'m self, at: usize, marks: &'m BTreeMap<usize, Vec<Mark>>) -> Block<'m> {
        let place = self.case.places.get(at);
        Block {
            place: place.map_or("", |place| &place.id),
            label: place.map_or_else(String::new, |place| {
                if at == 0 {
                    "the house as a whole".into()
                } else {
                    clean(&place.label)
                }
            }),
            bold: false,
            marks: marks.get(&at).map_or(&[], Vec::as_slice),
            inside: Vec::new(),
        }
    }

    /// The same, its name in bold.
    pub fn bold<'m>(&'m self, at: usize, marks: &'m BTreeMap<usize, Vec<Mark>>) -> Block<'m> {
        Block {
            bold: true,
            ..self.block(at, marks)
        }
    }

    /// The name of a wall; above or below the ground without its marks, which stand there.
    pub fn wall<'m>(&'m self, at: usize, marks: &'m BTreeMap<usize, Vec<Mark>>) -> Block<'m> {
        match self.storey {
            Storey::Ground => self.bold(at, marks),
            _ => Block {
                place: "",
                marks: &[],
                ..self.bold(at, marks)
            },
        }
    }

    /// A room with what lies in it.
    pub fn room<'m>(&'m self, at: usize, marks: &'m BTreeMap<usize, Vec<Mark>>) -> Block<'m> {
        let doors = self.doors.get(&at).map_or(&[][..], Vec::as_slice);
        Block {
            inside: doors.iter().map(|door| self.block(*door, marks)).collect(),
            ..self.bold(at, marks)
        }
    }
}
