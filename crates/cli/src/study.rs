//! `wythe study`: a page about a clue or a mechanism.

use clap::Args;

use crate::asked::Rules;
use crate::run::{Stopped, miss};

/// `wythe study`.
#[derive(Debug, Args)]
pub struct Study {
    /// The clue or mechanism, by its id in the pack.
    pub name: String,
    #[command(flatten)]
    pub rules: Rules,
}

/// What to look for, ordinary causes, what can make it and how often, what to look at next.
pub fn study(asked: &Study) -> Result<String, Stopped> {
    let pack = asked.rules.read()?;
    let texts = match &asked.rules.pack {
        Some(dir) => wythe::read_population(dir)?,
        None => wythe::built_in_population()
            .into_iter()
            .map(|(file, text)| (file.to_owned(), text.to_owned()))
            .collect(),
    };
    let files: Vec<(&str, &str)> = texts
        .iter()
        .map(|(file, text)| (file.as_str(), text.as_str()))
        .collect();
    // A pack without typical houses says nothing of how common things are.
    let shares = if files.is_empty() {
        None
    } else {
        Some(wythe::house_shares(&pack, &files)?)
    };
    let sheet = wythe::study(&pack, shares.as_ref(), &asked.name)?;
    sheet.map(|sheet| sheet.text()).ok_or_else(|| {
        let clues = pack.clues.iter().map(|one| one.id.as_str());
        let names: Vec<&str> = clues.chain(pack.mechanisms.iter().map(|one| one.id.as_str())).collect();
        miss(
            "clue or mechanism",
            &asked.name,
            names.iter().copied(),
            &names.join(", "),
        )
    })
}
