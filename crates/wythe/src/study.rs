//! Pages to learn from, one for each clue and mechanism of a pack: as Markdown for the catalogue, as text for a terminal.

mod clue;
mod index;
mod mechanism;
mod sheet;
mod signs;

use wythe_pack::{ClueIx, MechanismIx, Pack};

pub use sheet::Sheet;

use crate::{Error, HouseShares};

/// What a pack knows about one clue or mechanism: what it looks like, ordinary causes, what to measure, what to look at
/// next, links with words, numbers and reasons, and sources. The name is an id or another name of the trade.
///
/// `shares` gives how common it is on ordinary houses; without them that is left out.
///
/// # Errors
/// A typical house that cannot be weighed. None is the answer for a name that the pack does not have.
///
/// ```
/// let pack = wythe::built_in_pack();
/// let sheet = wythe::study(pack, None, "step_crack_veneer")?.ok_or("not known")?;
/// assert!(sheet.text().starts_with("STEPPED CRACK"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn study(pack: &Pack, shares: Option<&HouseShares<'_>>, name: &str) -> Result<Option<Sheet>, Error> {
    if let Some(at) = pack.clue(name) {
        return clue::sheet(pack, shares, at).map(Some);
    }
    if let Some(at) = pack.mechanism(name).or_else(|| pack.mechanism_called(name)) {
        return Ok(Some(mechanism::sheet(pack, shares, at)));
    }
    pack.clue_called(name)
        .map(|at| clue::sheet(pack, shares, at))
        .transpose()
}

/// The catalogue of a pack: path and Markdown of the index, of the sources, and of a page for each mechanism and clue.
///
/// # Errors
/// A typical house that cannot be weighed.
pub fn catalogue(pack: &Pack, shares: &HouseShares<'_>) -> Result<Vec<(String, String)>, Error> {
    let mut pages = vec![
        ("README.md".to_owned(), index::index(pack)),
        ("sources.md".to_owned(), index::sources(pack)),
    ];
    for (at, one) in pack.mechanisms.iter().enumerate() {
        let sheet = mechanism::sheet(pack, Some(shares), MechanismIx(at));
        pages.push((format!("mechanisms/{}.md", one.id), sheet.markdown(pack)));
    }
    for (at, one) in pack.clues.iter().enumerate() {
        let sheet = clue::sheet(pack, Some(shares), ClueIx(at))?;
        pages.push((format!("clues/{}.md", one.id), sheet.markdown(pack)));
    }
    Ok(pages)
}
