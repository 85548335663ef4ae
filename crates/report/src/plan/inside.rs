//! Inside the outline: rooms in rows, and the parts of the slab below the rooms that stand on them.

use std::collections::BTreeMap;

use crate::svg::{Anchor, Svg};

use super::block::{GAP, View};
use super::ground::Area;
use super::house::House;
use super::marks::Mark;
use super::rooms::{Row, rows};
use super::sides::{Side, named};

/// Lowest row of rooms.
const LOWEST: f64 = 84.0;

/// Rows of rooms, and under each the parts of the slab that end there.
pub(super) struct Inside<'h> {
    house: &'h House<'h>,
    marks: &'h BTreeMap<usize, Vec<Mark>>,
    rows: Vec<Row>,
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
    pub fn of(house: &'h House<'h>, marks: &'h BTreeMap<usize, Vec<Mark>>, width: f64) -> Self {
        let mut rows = rows(house, width);
        if rows.is_empty() {
            rows.push(Vec::new());
        }
        let mut inside = Inside {
            house,
            marks,
            parts: rows.iter().map(|_| Vec::new()).collect(),
            rows,
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
        for (number, row) in self.rows.iter().enumerate() {
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
                self.rows.len().saturating_sub(1)
            };
            (part.first, part.from, part.to) = (last, 0.0, 1.0);
        }
        (part, last)
    }

    fn cell(&self, row: &Row) -> f64 {
        self.width / row.len().max(1) as f64
    }

    /// Height of a row of rooms.
    fn row_height(&self, row: &Row) -> f64 {
        let width = self.cell(row) - 2.0 * GAP;
        row.iter()
            .map(|room| self.house.room(*room, self.marks).height(width) + 2.0 * GAP)
            .fold(LOWEST, f64::max)
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
        self.rows.iter().map(|row| self.row_height(row)).sum::<f64>() + strips
    }

    pub fn draw(&self, svg: &mut Svg, area: Area) {
        let spare = (area.h - self.height()).max(0.0) / self.rows.len().max(1) as f64;
        let mut y = area.y;
        let mut tops = Vec::with_capacity(self.rows.len());
        for (row, parts) in self.rows.iter().zip(&self.parts) {
            tops.push(y);
            let high = self.row_height(row) + spare;
            self.rooms(svg, Area { y, h: high, ..area }, row);
            y += high;
            let strip = self.strip_height(parts);
            self.strip(svg, Area { y, h: strip, ..area }, parts, &tops);
            y += strip;
        }
    }

    fn rooms(&self, svg: &mut Svg, area: Area, row: &Row) {
        let width = self.cell(row);
        let mut x = area.x;
        for room in row {
            svg.rect(x, area.y, width, area.h, "fill=\"none\" stroke=\"#666\"");
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
