//! Where each node of a file stands. Made at the first problem only.

use crate::Spot;

/// Line and column of a node and of the name before it; both count from 1, and columns count characters.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Place {
    pub value: (usize, usize),
    pub key: Option<(usize, usize)>,
}

/// The places of all nodes, by number, and where each line begins.
#[derive(Debug)]
pub(crate) struct Spots {
    pub places: Vec<Place>,
    line_starts: Vec<usize>,
}

impl Spots {
    pub fn new(text: &str, places: Vec<Place>) -> Self {
        let after_newlines = text.match_indices('\n').map(|(at, _)| at.saturating_add(1));
        Self {
            places,
            line_starts: std::iter::once(0).chain(after_newlines).collect(),
        }
    }

    /// The line of that number, without its newline.
    pub fn line<'t>(&self, text: &'t str, line: usize) -> &'t str {
        let start = line
            .checked_sub(1)
            .and_then(|index| self.line_starts.get(index))
            .copied();
        let rest = start.and_then(|start| text.get(start..)).unwrap_or_default();
        rest.lines().next().unwrap_or_default()
    }

    /// The spot of a byte offset.
    pub fn of_byte(&self, text: &str, byte: usize) -> Spot {
        let line = self.line_starts.partition_point(|&start| start <= byte).max(1);
        let start = self
            .line_starts
            .get(line.saturating_sub(1))
            .copied()
            .unwrap_or_default();
        let column = text
            .get(start..byte)
            .unwrap_or_default()
            .chars()
            .count()
            .saturating_add(1);
        Spot {
            line,
            column,
            length: 1,
        }
    }

    /// The byte offset of a place.
    pub fn byte(&self, text: &str, (line, column): (usize, usize)) -> usize {
        let start = line
            .checked_sub(1)
            .and_then(|index| self.line_starts.get(index))
            .copied();
        let start = start.unwrap_or(text.len());
        let before = self.line(text, line).chars().take(column.saturating_sub(1));
        start.saturating_add(before.map(char::len_utf8).sum())
    }

    /// The place of the first bracket that opens after the value or name at a place.
    pub fn next_bracket(&self, text: &str, (line, column): (usize, usize)) -> Option<(usize, usize)> {
        let rest = self.rest(text, (line, column));
        let skip = if rest.starts_with(['[', '{']) {
            1
        } else {
            scalar_length(rest, 0)
        };
        let line_start = self.line_starts.get(line.checked_sub(1)?)?;
        let first = self
            .line(text, line)
            .chars()
            .take(column.saturating_sub(1).saturating_add(skip));
        let from = line_start.saturating_add(first.map(char::len_utf8).sum());
        let at = text.get(from..)?.find(['[', '{'])?;
        let spot = self.of_byte(text, from.saturating_add(at));
        Some((spot.line, spot.column))
    }

    /// The rest of a line from a place on.
    pub fn rest<'t>(&self, text: &'t str, (line, column): (usize, usize)) -> &'t str {
        let line = self.line(text, line);
        line.char_indices()
            .nth(column.saturating_sub(1))
            .and_then(|(byte, _)| line.get(byte..))
            .unwrap_or_default()
    }
}

/// How many characters the value or name at the start of `rest` takes up. `text` is how many the text has when it is
/// one, else 0.
pub(crate) fn scalar_length(rest: &str, text: usize) -> usize {
    let taken = match rest.chars().next() {
        Some(quote @ ('"' | '\'')) => {
            let mut escaped = false;
            let end = rest.char_indices().skip(1).find(|&(_, c)| {
                let closes = c == quote && !escaped;
                escaped = quote == '"' && c == '\\' && !escaped;
                closes
            });
            end.and_then(|(at, _)| rest.get(..=at)).unwrap_or(rest.trim_end())
        }
        Some('[' | '{') => "[",
        _ if text > 0 => rest
            .char_indices()
            .nth(text)
            .and_then(|(at, _)| rest.get(..at))
            .unwrap_or(rest.trim_end()),
        _ => {
            let end = rest.find([',', ']', '}', ' ']).unwrap_or(rest.len());
            rest.get(..end).unwrap_or_default().trim_end_matches(':')
        }
    };
    taken.chars().count().max(1)
}
