//! A page in blocks, written as Markdown or as text.
//!
//! In a block's text `[[id]]` stands for a clue, response or mechanism by its title, and `**…**` for strong words.

use std::fmt::Write;

use wythe_pack::{Basis, Pack, SourceIx};

/// Widest line of text, in columns.
const WIDTH: usize = 80;

#[derive(Debug)]
enum Block {
    Heading(String),
    Say(String),
    /// An item of a list: how deep, from 0, and its text.
    Item(usize, String),
}

/// A page to learn from.
#[derive(Debug)]
pub struct Sheet {
    title: String,
    blocks: Vec<Block>,
    /// Titles for `[[id]]`, known when the page was made.
    titles: Vec<(String, String)>,
}

impl Sheet {
    pub(super) fn new(pack: &Pack, title: &str) -> Sheet {
        let clues = pack.clues.iter().map(|one| (one.id.clone(), one.title.clone()));
        let responses = pack.responses.iter().map(|one| (one.id.clone(), one.title.clone()));
        let mechanisms = pack.mechanisms.iter().map(|one| (one.id.clone(), one.title.clone()));
        Sheet {
            title: capital(title),
            blocks: Vec::new(),
            titles: clues.chain(responses).chain(mechanisms).collect(),
        }
    }

    pub(super) fn heading(&mut self, text: &str) {
        self.blocks.push(Block::Heading(text.to_owned()));
    }

    pub(super) fn say(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Say(text.into()));
    }

    pub(super) fn also_called(&mut self, names: &[String]) {
        if !names.is_empty() {
            self.say(format!("Also called {}.", names.join(", ")));
        }
    }

    pub(super) fn item(&mut self, deep: usize, text: impl Into<String>) {
        self.blocks.push(Block::Item(deep, text.into()));
    }

    /// A heading and a list below it, when there is something to list.
    pub(super) fn list(&mut self, heading: &str, items: impl IntoIterator<Item = String>) {
        let items: Vec<String> = items.into_iter().collect();
        if !items.is_empty() {
            self.heading(heading);
            self.blocks.extend(items.into_iter().map(|item| Block::Item(0, item)));
        }
    }

    /// The sources, by number and in words.
    pub(super) fn sources(&mut self, pack: &Pack, sources: &[SourceIx]) {
        let mut sources = sources.to_vec();
        sources.sort();
        sources.dedup();
        self.list("Sources", sources.into_iter().map(|at| source(pack, at)));
    }

    /// As Markdown, for a file one folder below the index.
    pub fn markdown(&self, pack: &Pack) -> String {
        let link = |id: &str| {
            let title = self.title_of(id);
            if pack.clue(id).is_some() {
                format!("[{title}](../clues/{id}.md)")
            } else if pack.mechanism(id).is_some() {
                format!("[{title}](../mechanisms/{id}.md)")
            } else {
                format!("*{title}*")
            }
        };
        let mut text = format!("# {}\n", self.title);
        let mut in_list = false;
        for block in &self.blocks {
            let item = matches!(block, Block::Item(..));
            if !(item && in_list) {
                text.push('\n');
            }
            in_list = item;
            let _ = match block {
                Block::Heading(heading) => writeln!(text, "## {heading}"),
                Block::Say(words) => writeln!(text, "{}", replaced(words, link)),
                Block::Item(deep, words) => writeln!(text, "{}* {}", "  ".repeat(*deep), replaced(words, link)),
            };
        }
        text
    }

    /// As text, in lines of at most 80 columns.
    pub fn text(&self) -> String {
        let name = |id: &str| format!("{} ({id})", self.title_of(id));
        let mut text = self.title.to_uppercase();
        text.push('\n');
        let mut in_list = false;
        for block in &self.blocks {
            let item = matches!(block, Block::Item(..));
            if !(item && in_list) {
                text.push('\n');
            }
            in_list = item;
            let plain = |words: &str| replaced(words, name).replace('*', "");
            let _ = match block {
                Block::Heading(heading) => writeln!(text, "{}", heading.to_uppercase()),
                Block::Say(words) => writeln!(text, "{}", filled("", "", &plain(words))),
                Block::Item(deep, words) => {
                    let indent = " ".repeat(2 * deep + 2);
                    writeln!(
                        text,
                        "{}",
                        filled(&format!("{indent}- "), &format!("{indent}  "), &plain(words))
                    )
                }
            };
        }
        text
    }

    fn title_of(&self, id: &str) -> String {
        let found = self.titles.iter().find(|(known, _)| known == id);
        found.map_or_else(|| id.to_owned(), |(_, title)| title.clone())
    }
}

fn filled(first: &str, rest: &str, text: &str) -> String {
    let options = textwrap::Options::new(WIDTH)
        .initial_indent(first)
        .subsequent_indent(rest)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    textwrap::fill(text, options)
}

/// The text with each `[[id]]` replaced.
fn replaced(text: &str, by: impl Fn(&str) -> String) -> String {
    let mut parts = text.split("[[");
    let mut out = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        match part.split_once("]]") {
            Some((id, rest)) => {
                out.push_str(&by(id));
                out.push_str(rest);
            }
            None => out.push_str(part),
        }
    }
    out
}

/// With a capital at the start.
pub(super) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars.next().map(char::to_uppercase);
    first.into_iter().flatten().chain(chars).collect()
}

/// As a sentence.
pub(super) fn sentence(text: &str) -> String {
    let text = capital(text.trim());
    if text.ends_with(['.', '!', '?']) {
        text
    } else {
        format!("{text}.")
    }
}

/// An id as words.
pub(super) fn words(id: &str) -> String {
    id.replace('_', " ")
}

/// The sources of a number in brackets, and how well it is known where that is not our judgement.
pub(super) fn graded(pack: &Pack, sources: &[SourceIx], basis: Basis) -> String {
    let cited = cited(pack, sources);
    match basis {
        Basis::OurJudgement => cited,
        known => format!("{}; the number: {})", cited.trim_end_matches(')'), words(known.name())),
    }
}

/// A chance or share as a number in a hundred.
pub(super) fn in_100(chance: f64) -> String {
    let percent = 100.0 * chance;
    if percent >= 99.95 {
        "100 in 100".into()
    } else if percent >= 99.5 {
        format!("{percent:.1} in 100")
    } else if percent >= 9.95 {
        format!("{percent:.0} in 100")
    } else if percent >= 0.05 {
        format!("{} in 100", format!("{percent:.1}").trim_end_matches(".0"))
    } else if percent > 0.0 {
        "less than 0.1 in 100".into()
    } else {
        "none in 100".into()
    }
}

/// The number of `in_100` alone.
pub(super) fn number_in_100(chance: f64) -> String {
    in_100(chance).trim_end_matches(" in 100").to_owned()
}

/// With its article.
pub(super) fn a(title: &str) -> String {
    if title.starts_with("the ") {
        title.to_owned()
    } else if title.starts_with(['a', 'e', 'i', 'o', 'u']) {
        format!("an {title}")
    } else {
        format!("a {title}")
    }
}

/// A source in words.
pub(super) fn source(pack: &Pack, at: SourceIx) -> String {
    let source = &pack[at];
    let mut text = capital(&source.title);
    if let Some(by) = &source.by {
        let _ = write!(text, ", {by}");
    }
    if let Some(year) = source.year {
        let _ = write!(text, ", {year}");
    }
    if let Some(address) = &source.address {
        let _ = write!(text, ", {address}");
    }
    let printed = source.by.is_some() || source.year.is_some();
    if printed && !source.seen_in_print {
        text.push_str(" (from memory)");
    }
    text
}

/// The sources of a rule in a few words, in brackets.
pub(super) fn cited(pack: &Pack, sources: &[SourceIx]) -> String {
    format!("({})", named(pack, sources))
}

/// The sources of a rule in a few words.
pub(super) fn named(pack: &Pack, sources: &[SourceIx]) -> String {
    let names: Vec<String> = sources.iter().map(|at| short(pack, *at)).collect();
    names.join("; ")
}

fn short(pack: &Pack, at: SourceIx) -> String {
    use wythe_pack::SourceKind::{CommonPractice, Judgement};
    let source = &pack[at];
    match source.kind {
        CommonPractice => "common practice, no source".into(),
        Judgement => "our judgement".into(),
        _ => source
            .title
            .split([',', ':'])
            .next()
            .unwrap_or_default()
            .trim()
            .to_owned(),
    }
}
