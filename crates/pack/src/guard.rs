//! The guard against determinations: a closed list of phrases that no rule and no output may use.
//!
//! Saying that a distress is, or is not, structural; that a house is sound or has failed; or that no repair is needed
//! is licensed practice. Alarming and reassuring phrases are refused alike. The guard reads words, not letters:
//! case, punctuation and line breaks make no difference.
//!
//! ```
//! use wythe_pack::guard::refused;
//! assert_eq!(refused("The lintel has failed."), Some("failed"));
//! assert_eq!(refused("This crack is\nnot structural."), Some("not structural"));
//! assert_eq!(refused("Several clues are consistent with a lintel that bends."), None);
//! ```

use std::sync::OnceLock;

use aho_corasick::AhoCorasick;

/// Phrases refused anywhere, as words in lower case.
pub const REFUSED: [&str; 55] = [
    "failed",
    "fails",
    "failing",
    "failure",
    "sound",
    "unsound",
    "safe",
    "unsafe",
    "dangerous",
    "cosmetic",
    "active",
    "inactive",
    "adequate",
    "inadequate",
    "defective",
    "structurally",
    "stable",
    "unstable",
    "structural damage",
    "structural failure",
    "structural problem",
    "structural defect",
    "not structural",
    "non structural",
    "nonstructural",
    "is structural",
    "are structural",
    "foundation problem",
    "foundation problems",
    "foundation damage",
    "not foundation related",
    "not foundation",
    "is foundation related",
    "not a foundation",
    "needs no repair",
    "no repair needed",
    "no repair is needed",
    "no repairs needed",
    "no action needed",
    "needs repair",
    "must be repaired",
    "needs underpinning",
    "no cause for concern",
    "no concern",
    "nothing to worry",
    "nothing wrong",
    "do not worry",
    "is normal",
    "guaranteed",
    "about to fall",
    "will collapse",
    "is caused by",
    "are caused by",
    "was caused by",
    "is due to",
];

/// The first refused phrase in a text, or none.
pub fn refused(text: &str) -> Option<&'static str> {
    static PHRASES: OnceLock<Option<AhoCorasick>> = OnceLock::new();
    let phrases = PHRASES.get_or_init(|| AhoCorasick::new(REFUSED.map(|phrase| format!(" {phrase} "))).ok());
    let words = plain(text);
    match phrases {
        Some(phrases) => REFUSED.get(phrases.find(&words)?.pattern().as_usize()).copied(),
        None => REFUSED
            .into_iter()
            .find(|phrase| words.contains(&format!(" {phrase} "))),
    }
}

/// The words of a text in lower case, one space before, between and after.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push(' ');
    for word in text
        .split(|c: char| !c.is_alphanumeric() && c != '\'')
        .filter(|word| !word.is_empty())
    {
        out.extend(word.chars().flat_map(char::to_lowercase));
        out.push(' ');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_phrase_is_found_whatever_its_case_and_breaks() {
        for phrase in REFUSED {
            let shouted = format!("Here: {}!", phrase.to_uppercase().replace(' ', "-\n"));
            assert!(refused(&shouted).is_some(), "{phrase}");
        }
    }

    #[test]
    fn words_are_whole() {
        assert_eq!(
            refused("It sounds hollow; reactive clay; an activity; unsafely? no"),
            None
        );
    }
}
