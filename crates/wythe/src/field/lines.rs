//! Lines of at most 80 columns.

use std::fmt::Write;

/// Widest line, in columns.
const WIDTH: usize = 80;

/// Text being written.
#[derive(Default)]
pub(super) struct Lines(String);

impl Lines {
    /// The title, at the top.
    pub fn titled(title: &str) -> Self {
        let mut lines = Self::default();
        lines.put("", "", title);
        lines
    }

    /// A heading of a section.
    pub fn heading(&mut self, title: &str) {
        let _ = write!(self.0, "\n{}\n\n", title.to_uppercase());
    }

    /// A paragraph.
    pub fn say(&mut self, text: &str) {
        self.put("", "", text);
    }

    /// An item of a list.
    pub fn item(&mut self, text: &str) {
        self.put("  - ", "    ", text);
    }

    /// A name and what belongs to it.
    pub fn row(&mut self, name: &str, text: &str) {
        self.put(&format!("  {name:<20}"), &" ".repeat(22), text);
    }

    /// Text as it is.
    pub fn raw(&mut self, text: &str) {
        for line in text.lines() {
            let _ = writeln!(self.0, "  {line}");
        }
    }

    fn put(&mut self, first: &str, rest: &str, text: &str) {
        let options = textwrap::Options::new(WIDTH)
            .initial_indent(first)
            .subsequent_indent(rest)
            .word_splitter(textwrap::WordSplitter::NoHyphenation);
        // A name may run into the text when it is long, so a word may be broken.
        for line in textwrap::wrap(text, options) {
            let _ = writeln!(self.0, "{}", line.trim_end());
        }
    }

    /// The whole text.
    pub fn finish(self) -> String {
        self.0
    }
}
