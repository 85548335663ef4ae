//! Boxes and lines as SVG.

use wythe_case::Case;
use wythe_pack::Pack;

use crate::ReportError;
use crate::phrase::{clean, looked};
use crate::plan::{HIGH, State, shape};
use crate::svg::{Anchor, LINE, Svg, wrapped};

use super::layers::{Node, tops};
use super::{Boxed, Graph, Kind};

/// Width of a box.
const BOX: f64 = 172.0;
/// Between columns: what stands at the end of a line has its room there.
const BETWEEN: f64 = 96.0;
const EDGE: f64 = 14.0;
const PAD: f64 = 6.0;
/// The weight at which a line is no longer drawn wider, in decibans.
const WIDEST: f64 = 20.0;

/// Width of a line of a weight.
fn stroke(weight: f64) -> f64 {
    0.8 + 5.2 * weight.abs().min(WIDEST) / WIDEST
}

fn is_sign(one: &Boxed) -> bool {
    matches!(one.kind, Kind::Seen | Kind::NoneThere)
}

/// The lines of text of a box: its title, and what is under it.
fn texts(one: &Boxed) -> (Vec<String>, Vec<String>) {
    let wide = BOX - 2.0 * PAD;
    let title = wrapped(&one.title, wide * 0.95);
    let says = one.says.iter().flat_map(|text| wrapped(text, wide)).collect();
    (title, says)
}

fn height(one: &Boxed) -> f64 {
    let (title, says) = texts(one);
    let mark = if is_sign(one) { HIGH + 2.0 } else { 0.0 };
    mark + (title.len() + says.len()) as f64 * LINE + 2.0 * PAD
}

/// The whole drawing.
pub(super) fn draw(
    pack: &Pack,
    case: &Case,
    graph: &Graph,
    title: &str,
    left_out: usize,
) -> Result<String, ReportError> {
    let mut nodes: Vec<Node> = graph
        .boxes
        .iter()
        .map(|one| Node {
            layer: one.layer,
            height: height(one),
        })
        .collect();
    // A line that passes over columns bends at a node without height in each.
    let mut steps: Vec<(usize, usize)> = Vec::new();
    let mut ways: Vec<Vec<usize>> = Vec::new();
    for line in &graph.lines {
        let layer = |at: usize| graph.boxes.get(at).map_or(0, |one| one.layer);
        let mut way = vec![line.from];
        for between in layer(line.from) + 1..layer(line.to) {
            way.push(nodes.len());
            nodes.push(Node {
                layer: between,
                height: 0.0,
            });
        }
        way.push(line.to);
        steps.extend(way.iter().copied().zip(way.iter().copied().skip(1)));
        ways.push(way);
    }
    let tops = tops(&nodes, &steps);
    let mut svg = Svg::default();
    let columns = nodes.iter().map(|node| node.layer + 1).max().unwrap_or(1) as f64;
    let width = (2.0 * EDGE + columns * BOX + (columns - 1.0) * BETWEEN).max(620.0);
    let head = head(&mut svg, case, title, width);
    let at = |node: usize| -> (f64, f64, f64) {
        let layer = nodes.get(node).map_or(0.0, |node| node.layer as f64);
        let top = head + tops.get(node).copied().unwrap_or(0.0);
        (
            EDGE + layer * (BOX + BETWEEN),
            top,
            nodes.get(node).map_or(0.0, |node| node.height),
        )
    };
    svg.open(&[("class", "lines"), ("fill", "none")]);
    for (line, way) in graph.lines.iter().zip(&ways) {
        let rival = graph.boxes.get(line.to).is_some_and(|one| one.kind == Kind::Rival);
        let dash = match (rival, line.weight < 0.0) {
            (true, _) => " stroke-dasharray=\"2 3\"",
            (_, true) => " stroke-dasharray=\"8 4\"",
            _ => "",
        };
        svg.shape(&format!(
            "path d=\"{}\" stroke=\"#333\" stroke-width=\"{:.1}\"{dash}",
            path(way, &at),
            stroke(line.weight)
        ));
    }
    svg.close();
    for (number, one) in graph.boxes.iter().enumerate() {
        boxed(&mut svg, one, at(number));
    }
    // What lines say stands above everything, at the end of each.
    for line in &graph.lines {
        let ((x, y, high), (_, above, other)) = (at(line.to), at(line.from));
        let end = y + high / 2.0;
        // Below a line that comes down from above, else above it.
        let mut base = if above + other / 2.0 < end - 2.0 {
            end + LINE - 1.0
        } else {
            end - 4.0 - (line.says.len().saturating_sub(1)) as f64 * (LINE - 2.0)
        };
        for text in &line.says {
            let halo = "font-size=\"10\" paint-order=\"stroke\" stroke=\"#fff\" stroke-width=\"3\"";
            svg.text(x - 4.0, base, Anchor::End, halo, text);
            base += LINE - 2.0;
        }
    }
    let lowest = (0..nodes.len())
        .map(|node| at(node).1 + at(node).2)
        .fold(head, f64::max);
    let foot = foot(&mut svg, pack, graph, left_out, lowest + 2.0 * EDGE, width);
    svg.finish(
        width,
        foot + EDGE,
        title,
        "The conclusion on the left, its signs on the right, and the rules between.",
    )
}

/// Curves from the right side of each node to the left side of the next.
fn path(way: &[usize], at: &impl Fn(usize) -> (f64, f64, f64)) -> String {
    let mut path = String::new();
    for (from, to) in way.iter().zip(way.iter().skip(1)) {
        let ((x, y, high), (x2, y2, high2)) = (at(*from), at(*to));
        let (x1, y1, y2) = (x + BOX, y + high / 2.0, y2 + high2 / 2.0);
        // Over a column that a line only passes, it runs straight.
        let straight = if path.is_empty() {
            format!("M{x1:.1} {y1:.1}")
        } else {
            format!("H{x1:.1}")
        };
        let middle = (x1 + x2) / 2.0;
        path.push_str(&format!(
            "{straight}C{middle:.1} {y1:.1} {middle:.1} {y2:.1} {x2:.1} {y2:.1}"
        ));
    }
    path
}

fn boxed(svg: &mut Svg, one: &Boxed, (x, y, high): (f64, f64, f64)) {
    let says = std::iter::once(&one.title)
        .chain(&one.says)
        .cloned()
        .collect::<Vec<_>>()
        .join(". ");
    svg.open(&[
        ("id", &one.id),
        ("class", "box"),
        ("role", "img"),
        ("aria-label", &says),
    ]);
    svg.title(&says);
    let style = match one.kind {
        Kind::Conclusion => "fill=\"#fff\" stroke=\"#000\" stroke-width=\"3\"",
        Kind::Member => "fill=\"#fff\" stroke=\"#000\" stroke-width=\"2\"",
        Kind::Response => "rx=\"14\" fill=\"#f2f2f2\" stroke=\"#000\"",
        Kind::Seen => "fill=\"#fff\" stroke=\"#000\"",
        Kind::NoneThere => "fill=\"#fff\" stroke=\"#000\" stroke-dasharray=\"4 3\"",
        Kind::Rival => "fill=\"#fff\" stroke=\"#777\" stroke-width=\"2\"",
    };
    svg.rect(x, y, BOX, high, style);
    let mut y = y + PAD;
    if is_sign(one) {
        let state = if one.kind == Kind::Seen {
            State::Seen
        } else {
            State::NoneThere
        };
        shape(svg, state, x + PAD, y, &one.mark);
        y += HIGH + 2.0;
    }
    let (title, says) = texts(one);
    let bold = if matches!(one.kind, Kind::Conclusion | Kind::Member) {
        "font-weight=\"bold\""
    } else {
        ""
    };
    for (line, style) in title
        .iter()
        .map(|line| (line, bold))
        .chain(says.iter().map(|line| (line, "fill=\"#333\"")))
    {
        y += LINE;
        svg.text(x + PAD, y - 3.0, Anchor::Start, style, line);
    }
    svg.close();
}

fn head(svg: &mut Svg, case: &Case, title: &str, width: f64) -> f64 {
    let mut y = EDGE;
    let day = case.visited.map(|day| format!(", visited {day}")).unwrap_or_default();
    let under = format!(
        "{}. Case {}{day}. From {}; not engineering.",
        clean(&case.title),
        case.id,
        looked(case)
    );
    for (text, style) in [(title, "font-weight=\"bold\""), (under.as_str(), "")] {
        for line in wrapped(text, width - 2.0 * EDGE) {
            y += LINE;
            svg.text(EDGE, y, Anchor::Start, style, &line);
        }
    }
    y + 2.0 * EDGE
}

/// How to read it, and the cautions.
fn foot(svg: &mut Svg, pack: &Pack, graph: &Graph, left_out: usize, top: f64, width: f64) -> f64 {
    let mut y = top;
    svg.open(&[("class", "key")]);
    for (weight, dash, says) in [
        (
            3.0,
            "",
            "a sign that by itself makes the odds twice as large (+3 decibans)",
        ),
        (10.0, "", "ten times as large (+10 decibans)"),
        (20.0, "", "a hundred times as large, or more (+20 decibans)"),
        (
            -3.0,
            " stroke-dasharray=\"8 4\"",
            "a broken line speaks against: the odds half as large (-3 decibans)",
        ),
    ] {
        y += LINE + 2.0;
        svg.line(
            (EDGE, y - 4.0),
            (EDGE + 60.0, y - 4.0),
            &format!("stroke-width=\"{:.1}\"{dash}", stroke(weight)),
        );
        svg.text(EDGE + 70.0, y, Anchor::Start, "", says);
    }
    let mut texts = vec![
        "At the end of a line: how often its rule expects what it leads to, there, on its own. A line to a hidden step is as wide as the heaviest sign behind it.".to_string(),
        "Weights of single signs do not add up: signs behind one hidden step are one piece of news.".into(),
    ];
    if graph.boxes.iter().any(|one| one.kind == Kind::Rival) {
        texts.push("On the far right, by a dotted line: another conclusion that accounts for a sign, and how many of its decibans that takes.".into());
    }
    if left_out > 0 {
        texts.push(format!("{left_out} more signs that say little are not drawn."));
    }
    texts.extend(pack.wording.cautions.iter().cloned());
    y += PAD;
    for text in texts {
        for line in wrapped(&text, width - 2.0 * EDGE) {
            y += LINE;
            svg.text(EDGE, y, Anchor::Start, "", &line);
        }
    }
    svg.close();
    y
}

/// Checks on the drawing that need its inside.
#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_heavier_sign_has_a_wider_line() {
        assert!(stroke(1.0) < stroke(-3.0) && stroke(3.0) < stroke(10.0) && stroke(10.0) < stroke(20.0));
        assert_eq!(stroke(20.0), stroke(55.0));
    }
}
