//! Problems of a file, with a line and a caret.

use std::fmt;

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};

use crate::chars::harmless;

/// Most problems kept; the rest are counted.
const MOST: usize = 500;
/// Longest stretch of a line shown, in characters, and how much of it stands before the caret.
const WINDOW: usize = 120;
const BEFORE: usize = 60;

/// Where something stands in a file. Lines and columns count from 1, columns in characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Spot {
    /// Line.
    pub line: usize,
    /// Column of its first character.
    pub column: usize,
    /// How many characters, at least 1.
    pub length: usize,
}

/// One thing wrong with a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Name of the file.
    pub file: String,
    /// Where, when that is known.
    pub spot: Option<Spot>,
    /// What is wrong: lower case, no full stop.
    pub what: String,
    /// What to do about it.
    pub help: Option<String>,
    /// The stretch of the line to show, and the caret's first byte and last in it.
    excerpt: Option<(String, usize, usize)>,
}

impl Problem {
    /// A problem of a file as a whole.
    pub fn new(file: &str, what: impl Into<String>, help: Option<String>) -> Self {
        Self {
            file: harmless(file),
            spot: None,
            what: harmless(&what.into()),
            help: help.map(|help| harmless(&help)),
            excerpt: None,
        }
    }

    /// A problem with a part of a plain text: `length` characters from the byte `offset` on.
    ///
    /// ```
    /// let problem = wythe_text::Problem::in_text("notes", "south wall:\nstpe crack", (12, 4), "not a sign", None);
    /// assert!(problem.to_string().starts_with("notes:2:1: not a sign\n"));
    /// ```
    pub fn in_text(
        file: &str,
        text: &str,
        (offset, length): (usize, usize),
        what: impl Into<String>,
        help: Option<String>,
    ) -> Self {
        let before = text.get(..offset).unwrap_or_default();
        let start = before.rfind('\n').map_or(0, |at| at.saturating_add(1));
        let column = text.get(start..offset).unwrap_or_default().chars().count();
        let line = text.get(start..).unwrap_or_default().lines().next().unwrap_or_default();
        let spot = Spot {
            line: before.matches('\n').count().saturating_add(1),
            column: column.saturating_add(1),
            length: length.max(1),
        };
        Self::new(file, what, help).at(spot, line)
    }

    /// The problem, pointing at a spot in `line`.
    pub fn at(mut self, spot: Spot, line: &str) -> Self {
        let start = spot.column.saturating_sub(1);
        let skip = if start > WINDOW {
            start.saturating_sub(BEFORE)
        } else {
            0
        };
        let window: String = line
            .trim_end_matches('\r')
            .chars()
            .skip(skip)
            .take(2 * WINDOW)
            .collect();
        let shift = usize::from(skip > 0);
        let shown = format!("{}{}", if skip > 0 { "…" } else { "" }, harmless(&window));
        let byte = |char_index: usize| {
            shown
                .char_indices()
                .nth(char_index)
                .map_or(shown.len(), |(byte, _)| byte)
        };
        let first = start.saturating_sub(skip).saturating_add(shift);
        let (from, to) = (byte(first), byte(first.saturating_add(spot.length)));
        self.excerpt = Some((shown, from, to));
        self.spot = Some(spot);
        self
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(spot) = self.spot {
            write!(f, ":{}:{}", spot.line, spot.column)?;
        }
        writeln!(f, ": {}", self.what)?;
        if let (Some(spot), Some((line, from, to))) = (self.spot, &self.excerpt) {
            let caret = AnnotationKind::Primary.span(*from..*to);
            let snippet = Snippet::source(line.as_str()).line_start(spot.line).annotation(caret);
            let group = Group::with_level(Level::ERROR).element(snippet);
            let drawn = Renderer::plain().term_width(200).render(&[group]);
            for row in drawn.lines() {
                writeln!(f, "{}", row.trim_end())?;
            }
        }
        match &self.help {
            Some(help) => writeln!(f, "help: {help}"),
            None => Ok(()),
        }
    }
}

/// Every problem found, in the order found. After the first 500 they are only counted.
#[derive(Clone, Debug, Default, PartialEq, Eq, thiserror::Error)]
pub struct Problems {
    kept: Vec<Problem>,
    more: usize,
}

impl Problems {
    /// None yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds one.
    pub fn push(&mut self, problem: Problem) {
        self.push_with(|| problem);
    }

    /// True when further problems will only be counted: a reader may then stop.
    pub fn is_full(&self) -> bool {
        self.kept.len() >= MOST
    }

    /// Adds one that is made only if it will be kept.
    pub(crate) fn push_with(&mut self, problem: impl FnOnce() -> Problem) {
        if self.kept.len() < MOST {
            self.kept.push(problem())
        } else {
            self.more = self.more.saturating_add(1)
        }
    }

    /// Adds all of another.
    pub fn extend(&mut self, others: Problems) {
        others.kept.into_iter().for_each(|problem| self.push(problem));
        self.more = self.more.saturating_add(others.more);
    }

    /// True when nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.kept.len().saturating_add(self.more)
    }

    /// The first 500, in the order found.
    pub fn iter(&self) -> std::slice::Iter<'_, Problem> {
        self.kept.iter()
    }

    /// In the order of file, line and column; equal ones keep the order found.
    pub fn sorted(mut self) -> Self {
        self.kept.sort_by(|a, b| (&a.file, a.spot).cmp(&(&b.file, b.spot)));
        self
    }

    /// The value when nothing is wrong, else the problems, sorted.
    ///
    /// # Errors
    /// The problems, when there are any.
    pub fn into_result<T>(self, value: T) -> Result<T, Problems> {
        if self.is_empty() { Ok(value) } else { Err(self.sorted()) }
    }
}

impl From<Problem> for Problems {
    fn from(problem: Problem) -> Self {
        Self {
            kept: vec![problem],
            more: 0,
        }
    }
}

impl<'p> IntoIterator for &'p Problems {
    type Item = &'p Problem;
    type IntoIter = std::slice::Iter<'p, Problem>;

    fn into_iter(self) -> Self::IntoIter {
        self.kept.iter()
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, problem) in self.kept.iter().enumerate() {
            let between = if index > 0 { "\n" } else { "" };
            write!(f, "{between}{problem}")?;
        }
        if self.more > 0 {
            writeln!(f, "\nand {} more", self.more)?;
        }
        Ok(())
    }
}
