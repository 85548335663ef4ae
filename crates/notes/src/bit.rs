//! A part of the notes that knows where it stands.

/// A part of a text.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bit<'t> {
    pub text: &'t str,
    /// Byte offset in the whole.
    pub at: usize,
}

impl<'t> Bit<'t> {
    pub fn whole(text: &'t str) -> Self {
        Self { text, at: 0 }
    }

    /// The last part of this one.
    pub fn tail(self, rest: &'t str) -> Self {
        Self {
            text: rest,
            at: self.at.saturating_add(self.text.len().saturating_sub(rest.len())),
        }
        .trim()
    }

    fn head(self, length: usize) -> Self {
        Self {
            text: self.text.get(..length).unwrap_or_default(),
            at: self.at,
        }
        .trim()
    }

    pub fn trim(self) -> Self {
        let start = self.text.trim_start();
        Self {
            text: start.trim_end(),
            at: self.at.saturating_add(self.text.len().saturating_sub(start.len())),
        }
    }

    pub fn lines(self) -> impl Iterator<Item = Self> {
        let mut at = 0_usize;
        self.text.split('\n').map(move |text| {
            let line = Self {
                text,
                at: self.at.saturating_add(at),
            };
            at = at.saturating_add(text.len()).saturating_add(1);
            line
        })
    }

    /// What stands before and after the first of a character.
    pub fn split_once(self, by: char) -> Option<(Self, Self)> {
        let at = self.text.find(by)?;
        Some(self.cut(at, by.len_utf8()))
    }

    /// What stands before and after `length` bytes at `at`.
    pub fn cut(self, at: usize, length: usize) -> (Self, Self) {
        let rest = self.text.get(at.saturating_add(length)..).unwrap_or_default();
        (self.head(at), self.tail(rest))
    }

    /// The parts between a character, outside round brackets.
    pub fn split(self, by: char) -> Vec<Self> {
        let mut parts = Vec::new();
        let mut rest = self;
        let mut depth = 0_usize;
        let mut start = 0_usize;
        for (at, c) in self.text.char_indices() {
            match c {
                '(' => depth = depth.saturating_add(1),
                ')' => depth = depth.saturating_sub(1),
                c if c == by && depth == 0 => {
                    let (part, after) = rest.cut(at.saturating_sub(start), c.len_utf8());
                    parts.push(part);
                    // The blanks that the cut took off count too.
                    start = after.at.saturating_sub(self.at);
                    rest = after;
                }
                _ => {}
            }
        }
        parts.push(rest.trim());
        parts
    }

    /// The parts outside round brackets: a remark is not read.
    pub fn without_remarks(self) -> Vec<Self> {
        let mut parts = Vec::new();
        let mut rest = self;
        while let Some((before, inside)) = rest.split_once('(') {
            parts.push(before);
            match inside.split_once(')') {
                Some((_, after)) => rest = after,
                None => return parts,
            }
        }
        parts.push(rest.trim());
        parts
    }

    pub fn words(self) -> Vec<Self> {
        let mut words = Vec::new();
        let mut rest = self.trim();
        while !rest.text.is_empty() {
            let end = rest.text.find(char::is_whitespace).unwrap_or(rest.text.len());
            let (word, after) = rest.cut(end, 0);
            words.push(word);
            rest = after;
        }
        words
    }

    /// From this part's first character to the other's last: both are parts of one line.
    pub fn to(self, last: Self, whole: Self) -> Self {
        let start = self.at.saturating_sub(whole.at);
        let end = last.at.saturating_add(last.text.len()).saturating_sub(whole.at);
        Self {
            text: whole.text.get(start..end).unwrap_or_default(),
            at: self.at,
        }
    }

    /// What follows a word that this part begins with.
    pub fn after_word(self, word: &str) -> Option<Self> {
        let head = self.text.get(..word.len())?;
        let rest = self.text.get(word.len()..)?;
        (head.eq_ignore_ascii_case(word) && rest.starts_with(char::is_whitespace)).then(|| self.tail(rest))
    }
}
