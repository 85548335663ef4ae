//! The nearest name to a misspelt one.

/// Longest word compared, and most of a word shown, in characters.
const LONGEST: usize = 40;
const SHOWN: usize = 60;

/// The choice nearest to `word`, when near enough to be a slip of the pen: the first of the nearest on a tie.
///
/// Distance counts letters added, dropped, changed or swapped. Case, and `-` against `_`, do not count.
///
/// ```
/// assert_eq!(wythe_text::nearest("souht", ["north", "south"]), Some("south"));
/// assert_eq!(wythe_text::nearest("roof", ["north", "south"]), None);
/// ```
pub fn nearest<'a>(word: &str, choices: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    if word.chars().count() > LONGEST {
        return None;
    }
    let plain = |text: &str| text.to_lowercase().replace(['-', ' '], "_");
    let word = plain(word);
    let letters = word.chars().count();
    let allowed = letters.div_ceil(3).min(4);
    let mut best: Option<(usize, &str)> = None;
    for choice in choices {
        if choice.chars().count().abs_diff(letters) > allowed {
            continue;
        }
        let distance = strsim::osa_distance(&word, &plain(choice));
        if distance <= allowed && best.is_none_or(|(least, _)| distance < least) {
            best = Some((distance, choice));
        }
    }
    best.map(|(_, choice)| choice)
}

/// Text from a file in backquotes, cut to a length fit for a message.
///
/// ```
/// assert_eq!(wythe_text::shown("south"), "`south`");
/// ```
pub fn shown(text: &str) -> String {
    let line = text.lines().next().unwrap_or_default();
    let cut: String = line.chars().take(SHOWN).collect();
    if cut.len() == text.len() {
        format!("`{cut}`")
    } else {
        format!("`{cut}…`")
    }
}
