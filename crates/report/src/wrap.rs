//! Text under way: headings, paragraphs and items, written as lines of at most 80 columns or as Markdown.

use unicode_width::UnicodeWidthStr;

use crate::ReportError;

/// Widest line, in columns.
pub(crate) const WIDTH: usize = 80;

/// How a text is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Form {
    /// Plain lines of at most 80 columns.
    #[default]
    Text,
    /// Markdown (CommonMark): headings, lists, bold. What an observer wrote stays text.
    Markdown,
}

/// A piece of the text.
enum Piece {
    Gap,
    Title(String),
    Heading(String),
    /// A small heading inside a section, set in by so much.
    Part(usize, String),
    Say(usize, String),
    Item(usize, String),
    Led {
        lead: String,
        under: usize,
        text: String,
    },
    /// Lines as they are.
    Raw(String),
}

/// Text being written.
#[derive(Default)]
pub(crate) struct Lines(Vec<Piece>);

impl Lines {
    /// An empty line, unless one was just written.
    pub fn gap(&mut self) {
        if !self.0.is_empty() && !matches!(self.0.last(), Some(Piece::Gap)) {
            self.0.push(Piece::Gap);
        }
    }

    /// The title of the whole.
    pub fn title(&mut self, text: &str) {
        self.0.push(Piece::Title(text.to_owned()));
    }

    /// A heading of a section.
    pub fn heading(&mut self, title: &str) {
        self.gap();
        self.0.push(Piece::Heading(title.to_owned()));
        self.gap();
    }

    /// A small heading, after `indent`.
    pub fn part(&mut self, indent: usize, text: &str) {
        self.0.push(Piece::Part(indent, text.to_owned()));
    }

    /// A paragraph, every line after `indent`.
    pub fn say(&mut self, indent: usize, text: &str) {
        self.0.push(Piece::Say(indent, text.to_owned()));
    }

    /// An item of a list.
    pub fn item(&mut self, indent: usize, text: &str) {
        self.0.push(Piece::Item(indent, text.to_owned()));
    }

    /// A paragraph after a lead of its own, its other lines set in under it.
    pub fn led(&mut self, lead: &str, under: usize, text: &str) {
        self.0.push(Piece::Led {
            lead: lead.to_owned(),
            under,
            text: text.to_owned(),
        });
    }

    /// Lines as they are: of another report, already no wider than 80 columns.
    pub fn raw(&mut self, text: &str) {
        self.0.push(Piece::Raw(text.trim_end().to_owned()));
    }

    /// Whether the text so far uses a word, or its plural.
    pub fn uses(&self, word: &str) -> bool {
        let has = |text: &str| uses(text, word);
        self.0.iter().any(|piece| match piece {
            Piece::Gap => false,
            Piece::Title(text)
            | Piece::Heading(text)
            | Piece::Part(_, text)
            | Piece::Say(_, text)
            | Piece::Item(_, text)
            | Piece::Led { text, .. }
            | Piece::Raw(text) => has(text),
        })
    }

    /// The whole text in a form, when it makes no determination.
    pub fn written(self, form: Form) -> Result<String, ReportError> {
        crate::checked(match form {
            Form::Text => self.finish(),
            Form::Markdown => self.markdown(),
        })
    }

    /// The whole text, as lines.
    pub fn finish(self) -> String {
        let mut out = Wrapped::default();
        for piece in self.0 {
            match piece {
                Piece::Gap => out.out.push('\n'),
                Piece::Title(text) => out.put("", "", &text),
                Piece::Heading(text) => out.put("", "", &text.to_uppercase()),
                Piece::Part(indent, text) | Piece::Say(indent, text) => {
                    let indent = " ".repeat(indent);
                    out.put(&indent, &indent, &text);
                }
                Piece::Item(indent, text) => {
                    let first = format!("{}- ", " ".repeat(indent));
                    out.put(&first, &" ".repeat(first.len()), &text);
                }
                Piece::Led { lead, under, text } => out.put(&lead, &" ".repeat(under), &text),
                Piece::Raw(text) => text.lines().for_each(|line| out.line(line)),
            }
        }
        format!("{}\n", out.out.trim_end())
    }

    /// The whole text, as Markdown.
    fn markdown(self) -> String {
        let mut out = String::new();
        let mut in_list = false;
        for piece in self.0 {
            let listed = match &piece {
                Piece::Item(..) => true,
                Piece::Led { lead, .. } => number(lead).is_none(),
                Piece::Gap => continue,
                _ => false,
            };
            if !(out.is_empty() || listed && in_list) {
                out.push('\n');
            }
            in_list = listed;
            let line = match piece {
                Piece::Gap => continue,
                Piece::Title(text) => format!("# {}", plain(&text)),
                Piece::Heading(text) => format!("## {}", plain(&text)),
                Piece::Part(_, text) => format!("**{}**", plain(&text)),
                Piece::Say(_, text) => start(&text),
                Piece::Item(_, text) => format!("- {}", start(&text)),
                Piece::Led { lead, text, .. } => match (number(&lead), plain(&lead)) {
                    (Some(number), _) => format!("### {number}. {}", plain(&text)),
                    (None, lead) if number(&format!("{lead} ")).is_some() => format!("{lead} {}", plain(&text)),
                    (None, lead) if lead.is_empty() => format!("- {}", start(&text)),
                    (None, lead) => format!("- **{lead}** {}", plain(&text)),
                },
                Piece::Raw(text) => format!("```text\n{text}\n```"),
            };
            out.push_str(line.trim_end());
            out.push('\n');
        }
        out
    }
}

/// The number of a lead like `1. ` at the start of a line: such a paragraph is headed by it.
fn number(lead: &str) -> Option<&str> {
    let number = lead.strip_suffix(". ")?;
    (!number.is_empty() && number.chars().all(|c| c.is_ascii_digit())).then_some(number)
}

/// Text that Markdown reads as text: its own signs are escaped, and blanks joined.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for word in text.split_whitespace() {
        if !out.is_empty() {
            out.push(' ');
        }
        for c in word.chars() {
            if matches!(
                c,
                '\\' | '`' | '*' | '_' | '<' | '>' | '[' | ']' | '#' | '|' | '~' | '&' | '$'
            ) {
                out.push('\\');
            }
            out.push(c);
        }
    }
    out
}

/// The same at the start of a line, where more signs count.
fn start(text: &str) -> String {
    let text = plain(text);
    let digits = text.chars().take_while(char::is_ascii_digit).count();
    let (number, rest) = text.split_at_checked(digits).unwrap_or(("", &text));
    match rest.chars().next() {
        Some('.' | ')') if digits > 0 => format!("{number}\\{rest}"),
        Some('-' | '+' | '=') if digits == 0 => format!("\\{text}"),
        _ => text,
    }
}

#[derive(Default)]
struct Wrapped {
    out: String,
}

impl Wrapped {
    fn put(&mut self, first: &str, rest: &str, text: &str) {
        let mut line = first.to_string();
        let mut empty = true;
        for word in text.split_whitespace() {
            for piece in pieces(word, WIDTH.saturating_sub(rest.width()).max(8)) {
                let gap = usize::from(!empty);
                if !empty && line.width() + gap + piece.width() > WIDTH {
                    self.line(&line);
                    line = rest.to_string();
                    empty = true;
                }
                if !empty {
                    line.push(' ');
                }
                line.push_str(&piece);
                empty = false;
            }
        }
        self.line(&line);
    }

    fn line(&mut self, line: &str) {
        self.out.push_str(line.trim_end());
        self.out.push('\n');
    }
}

/// A word in pieces no wider than `most`: nearly always one.
fn pieces(word: &str, most: usize) -> Vec<String> {
    if word.width() <= most {
        return vec![word.to_string()];
    }
    let mut pieces = vec![String::new()];
    for c in word.chars() {
        if pieces.last().is_some_and(|piece| piece.width() + 2 > most) {
            pieces.push(String::new());
        }
        if let Some(piece) = pieces.last_mut() {
            piece.push(c);
        }
    }
    pieces
}

/// Whether a text uses a word, or its plural.
pub(crate) fn uses(text: &str, word: &str) -> bool {
    let letter = |c: Option<char>| c.is_some_and(char::is_alphabetic);
    let text = text.to_lowercase();
    text.match_indices(word).any(|(at, _)| {
        let (before, after) = (text.get(..at).unwrap_or(""), text.get(at + word.len()..).unwrap_or(""));
        let after = after.strip_prefix('s').unwrap_or(after);
        !letter(before.chars().next_back()) && !letter(after.chars().next())
    })
}
