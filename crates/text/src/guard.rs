//! What is refused in a YAML text before the library sees it: anchors, aliases, tags, more than one document, too many
//! values, too deep a nesting.
//!
//! A light scan that knows quotes, comments, block text and plain text, no more. What it lets slip by is bounded again
//! when the text is read (see `reading`).

use crate::doc::Refusal;
use crate::reading::{MAX_DEPTH, MAX_NODES};

/// Refuses what rule and case files have no need of.
pub(crate) fn check(text: &str) -> Result<(), Refusal> {
    let mut scan = Scan {
        text,
        at: 0,
        column: 0,
        parent: -1,
        flow: 0,
        dashes: 0,
        values: 0,
        content: false,
    };
    while let Some(c) = scan.peek() {
        scan.node_start(c)?;
    }
    if scan.content {
        Ok(())
    } else {
        Err(Refusal::whole("there is nothing in the file"))
    }
}

struct Scan<'t> {
    text: &'t str,
    at: usize,
    /// Column of `at`, in bytes.
    column: i64,
    /// Column of the latest name or dash: block text is indented more than this.
    parent: i64,
    /// Brackets open.
    flow: usize,
    /// Dashes since the line began.
    dashes: usize,
    values: usize,
    content: bool,
}

impl<'t> Scan<'t> {
    fn rest(&self) -> &'t str {
        self.text.get(self.at..).unwrap_or_default()
    }

    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    fn step(&mut self) {
        if let Some(c) = self.peek() {
            self.at = self.at.saturating_add(c.len_utf8());
            if c == '\n' {
                (self.column, self.dashes) = (0, 0);
            } else {
                self.column = self.column.saturating_add(1);
            }
        }
    }

    fn skip_line(&mut self) {
        let length = self.rest().find('\n').unwrap_or(self.rest().len());
        self.at = self.at.saturating_add(length);
    }

    /// True when a mark of one character stands here, followed by a space or the end of the line.
    fn stands_alone(&self) -> bool {
        self.rest().chars().nth(1).is_none_or(char::is_whitespace)
    }

    /// A tab: refused where only blanks stand before it on the line, for it would indent.
    fn tab(&mut self) -> Result<(), Refusal> {
        let before = self.text.get(..self.at).unwrap_or_default();
        if before.rsplit('\n').next().unwrap_or_default().trim().is_empty() {
            return Err(self.refuse("a tab indents this line".into(), Some("indent with spaces")));
        }
        self.step();
        Ok(())
    }

    fn count(&mut self) -> Result<(), Refusal> {
        self.content = true;
        self.values = self.values.saturating_add(1);
        if self.values > MAX_NODES {
            return Err(Refusal::whole(format!("the file holds more than {MAX_NODES} values")));
        }
        Ok(())
    }

    fn refuse(&self, what: String, help: Option<&str>) -> Refusal {
        Refusal::at_byte(self.text, self.at, what, help.map(str::to_owned))
    }

    /// Here a value may begin.
    fn node_start(&mut self, c: char) -> Result<(), Refusal> {
        match c {
            '\t' if self.flow == 0 => self.tab()?,
            ' ' | '\t' | '\n' | '\r' => self.step(),
            '#' => self.skip_line(),
            '%' if self.column == 0 && !self.content => self.skip_line(),
            '-' | '.' if self.column == 0 && self.is_document_mark() => {
                if self.content && !self.only_comments_follow() {
                    let what = "the file holds more than one document".to_owned();
                    return Err(self.refuse(what, Some("keep one case or rule file to a file")));
                }
                (0..3).for_each(|_| self.step());
            }
            '-' | '?' if self.flow == 0 && self.stands_alone() => {
                self.count()?;
                self.parent = self.column;
                self.dashes = self.dashes.saturating_add(1);
                self.check_depth(self.dashes)?;
                self.step();
            }
            '&' | '*' | '!' => {
                let name = match c {
                    '&' => "an anchor",
                    '*' => "an alias",
                    _ => "a tag",
                };
                let what = format!("`{c}` begins {name} here, and those are not read");
                return Err(self.refuse(what, Some("put text that begins with this character in quotes")));
            }
            '[' | '{' => {
                self.count()?;
                self.flow = self.flow.saturating_add(1);
                self.check_depth(self.flow)?;
                self.step();
            }
            '|' | '>' if self.flow == 0 => self.block_text()?,
            '"' | '\'' => {
                self.count()?;
                let column = self.column;
                self.quoted(c);
                self.after_value(column)?;
            }
            ']' | '}' | ',' | ':' if self.flow > 0 => self.after_value(self.column)?,
            _ => {
                self.count()?;
                self.plain();
            }
        }
        Ok(())
    }

    fn check_depth(&self, depth: usize) -> Result<(), Refusal> {
        if depth > MAX_DEPTH {
            return Err(self.refuse(format!("nested more than {MAX_DEPTH} levels deep"), None));
        }
        Ok(())
    }

    fn is_document_mark(&self) -> bool {
        let rest = self.rest();
        let after = rest.strip_prefix("---").or_else(|| rest.strip_prefix("..."));
        after.is_some_and(|after| after.chars().next().is_none_or(char::is_whitespace))
    }

    fn only_comments_follow(&self) -> bool {
        let mut lines = self.rest().lines();
        lines.next() == Some("...") && lines.all(|line| line.trim().is_empty() || line.trim().starts_with('#'))
    }

    /// A quoted text, to its closing quote. A doubled single quote reads as two texts, which does no harm.
    fn quoted(&mut self, quote: char) {
        self.step();
        while let Some(c) = self.peek() {
            self.step();
            if c == '\\' && quote == '"' {
                self.step();
            } else if c == quote {
                break;
            }
        }
    }

    /// Between a value's end and the next one's beginning. `column` is where the value began, for a name.
    fn after_value(&mut self, column: i64) -> Result<(), Refusal> {
        while let Some(c) = self.peek() {
            match c {
                '\n' => break,
                ':' if self.flow == 0 && self.stands_alone() => {
                    self.parent = column;
                    self.step();
                    break;
                }
                ':' | ',' if self.flow > 0 => {
                    self.step();
                    break;
                }
                ']' | '}' => {
                    self.flow = self.flow.saturating_sub(1);
                    self.step();
                }
                '"' | '\'' => self.quoted(c),
                '#' => {
                    self.skip_line();
                    break;
                }
                '[' | '{' => break,
                _ => self.step(),
            }
        }
        Ok(())
    }

    /// Plain text, to its end on this line.
    fn plain(&mut self) {
        let column = self.column;
        let mut before = ' ';
        while let Some(c) = self.peek() {
            let ends = match c {
                '\n' => true,
                '#' => before.is_whitespace(),
                ',' | '[' | ']' | '{' | '}' => self.flow > 0,
                _ => false,
            };
            if ends {
                break;
            }
            let in_flow = |next: Option<char>| self.flow > 0 && next.is_some_and(|next| ",[]{}".contains(next));
            if c == ':' && (self.stands_alone() || in_flow(self.rest().chars().nth(1))) {
                self.parent = if self.flow == 0 { column } else { self.parent };
                self.step();
                break;
            }
            before = c;
            self.step();
        }
    }

    /// Block text: its header, then every line indented more than the name it belongs to.
    fn block_text(&mut self) -> Result<(), Refusal> {
        self.count()?;
        self.skip_line();
        loop {
            self.step();
            let line = self.rest().lines().next().unwrap_or_default();
            let indent = line.len().saturating_sub(line.trim_start_matches(' ').len()) as i64;
            let blank = line.trim().is_empty();
            if self.rest().is_empty() || !(blank || indent > self.parent) || self.is_document_mark() {
                return Ok(());
            }
            self.skip_line();
        }
    }
}
