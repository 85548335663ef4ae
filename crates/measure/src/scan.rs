//! Text to tokens: exact numbers, words and marks, each with its offset.

use crate::MeasureError;
use crate::number::{Exact, MAX_DIGITS, vulgar};

/// Longest text read as one measurement, in bytes.
const MAX_TEXT: usize = 200;

#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Kind {
    /// A number without sign. `over` is `Some(n)` for a plain fraction `1/n`.
    Number {
        value: Exact,
        over: Option<i128>,
    },
    /// A word in lower case.
    Word(String),
    /// `'` and its typographic kin.
    Prime,
    /// `"` and its typographic kin, or two single marks.
    DoublePrime,
    /// `±`, `+/-` or `+-`.
    PlusMinus,
    Minus,
    Plus,
    Slash,
    Colon,
    Percent,
    DegreeSign,
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Token {
    pub kind: Kind,
    pub start: usize,
    pub end: usize,
}

fn text(offset: usize, why: impl Into<String>, accepted: &'static str) -> MeasureError {
    MeasureError::Text {
        offset,
        why: why.into(),
        accepted,
    }
}

/// A blank between tokens. A form feed and its kin move a terminal, so that they are none.
fn blank(c: char) -> bool {
    c.is_whitespace() && (!c.is_control() || matches!(c, '\t' | '\n')) && !matches!(c, '\u{2028}' | '\u{2029}')
}

/// Split a text into tokens.
pub(crate) fn scan(input: &str) -> Result<Vec<Token>, MeasureError> {
    if input.trim().is_empty() {
        return Err(MeasureError::Empty);
    }
    if input.len() > MAX_TEXT {
        return Err(text(
            MAX_TEXT,
            "the text is too long for one measurement",
            "at most 200 bytes",
        ));
    }
    let chars: Vec<(usize, char)> = input.char_indices().collect();
    let mut scanner = Scanner {
        chars: &chars,
        len: input.len(),
        at: 0,
    };
    let mut tokens = Vec::new();
    while let Some(token) = scanner.token()? {
        tokens.push(token);
    }
    Ok(tokens)
}

struct Scanner<'a> {
    chars: &'a [(usize, char)],
    len: usize,
    at: usize,
}

impl Scanner<'_> {
    fn peek(&self, ahead: usize) -> Option<char> {
        self.chars.get(self.at + ahead).map(|&(_, c)| c)
    }

    fn offset(&self) -> usize {
        self.chars.get(self.at).map_or(self.len, |&(o, _)| o)
    }

    fn token(&mut self) -> Result<Option<Token>, MeasureError> {
        while self.peek(0).is_some_and(blank) {
            self.at += 1;
        }
        let start = self.offset();
        let Some(c) = self.peek(0) else {
            return Ok(None);
        };
        let kind = match c {
            '0'..='9' | '.' => self.number(start)?,
            _ if vulgar(c).is_some() => self.number(start)?,
            _ if c.is_alphabetic() => self.word(),
            _ => self.mark(c).ok_or_else(|| {
                text(
                    start,
                    format!("`{}` can't stand in a measurement", c.escape_debug()),
                    "numbers, fractions, units and ± can",
                )
            })?,
        };
        Ok(Some(Token {
            kind,
            start,
            end: self.offset(),
        }))
    }

    fn word(&mut self) -> Kind {
        let mut word = String::new();
        while let Some(c) = self.peek(0).filter(|c| c.is_alphabetic()) {
            word.extend(c.to_lowercase());
            self.at += 1;
        }
        Kind::Word(word)
    }

    fn mark(&mut self, c: char) -> Option<Kind> {
        let (kind, width) = match c {
            '±' => (Kind::PlusMinus, 1),
            '+' => match (self.peek(1), self.peek(2)) {
                (Some('/'), Some('-' | '−')) => (Kind::PlusMinus, 3),
                (Some('-' | '−'), _) => (Kind::PlusMinus, 2),
                _ => (Kind::Plus, 1),
            },
            '\'' | '′' | '’' | '‘' => match self.peek(1) {
                Some(d) if d == c => (Kind::DoublePrime, 2),
                _ => (Kind::Prime, 1),
            },
            '"' | '″' | '”' | '“' => (Kind::DoublePrime, 1),
            '-' | '−' | '–' | '‑' => (Kind::Minus, 1),
            '/' | '⁄' => (Kind::Slash, 1),
            ':' => (Kind::Colon, 1),
            '%' => (Kind::Percent, 1),
            '°' | 'º' => (Kind::DegreeSign, 1),
            _ => return None,
        };
        self.at += width;
        Some(kind)
    }

    fn digits(&mut self, start: usize) -> Result<(i128, usize), MeasureError> {
        let (mut value, mut count) = (0_i128, 0);
        while let Some(d) = self.peek(0).and_then(|c| c.to_digit(10)) {
            count += 1;
            if count > MAX_DIGITS {
                return Err(text(
                    start,
                    "the number has too many digits",
                    "at most 12 before and 12 after the point",
                ));
            }
            value = value * 10 + i128::from(d);
            self.at += 1;
        }
        Ok((value, count))
    }

    /// `12`, `0.25`, `3/16`, `4 1/2`, `4-1/2`, `4½`, `½`.
    fn number(&mut self, start: usize) -> Result<Kind, MeasureError> {
        if let Some(value) = self.peek(0).and_then(vulgar) {
            self.at += 1;
            return Ok(Kind::Number { value, over: None });
        }
        let (whole, count) = self.digits(start)?;
        if self.peek(0) == Some('.') {
            return self.decimal(start, whole, count);
        }
        if self.peek(0) == Some(',') && self.peek(1).is_some_and(|c| c.is_ascii_digit()) {
            return Err(text(
                self.offset(),
                "a comma in a number is ambiguous",
                "write `1200` or `1.2`",
            ));
        }
        if let Some(den) = self.denominator(0, start)? {
            return Ok(Kind::Number {
                value: Exact { num: whole, den },
                over: (whole == 1).then_some(den),
            });
        }
        let value = match self.fraction_after()? {
            Some(part) => Exact {
                num: whole * part.den + part.num,
                den: part.den,
            },
            None => Exact { num: whole, den: 1 },
        };
        Ok(Kind::Number { value, over: None })
    }

    fn decimal(&mut self, start: usize, whole: i128, count: usize) -> Result<Kind, MeasureError> {
        self.at += 1;
        let (part, places) = self.digits(start)?;
        if count + places == 0 {
            return Err(text(start, "a point without digits", "write for example `0.5`"));
        }
        if self.peek(0) == Some('.') {
            return Err(text(self.offset(), "a second decimal point", "write for example `0.5`"));
        }
        let den = 10_i128.pow(places as u32);
        Ok(Kind::Number {
            value: Exact {
                num: whole * den + part,
                den,
            },
            over: None,
        })
    }

    /// The `/ 16` of a fraction, `ahead` characters on; leaves the place
    /// unmoved when there is none.
    fn denominator(&mut self, ahead: usize, start: usize) -> Result<Option<i128>, MeasureError> {
        let slash = matches!(self.peek(ahead), Some('/' | '⁄'));
        if !slash || !self.peek(ahead + 1).is_some_and(|c| c.is_ascii_digit()) {
            return Ok(None);
        }
        let back = self.at;
        self.at += ahead + 1;
        let (den, _) = self.digits(start)?;
        if self.peek(0) == Some('.') {
            // `1/12.5` is a ratio, read by the grammar.
            self.at = back;
            return Ok(None);
        }
        if den == 0 {
            return Err(text(start, "a fraction over zero", "write for example `3/16 in`"));
        }
        if den > 1_000_000 {
            return Err(text(
                start,
                "the fraction is too fine",
                "denominators up to 1000000 are read",
            ));
        }
        Ok(Some(den))
    }

    /// The `1/2` of `4 1/2`, `4-1/2` or `4½`.
    fn fraction_after(&mut self) -> Result<Option<Exact>, MeasureError> {
        let back = self.at;
        let mut blanks = 0;
        while self.peek(0).is_some_and(blank) {
            self.at += 1;
            blanks += 1;
        }
        if blanks == 0 && matches!(self.peek(0), Some('-' | '‑')) {
            self.at += 1;
            blanks += 1;
        }
        if let Some(part) = self.peek(0).and_then(vulgar) {
            self.at += 1;
            return Ok(Some(part));
        }
        if blanks > 0 && self.peek(0).is_some_and(|c| c.is_ascii_digit()) {
            let start = self.offset();
            let (num, _) = self.digits(start)?;
            if let Some(den) = self.denominator(0, start)? {
                return Ok(Some(Exact { num, den }));
            }
        }
        self.at = back;
        Ok(None)
    }
}
