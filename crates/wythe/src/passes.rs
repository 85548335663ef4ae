//! A case as it stood after a pass, and what a pass changed.

use wythe_case::Case;
use wythe_engine::{Outcome, weigh};
use wythe_pack::Pack;
use wythe_report::Page;

use crate::Error;

/// The outcome of a case, and its outcome as of the pass before the last, where it has several.
///
/// # Errors
/// As [`weigh`].
pub fn since_last_pass(pack: &Pack, case: &Case) -> Result<(Outcome, Option<Outcome>), Error> {
    let outcome = weigh(pack, case)?;
    let earlier = case.passes.iter().rev().nth(1).and_then(|pass| case.as_of(&pass.id));
    let before = earlier.map(|earlier| weigh(pack, &earlier)).transpose()?;
    Ok((outcome, before))
}

/// The page of a case; where it has several passes, with what changed since the pass before the last.
///
/// # Errors
/// As [`weigh`]; a sentence that makes a determination.
pub fn page_of(pack: &Pack, case: &Case) -> Result<Page, Error> {
    let (outcome, before) = since_last_pass(pack, case)?;
    Ok(match before {
        Some(before) => wythe_report::page_since(pack, case, &before, &outcome)?,
        None => wythe_report::page(pack, case, &outcome)?,
    })
}
