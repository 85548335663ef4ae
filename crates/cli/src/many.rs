//! `wythe weigh` of many cases: a folder of files, or a line of JSON for each. They are weighed side by side and told of
//! in order. No more than a handful are held at once, however many there are.

use std::io::{self, BufRead, BufReader, ErrorKind, IsTerminal, Read, Write};
use std::path::{Path, PathBuf};

use indicatif::{ProgressBar, ProgressStyle};
use rayon::prelude::*;
use wythe::{Case, Error, Pack, report};

use crate::args::Weigh;
use crate::run::{Stopped, as_of};

/// Cases held at once.
const AT_ONCE: usize = 128;
/// Longest line of JSON, in bytes: as a case file.
const LONGEST: u64 = 4 << 20;
/// Most files in a folder.
const MOST_FILES: usize = 1_000_000;
/// Matters named in a line.
const MATTERS: usize = 3;

/// True for a folder, and for `-`.
pub fn is_many(path: &Path) -> bool {
    path == Path::new("-") || path.is_dir()
}

/// A case to come: its name, and its file or its text.
enum Next {
    File(PathBuf),
    Line(String, Result<String, String>),
}

/// What came of a case: a line of output, or what is wrong with it.
struct Done {
    name: String,
    line: Result<String, Stopped>,
}

/// Weighs them all and prints as it goes.
pub fn many(pack: &Pack, path: &Path, asked: &Weigh) -> Result<String, Stopped> {
    if path == Path::new("-") {
        let lines = Lines {
            from: BufReader::new(io::stdin()),
            number: 0,
            ended: false,
        };
        return each(pack, lines, None, asked);
    }
    let files = files(path)?;
    if files.is_empty() {
        return Err(Stopped {
            code: 1,
            says: format!("{}: there is no .yaml or .json file in this folder", path.display()),
        });
    }
    let count = files.len();
    each(
        pack,
        files.into_iter().map(|path| Ok(Next::File(path))),
        Some(count),
        asked,
    )
}

/// The case files of a folder, in the order of their names. Hidden ones are left out: they are locks and parts.
fn files(folder: &Path) -> Result<Vec<PathBuf>, Stopped> {
    let failed = |source| {
        Stopped::from(Error::File {
            path: folder.to_owned(),
            source,
        })
    };
    let mut found = Vec::new();
    for entry in folder.read_dir().map_err(failed)? {
        let path = entry.map_err(failed)?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy().to_lowercase();
        if !name.starts_with('.') && (name.ends_with(".yaml") || name.ends_with(".json")) && path.is_file() {
            if found.len() >= MOST_FILES {
                return Err(Stopped {
                    code: 1,
                    says: format!("{}: more than {MOST_FILES} files", folder.display()),
                });
            }
            found.push(path);
        }
    }
    found.sort();
    Ok(found)
}

fn each(
    pack: &Pack,
    mut cases: impl Iterator<Item = io::Result<Next>>,
    count: Option<usize>,
    asked: &Weigh,
) -> Result<String, Stopped> {
    let bar = bar(count);
    let (mut told, mut bad) = (0_usize, 0_usize);

    let mut out = io::stdout().lock();
    loop {
        let some: Vec<Next> = cases
            .by_ref()
            .take(AT_ONCE)
            .collect::<io::Result<_>>()
            .map_err(|error| Stopped {
                code: 1,
                says: format!("the input could not be read: {error}"),
            })?;
        if some.is_empty() {
            break;
        }
        let done: Vec<Done> = some.into_par_iter().map(|next| weighed(pack, next, asked)).collect();
        for one in done {
            told = told.saturating_add(1);
            let line = match one.line {
                Ok(line) => line,
                Err(refused) => {
                    bad = bad.saturating_add(1);
                    bar.suspend(|| {
                        let _ = writeln!(io::stderr().lock(), "{}", refused.says.trim_end());
                    });
                    not_weighed(&one.name, &refused, asked.json)
                }
            };
            match bar.suspend(|| writeln!(out, "{line}")) {
                Err(error) if error.kind() == ErrorKind::BrokenPipe => return Ok(String::new()),
                Err(error) => {
                    return Err(Stopped {
                        code: 1,
                        says: format!("the output could not be written: {error}"),
                    });
                }
                Ok(()) => bar.inc(1),
            }
        }
    }
    bar.finish_and_clear();
    if bad > 0 {
        return Err(Stopped {
            code: 1,
            says: format!("{bad} of {told} cases could not be weighed; the others were"),
        });
    }
    Ok(String::new())
}

/// On a terminal, a line that tells how far it is; drawn on the error output.
fn bar(count: Option<usize>) -> ProgressBar {
    if !io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    match count {
        Some(count) => {
            let style = ProgressStyle::with_template("{wide_bar} {pos} of {len} cases, {eta} left");
            ProgressBar::new(count as u64).with_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()))
        }
        None => {
            let style = ProgressStyle::with_template("{spinner} {pos} cases, {per_sec}");
            ProgressBar::new_spinner().with_style(style.unwrap_or_else(|_| ProgressStyle::default_spinner()))
        }
    }
}

fn weighed(pack: &Pack, next: Next, asked: &Weigh) -> Done {
    let (name, case) = match next {
        Next::File(path) => (
            path.display().to_string(),
            wythe::read_case(&path).map_err(Stopped::from),
        ),
        Next::Line(name, Ok(text)) => {
            let case = Case::read(&name, &text).map_err(|problems| Stopped::from(Error::from(problems)));
            (name, case)
        }
        Next::Line(name, Err(says)) => (name, Err(Stopped { code: 1, says })),
    };
    let line = case
        .and_then(|case| as_of(case, asked.as_of.as_deref()))
        .and_then(|case| {
            let page = wythe::page_of(&wythe::pack_of(pack, &case), &case)?;
            if asked.json {
                let json = page.json().map_err(Error::from)?;
                // A line break in JSON text stands between members only.
                let json: String = json.lines().map(str::trim_start).collect();
                return Ok(format!(
                    "{{\"name\": {}, \"answer\": {json}}}",
                    serde_json::Value::from(name.as_str())
                ));
            }
            // The whole text is made, so that what no report would print is refused here too.
            page.plain().map_err(Error::from)?;
            Ok(short(&name, &page))
        });
    let line = line.map_err(|stopped| match stopped.says.starts_with(&name) {
        true => stopped,
        false => Stopped {
            says: format!("{name}: {}", stopped.says),
            ..stopped
        },
    });
    Done { name, line }
}

/// `name: the most it asks for, for signs consistent with: first matters`.
fn short(name: &str, page: &report::Page) -> String {
    let mut matters: Vec<&str> = page.matters.iter().map(|one| one.title.as_str()).collect();
    let more = matters.len().saturating_sub(MATTERS);
    matters.truncate(MATTERS);
    let more = if more > 0 {
        format!("; {more} more")
    } else {
        String::new()
    };
    let says = if matters.is_empty() {
        String::new()
    } else {
        format!(", for signs consistent with: {}{more}", matters.join("; "))
    };
    format!("{name}: {}{says}", report::action_words(page.action))
}

fn not_weighed(name: &str, refused: &Stopped, json: bool) -> String {
    if json {
        let text = |text: &str| serde_json::Value::from(text);
        return format!(
            "{{\"name\": {}, \"problem\": {}}}",
            text(name),
            text(refused.says.trim_end())
        );
    }
    let first = refused.says.lines().next().unwrap_or_default();
    let first = first.strip_prefix(name).unwrap_or(first).trim_start_matches(':');
    format!("{name}: not weighed: {}", first.trim_start())
}

/// Lines of JSON from an input of any length, each no longer than a case file may be.
struct Lines<R> {
    from: BufReader<R>,
    number: usize,
    ended: bool,
}

impl<R: Read> Iterator for Lines<R> {
    type Item = io::Result<Next>;

    fn next(&mut self) -> Option<Self::Item> {
        while !self.ended {
            let mut bytes = Vec::new();
            if let Err(error) = self.from.by_ref().take(LONGEST).read_until(b'\n', &mut bytes) {
                self.ended = true;
                return Some(Err(error));
            }
            self.ended = bytes.is_empty();
            self.number = self.number.saturating_add(1);
            let name = format!("line-{}.json", self.number);
            let whole = bytes.ends_with(b"\n") || (bytes.len() as u64) < LONGEST;
            if !whole {
                if let Err(error) = self.from.skip_until(b'\n') {
                    return Some(Err(error));
                }
                return Some(Ok(Next::Line(
                    name.clone(),
                    Err(format!("{name}: the line is longer than {LONGEST} bytes")),
                )));
            }
            match String::from_utf8(bytes) {
                Ok(text) if text.trim().is_empty() => {}
                Ok(text) => return Some(Ok(Next::Line(name, Ok(text)))),
                Err(_) => return Some(Ok(Next::Line(name.clone(), Err(format!("{name}: not text in UTF-8"))))),
            }
        }
        None
    }
}
