//! What goes round the drawing: its head, the shapes explained, boxes for what has no place in it, and the key.

use std::collections::BTreeMap;

use wythe_case::Case;
use wythe_pack::Pack;

use crate::phrase::{clean, looked};
use crate::svg::{Anchor, LINE, Svg, width_of, wrapped};

use super::block::{GAP, View};
use super::house::House;
use super::marks::{HIGH, Mark, State, WIDE, shape};

/// Left and right edge of text.
const EDGE: f64 = 12.0;
/// Width of a box beside the house.
const BOX: f64 = 168.0;

/// A paragraph from `top` down; gives its lower end.
pub(super) fn paragraph(svg: &mut Svg, text: &str, top: f64, width: f64, style: &str) -> f64 {
    let mut y = top;
    for line in wrapped(text, width - 2.0 * EDGE) {
        y += LINE;
        svg.text(EDGE, y, Anchor::Start, style, &line);
    }
    y
}

/// The title of the case, and what the drawing is.
pub(super) fn head(svg: &mut Svg, case: &Case, width: f64) -> f64 {
    let day = case.visited.map(|day| format!(", visited {day}")).unwrap_or_default();
    let y = paragraph(svg, &clean(&case.title), 8.0, width, "font-weight=\"bold\"");
    let y = paragraph(
        svg,
        &format!("Case {}{day}. From {}; not engineering.", case.id, looked(case)),
        y,
        width,
        "",
    );
    let what = "A scheme of what touches what, not to scale. The front is at the foot, where the case has one. An opening stands at the room that the case says it touches, or that it is named after; where neither tells, it is dashed, and may be anywhere along its wall.";
    let y = paragraph(svg, what, y, width, "");
    shapes(svg, y + GAP, width) + GAP
}

/// One of each shape, with what it stands for.
fn shapes(svg: &mut Svg, top: f64, width: f64) -> f64 {
    svg.open(&[("class", "shapes")]);
    let (mut x, mut y) = (EDGE, top);
    for state in State::ALL {
        let wide = WIDE + width_of(state.says()) + 3.0 * GAP;
        if x > EDGE && x + wide > width {
            x = EDGE;
            y += HIGH + 2.0;
        }
        shape(svg, state, x, y, &state.letter().to_string());
        svg.text(x + WIDE + 2.0, y + HIGH / 2.0 + 3.0, Anchor::Start, "", state.says());
        x += wide;
    }
    svg.close();
    y + HIGH + GAP
}

/// Boxes for the places that are no part of plan or walls and have something to say.
pub(super) fn beside(
    svg: &mut Svg,
    house: &House<'_>,
    marks: &BTreeMap<usize, Vec<Mark>>,
    top: f64,
    width: f64,
) -> f64 {
    let blocks: Vec<_> = house
        .beside
        .iter()
        .filter(|at| **at > 0 || marks.contains_key(at))
        .map(|at| house.bold(*at, marks))
        .collect();
    let mut y = top;
    let in_a_row = (((width - EDGE) / (BOX + GAP)).floor() as usize).max(1);
    for row in blocks.chunks(in_a_row) {
        let high = row
            .iter()
            .map(|block| block.height(BOX - 2.0 * GAP))
            .fold(0.0, f64::max)
            + GAP;
        let mut x = EDGE;
        for block in row {
            svg.rect(x, y, BOX, high, "fill=\"none\" stroke=\"#888\"");
            block.draw(svg, x + GAP, y + GAP / 2.0, BOX - 2.0 * GAP, Anchor::Start, View::Plan);
            x += BOX + GAP;
        }
        y += high + GAP;
    }
    y
}

/// What each mark says, by letter and then by number.
pub(super) fn key(svg: &mut Svg, marks: &BTreeMap<usize, Vec<Mark>>, top: f64, width: f64) -> f64 {
    let mut all: Vec<&Mark> = marks.values().flatten().collect();
    all.sort_by_key(|mark| (mark.state, mark.number));
    svg.open(&[("class", "key")]);
    let mut y = top;
    for state in State::ALL {
        let mine: Vec<&&Mark> = all.iter().filter(|mark| mark.state == state).collect();
        if mine.is_empty() {
            continue;
        }
        y += LINE + GAP;
        svg.text(EDGE, y, Anchor::Start, "font-weight=\"bold\"", state.says());
        for mark in mine {
            let name = mark.name();
            svg.text(EDGE, y + LINE, Anchor::Start, "font-weight=\"bold\"", &name);
            for line in wrapped(&mark.says, width - 2.0 * EDGE - WIDE) {
                y += LINE;
                svg.text(EDGE + WIDE, y, Anchor::Start, "", &line);
            }
        }
    }
    svg.close();
    y + GAP
}

/// The pack's cautions.
pub(super) fn cautions(svg: &mut Svg, pack: &Pack, top: f64, width: f64) -> f64 {
    let mut y = top + GAP;
    for caution in &pack.wording.cautions {
        y = paragraph(svg, caution, y, width, "");
    }
    y + 2.0 * GAP
}
