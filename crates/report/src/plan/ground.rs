//! A storey in plan: outline, walls with their openings, corners, rooms with their doors, parts of the slab.

use std::collections::BTreeMap;

use crate::svg::{Anchor, LINE, Svg};

use super::block::{Block, GAP, View};
use super::group::{Grid, Group};
use super::house::House;
use super::marks::Mark;
use super::rooms::on;
use super::sides::Side;
use super::{inside, openings};

/// Narrowest outline.
const INNER: f64 = 400.0;
/// Room left and right of the outline, for what stands at those walls.
pub(super) const STRIP: f64 = 116.0;
/// Narrowest room along a wall for one opening.
pub(super) const SLOT: f64 = 76.0;

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

/// The corner at the start of a wall, where the outline does not turn there.
pub(super) fn jog(house: &House<'_>, wall: usize) -> Option<usize> {
    house.walls.get(wall).filter(|wall| wall.from > 0.0)?;
    house.corners.get(wall).copied().flatten()
}

/// Width of the whole drawing.
pub(super) fn width(house: &House<'_>) -> f64 {
    let most = house.openings.iter().map(Vec::len).max().unwrap_or(0) as f64;
    2.0 * STRIP + (most * SLOT).max(INNER)
}

/// Draws each storey from `top` down, with its name where there are several, and gives the lower end.
pub(super) fn draw_each(
    svg: &mut Svg,
    storeys: &[House<'_>],
    marks: &BTreeMap<usize, Vec<Mark>>,
    top: f64,
    width: f64,
) -> f64 {
    let mut y = top;
    for house in storeys {
        if storeys.len() > 1 {
            svg.text(
                GAP * 2.0,
                y + LINE,
                Anchor::Start,
                "font-weight=\"bold\"",
                house.storey.says(),
            );
            y += LINE + GAP;
        }
        y = draw(svg, house, marks, y, width);
        if storeys.len() > 1 {
            y += GAP;
        }
    }
    y
}

/// Draws one from `top` down, and gives its lower end.
fn draw(svg: &mut Svg, house: &House<'_>, marks: &BTreeMap<usize, Vec<Mark>>, top: f64, width: f64) -> f64 {
    if house.walls.is_empty() && house.rooms.is_empty() && house.parts.is_empty() {
        return top;
    }
    let inner = width - 2.0 * STRIP;
    let plan = Ground { house, marks, inner };
    let least = (0..house.rows.len()).map(|row| plan.row_height(row)).collect();
    let inside = inside::Inside::of(house, marks, inner, least);
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
        h: inside.height(),
    };
    svg.open(&[("class", "plan"), ("data-storey", house.storey.says())]);
    let rows = inside.draw(svg, area);
    svg.rect(
        area.x,
        area.y,
        area.w,
        area.h,
        "fill=\"none\" stroke=\"#000\" stroke-width=\"3\"",
    );
    for (number, wall) in house.walls.iter().enumerate() {
        if matches!(wall.side, Side::Front | Side::Back) {
            plan.along(svg, area, number);
        }
        plan.corner(svg, area, number);
    }
    for (row, ends) in rows.into_iter().enumerate() {
        plan.up(svg, area, Side::Left, row, ends);
        plan.up(svg, area, Side::Right, row, ends);
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

    /// A wall's own name, the corner where it begins if the outline does not turn there, and the openings that stand
    /// somewhere along it.
    fn group(&self, number: usize) -> Group<'h> {
        let block = |at: &usize| self.house.block(*at, self.marks);
        let wall = self.house.walls.get(number);
        Group {
            own: wall
                .map(|wall| self.house.wall(wall.at, self.marks))
                .into_iter()
                .chain(jog(self.house, number).as_ref().map(block))
                .collect(),
            rest: openings::along(self.house, number).1.iter().map(block).collect(),
        }
    }

    /// Height of the openings along the front or back that stand at rooms.
    fn near(&self, side: Side) -> f64 {
        let mut most: f64 = 0.0;
        for (number, _) in self.walls(side) {
            for at_room in openings::along(self.house, number).0 {
                let wide = (at_room.to - at_room.from) * self.inner;
                most = most.max(Grid::of(&self.at_room(&at_room, side), wide, false).height());
            }
        }
        most
    }

    /// The openings at a room, from left to right.
    fn at_room(&self, at_room: &openings::AtRoom, side: Side) -> Vec<Block<'h>> {
        let block = |at: &usize| self.house.block(*at, self.marks);
        let mut blocks: Vec<Block<'h>> = at_room.openings.iter().map(block).collect();
        if side == Side::Back {
            // They go round the house; seen from above, the back goes from right to left.
            blocks.reverse();
        }
        blocks
    }

    /// Height of the walls' groups along the front or back.
    fn far(&self, side: Side) -> f64 {
        self.walls(side)
            .map(|(number, wall)| self.group(number).height((wall.to - wall.from) * self.inner - GAP) + GAP)
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

    /// The openings of a side that stand at the room at the end of a row.
    fn beside(&self, side: Side, row: usize) -> Vec<Block<'h>> {
        let mut blocks: Vec<Block<'h>> = self
            .walls(side)
            .flat_map(|(number, _)| openings::along(self.house, number).0)
            .filter(|at_room| at_room.row == row)
            .flat_map(|at_room| at_room.openings)
            .map(|at| self.house.block(at, self.marks))
            .collect();
        if side == Side::Right {
            blocks.reverse();
        }
        blocks
    }

    /// The groups of the walls of a side that stand beside a row: each beside the row of its wall that has most room.
    fn groups(&self, side: Side, row: usize) -> Vec<Group<'h>> {
        let rows = self.house.rows.len().max(1) as f64;
        let mut walls: Vec<(usize, &super::sides::Wall)> = self.walls(side).collect();
        if side == Side::Right {
            walls.reverse();
        }
        let mut groups = Vec::new();
        for (number, wall) in walls {
            let (from, to) = match side {
                Side::Right => (1.0 - wall.to, 1.0 - wall.from),
                _ => (wall.from, wall.to),
            };
            let first = (from * rows).floor() as usize;
            let last = ((to * rows).ceil() as usize)
                .max(first + 1)
                .min(self.house.rows.len().max(1));
            let taken = |row: &usize| heights(&self.beside(side, *row)) as i64;
            if (first..last).min_by_key(taken) == Some(row) {
                groups.push(self.group(number));
            }
        }
        groups
    }

    /// Height that the walls beside a row need.
    fn row_height(&self, row: usize) -> f64 {
        let side = |side: Side| {
            let groups = self.groups(side, row);
            let groups = groups.iter().map(|group| group.height(STRIP - 3.0 * GAP) + GAP);
            heights(&self.beside(side, row)) + groups.sum::<f64>()
        };
        side(Side::Left).max(side(Side::Right)) + GAP
    }

    /// A wall along the front or back.
    fn along(&self, svg: &mut Svg, area: Area, number: usize) {
        let Some(wall) = self.house.walls.get(number) else {
            return;
        };
        let at_back = wall.side == Side::Back;
        let edge = if at_back { area.y } else { area.y + area.h };
        for at_room in openings::along(self.house, number).0 {
            let (x, wide) = (area.x + at_room.from * area.w, (at_room.to - at_room.from) * area.w);
            let blocks = self.at_room(&at_room, wall.side);
            let grid = Grid::of(&blocks, wide, false);
            let slot = wide / at_room.openings.len().max(1) as f64;
            let w = (slot * 0.45).min(44.0);
            for turn in 0..at_room.openings.len() {
                let x = x + slot * (turn as f64 + 0.5) - w / 2.0;
                svg.rect(x, edge - 3.0, w, 6.0, "fill=\"#fff\" stroke=\"#000\"");
            }
            let y = if at_back {
                edge - GAP - grid.height()
            } else {
                edge + GAP
            };
            grid.draw(svg, x, y);
        }
        let group = self.group(number);
        let wide = (wall.to - wall.from) * area.w - GAP;
        let (x, _) = area.point(wall.side, (wall.from + wall.to) / 2.0);
        let y = if at_back {
            edge - self.near(Side::Back) - GAP - group.height(wide)
        } else {
            edge + self.near(Side::Front) + GAP
        };
        group.draw(svg, x - wide / 2.0, y, wide, Anchor::Middle);
    }

    /// What stands left or right of a row.
    fn up(&self, svg: &mut Svg, area: Area, side: Side, row: usize, (top, foot): (f64, f64)) {
        let (blocks, groups) = (self.beside(side, row), self.groups(side, row));
        let width = STRIP - 3.0 * GAP;
        let (edge, x, anchor) = match side {
            Side::Left => (area.x, area.x - 2.0 * GAP - width, Anchor::End),
            _ => (area.x + area.w, area.x + area.w + 2.0 * GAP, Anchor::Start),
        };
        let all = heights(&blocks) + groups.iter().map(|group| group.height(width) + GAP).sum::<f64>();
        let spare = ((foot - top - all) / (blocks.len() + groups.len()).max(1) as f64).max(0.0);
        let mut y = top + GAP / 2.0 + spare / 2.0;
        for block in blocks {
            let high = block.height(width);
            let tall = high.min(32.0);
            svg.rect(
                edge - 3.0,
                y + (high - tall) / 2.0,
                6.0,
                tall,
                "fill=\"#fff\" stroke=\"#000\"",
            );
            block.draw(svg, x, y, width, anchor, View::Plan);
            y += high + GAP + spare;
        }
        for group in groups {
            group.draw(svg, x, y, width, anchor);
            y += group.height(width) + GAP + spare;
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

/// Heights of blocks at the left or right, each with a gap.
fn heights(blocks: &[Block<'_>]) -> f64 {
    blocks.iter().map(|block| block.height(STRIP - 3.0 * GAP) + GAP).sum()
}
