//! A place in a drawing: its name, and its marks in rows below.

use crate::svg::{Anchor, LINE, Svg, wrapped};

use super::marks::{HIGH, Mark, WIDE};

/// Between blocks.
pub(super) const GAP: f64 = 6.0;

/// A name with marks.
pub(super) struct Block<'m> {
    /// Id of the place; none of a name that stands there once more.
    pub place: &'m str,
    pub label: String,
    pub bold: bool,
    pub marks: &'m [Mark],
    /// Blocks inside it, one under the other.
    pub inside: Vec<Block<'m>>,
}

impl Block<'_> {
    fn label_width(&self, width: f64) -> f64 {
        if self.bold { width * 0.93 } else { width }
    }

    /// How high it is at a width.
    pub fn height(&self, width: f64) -> f64 {
        let label = wrapped(&self.label, self.label_width(width)).len() as f64 * LINE;
        let marks = rows(self.marks.len(), width) as f64 * HIGH;
        let inside: f64 = self.inside.iter().map(|one| one.height(width) + GAP).sum();
        label + marks + inside + if self.marks.is_empty() { 0.0 } else { 3.0 }
    }

    /// Draws it from its upper edge down; `view` goes into the ids: of the plan, or of a wall seen from outside.
    pub fn draw(&self, svg: &mut Svg, x: f64, y: f64, width: f64, anchor: Anchor, view: View) {
        if self.place.is_empty() {
            self.draw_parts(svg, x, y, width, anchor, view);
            return;
        }
        let id = format!("{}-{}", view.of_place(), self.place);
        svg.open(&[("id", &id), ("class", "place"), ("data-place", self.place)]);
        let end = self.draw_parts(svg, x, y, width, anchor, view);
        svg.close();
        let mut y = end;
        for one in &self.inside {
            y += GAP;
            one.draw(svg, x, y, width, anchor, view);
            y += one.height(width);
        }
    }

    fn draw_parts(&self, svg: &mut Svg, x: f64, y: f64, width: f64, anchor: Anchor, view: View) -> f64 {
        let at = anchor.of(x, width);
        let style = if self.bold { "font-weight=\"bold\"" } else { "" };
        let mut y = y;
        for line in wrapped(&self.label, self.label_width(width)) {
            y += LINE;
            svg.text(at, y - 3.0, anchor, style, &line);
        }
        for row in self.marks.chunks(in_a_row(width)) {
            let wide = row.len() as f64 * WIDE;
            let mut x = match anchor {
                Anchor::Start => x,
                Anchor::Middle => x + (width - wide) / 2.0,
                Anchor::End => x + width - wide,
            };
            for mark in row {
                mark.draw(svg, x + 1.0, y + 2.0, view.of_mark());
                x += WIDE;
            }
            y += HIGH;
        }
        y + if self.marks.is_empty() { 0.0 } else { 3.0 }
    }
}

fn in_a_row(width: f64) -> usize {
    ((width / WIDE).floor() as usize).max(1)
}

fn rows(marks: usize, width: f64) -> usize {
    marks.div_ceil(in_a_row(width))
}

/// Which drawing a block stands in. Its ids are its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum View {
    Plan,
    /// On a wall seen from outside.
    Outside,
    /// A corner at the left end of a wall seen from outside.
    LeftEnd,
    /// The same corner at the right end of the other wall.
    RightEnd,
}

impl View {
    fn of_place(self) -> &'static str {
        match self {
            View::Plan => "place",
            View::Outside => "outside",
            View::LeftEnd => "left-end",
            View::RightEnd => "right-end",
        }
    }

    fn of_mark(self) -> &'static str {
        match self {
            View::Plan => "",
            View::Outside => "-outside",
            View::LeftEnd => "-left-end",
            View::RightEnd => "-right-end",
        }
    }
}
