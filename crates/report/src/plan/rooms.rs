//! Rooms inside the outline: in rows from back to front and from left to right, by what each touches.

use std::collections::BTreeMap;

use super::house::House;
use super::sides::{Side, named};

/// Most rooms in a row.
const MOST: usize = 4;

/// One row of rooms, as indices of places, from left to right.
pub(super) type Row = Vec<usize>;

/// The rows of rooms, from the back to the front: one at least.
pub(super) fn rows(house: &House<'_>) -> Vec<Row> {
    let points = points(house);
    let mut bands: [Vec<(f64, usize)>; 3] = Default::default();
    for room in &house.rooms {
        let (x, y) = anchor(house, *room, &points);
        let band = if y < 0.34 {
            0
        } else if y <= 0.66 {
            1
        } else {
            2
        };
        if let Some(band) = bands.get_mut(band) {
            band.push((x, *room));
        }
    }
    let mut rows = Vec::new();
    for mut band in bands {
        band.sort_by(|a, b| a.0.total_cmp(&b.0));
        let count = band.len().div_ceil(MOST).max(1);
        let each = band.len().div_ceil(count).max(1);
        rows.extend(
            band.chunks(each)
                .map(|row| row.iter().map(|(_, room)| *room).collect::<Row>()),
        );
    }
    if rows.is_empty() {
        rows.push(Vec::new());
    }
    rows
}

/// Where walls and corners are, as shares of width and depth from the back left.
fn points(house: &House<'_>) -> BTreeMap<usize, (f64, f64)> {
    let mut points = BTreeMap::new();
    for (wall, corner) in house.walls.iter().zip(&house.corners) {
        points.insert(wall.at, on(wall.side, (wall.from + wall.to) / 2.0));
        if let Some(corner) = corner {
            points.insert(*corner, on(wall.side, wall.from));
        }
    }
    points
}

/// A point of the outline.
pub(super) fn on(side: Side, share: f64) -> (f64, f64) {
    match side {
        Side::Front => (share, 1.0),
        Side::Right => (1.0, 1.0 - share),
        Side::Back => (1.0 - share, 0.0),
        Side::Left => (0.0, share),
    }
}

/// The middle of what a room touches; else of the sides that its name speaks of; else of the house.
fn anchor(house: &House<'_>, room: usize, points: &BTreeMap<usize, (f64, f64)>) -> (f64, f64) {
    let Some(place) = house.case.places.get(room) else {
        return (0.5, 0.5);
    };
    let mut met: Vec<(f64, f64)> = place.touches.iter().filter_map(|at| points.get(at)).copied().collect();
    if met.is_empty() {
        met.extend(named(place).into_iter().map(|side| on(side, 0.5)));
    }
    if met.is_empty() {
        return (0.5, 0.5);
    }
    let count = met.len() as f64;
    let sum = met.iter().fold((0.0, 0.0), |sum, at| (sum.0 + at.0, sum.1 + at.1));
    (sum.0 / count, sum.1 / count)
}
