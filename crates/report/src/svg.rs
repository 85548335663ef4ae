//! Plain writing of SVG: black and grey on white, no script, nothing fetched. Meaning is in shapes, letters and widths.
//!
//! Colours are attributes, so that a page that takes a drawing in can restyle it.

use unicode_width::UnicodeWidthStr;

use crate::{ReportError, checked, sentence};

/// Size of text, in units of the drawing.
pub(crate) const TEXT: f64 = 11.0;
/// From line to line of text.
pub(crate) const LINE: f64 = 13.0;
/// About how wide a column of text is.
const COLUMN: f64 = 5.7;

/// Where a text is anchored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

impl Anchor {
    /// Where a text stands in a box that begins at `x`.
    pub fn of(self, x: f64, width: f64) -> f64 {
        match self {
            Anchor::Start => x,
            Anchor::Middle => x + width / 2.0,
            Anchor::End => x + width,
        }
    }

    fn name(self) -> &'static str {
        match self {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        }
    }
}

/// A drawing under way.
#[derive(Default)]
pub(crate) struct Svg {
    body: String,
    said: Vec<String>,
}

impl Svg {
    /// Opens a group. Each attribute's value is escaped.
    pub fn open(&mut self, attributes: &[(&str, &str)]) {
        self.body.push_str("<g");
        for (name, value) in attributes {
            self.body.push_str(&format!(" {name}=\"{}\"", escaped(value)));
        }
        self.body.push_str(">\n");
    }

    pub fn close(&mut self) {
        self.body.push_str("</g>\n");
    }

    /// What a group is, for a pointer at rest and for a screen reader.
    pub fn title(&mut self, text: &str) {
        self.body.push_str(&format!("<title>{}</title>\n", escaped(text)));
        self.said.push(text.to_owned());
    }

    /// A shape: its element and attributes as they stand. Text must not come in here.
    pub fn shape(&mut self, shape: &str) {
        self.body.push_str(&format!("<{shape}/>\n"));
    }

    pub fn rect(&mut self, x: f64, y: f64, w: f64, h: f64, style: &str) {
        self.shape(&format!(
            "rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{w:.1}\" height=\"{h:.1}\" {style}"
        ));
    }

    pub fn line(&mut self, (x1, y1): (f64, f64), (x2, y2): (f64, f64), style: &str) {
        self.shape(&format!(
            "line x1=\"{x1:.1}\" y1=\"{y1:.1}\" x2=\"{x2:.1}\" y2=\"{y2:.1}\" stroke=\"#000\" {style}"
        ));
    }

    /// One line of text with its base line at `y`.
    pub fn text(&mut self, x: f64, y: f64, anchor: Anchor, style: &str, text: &str) {
        self.body.push_str(&format!(
            "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{}\" {style}>{}</text>\n",
            anchor.name(),
            escaped(text)
        ));
        self.said.push(text.to_owned());
    }

    /// The whole drawing.
    ///
    /// # Errors
    /// A text in it makes a determination, in one line or over several.
    pub fn finish(self, width: f64, height: f64, title: &str, description: &str) -> Result<String, ReportError> {
        for text in [title, description]
            .into_iter()
            .chain(self.said.iter().map(String::as_str))
        {
            sentence(text)?;
        }
        checked(self.said.join(" "))?;
        Ok(format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width:.0} {height:.0}\" \
             font-family=\"sans-serif\" font-size=\"{TEXT}\" fill=\"#000\">\n<title>{}</title>\n<desc>{}</desc>\n\
             <rect width=\"{width:.0}\" height=\"{height:.0}\" fill=\"#fff\"/>\n{}</svg>\n",
            escaped(title),
            escaped(description),
            self.body
        ))
    }
}

/// About how wide a text is drawn.
pub(crate) fn width_of(text: &str) -> f64 {
    text.width() as f64 * COLUMN
}

/// A text in lines no wider than `width`, one word at least in each.
pub(crate) fn wrapped(text: &str, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if width_of(line) + COLUMN + width_of(word) <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// Text made fit to stand between tags or in a quoted attribute, of XML or HTML: what they reserve, or forbid, is replaced.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if c.is_control() || ('\u{fffe}'..='\u{ffff}').contains(&c) => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_can_not_break_out() {
        let mut svg = Svg::default();
        svg.open(&[("id", "\"><script>")]);
        svg.text(0.0, 0.0, Anchor::End, "", "]]><b>\u{0}&");
        svg.close();
        let svg = svg.finish(10.0, 10.0, "<i>", "").unwrap();
        assert!(!svg.contains("<script") && !svg.contains("<b>") && !svg.contains("<i>") && !svg.contains('\u{0}'));
    }

    #[test]
    fn a_determination_is_not_drawn_even_over_two_lines() {
        for texts in [vec!["it has failed"], vec!["this is not", "structural"]] {
            let mut svg = Svg::default();
            for text in texts {
                svg.text(0.0, 0.0, Anchor::Start, "", text);
            }
            assert!(svg.finish(10.0, 10.0, "", "").is_err());
        }
    }

    #[test]
    fn lines_keep_their_width_and_lose_no_word() {
        let text = "gap between the frieze and the top of the brick";
        let lines = wrapped(text, 100.0);
        assert!(
            lines.len() > 2 && lines.iter().all(|line| width_of(line) <= 100.0),
            "{lines:?}"
        );
        assert_eq!(lines.join(" "), text);
    }
}
