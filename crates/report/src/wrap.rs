//! Lines of at most 80 columns.

use unicode_width::UnicodeWidthStr;

/// Widest line, in columns.
pub(crate) const WIDTH: usize = 80;

/// Text being written, line by line.
#[derive(Default)]
pub(crate) struct Lines {
    out: String,
}

impl Lines {
    /// An empty line, unless one was just written.
    pub fn gap(&mut self) {
        if !self.out.is_empty() && !self.out.ends_with("\n\n") {
            self.out.push('\n');
        }
    }

    /// A heading of a section.
    pub fn heading(&mut self, title: &str) {
        self.gap();
        self.put("", "", &title.to_uppercase());
        self.gap();
    }

    /// A paragraph, every line after `indent`.
    pub fn say(&mut self, indent: usize, text: &str) {
        let indent = " ".repeat(indent);
        self.put(&indent, &indent, text);
    }

    /// An item of a list.
    pub fn item(&mut self, indent: usize, text: &str) {
        let first = format!("{}- ", " ".repeat(indent));
        self.put(&first, &" ".repeat(first.len()), text);
    }

    /// A paragraph after a lead of its own, its other lines set in under it.
    pub fn led(&mut self, lead: &str, under: usize, text: &str) {
        self.put(lead, &" ".repeat(under), text);
    }

    fn put(&mut self, first: &str, rest: &str, text: &str) {
        let mut line = first.to_string();
        let mut empty = true;
        for word in text.split_whitespace() {
            for piece in pieces(word, WIDTH.saturating_sub(rest.width()).max(8)) {
                let gap = usize::from(!empty);
                if !empty && line.width() + gap + piece.width() > WIDTH {
                    self.line(&line);
                    line = rest.to_string();
                    empty = true;
                }
                if !empty {
                    line.push(' ');
                }
                line.push_str(&piece);
                empty = false;
            }
        }
        self.line(&line);
    }

    fn line(&mut self, line: &str) {
        self.out.push_str(line.trim_end());
        self.out.push('\n');
    }

    /// The whole text.
    pub fn finish(self) -> String {
        format!("{}\n", self.out.trim_end())
    }
}

/// A word in pieces no wider than `most`: nearly always one.
fn pieces(word: &str, most: usize) -> Vec<String> {
    if word.width() <= most {
        return vec![word.to_string()];
    }
    let mut pieces = vec![String::new()];
    for c in word.chars() {
        if pieces.last().is_some_and(|piece| piece.width() + 2 > most) {
            pieces.push(String::new());
        }
        if let Some(piece) = pieces.last_mut() {
            piece.push(c);
        }
    }
    pieces
}
