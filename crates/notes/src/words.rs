//! Words as they are compared: without capitals, articles and plurals.

/// The words of a text, folded.
pub(crate) fn fold(text: &str) -> Vec<String> {
    let lower = text.to_lowercase();
    let apart = |c: char| c.is_whitespace() || matches!(c, '-' | '_' | ',' | '"' | '.');
    lower
        .split(apart)
        .filter(|word| !word.is_empty() && !matches!(*word, "a" | "an" | "the"))
        .map(|word| match word.strip_suffix('s') {
            Some(one) if one.len() > 2 && !one.ends_with('s') => one.to_owned(),
            _ => word.to_owned(),
        })
        .collect()
}

/// True when all of `few` stand among `many`, in their order.
pub(crate) fn among(few: &[String], many: &[String]) -> bool {
    let mut rest = many.iter();
    !few.is_empty() && few.iter().all(|word| rest.any(|other| other == word))
}

/// An id as it is said.
pub(crate) fn said(id: &str) -> String {
    id.replace(['_', '-'], " ")
}

/// `a, b or c`, each in backquotes.
pub(crate) fn choices(names: &[String]) -> String {
    let quoted: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    match quoted.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => quoted.join(""),
    }
}
