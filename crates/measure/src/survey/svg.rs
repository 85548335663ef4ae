//! A survey as a picture: contours, points, worst line, way of tilt.

use core::fmt::Write;

use crate::Length;

use super::{Analysis, SurveyError, contours};

/// Width of the drawing, in its own units.
const WIDTH: f64 = 720.0;
const MARGIN: f64 = 60.0;
/// Most points that are drawn, each with its height.
const NAMED: usize = 400;

/// Draw a survey as an SVG text, for print and for grey.
///
/// Heights are those above the lowest point, contours at `every`. Line widths
/// and dashes carry the meaning, never colour alone. `title` is any text.
///
/// # Errors
///
/// As [`contours`].
pub fn svg(analysis: &Analysis, every: Length, title: &str) -> Result<String, SurveyError> {
    let levels = &analysis.levels;
    let points = levels.points();
    let fold = |of: fn(&super::Level) -> f64| {
        points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| {
            (l.min(of(p)), h.max(of(p)))
        })
    };
    let ((x0, x1), (y0, y1), (low, _)) = (fold(|p| p.x), fold(|p| p.y), fold(|p| p.z));
    let (wide, deep) = ((x1 - x0).max(1.0), (y1 - y0).max(1.0));
    let scale = ((WIDTH - 2.0 * MARGIN) / wide).min(2000.0 / deep);
    let height = deep * scale + 2.0 * MARGIN + 90.0;
    let at = |x: f64, y: f64| (MARGIN + (x - x0) * scale, 40.0 + MARGIN + (y1 - y) * scale);
    let values: Vec<f64> = points.iter().map(|p| p.z - low).collect();
    // Where the names of the points stand.
    let named = if points.len() <= NAMED { points } else { &[] };
    let names: Vec<(f64, f64)> = named.iter().map(|p| (p.x + 20.0 / scale, p.y + 8.0 / scale)).collect();
    let mut s = String::new();
    // Writing to a String can't fail.
    let _ = write!(
        s,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height:.0}\" font-family=\"sans-serif\" font-size=\"11\" fill=\"#111\">\n<title>{0}</title>\n<rect width=\"{WIDTH}\" height=\"{height:.0}\" fill=\"#fff\"/>\n<text x=\"{MARGIN}\" y=\"30\" font-size=\"{1:.1}\">{0}</text>\n",
        escape(title),
        // Small enough for its line, with the arrow beside it.
        ((WIDTH - 2.0 * MARGIN - 40.0) / (0.55 * title.chars().count().max(1) as f64)).clamp(7.0, 16.0)
    );
    for line in contours(levels, &values, every.as_mm())? {
        let heavy = (libm::round(line.height_mm / every.as_mm()) as i64) % 5 == 0;
        let stroke = if heavy { 1.5 } else { 0.7 };
        for run in &line.lines {
            let path: Vec<String> = run
                .iter()
                .map(|&(x, y)| at(x, y))
                .map(|(x, y)| format!("{x:.1},{y:.1}"))
                .collect();
            let _ = writeln!(
                s,
                "<polyline points=\"{}\" fill=\"none\" stroke=\"#555\" stroke-width=\"{stroke}\"/>",
                path.join(" ")
            );
        }
        if !heavy {
            continue;
        }
        if let Some(&(x, y)) = line
            .lines
            .iter()
            .max_by_key(|l| l.len())
            .and_then(|run| clear(run, &names, scale))
        {
            let ((x, y), label) = (at(x, y), format!("{:.1} mm", line.height_mm));
            let _ = writeln!(
                s,
                "<g font-size=\"8\" text-anchor=\"middle\"><text x=\"{x:.1}\" y=\"{y:.1}\" stroke=\"#fff\" stroke-width=\"3\">{label}</text><text x=\"{x:.1}\" y=\"{y:.1}\" fill=\"#444\">{label}</text></g>"
            );
        }
    }
    if let Some(w) = analysis.lines.worst() {
        let [a, m, b] = w.line.map(|i| at(points[i].x, points[i].y));
        let _ = writeln!(
            s,
            "<line x1=\"{:.1}\" y1=\"{:.1}\" x2=\"{:.1}\" y2=\"{:.1}\" stroke=\"#000\" stroke-width=\"2\" stroke-dasharray=\"8 4\"/>\n<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"5\" fill=\"none\" stroke=\"#000\" stroke-width=\"2\"/>",
            a.0, a.1, b.0, b.1, m.0, m.1
        );
    }
    if points.len() <= NAMED {
        for p in points {
            let (x, y) = at(p.x, p.y);
            // Names where there is room for them.
            let name = if points.len() <= 120 {
                format!("{} ", p.name)
            } else {
                String::new()
            };
            let _ = writeln!(
                s,
                "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"2\"/>\n<text x=\"{:.1}\" y=\"{:.1}\" font-size=\"9\" paint-order=\"stroke\" stroke=\"#fff\" stroke-width=\"3\">{}<tspan font-weight=\"bold\">{:.0}</tspan></text>",
                x + 4.0,
                y - 5.0,
                escape(&name),
                p.z - low
            );
        }
    }
    let tilt = &analysis.tilt;
    if tilt.down_sd.is_finite() {
        // Beside the title, where it hides nothing.
        let angle = tilt.down.rad();
        let (ux, uy) = (libm::cos(angle), -libm::sin(angle));
        let c = (WIDTH - MARGIN - 22.0 * ux, 48.0 - 22.0 * uy);
        let (tx, ty) = (c.0 + 44.0 * ux, c.1 + 44.0 * uy);
        let _ = writeln!(
            s,
            "<text x=\"{:.1}\" y=\"52\" font-size=\"10\" text-anchor=\"end\">down</text>",
            WIDTH - MARGIN - 28.0
        );
        let _ = writeln!(
            s,
            "<line x1=\"{:.1}\" y1=\"{:.1}\" x2=\"{tx:.1}\" y2=\"{ty:.1}\" stroke=\"#000\" stroke-width=\"1.5\"/>\n<path d=\"M{tx:.1} {ty:.1}L{:.1} {:.1}L{:.1} {:.1}Z\"/>",
            c.0,
            c.1,
            tx - 10.0 * ux - 4.0 * uy,
            ty - 10.0 * uy + 4.0 * ux,
            tx - 10.0 * ux + 4.0 * uy,
            ty - 10.0 * uy - 4.0 * ux
        );
    }
    foot(&mut s, analysis, every, scale, height);
    s.push_str("</svg>\n");
    Ok(s)
}

/// The place of a contour line for its label: its middle where that is clear of the points' names, else where it is
/// farthest from them.
fn clear<'r>(run: &'r [(f64, f64)], names: &[(f64, f64)], scale: f64) -> Option<&'r (f64, f64)> {
    let middle = run.get(run.len() / 2)?;
    let room = |&(x, y): &(f64, f64)| {
        let off = names.iter().map(|&(a, b)| libm::hypot(x - a, (y - b) * 2.0) * scale);
        off.fold(f64::INFINITY, f64::min)
    };
    if room(middle) > 45.0 {
        return Some(middle);
    }
    run.iter().max_by(|a, b| room(a).total_cmp(&room(b)))
}

/// Scale bar, legend and what must be said.
fn foot(s: &mut String, analysis: &Analysis, every: Length, scale: f64, height: f64) {
    let bar = 10.0 * 304.8 * scale;
    let y = height - 84.0;
    let _ = writeln!(
        s,
        "<path d=\"M{MARGIN} {:.1}v6h{bar:.1}v-6\" fill=\"none\" stroke=\"#000\"/>\n<text x=\"{:.1}\" y=\"{:.1}\">10 ft (3.048 m)</text>",
        y - 6.0,
        MARGIN + bar + 8.0,
        y + 1.0
    );
    let tilt = &analysis.tilt;
    let mut lines = vec![
        format!(
            "Heights above the lowest point, mm; contours every {}, each fifth heavy; one reading ± {:.1} mm (95 %).",
            every.both(),
            crate::COVER_95 * analysis.levels.sd_mm()
        ),
        format!(
            "Arrow: the way down of the best plane, {} ± {:.2} % (95 %).",
            tilt.slope.value.both(),
            196.0 * tilt.slope.sd
        ),
    ];
    if let Some(w) = analysis.lines.worst() {
        lines.push(format!(
            "Dashed: the line that bends most, its middle {} by {} over {}, {}.",
            if w.offset_mm.value < 0.0 { "low" } else { "high" },
            length(w.offset_mm.value.abs()),
            length(w.chord_mm),
            size(w.ratio.value.value())
        ));
    }
    lines
        .push("How level the floor was built is unknown: one survey can't tell construction from movement.".to_owned());
    for (k, line) in lines.iter().enumerate() {
        let _ = writeln!(
            s,
            "<text x=\"{MARGIN}\" y=\"{:.1}\" font-size=\"10\">{}</text>",
            y + 22.0 + 15.0 * k as f64,
            escape(line)
        );
    }
}

fn size(ratio: f64) -> String {
    if ratio.abs() < 1e-4 {
        return "less than 1 in 10,000".to_owned();
    }
    format!("1 in {:.0}", 1.0 / ratio.abs())
}

fn length(mm: f64) -> String {
    Length::mm(mm).map(Length::both).unwrap_or_default()
}

/// Text made safe for XML; control characters are dropped.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() || ('\u{fffe}'..='\u{ffff}').contains(&c) => {}
            c => out.push(c),
        }
    }
    out
}
