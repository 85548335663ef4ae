//! Plain writing of SVG: black on white, no script, no font of its own.

/// A drawing under way. Numbers are written to 0.01 of a unit.
pub(crate) struct Canvas {
    body: String,
}

impl Canvas {
    pub fn new(width: f64, height: f64, title: &str) -> Self {
        let title = escaped(title);
        let body = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" role=\"img\" \
             font-family=\"sans-serif\" font-size=\"12\">\n<title>{title}</title>\n\
             <rect width=\"{width}\" height=\"{height}\" fill=\"white\"/>\n\
             <text x=\"{}\" y=\"22\" text-anchor=\"middle\" font-size=\"14\">{title}</text>\n",
            width / 2.0
        );
        Self { body }
    }

    pub fn line(&mut self, x1: f64, y1: f64, x2: f64, y2: f64, width: f64, dash: Option<&str>) {
        let dash = dash.map(|d| format!(" stroke-dasharray=\"{d}\"")).unwrap_or_default();
        self.body += &format!(
            "<line x1=\"{x1:.2}\" y1=\"{y1:.2}\" x2=\"{x2:.2}\" y2=\"{y2:.2}\" stroke=\"black\" stroke-width=\"{width}\"{dash}/>\n"
        );
    }

    pub fn polyline(&mut self, points: &[(f64, f64)], width: f64, dash: Option<&str>) {
        let dash = dash.map(|d| format!(" stroke-dasharray=\"{d}\"")).unwrap_or_default();
        let points: Vec<String> = points.iter().map(|(x, y)| format!("{x:.2},{y:.2}")).collect();
        self.body += &format!(
            "<polyline points=\"{}\" fill=\"none\" stroke=\"black\" stroke-width=\"{width}\"{dash}/>\n",
            points.join(" ")
        );
    }

    pub fn dot(&mut self, x: f64, y: f64, radius: f64) {
        self.body += &format!("<circle cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"{radius}\"/>\n");
    }

    pub fn text(&mut self, x: f64, y: f64, anchor: &str, text: &str) {
        self.body += &format!(
            "<text x=\"{x:.2}\" y=\"{y:.2}\" text-anchor=\"{anchor}\">{}</text>\n",
            escaped(text)
        );
    }

    pub fn done(self) -> String {
        self.body + "</svg>\n"
    }
}

/// Text with the characters that XML reserves, or forbids, replaced.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() => out.push(' '),
            '\u{fffe}' | '\u{ffff}' => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// Round values within a range, at most about `count`.
pub(crate) fn ticks(low: f64, high: f64, count: u32) -> Vec<f64> {
    let span = high - low;
    if !(span > 0.0 && span.is_finite()) || count == 0 {
        return Vec::new();
    }
    let rough = span / f64::from(count);
    let power = libm::pow(10.0, libm::floor(libm::log10(rough)));
    let step = [1.0, 2.0, 5.0, 10.0]
        .iter()
        .map(|m| m * power)
        .find(|s| *s >= rough)
        .unwrap_or(10.0 * power);
    let (from, to) = (libm::ceil(low / step), libm::floor(high / step + 1e-9));
    (0..=(to - from).clamp(-1.0, 100.0) as i64)
        .map(|i| (from + i as f64) * step)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_can_not_break_out() {
        let mut c = Canvas::new(10.0, 10.0, "<script>\u{0}&\"");
        c.text(0.0, 0.0, "end", "]]><");
        let svg = c.done();
        assert!(svg.contains("&lt;script&gt; &amp;&quot;") && !svg.contains("<script"));
    }

    #[test]
    fn ticks_are_round() {
        assert_eq!(ticks(0.0, 1.0, 5).len(), 6);
        assert_eq!(ticks(-3.0, 9.0, 4), [0.0, 5.0]);
        assert!(ticks(0.0, 0.0, 5).is_empty() && ticks(0.0, f64::NAN, 5).is_empty());
        assert!(ticks(0.0, f64::INFINITY, 5).is_empty());
    }
}
