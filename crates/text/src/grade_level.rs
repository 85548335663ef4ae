//! How hard a text is to read, as a United States school grade.
//!
//! Source: J. P. Kincaid, R. P. Fishburne, R. L. Rogers and B. S. Chissom, "Derivation of new readability formulas for
//! Navy enlisted personnel", Naval Technical Training Command, Research Branch Report 8-75, 1975:
//! grade = 0.39 words/sentences + 11.8 syllables/words − 15.59.

/// Counts of a text that its grade level comes from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Sentences; a blank line ends one too.
    pub sentences: usize,
    /// Words between spaces; a number is a word, and so is a pair with a hyphen.
    pub words: usize,
    /// Syllables, by spelling; a number counts one.
    pub syllables: usize,
}

impl Counts {
    /// The counts of a text in plain prose.
    ///
    /// ```
    /// use wythe_text::Counts;
    /// let counts = Counts::of("Check the gutter. It may be blocked with leaves.");
    /// assert_eq!(counts, Counts { sentences: 2, words: 9, syllables: 10 });
    /// ```
    pub fn of(text: &str) -> Counts {
        let mut counts = Counts::default();
        let lines: Vec<&str> = text.lines().collect();
        for paragraph in lines.split(|line| line.trim().is_empty()) {
            counts.paragraph(&paragraph.join(" "));
        }
        counts
    }

    fn paragraph(&mut self, text: &str) {
        let tokens: Vec<&str> = text.split_whitespace().collect();
        let mut open = false;
        for (at, token) in tokens.iter().enumerate() {
            if token.contains(char::is_alphanumeric) {
                self.words += 1;
                self.syllables += token_syllables(token);
                open = true;
            }
            // "1/4 in. wide" goes on after its stop.
            let goes_on = tokens
                .get(at + 1)
                .is_some_and(|next| next.starts_with(char::is_lowercase));
            let stops = token
                .trim_end_matches(['"', '\'', ')', ']', '”', '’'])
                .ends_with(['.', '!', '?']);
            if open && (tokens.len() == at + 1 || stops && !goes_on) {
                self.sentences += 1;
                open = false;
            }
        }
        self.sentences += usize::from(open);
    }

    /// The grade level: a text of 8 is one that a pupil of the eighth grade follows. None without a word.
    ///
    /// ```
    /// use wythe_text::Counts;
    /// let grade = Counts { sentences: 1, words: 13, syllables: 24 }.grade();
    /// assert!(grade.is_some_and(|grade| (grade - 11.3).abs() < 0.05));
    /// ```
    pub fn grade(&self) -> Option<f64> {
        let words = self.words as f64;
        let sentences = self.sentences.max(1) as f64;
        (self.words > 0).then(|| 0.39 * words / sentences + 11.8 * self.syllables as f64 / words - 15.59)
    }
}

/// The grade level of a text in plain prose; none without a word. Of a few words alone it says little.
///
/// ```
/// let plain = wythe_text::grade_level("The cat sat on the mat.");
/// assert!(plain.is_some_and(|grade| grade < 0.0));
/// ```
pub fn grade_level(text: &str) -> Option<f64> {
    Counts::of(text).grade()
}

fn token_syllables(token: &str) -> usize {
    let parts = token.split(|c: char| !c.is_alphanumeric() && !matches!(c, '\'' | '’'));
    let words = parts.filter(|part| part.contains(char::is_alphabetic));
    words.map(syllables).sum::<usize>().max(1)
}

/// Syllables of an English word, by its spelling; at least 1.
///
/// A rule of thumb: a test holds it against the CMU Pronouncing Dictionary.
///
/// ```
/// assert_eq!(["crack", "lintel", "foundation", "settlement"].map(wythe_text::syllables), [1, 2, 3, 3]);
/// ```
pub fn syllables(word: &str) -> usize {
    let letters: Vec<char> = word.to_lowercase().chars().filter(|c| c.is_alphabetic()).collect();
    let y_between = |at: usize| {
        let vowel_after = letters.get(at + 1).is_some_and(|c| "aeiou".contains(*c));
        let vowel_before = at == 0 || letters.get(at - 1).is_some_and(|c| "aeou".contains(*c));
        vowel_before && vowel_after
    };
    // A y that parts two vowels is written as the consonant it is.
    let word: String = letters
        .iter()
        .enumerate()
        .map(|(at, c)| if *c == 'y' && y_between(at) { 'j' } else { *c })
        .collect();
    spelt(&word)
}

/// First parts of compound words; the `e` at their end is silent.
const FIRST_PARTS: [&str; 9] = [
    "some", "every", "base", "guide", "there", "home", "pipe", "side", "tile",
];

fn spelt(word: &str) -> usize {
    for first in FIRST_PARTS {
        if let Some(rest) = word.strip_prefix(first)
            && rest.len() > 2
            && rest.starts_with(consonant)
        {
            return part(first) + spelt(rest);
        }
    }
    part(word)
}

fn part(word: &str) -> usize {
    let groups = word.split(consonant).filter(|group| !group.is_empty()).count();
    (groups + apart(word)).saturating_sub(silent(word)).max(1)
}

fn vowel(c: char) -> bool {
    "aeiouyáàâäéèêëíîïóôöúûü".contains(c)
}

fn consonant(c: char) -> bool {
    !vowel(c)
}

/// Vowels that stand together and are said apart.
fn apart(word: &str) -> usize {
    let letters: Vec<char> = word.chars().collect();
    let mut count = 0;
    for (at, pair) in letters.windows(2).enumerate() {
        let before = at.checked_sub(1).and_then(|at| letters.get(at)).copied().unwrap_or(' ');
        let after = letters.get(at + 2).copied().unwrap_or(' ');
        let found = match pair {
            ['i', 'a'] => !"tscgx".contains(before) || before == 'c' && !" ln".contains(after),
            ['i', 'o'] => !"tscgxnl".contains(before) || before == 't' && after == ' ',
            ['u', 'a'] => before != 'q' && after != 'r',
            ['e', 'o'] => before != 'p' && after != 'u',
            ['i', 'e'] => before == 'u' && after == 't' || before == 'c' && "nt".contains(after) || before == 'r',
            ['i', 'i' | 'u'] => true,
            ['y' | 'a' | 'e' | 'o' | 'u', 'i'] => letters.get(at + 2..at + 4) == Some(&['n', 'g']),
            _ => false,
        };
        count += usize::from(found);
    }
    count + usize::from(word.ends_with("ism"))
}

/// Silent `e`s.
fn silent(word: &str) -> usize {
    // The letter before an ending, and whether the ending is said after it.
    let before = |ending: &str| word.strip_suffix(ending).and_then(|rest| rest.chars().next_back());
    let after_l_or_r = |ending: &str| {
        let rest = word.strip_suffix(ending).unwrap_or_default();
        let mut last = rest.chars().rev();
        matches!(last.next(), Some('l' | 'r')) && last.next().is_some_and(|c| consonant(c) && !"lr".contains(c))
    };
    let sibilant = ["s", "x", "z", "g", "c", "sh", "ch"];
    let hisses = |ending: &str| {
        sibilant
            .iter()
            .any(|end| word.strip_suffix(ending).is_some_and(|rest| rest.ends_with(end)))
    };
    let last = if before("e").is_some_and(consonant) {
        !after_l_or_r("e")
    } else if before("es").is_some_and(consonant) {
        !hisses("es") && !after_l_or_r("es")
    } else if before("ed").is_some_and(consonant) {
        !before("ed").is_some_and(|c| "td".contains(c)) && !after_l_or_r("ed")
    } else {
        false
    };
    let inner = ["ely", "ement", "ements", "eful", "eless", "eness"]
        .iter()
        .any(|ending| before(ending).is_some_and(|c| consonant(c) && c != 'l'));
    usize::from(last) + usize::from(inner)
}
