//! The house in plan: outline, walls with their openings, corners, rooms with their doors, parts of the slab.

use std::collections::BTreeMap;

use crate::svg::{Anchor, Svg};

use super::block::{Block, GAP, View};
use super::house::House;
use super::inside;
use super::marks::Mark;
use super::rooms::on;
use super::sides::Side;

/// Narrowest outline.
const INNER: f64 = 504.0;
/// Room left and right of the outline, for what stands at those walls.
pub(super) const STRIP: f64 = 128.0;
/// Narrowest room along a wall for one opening.
const SLOT: f64 = 76.0;

/// A box in the drawing.
#[derive(Clone, Copy, Debug)]
pub(super) struct Area {
    pub x: f64,
    pub y: f64,
    pub w: f64,
    pub h: f64,
}

impl Area {
    fn point(self, side: Side, share: f64) -> (f64, f64) {
        let (x, y) = on(side, share);
        (self.x + x * self.w, self.y + y * self.h)
    }
}

/// What stands at one wall, anticlockwise: openings, and a corner at which the outline does not turn.
pub(super) fn slots(house: &House<'_>, wall: usize) -> Vec<usize> {
    let jog = house.walls.get(wall).filter(|wall| wall.from > 0.0);
    let corner = jog.and_then(|_| house.corners.get(wall).copied().flatten());
    let openings = house.openings.get(wall).into_iter().flatten().copied();
    corner.into_iter().chain(openings).collect()
}

/// Width of the whole drawing.
pub(super) fn width(house: &House<'_>) -> f64 {
    let need = house.walls.iter().enumerate().map(|(number, wall)| match wall.side {
        Side::Front | Side::Back => slots(house, number).len() as f64 * SLOT / (wall.to - wall.from),
        Side::Left | Side::Right => 0.0,
    });
    2.0 * STRIP + need.fold(INNER, f64::max)
}

/// Draws it from `top` down, and gives its lower end.
pub(super) fn draw(svg: &mut Svg, house: &House<'_>, marks: &BTreeMap<usize, Vec<Mark>>, top: f64, width: f64) -> f64 {
    if house.walls.is_empty() && house.rooms.is_empty() && house.parts.is_empty() {
        return top;
    }
    let inner = width - 2.0 * STRIP;
    let plan = Ground { house, marks, inner };
    let inside = inside::Inside::of(house, marks, inner);
    let beside = plan.beside(Side::Left).max(plan.beside(Side::Right));
    let above = plan.near(Side::Back) + plan.far(Side::Back) + 2.0 * GAP;
    let above = above
        .max(plan.corner_height(Side::Back))
        .max(plan.corner_height(Side::Left));
    let below = plan.near(Side::Front) + plan.far(Side::Front) + 2.0 * GAP;
    let below = below
        .max(plan.corner_height(Side::Front))
        .max(plan.corner_height(Side::Right));
    let area = Area {
        x: STRIP,
        y: top + above,
        w: inner,
        h: inside.height().max(beside),
    };
    svg.open(&[("class", "plan")]);
    inside.draw(svg, area);
    svg.rect(
        area.x,
        area.y,
        area.w,
        area.h,
        "fill=\"none\" stroke=\"#000\" stroke-width=\"3\"",
    );
    for (number, wall) in house.walls.iter().enumerate() {
        match wall.side {
            Side::Front | Side::Back => plan.along(svg, area, number),
            Side::Left | Side::Right => plan.up(svg, area, number),
        }
        plan.corner(svg, area, number);
    }
    svg.close();
    area.y + area.h + below
}

struct Ground<'h> {
    house: &'h House<'h>,
    marks: &'h BTreeMap<usize, Vec<Mark>>,
    inner: f64,
}

impl<'h> Ground<'h> {
    fn walls(&self, side: Side) -> impl Iterator<Item = (usize, &'h super::sides::Wall)> {
        self.house
            .walls
            .iter()
            .enumerate()
            .filter(move |(_, wall)| wall.side == side)
    }

    fn slot_width(&self, number: usize, share: f64) -> f64 {
        share * self.inner / (slots(self.house, number).len() as f64).max(1.0)
    }

    /// Height of the openings along the front or back.
    fn near(&self, side: Side) -> f64 {
        let mut most: f64 = 0.0;
        for (number, wall) in self.walls(side) {
            let width = self.slot_width(number, wall.to - wall.from) - GAP;
            for at in slots(self.house, number) {
                most = most.max(self.house.block(at, self.marks).height(width) + GAP);
            }
        }
        most
    }

    /// Height of the walls' own names and marks along the front or back.
    fn far(&self, side: Side) -> f64 {
        self.walls(side)
            .map(|(_, wall)| {
                let width = (wall.to - wall.from) * self.inner - GAP;
                self.house.bold(wall.at, self.marks).height(width) + GAP
            })
            .fold(0.0, f64::max)
    }

    /// Height of the corner at the start of a side.
    fn corner_height(&self, side: Side) -> f64 {
        let first = self.walls(side).next();
        let corner = first.and_then(|(number, _)| self.house.corners.get(number).copied().flatten());
        corner.map_or(0.0, |at| {
            self.house.block(at, self.marks).height(STRIP - 3.0 * GAP) + 2.0 * GAP
        })
    }

    /// The blocks of a wall at the left or right, from top to bottom.
    fn column(&self, number: usize) -> Vec<(bool, Block<'h>)> {
        let Some(wall) = self.house.walls.get(number) else {
            return Vec::new();
        };
        let slots = slots(self.house, number);
        let mut blocks: Vec<(bool, Block<'h>)> = slots
            .iter()
            .map(|at| (true, self.house.block(*at, self.marks)))
            .collect();
        blocks.insert(slots.len() / 2, (false, self.house.bold(wall.at, self.marks)));
        if wall.side == Side::Right {
            blocks.reverse();
        }
        blocks
    }

    /// Height that the walls of a side need.
    fn beside(&self, side: Side) -> f64 {
        self.walls(side)
            .map(|(number, wall)| {
                let all: f64 = self
                    .column(number)
                    .iter()
                    .map(|(_, block)| block.height(STRIP - 3.0 * GAP) + 2.0 * GAP)
                    .sum();
                all / (wall.to - wall.from)
            })
            .fold(0.0, f64::max)
    }

    /// A wall along the front or back.
    fn along(&self, svg: &mut Svg, area: Area, number: usize) {
        let Some(wall) = self.house.walls.get(number) else {
            return;
        };
        let at_back = wall.side == Side::Back;
        let slots = slots(self.house, number);
        let width = self.slot_width(number, wall.to - wall.from);
        for (turn, at) in slots.iter().enumerate() {
            let share = wall.from + (wall.to - wall.from) * (turn as f64 + 0.5) / slots.len() as f64;
            let (x, y) = area.point(wall.side, share);
            if self
                .house
                .openings
                .get(number)
                .is_some_and(|openings| openings.contains(at))
            {
                let wide = (width * 0.45).min(44.0);
                svg.rect(x - wide / 2.0, y - 3.0, wide, 6.0, "fill=\"#fff\" stroke=\"#000\"");
            }
            let block = self.house.block(*at, self.marks);
            let up = if at_back {
                y - GAP - block.height(width - GAP)
            } else {
                y + GAP
            };
            block.draw(
                svg,
                x - (width - GAP) / 2.0,
                up,
                width - GAP,
                Anchor::Middle,
                View::Plan,
            );
        }
        let block = self.house.bold(wall.at, self.marks);
        let wide = (wall.to - wall.from) * area.w - GAP;
        let (x, y) = area.point(wall.side, (wall.from + wall.to) / 2.0);
        let high = block.height(wide);
        let y = if at_back {
            y - self.near(Side::Back) - GAP - high
        } else {
            y + self.near(Side::Front) + GAP
        };
        block.draw(svg, x - wide / 2.0, y, wide, Anchor::Middle, View::Plan);
    }

    /// A wall at the left or right.
    fn up(&self, svg: &mut Svg, area: Area, number: usize) {
        let Some(wall) = self.house.walls.get(number) else {
            return;
        };
        let blocks = self.column(number);
        let width = STRIP - 3.0 * GAP;
        let ends = [wall.from, wall.to].map(|share| area.point(wall.side, share).1);
        let (from, to) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        let all: f64 = blocks.iter().map(|(_, block)| block.height(width)).sum();
        let gap = ((to - from - all) / blocks.len() as f64).max(0.0);
        let left = wall.side == Side::Left;
        let mut y = from + gap / 2.0;
        for (opening, block) in blocks {
            let high = block.height(width);
            let edge = if left { area.x } else { area.x + area.w };
            if opening {
                svg.rect(
                    edge - 3.0,
                    y + high / 2.0 - 16.0,
                    6.0,
                    32.0,
                    "fill=\"#fff\" stroke=\"#000\"",
                );
            }
            let (x, anchor) = if left {
                (edge - 2.0 * GAP - width, Anchor::End)
            } else {
                (edge + 2.0 * GAP, Anchor::Start)
            };
            block.draw(svg, x, y, width, anchor, View::Plan);
            y += high + gap;
        }
    }

    /// The corner at the start of a wall: a square on the outline, and its block where the outline turns.
    fn corner(&self, svg: &mut Svg, area: Area, number: usize) {
        let corner = self.house.corners.get(number).copied().flatten();
        let (Some(wall), Some(at)) = (self.house.walls.get(number), corner) else {
            return;
        };
        let (x, y) = area.point(wall.side, wall.from);
        svg.rect(x - 4.0, y - 4.0, 8.0, 8.0, "fill=\"#000\"");
        if wall.from > 0.0 {
            return;
        }
        let block = self.house.block(at, self.marks);
        let width = STRIP - 3.0 * GAP;
        let high = block.height(width);
        let left = matches!(wall.side, Side::Front | Side::Left);
        let (x, anchor) = if left {
            (x - 2.0 * GAP - width, Anchor::End)
        } else {
            (x + 2.0 * GAP, Anchor::Start)
        };
        let below = matches!(wall.side, Side::Front | Side::Right);
        let y = if below { y + GAP } else { y - GAP - high };
        block.draw(svg, x, y, width, anchor, View::Plan);
    }
}
