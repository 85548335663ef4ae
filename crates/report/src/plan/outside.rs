//! Each wall as someone sees it who stands outside before it: openings from left to right, corners at both ends.

use std::collections::BTreeMap;

use crate::phrase::{capital, clean};
use crate::svg::{Anchor, LINE, Svg};

use super::block::{Block, GAP, View};
use super::ground::{STRIP, jog};
use super::group::DASHED;
use super::house::House;
use super::marks::Mark;
use super::openings;
use super::storeys::Storey;

/// Height of an opening.
const OPENING: f64 = 44.0;

/// Draws every wall of a house, whose storeys these are, from `top` down, and gives the lower end.
pub(super) fn draw(
    svg: &mut Svg,
    storeys: &[House<'_>],
    marks: &BTreeMap<usize, Vec<Mark>>,
    top: f64,
    width: f64,
) -> f64 {
    let mut y = top;
    for number in 0..storeys.first().map_or(0, |ground| ground.walls.len()) {
        y = wall(svg, storeys, marks, number, y, width) + 3.0 * GAP;
    }
    y
}

/// The openings of a wall on one storey, and their names.
struct Row<'h> {
    slots: Vec<(Slot, usize)>,
    blocks: Vec<Block<'h>>,
    /// Width of a slot.
    slot: f64,
    /// Height of the names.
    named: f64,
}

impl<'h> Row<'h> {
    fn of(house: &'h House<'_>, marks: &'h BTreeMap<usize, Vec<Mark>>, number: usize, wide: f64) -> Self {
        let slots = slots(house, number);
        let slot = wide / slots.len().max(1) as f64;
        let blocks: Vec<Block<'h>> = slots.iter().map(|(_, at)| house.block(*at, marks)).collect();
        let named = blocks.iter().map(|block| block.height(slot - GAP)).fold(0.0, f64::max);
        Row {
            slots,
            blocks,
            slot,
            named,
        }
    }

    fn height(&self) -> f64 {
        match self.slots.is_empty() {
            true => 0.0,
            false => OPENING + GAP + self.named,
        }
    }

    /// Draws it from its upper left corner down; a corner along the wall goes up to the eaves.
    fn draw(&self, svg: &mut Svg, left: f64, top: f64, eaves: f64) {
        let slot = self.slot;
        for (turn, block) in self.blocks.iter().enumerate() {
            let x = left + slot * turn as f64;
            let w = (slot * 0.5).min(70.0);
            let opening = |svg: &mut Svg, style: &str| svg.rect(x + (slot - w) / 2.0, top, w, OPENING, style);
            match self.slots.get(turn).map(|(what, _)| *what) {
                Some(Slot::Opening) => opening(svg, "fill=\"#fff\" stroke=\"#000\""),
                Some(Slot::Somewhere) => opening(svg, DASHED),
                _ => {
                    let middle = x + slot / 2.0;
                    svg.line((middle, eaves), (middle, top + OPENING), "stroke-width=\"1.5\"");
                }
            }
            block.draw(
                svg,
                x + GAP / 2.0,
                top + OPENING + GAP / 2.0,
                slot - GAP,
                Anchor::Middle,
                View::Outside,
            );
        }
    }
}

/// What stands in a slot of a wall.
#[derive(Clone, Copy, PartialEq)]
enum Slot {
    Corner,
    Opening,
    /// An opening that may be anywhere along the wall.
    Somewhere,
}

/// What stands in a wall, from left to right; last the openings of which nobody says where they are.
fn slots(house: &House<'_>, wall: usize) -> Vec<(Slot, usize)> {
    let (at_rooms, rest) = openings::along(house, wall);
    let at_rooms = at_rooms.into_iter().flat_map(|at_room| at_room.openings);
    jog(house, wall)
        .map(|at| (Slot::Corner, at))
        .into_iter()
        .chain(at_rooms.map(|at| (Slot::Opening, at)))
        .chain(rest.into_iter().map(|at| (Slot::Somewhere, at)))
        .collect()
}

fn wall(
    svg: &mut Svg,
    storeys: &[House<'_>],
    marks: &BTreeMap<usize, Vec<Mark>>,
    number: usize,
    top: f64,
    width: f64,
) -> f64 {
    let Some(house) = storeys.first() else {
        return top;
    };
    let Some(wall) = house.walls.get(number) else {
        return top;
    };
    let (left, wide) = (STRIP, width - 2.0 * STRIP);
    let label = house
        .case
        .places
        .get(wall.at)
        .map(|place| clean(&place.label))
        .unwrap_or_default();
    svg.open(&[("class", "elevation")]);
    let heading = format!("{}, seen from outside", capital(&label));
    svg.text(left, top + LINE, Anchor::Start, "font-weight=\"bold\"", &heading);
    let eaves = top + LINE + GAP;
    let mut own = house.block(wall.at, marks);
    own.label = String::new();
    let own_height = own.height(wide - 2.0 * GAP);
    let mut floors: Vec<(Storey, Row<'_>)> = storeys
        .iter()
        .map(|storey| (storey.storey, Row::of(storey, marks, number, wide)))
        .filter(|(storey, row)| *storey == Storey::Ground || row.height() > 0.0)
        .collect();
    // From the eaves down; what is below the ground stands last.
    floors.sort_by_key(|(storey, _)| (*storey == Storey::Basement, std::cmp::Reverse(*storey)));
    let corners = [number, (number + 1) % house.walls.len().max(1)]
        .map(|joint| house.corners.get(joint).copied().flatten())
        .map(|at| at.map(|at| house.block(at, marks)));
    let at_ends = corners
        .iter()
        .flatten()
        .map(|block| block.height(STRIP - 3.0 * GAP))
        .fold(0.0, f64::max);
    // The name of each storey, where there are several.
    let over = if floors.len() > 1 { LINE + GAP } else { 0.0 };
    let openings: f64 = floors.iter().map(|(_, row)| row.height() + over).sum();
    let high = (own_height + openings + 2.0 * GAP).max(at_ends + GAP).max(60.0);
    let foot = eaves + high;
    svg.rect(
        left,
        eaves,
        wide,
        high,
        "fill=\"none\" stroke=\"#000\" stroke-width=\"1.5\"",
    );
    // The eaves above, the ground below.
    svg.line((left - 8.0, eaves), (left + wide + 8.0, eaves), "stroke-width=\"3\"");
    svg.line(
        (left - STRIP + GAP, foot),
        (width - GAP, foot),
        "stroke-width=\"1\" stroke-dasharray=\"1 3\"",
    );
    own.draw(
        svg,
        left + GAP,
        eaves + 2.0,
        wide - 2.0 * GAP,
        Anchor::Start,
        View::Outside,
    );
    let mut y = foot - GAP - openings;
    for (turn, (storey, row)) in floors.iter().enumerate() {
        if over > 0.0 {
            if turn > 0 {
                svg.line((left, y), (left + wide, y), "stroke-width=\"0.5\"");
            }
            svg.text(
                left + GAP,
                y + LINE,
                Anchor::Start,
                "font-style=\"italic\"",
                storey.says(),
            );
            y += over;
        }
        row.draw(svg, left, y, eaves);
        y += row.height();
    }
    let ends = [
        (left - 2.0 * GAP - (STRIP - 3.0 * GAP), Anchor::End),
        (left + wide + 2.0 * GAP, Anchor::Start),
    ];
    for (number, (corner, (x, anchor))) in corners.iter().zip(ends).enumerate() {
        // A corner is seen from both of its walls: its ids say from which end.
        if let Some(block) = corner {
            let view = if number == 0 { View::LeftEnd } else { View::RightEnd };
            block.draw(svg, x, eaves + GAP, STRIP - 3.0 * GAP, anchor, view);
        }
    }
    svg.close();
    foot
}
