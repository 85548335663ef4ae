//! Wording that clients read: United States school grade 8 or below.

use wythe_text::{Counts, Doc, Item, Problems, Tree};

/// The highest grade level, by the formula of Kincaid et al. (1975). Plain-language guides ask for grade 7 or 8.
const HIGHEST: f64 = 8.0;
/// Shorter texts are a name or a fragment, of which the formula says little.
const FEWEST_WORDS: usize = 8;

/// Refuses client wording that is hard to read: the pack's sentences, notices and advice.
pub(crate) fn reading_level(docs: &[(&str, Doc)], out: &mut Problems) {
    for (path, doc) in docs {
        let key = match path.split('/').next() {
            Some("wording.yaml") => None,
            Some("hazards") => Some("notice"),
            Some("mechanisms") => Some("advice"),
            _ => continue,
        };
        for (name, member) in doc.root().members() {
            // What an engineer is asked is not for the client.
            if (key.is_none() && name != Some("engineer")) || (key.is_some() && name == key) {
                walk(member, out);
            }
        }
    }
}

fn walk(item: Item<'_>, out: &mut Problems) {
    if let Tree::Text(text) = item.tree() {
        let counts = Counts::of(&filled(text));
        if let Some(grade) = counts
            .grade()
            .filter(|grade| *grade > HIGHEST && counts.words >= FEWEST_WORDS)
        {
            item.problem(
                out,
                format!(
                    "this reads at school grade {grade:.1}, and clients are written to at grade {HIGHEST} or below"
                ),
                Some("use shorter sentences and shorter words".into()),
            );
        }
    }
    for (_, member) in item.members() {
        walk(member, out);
    }
}

/// The text with a short word for each slot: what fills it is judged where it is written.
fn filled(text: &str) -> String {
    let mut parts = text.split('{');
    let mut filled = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        filled.push_str("it");
        filled.push_str(part.split_once('}').map_or(part, |(_, rest)| rest));
    }
    filled
}
