//! JSON: read, walked for places, written.

use serde::Serialize;
use serde::de::DeserializeSeed;

use crate::doc::Refusal;
use crate::reading::{Node, Reading};
use crate::spots::Place;
use crate::{Tree, WriteError};

/// Reads the one value of a text.
pub(crate) fn parse(text: &str, reading: &mut Reading) -> Result<Tree, Refusal> {
    let mut deserializer = serde_json::Deserializer::from_str(text);
    let tree = Node { reading, depth: 0 }
        .deserialize(&mut deserializer)
        .map_err(|error| refusal(text, &error))?;
    deserializer.end().map_err(|error| refusal(text, &error))?;
    Ok(tree)
}

fn refusal(text: &str, error: &serde_json::Error) -> Refusal {
    let (line, bytes) = (error.line(), error.column());
    let place = line.checked_sub(1).map(|index| {
        let before = text
            .split('\n')
            .nth(index)
            .map(|line| line.char_indices().take_while(|(at, _)| *at < bytes));
        (line, before.map_or(1, Iterator::count).max(1))
    });
    let what = error
        .to_string()
        .replacen(&format!(" at line {line} column {bytes}"), "", 1);
    Refusal {
        place,
        what: what.replacen("EOF while", "the file ends while", 1),
        help: None,
    }
}

/// Where every node of a text stands that has been read before.
pub(crate) fn places(text: &str) -> Vec<Place> {
    let mut places = Vec::new();
    let mut chars = text.chars().peekable();
    let (mut line, mut column) = (1_usize, 1_usize);
    // One entry per bracket open: true when it is a mapping. `named` is the place of the name just read.
    let mut open: Vec<bool> = Vec::new();
    let mut named: Option<(usize, usize)> = None;
    while let Some(c) = chars.next() {
        let here = (line, column);
        column = column.saturating_add(1);
        match c {
            '\n' => (line, column) = (line.saturating_add(1), 1),
            ' ' | '\t' | '\r' | ':' | ',' => {}
            ']' | '}' => {
                open.pop();
            }
            '"' => {
                let mut escaped = false;
                for c in chars.by_ref() {
                    column = column.saturating_add(1);
                    if c == '"' && !escaped {
                        break;
                    }
                    escaped = c == '\\' && !escaped;
                }
                if open.last() == Some(&true) && named.is_none() {
                    named = Some(here);
                } else {
                    places.push(Place {
                        value: here,
                        key: named.take(),
                    });
                }
            }
            '[' | '{' => {
                places.push(Place {
                    value: here,
                    key: named.take(),
                });
                open.push(c == '{');
            }
            _ => {
                places.push(Place {
                    value: here,
                    key: named.take(),
                });
                while chars
                    .next_if(|c| !matches!(c, ',' | ']' | '}') && !c.is_whitespace())
                    .is_some()
                {
                    column = column.saturating_add(1);
                }
            }
        }
    }
    places
}

/// Writes a value as JSON, indented, with a newline at the end.
///
/// # Errors
/// A value that JSON has no form for.
pub fn to_json<T: Serialize + ?Sized>(value: &T) -> Result<String, WriteError> {
    let mut text = serde_json::to_string_pretty(value).map_err(|error| WriteError(error.to_string()))?;
    text.push('\n');
    Ok(text)
}
