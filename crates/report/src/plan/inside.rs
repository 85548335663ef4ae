//! Inside the outline: rooms in rows, and the parts of the slab below the rooms that stand on them.

use std::collections::BTreeMap;

use crate::svg::{Anchor, Svg};

use super::block::{GAP, View};
use super::ground::Area;
use super::house::House;
use super::marks::Mark;
use super::rooms::Row;
use super::sides::{Side, named};

/// Lowest row of rooms.
const LOWEST: f64 = 84.0;

/// Rows of rooms, and under each the parts of the slab that end there.
pub(super) struct Inside<'h> {
    house: &'h House<'h>,
    marks: &'h BTreeMap<usize, Vec<Mark>>,
    /// The least height of each row: what stands at the walls beside it.
    least: Vec<f64>,
    /// The parts under each row.
    parts: Vec<Vec<Part>>,
    width: f64,
}

/// A part of the slab: its place, the rows that it takes in, and from where to where.
struct Part {
    at: usize,
    first: usize,
    from: f64,
    to: f64,
}

impl<'h> Inside<'h> {
    pub fn of(house: &'h House<'h>, marks: &'h BTreeMap<usize, Vec<Mark>>, width: f64, least: Vec<f64>) -> Self {
        let mut inside = Inside {
            house,
            marks,
            least,
            parts: house.rows.iter().map(|_| Vec::new()).collect(),
            width,
        };
        for at in &house.parts {
            let (part, last) = inside.part(*at);
            if let Some(under) = inside.parts.get_mut(last) {
                under.push(part);
            }
        }
        inside
    }

    /// Where a part lies: below the rooms that touch it, else by its name, else under everything.
    fn part(&self, at: usize) -> (Part, usize) {
        let touches = |room: &usize| {
            let of = |one: usize, other: &usize| {
                self.house
                    .case
                    .places
                    .get(one)
                    .is_some_and(|place| place.touches.contains(other))
            };
            of(*room, &at)
        };
        let mut part = Part {
            at,
            first: usize::MAX,
            from: f64::INFINITY,
            to: 0.0,
        };
        let mut last = 0;
        for (number, row) in self.house.rows.iter().enumerate() {
            let each = 1.0 / row.len().max(1) as f64;
            for (turn, _) in row.iter().enumerate().filter(|(_, room)| touches(room)) {
                part.first = part.first.min(number);
                part.from = part.from.min(turn as f64 * each);
                part.to = part.to.max((turn as f64 + 1.0) * each);
                last = number;
            }
        }
        if part.first == usize::MAX {
            let sides = self.house.case.places.get(at).map(named).unwrap_or_default();
            last = if sides.contains(&Side::Back) {
                0
            } else {
                self.house.rows.len().saturating_sub(1)
            };
            (part.first, part.from, part.to) = (last, 0.0, 1.0);
        }
        (part, last)
    }

    fn cell(&self, row: &Row) -> f64 {
        self.width / row.len().max(1) as f64
    }

    /// Height of a row of rooms.
    fn row_height(&self, number: usize) -> f64 {
        let Some(row) = self.house.rows.get(number) else {
            return 0.0;
        };
        let width = self.cell(row) - 2.0 * GAP;
        let least = self.least.get(number).copied().unwrap_or_default().max(LOWEST);
        row.iter()
            .map(|room| self.house.room(*room, self.marks).height(width) + 2.0 * GAP)
            .fold(least, f64::max)
    }

    /// Height of the parts under a row: one beside the other.
    fn strip_height(&self, parts: &[Part]) -> f64 {
        let width = self.width / parts.len().max(1) as f64 - 3.0 * GAP;
        parts
            .iter()
            .map(|part| self.house.block(part.at, self.marks).height(width) + 2.0 * GAP)
            .fold(0.0, f64::max)
    }

    pub fn height(&self) -> f64 {
        let strips: f64 = self.parts.iter().map(|parts| self.strip_height(parts)).sum();
        (0..self.house.rows.len()).map(|row| self.row_height(row)).sum::<f64>() + strips
    }

    /// Draws it, and gives the upper and the lower end of each row.
    pub fn draw(&self, svg: &mut Svg, area: Area) -> Vec<(f64, f64)> {
        let mut y = area.y;
        let mut ends = Vec::with_capacity(self.house.rows.len());
        let mut tops = Vec::with_capacity(self.house.rows.len());
        for (number, (row, parts)) in self.house.rows.iter().zip(&self.parts).enumerate() {
            tops.push(y);
            let high = self.row_height(number);
            ends.push((y, y + high));
            self.rooms(svg, Area { y, h: high, ..area }, row);
            y += high;
            let strip = self.strip_height(parts);
            self.strip(svg, Area { y, h: strip, ..area }, parts, &tops);
            y += strip;
        }
        ends
    }

    fn rooms(&self, svg: &mut Svg, area: Area, row: &Row) {
        let width = self.cell(row);
        let mut x = area.x;
        for room in row {
            let id = self.house.case.places.get(*room).map_or("", |place| &place.id);
            svg.open(&[("class", "room"), ("data-room", id)]);
            svg.rect(x, area.y, width, area.h, "fill=\"none\" stroke=\"#666\"");
            svg.close();
            let block = self.house.room(*room, self.marks);
            block.draw(svg, x + GAP, area.y + GAP, width - 2.0 * GAP, Anchor::Start, View::Plan);
            x += width;
        }
    }

    /// The parts that end under a row: names and marks below it, and a dashed line round the rooms.
    fn strip(&self, svg: &mut Svg, area: Area, parts: &[Part], tops: &[f64]) {
        let width = area.w / parts.len().max(1) as f64;
        let mut x = area.x;
        for part in parts {
            let top = tops.get(part.first).copied().unwrap_or(area.y) + 3.0;
            svg.rect(
                area.x + part.from * area.w + 3.0,
                top,
                (part.to - part.from) * area.w - 6.0,
                area.y + area.h - 3.0 - top,
                "fill=\"none\" stroke=\"#888\" stroke-dasharray=\"6 3\"",
            );
            let block = self.house.block(part.at, self.marks);
            block.draw(
                svg,
                x + 1.5 * GAP,
                area.y + GAP / 2.0,
                width - 3.0 * GAP,
                Anchor::Start,
                View::Plan,
            );
            x += width;
        }
    }
}
