//! Each wall as someone sees it who stands outside before it: openings from left to right, corners at both ends.

use std::collections::BTreeMap;

use crate::phrase::{capital, clean};
use crate::svg::{Anchor, LINE, Svg};

use super::block::{GAP, View};
use super::ground::{STRIP, jog};
use super::group::DASHED;
use super::house::House;
use super::marks::Mark;
use super::openings;

/// Height of an opening.
const OPENING: f64 = 44.0;

/// Draws every wall from `top` down, and gives the lower end.
pub(super) fn draw(svg: &mut Svg, house: &House<'_>, marks: &BTreeMap<usize, Vec<Mark>>, top: f64, width: f64) -> f64 {
    let mut y = top;
    for number in 0..house.walls.len() {
        y = wall(svg, house, marks, number, y, width) + 3.0 * GAP;
    }
    y
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
    house: &House<'_>,
    marks: &BTreeMap<usize, Vec<Mark>>,
    number: usize,
    top: f64,
    width: f64,
) -> f64 {
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
    let slots = slots(house, number);
    let slot = wide / slots.len().max(1) as f64;
    let blocks: Vec<_> = slots.iter().map(|(_, at)| house.block(*at, marks)).collect();
    let named = blocks.iter().map(|block| block.height(slot - GAP)).fold(0.0, f64::max);
    let corners = [number, (number + 1) % house.walls.len().max(1)]
        .map(|joint| house.corners.get(joint).copied().flatten())
        .map(|at| at.map(|at| house.block(at, marks)));
    let at_ends = corners
        .iter()
        .flatten()
        .map(|block| block.height(STRIP - 3.0 * GAP))
        .fold(0.0, f64::max);
    let openings = if slots.is_empty() { 0.0 } else { OPENING + GAP + named };
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
    let row = foot - GAP - named - GAP - OPENING;
    for (turn, block) in blocks.iter().enumerate() {
        let x = left + slot * turn as f64;
        let w = (slot * 0.5).min(70.0);
        let opening = |svg: &mut Svg, style: &str| svg.rect(x + (slot - w) / 2.0, row, w, OPENING, style);
        match slots.get(turn).map(|(what, _)| *what) {
            Some(Slot::Opening) => opening(svg, "fill=\"#fff\" stroke=\"#000\""),
            Some(Slot::Somewhere) => opening(svg, DASHED),
            _ => {
                let middle = x + slot / 2.0;
                svg.line((middle, eaves), (middle, row + OPENING), "stroke-width=\"1.5\"");
            }
        }
        block.draw(
            svg,
            x + GAP / 2.0,
            row + OPENING + GAP / 2.0,
            slot - GAP,
            Anchor::Middle,
            View::Outside,
        );
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
