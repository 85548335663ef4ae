//! A value as a few characters on one line, fit to stand in a file that a person wrote.

use crate::{Doc, Tree};

/// The value on one line: as JSON, or as YAML that leaves out the quotes it has no need of.
pub(crate) fn inline(value: &Tree, as_json: bool) -> String {
    let each = |texts: Vec<String>| texts.join(", ");
    match value {
        Tree::Text(text) if !as_json && reads_plain(text) => text.clone(),
        Tree::List(list) => format!("[{}]", each(list.iter().map(|one| inline(one, as_json)).collect())),
        Tree::Map(entries) => {
            let entries = entries.iter().map(|(name, value)| {
                format!(
                    "{}: {}",
                    inline(&Tree::Text(name.clone()), as_json),
                    inline(value, as_json)
                )
            });
            format!("{{{}}}", each(entries.collect()))
        }
        // A YAML reader takes every JSON text for the same value.
        other => serde_json::to_string(other).unwrap_or_default(),
    }
}

/// True for text that stands for itself without quotes, whatever is around it.
fn reads_plain(text: &str) -> bool {
    let quiet =
        |c: char| c.is_ascii_alphanumeric() || matches!(c, ' ' | '_' | '-' | '.' | '/' | '±' | '%' | '(' | ')' | '+');
    text.starts_with(|c: char| c.is_ascii_alphanumeric())
        && !text.ends_with(' ')
        && text.chars().all(quiet)
        && Doc::parse("", text).is_ok_and(|read| *read.root().tree() == Tree::Text(text.to_owned()))
}

/// The value as an item of a list whose dashes stand `indent` columns in. What holds a list of mappings takes several
/// lines; everything else takes one.
pub(crate) fn block_item(value: &Tree, indent: usize, newline: &str) -> String {
    let margin = " ".repeat(indent);
    let Tree::Map(entries) = value else {
        return format!("{margin}- {}{newline}", inline(value, false));
    };
    if !entries.iter().any(|(_, value)| is_list_of_maps(value)) {
        return format!("{margin}- {}{newline}", inline(value, false));
    }
    let mut text = String::new();
    for (at, (name, value)) in entries.iter().enumerate() {
        let dash = if at == 0 { "- " } else { "  " };
        let name = inline(&Tree::Text(name.clone()), false);
        match value {
            Tree::List(list) if is_list_of_maps(value) => {
                text.push_str(&format!("{margin}{dash}{name}:{newline}"));
                for one in list {
                    text.push_str(&block_item(one, indent.saturating_add(4), newline));
                }
            }
            _ => text.push_str(&format!("{margin}{dash}{name}: {}{newline}", inline(value, false))),
        }
    }
    text
}

fn is_list_of_maps(value: &Tree) -> bool {
    matches!(value, Tree::List(list) if matches!(list.first(), Some(Tree::Map(_))))
}
