//! `wythe start`.

use std::io::{self, BufRead, IsTerminal, Write};
use std::path::PathBuf;

use clap::Args;
use wythe::{Date, Error, Pack};

use crate::asked::Rules;
use crate::question::fact;
use crate::run::Stopped;

/// The end of its long help.
pub const START: &str = "\
On a terminal, and without options, it asks. Examples:
  wythe start elm-4.yaml
  wythe start elm-4.yaml --title 'One storey, brick on a slab' --date 2026-03-14 \\
      --round front,right,back,left \\
      --place 'opening: kitchen window, in front' --place 'room: study, touching front' \\
      --place 'door: study door, in study' --fact soil_plasticity_high

Kinds of place, their usual names and the facts that matter come from the rule pack. Then add
what you see with `wythe add`, and weigh it with `wythe weigh`.

Exit codes: 0 done; 1 the file is there already or cannot be saved; 2 wrong use";

/// `wythe start`.
#[derive(Debug, Args)]
pub struct Start {
    /// The case file to make.
    pub file: PathBuf,
    /// A title for people.
    #[arg(long, value_name = "TEXT")]
    pub title: Option<String>,
    /// The day of the visit, as in 2026-03-14.
    #[arg(long, value_name = "DAY", value_parser = crate::add::day)]
    pub date: Option<Date>,
    /// Who looks.
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// Names of the outside walls, in order round the house. Without it: the pack's names.
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    pub round: Vec<String>,
    /// One more place: 'KIND: NAME, in PLACE, touching PLACE and PLACE'.
    #[arg(long, value_name = "PLACE")]
    pub place: Vec<String>,
    /// A fact of the house: CONTEXT, or CONTEXT=no.
    #[arg(long, value_name = "CONTEXT")]
    pub fact: Vec<String>,
    #[command(flatten)]
    pub rules: Rules,
}

/// Makes the file, and says what to do next.
pub fn start(asked: &Start) -> Result<String, Stopped> {
    let pack = asked.rules.read()?;
    let stem = asked
        .file
        .file_stem()
        .map(|stem| stem.to_string_lossy().replace(' ', "-"));
    let mut facts = Vec::new();
    for text in &asked.fact {
        let known = fact(&pack, text)?;
        facts.push((known.id, known.holds));
    }
    let mut start = wythe::Start {
        id: stem.unwrap_or_default(),
        title: asked.title.clone(),
        visited: asked.date,
        region: asked.rules.region.clone(),
        by: asked.by.clone(),
        round: asked.round.clone(),
        places: asked.place.clone(),
        facts,
    };
    if asked.file.symlink_metadata().is_ok() {
        return Err(Error::Exists {
            path: asked.file.clone(),
        }
        .into());
    }
    let plain = wythe::Start {
        id: start.id.clone(),
        ..wythe::Start::default()
    };
    if start == plain && io::stdin().is_terminal() && io::stderr().is_terminal() {
        questions(&pack, &mut start)?;
    }
    let text = wythe::start(&pack, &start).map_err(|problems| Stopped::use_of(problems.to_string()))?;
    wythe::new_file(&asked.file, &text)?;
    let file = asked.file.display();
    let places = wythe::Case::read("start.yaml", &text).map_or(0, |case| case.places.len().saturating_sub(1));
    Ok(format!(
        "Made {file}: {places} places. Facts of the house stand in it as unknown until you say.\n\
         Next: wythe add {}, with lines such as `south wall: step crack 1/16 in; no frieze gap`.\n",
        typed(&asked.file.display().to_string()),
    ))
}

/// A name as it is typed in a shell.
fn typed(name: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || matches!(c, '.' | '-' | '_' | '/');
    if name.chars().all(plain) {
        name.to_owned()
    } else {
        format!("'{}'", name.replace('\'', "'\\''"))
    }
}

/// Asks on the terminal for what the options did not say. An empty answer leaves it out.
fn questions(pack: &Pack, start: &mut wythe::Start) -> Result<(), Stopped> {
    start.title = ask("Title, for people: ")?;
    start.visited = loop {
        match ask("Day of the visit, as in 2026-03-14: ")? {
            None => break None,
            Some(text) => match crate::add::day(&text) {
                Ok(day) => break Some(day),
                Err(says) => eprintln!("  {says}"),
            },
        }
    };
    let round = ask("Outside walls in order round the house, with commas (empty: north, east, south, west): ")?;
    start.round = round
        .iter()
        .flat_map(|names| names.split(','))
        .map(|name| name.trim().to_owned())
        .collect();
    eprintln!("More places. One to a line, as `kitchen window, in south`; an empty line for no more.");
    for kind in pack
        .kinds
        .iter()
        .skip(1)
        .filter(|kind| kind.names.is_empty() && kind.usual > 1.0)
    {
        while let Some(text) = ask(&format!("  {}: ", kind.title))? {
            start.places.push(format!("{}: {text}", kind.id));
            if let Err(problems) = wythe::start(pack, start) {
                eprintln!("{problems}");
                start.places.pop();
            }
        }
    }
    Ok(())
}

fn ask(question: &str) -> Result<Option<String>, Stopped> {
    let mut out = io::stderr().lock();
    let mut answer = String::new();
    write!(out, "{question}")
        .and_then(|()| out.flush())
        .and_then(|()| io::stdin().lock().read_line(&mut answer))
        .map_err(|error| Stopped {
            code: 1,
            says: format!("no answer could be read: {error}"),
        })?;
    let answer = answer.trim();
    Ok((!answer.is_empty()).then(|| answer.to_owned()))
}
