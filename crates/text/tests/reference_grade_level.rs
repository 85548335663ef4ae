//! Reading level against published worked values, and syllables against a pronouncing dictionary.

#![allow(clippy::unwrap_used, missing_docs)]

use std::fs;
use std::path::Path;

use wythe_text::{Counts, grade_level, syllables};

/// Words whose syllables agree, and all, of one kind of line; and those that do not.
fn agreeing(kind: &str) -> (usize, usize, Vec<String>) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/text/syllables.txt");
    let text = fs::read_to_string(path).unwrap();
    let (mut agree, mut all, mut others) = (0, 0, Vec::new());
    for line in text.lines() {
        let mut parts = line.split(' ');
        if parts.next() != Some(kind) {
            continue;
        }
        let word = parts.next().unwrap();
        let counts: Vec<usize> = parts.map(|part| part.parse().unwrap()).collect();
        all += 1;
        if counts.contains(&syllables(word)) {
            agree += 1;
        } else {
            others.push(format!("{word} {}", syllables(word)));
        }
    }
    (agree, all, others)
}

/// The CMU Pronouncing Dictionary; values and script in `tests/reference/text`.
#[test]
fn syllables_agree_with_a_pronouncing_dictionary() {
    for (kind, least, share) in [("P", 1000, 0.985), ("D", 1500, 0.91)] {
        let (agree, all, others) = agreeing(kind);
        assert!(all >= least);
        let found = agree as f64 / all as f64;
        assert!(found >= share, "{kind} {found}: {others:?}");
    }
}

/// The article "Flesch–Kincaid readability tests" in Wikipedia gives 24 syllables in 13 words and a grade of 11.3 for
/// this sentence, and −3.4 as the least grade there can be; the documentation of the npm package `flesch-kincaid` gives
/// 13.08 for it with 26 syllables.
#[test]
fn published_worked_values() {
    let sentence = "The Australian platypus is seemingly a hybrid of a mammal and reptilian creature.";
    let counts = Counts::of(sentence);
    assert_eq!((counts.sentences, counts.words), (1, 13));
    assert!(counts.syllables.abs_diff(25) <= 1, "{counts:?}");
    let near = |syllables, wanted: f64| {
        let grade = Counts { syllables, ..counts }.grade().unwrap();
        assert!((grade - wanted).abs() < 0.05, "{grade} against {wanted}");
    };
    near(24, 11.3);
    near(26, 13.08);
    assert!((grade_level("Go. Look. Stop.").unwrap() - -3.4).abs() < 1e-9);
    assert_eq!(grade_level(" - \n\n … "), None);
}

#[test]
fn sentences_end_where_a_reader_ends_them() {
    for (text, sentences) in [
        ("A gap of 1/4 in. wide at the top.", 1),
        ("Look up. (It may drip.) Then go in", 3),
        ("A heading\n\nA line broken\nin two.", 2),
        ("Is it wet? Yes! Go on.", 3),
    ] {
        assert_eq!(Counts::of(text).sentences, sentences, "{text}");
    }
}
