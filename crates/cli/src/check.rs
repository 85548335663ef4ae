//! `wythe check`: a rule pack read, its trials run, its shares reckoned.

use std::path::PathBuf;

use clap::Args;
use wythe::Pack;

use crate::run::Stopped;

/// `wythe check`.
#[derive(Debug, Args)]
pub struct Check {
    /// The folder of the pack.
    pub pack: PathBuf,
    /// Print how many ordinary houses would show each clue and have each mechanism, next to what is in print.
    #[arg(long)]
    pub shares: bool,
}

/// Reads the pack and runs its trials, or reckons its shares.
pub fn check(asked: &Check) -> Result<String, Stopped> {
    let pack = wythe::check_pack(&asked.pack)?;
    if asked.shares {
        let texts = wythe::read_population(&asked.pack)?;
        return Ok(wythe::house_shares(&pack, &named(&texts))?.text());
    }
    let trials = wythe::read_trials(&asked.pack)?;
    let results = wythe::run_trials(&pack, &named(&trials));
    let missed: Vec<_> = results.iter().filter(|result| !result.passed()).collect();
    if !missed.is_empty() {
        let says: String = missed.iter().map(|result| result.says()).collect();
        return Err(Stopped {
            code: 1,
            says: format!(
                "{says}{} of {} trials did not come out as expected",
                missed.len(),
                results.len()
            ),
        });
    }
    let mut text = counts(&pack);
    if !results.is_empty() {
        let expected: usize = results.iter().map(|result| result.expected).sum();
        let known: usize = results.iter().map(|result| result.known.len()).sum();
        text.push_str(&format!(
            "{} trials: {expected} expectations, of which {known} are known disagreements; all others came out.\n",
            results.len()
        ));
    }
    Ok(text)
}

fn named(files: &[(String, String)]) -> Vec<(&str, &str)> {
    files
        .iter()
        .map(|(file, text)| (file.as_str(), text.as_str()))
        .collect()
}

fn counts(pack: &Pack) -> String {
    let links: usize = pack
        .mechanisms
        .iter()
        .map(|one| one.links.len())
        .chain(pack.responses.iter().map(|one| one.links.len()))
        .sum();
    format!(
        "{} {}: no problems. {} mechanisms, {} responses, {} clues, {links} links, {} contexts, {} limits, {} hazards, {} sources.\n",
        pack.id,
        pack.version,
        pack.mechanisms.len(),
        pack.responses.len(),
        pack.clues.len(),
        pack.contexts.len(),
        pack.limits.len(),
        pack.hazards.len(),
        pack.sources.len(),
    )
}
