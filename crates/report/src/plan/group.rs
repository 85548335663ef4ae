//! Several places of one wall in a drawing: in rows of equal slots; and under a wall's own name those of its openings of
//! which nobody says where along the wall they are.

use crate::svg::{Anchor, LINE, Svg};

use super::block::{Block, GAP, View};
use super::ground::SLOT;

/// What stands over openings that are somewhere along a wall.
const SOMEWHERE: &str = "somewhere along it:";

/// The lines of a box that stands for an opening which may be anywhere along its wall.
pub(super) const DASHED: &str = "fill=\"none\" stroke=\"#000\" stroke-dasharray=\"4 3\"";

/// Blocks in rows of equal slots.
pub(super) struct Grid<'g, 'm> {
    blocks: &'g [Block<'m>],
    in_a_row: usize,
    slot: f64,
    boxed: bool,
}

impl<'g, 'm> Grid<'g, 'm> {
    pub fn of(blocks: &'g [Block<'m>], width: f64, boxed: bool) -> Self {
        let in_a_row = ((width / SLOT).floor() as usize).clamp(1, blocks.len().max(1));
        let slot = width / in_a_row as f64;
        Grid {
            blocks,
            in_a_row,
            slot,
            boxed,
        }
    }

    /// Room left in a slot on each side of its block.
    fn inset(&self) -> f64 {
        if self.boxed { GAP } else { GAP / 2.0 }
    }

    fn row_height(&self, row: &[Block<'_>]) -> f64 {
        let wide = self.slot - 2.0 * self.inset();
        row.iter().map(|block| block.height(wide)).fold(0.0, f64::max) + 2.0 * self.inset()
    }

    pub fn height(&self) -> f64 {
        let rows = self.blocks.chunks(self.in_a_row);
        rows.map(|row| self.row_height(row)).sum()
    }

    /// Draws it from its upper left corner.
    pub fn draw(&self, svg: &mut Svg, x: f64, y: f64) {
        let mut y = y;
        for row in self.blocks.chunks(self.in_a_row) {
            let high = self.row_height(row);
            for (turn, block) in row.iter().enumerate() {
                let x = x + self.slot * turn as f64;
                if self.boxed {
                    svg.rect(x + GAP / 2.0, y, self.slot - GAP, high - GAP / 2.0, DASHED);
                }
                let wide = self.slot - 2.0 * self.inset();
                block.draw(svg, x + self.inset(), y, wide, Anchor::Middle, View::Plan);
            }
            y += high;
        }
    }
}

/// A wall's own name, and openings somewhere along it.
pub(super) struct Group<'m> {
    /// The wall, and the corner where it begins if the outline does not turn there.
    pub own: Vec<Block<'m>>,
    /// The openings.
    pub rest: Vec<Block<'m>>,
}

impl Group<'_> {
    pub fn height(&self, width: f64) -> f64 {
        let own: f64 = self.own.iter().map(|block| block.height(width)).sum();
        if self.rest.is_empty() {
            return own;
        }
        own + LINE + GAP / 2.0 + Grid::of(&self.rest, width, true).height()
    }

    /// Draws it from its upper left corner.
    pub fn draw(&self, svg: &mut Svg, x: f64, y: f64, width: f64, anchor: Anchor) {
        let mut y = y;
        for block in &self.own {
            block.draw(svg, x, y, width, anchor, View::Plan);
            y += block.height(width);
        }
        if self.rest.is_empty() {
            return;
        }
        y += LINE;
        svg.text(anchor.of(x, width), y - 2.0, anchor, "font-style=\"italic\"", SOMEWHERE);
        Grid::of(&self.rest, width, true).draw(svg, x, y + GAP / 2.0);
    }
}
