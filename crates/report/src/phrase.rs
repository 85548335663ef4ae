//! Small pieces of sentences: places, lists, headings.

use wythe_case::{Case, Date, Place};

/// A text fit for one line of output: no control characters, blanks joined.
pub(crate) fn clean(text: &str) -> String {
    let spaced: String = text
        .chars()
        .map(|c| if c.is_control() || is_bidi(c) { ' ' } else { c })
        .collect();
    spaced.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Marks that turn the direction of writing: they could make a line read otherwise than it is.
fn is_bidi(c: char) -> bool {
    matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// An id as words: `wide_at_top` becomes `wide at top`.
pub(crate) fn words(id: &str) -> String {
    id.replace('_', " ")
}

/// With a capital at the start.
pub(crate) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// With a small letter at the start.
pub(crate) fn small(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or_else(String::new, |first| first.to_lowercase().chain(chars).collect())
}

/// What a matter is called: signs that are consistent with something, and never the thing itself.
pub(crate) fn headed(title: &str) -> String {
    format!("Signs consistent with: {}", small(title))
}

/// With more said of it, in the bracket that it ends in or in one of its own.
pub(crate) fn bracketed(said: &str, more: Option<&str>) -> String {
    match (said.strip_suffix(')'), more) {
        (_, None) => said.to_owned(),
        (Some(open), Some(more)) => format!("{open}; {more})"),
        (None, Some(more)) => format!("{said} ({more})"),
    }
}

/// As a sentence: a capital at the start, a full stop at the end.
pub(crate) fn sentence(text: &str) -> String {
    let text = capital(text.trim());
    if text.is_empty() || text.ends_with(['.', '!', '?', ':']) {
        text
    } else {
        format!("{text}.")
    }
}

/// `a`, `a and b`, `a, b and c`.
pub(crate) fn listed(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// The first `most` of a list, and how many others.
pub(crate) fn listed_up_to(items: &[String], most: usize) -> String {
    let rest = items.len().saturating_sub(most);
    if rest <= 2 {
        return listed(items);
    }
    let mut shown: Vec<String> = items.iter().take(most).cloned().collect();
    shown.push(format!("{rest} others"));
    listed(&shown)
}

/// The name of a place inside a sentence: `the south wall`.
pub(crate) fn the_place(place: &Place) -> String {
    let label = clean(&place.label);
    if place.within.is_none() {
        "the house".into()
    } else if label.starts_with("the ") {
        label
    } else {
        format!("the {label}")
    }
}

/// A text with its places after it: `corner pop at the south-west corner`.
pub(crate) fn with_place(text: &str, case: &Case, places: &[usize]) -> String {
    let all = at_places(case, places);
    if let [one] = places
        && let Some(place) = case.places.get(*one)
        && names(text, &place.label)
    {
        return text.into();
    }
    // "Torn at the chimney" at the rear chimney is torn at the rear chimney.
    if let Some(name) = all.strip_prefix("at ")
        && let [before @ .., by, "the", last] = text.split(' ').collect::<Vec<_>>().as_slice()
        && ["at", "in", "on"].contains(by)
        && name.starts_with("the ")
        && name.split(' ').next_back() == Some(last)
        && !name.contains(" and ")
    {
        return format!("{} {by} {name}", before.join(" "));
    }
    format!("{text} {all}").trim_end().to_string()
}

/// Whether a text names its place already: a slab that domed at the slab is a slab that domed.
pub(crate) fn names(text: &str, label: &str) -> bool {
    let label = clean(label);
    text.split(' ').any(|word| word == label.trim_start_matches("the "))
}

/// `at the south wall and the west wall`; nothing for the house alone.
pub(crate) fn at_places(case: &Case, places: &[usize]) -> String {
    let mut seen: Vec<usize> = Vec::new();
    for at in places {
        if !seen.contains(at) {
            seen.push(*at);
        }
    }
    if seen == [0] {
        return String::new();
    }
    let names: Vec<String> = seen
        .iter()
        .filter_map(|at| case.places.get(*at))
        .map(the_place)
        .collect();
    if names.is_empty() {
        String::new()
    } else {
        format!("at {}", listed_up_to(&names, 4))
    }
}

/// What a case was made from: `a visual look`, with readings where it has sheets of them.
pub(crate) fn looked(case: &Case) -> &'static str {
    if case.readings.is_empty() {
        "a visual look"
    } else {
        "a visual look and readings"
    }
}

/// The month so many months after a day: `September 2027`.
pub(crate) fn month_after(date: Date, months: u32) -> String {
    const NAMES: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    let count = u32::from(date.year()) * 12 + u32::from(date.month()) - 1 + months;
    let name = usize::try_from(count % 12)
        .ok()
        .and_then(|at| NAMES.get(at))
        .copied()
        .unwrap_or_default();
    format!("{name} {}", count / 12)
}
