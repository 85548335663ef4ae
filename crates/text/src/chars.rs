//! Characters that have no business in a file of plain text.

/// True for a character that could change what a terminal shows: a control other than tab and newline, a direction
/// mark, a line or paragraph separator, an inner byte order mark.
pub(crate) fn is_hostile(c: char) -> bool {
    match c {
        '\t' | '\n' => false,
        '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => true,
        '\u{2028}' | '\u{2029}' | '\u{feff}' => true,
        c => c.is_control(),
    }
}

/// Byte offset of the first hostile character. `\r` is let pass before `\n` only.
pub(crate) fn first_hostile(text: &str) -> Option<(usize, char)> {
    let mut chars = text.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let ends_line = c == '\r' && chars.peek().is_some_and(|&(_, next)| next == '\n');
        if is_hostile(c) && !ends_line {
            return Some((at, c));
        }
    }
    None
}

/// The first character of a text that could change what a terminal or a page shows, with its byte offset: a control
/// other than tab and line end, a direction mark, a line separator.
///
/// ```
/// assert_eq!(wythe_text::misleading("a\u{202e}b"), Some((1, '\u{202e}')));
/// assert_eq!(wythe_text::misleading("a wall\r\n"), None);
/// ```
pub fn misleading(text: &str) -> Option<(usize, char)> {
    first_hostile(text)
}

/// The text with every hostile character replaced.
pub(crate) fn harmless(text: &str) -> String {
    text.chars()
        .map(|c| if is_hostile(c) { '\u{fffd}' } else { c })
        .collect()
}
