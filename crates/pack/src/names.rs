//! Other names of the trade for clues and mechanisms.

use crate::{ClueIx, MechanismIx, Pack};

impl Pack {
    /// The clue that goes by this title or other name of the trade, however it is capitalised and whether its words are
    /// parted by spaces, hyphens or underscores. None where no clue does, or more than one.
    ///
    /// ```
    /// # let texts = wythe_rules::structural();
    /// # let files = texts.iter().map(|(path, text)| wythe_pack::PackFile { path, text });
    /// # let pack = wythe_pack::Pack::read(&files.collect::<Vec<_>>())?;
    /// let clue = pack.clue_called("Stair-step crack").map(|at| pack[at].id.as_str());
    /// assert_eq!(clue, Some("step_crack_veneer"));
    /// # Ok::<(), wythe_text::Problems>(())
    /// ```
    pub fn clue_called(&self, name: &str) -> Option<ClueIx> {
        let all = self.clues.iter();
        only(name, all.map(|one| (&one.title, &one.also_called))).map(ClueIx)
    }

    /// The mechanism that goes by this title or other name, as [`Pack::clue_called`] finds a clue.
    pub fn mechanism_called(&self, name: &str) -> Option<MechanismIx> {
        let all = self.mechanisms.iter();
        only(name, all.map(|one| (&one.title, &one.also_called))).map(MechanismIx)
    }
}

/// A name as it is compared.
pub(crate) fn plain(name: &str) -> String {
    let words = name.split(|c: char| c.is_whitespace() || matches!(c, '-' | '_'));
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    words.join(" ").to_lowercase()
}

fn only<'a>(name: &str, all: impl Iterator<Item = (&'a String, &'a Vec<String>)>) -> Option<usize> {
    let name = plain(name);
    let goes = |(title, others): (&String, &Vec<String>)| {
        std::iter::once(title).chain(others).any(|other| plain(other) == name)
    };
    let mut found = all.enumerate().filter(|(_, one)| goes(*one)).map(|(at, _)| at);
    let first = found.next();
    first.filter(|_| found.next().is_none())
}
