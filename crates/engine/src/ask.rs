//! All that is asked of one conclusion, at once.

use crate::effort::{ASKED, in_reason};
use crate::{About, Margins, Rivals, Story, Unsupported, WeighError, Weighed, margins, rivals, story, unsupported};

/// All that is asked of one conclusion.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// What else could be behind its signs.
    pub rivals: Rivals,
    /// What kept it down.
    pub unsupported: Unsupported,
    /// How little would change it.
    pub margins: Margins,
    /// The most probable combinations of mechanisms, of the whole case.
    pub story: Story,
}

/// Asks all of one conclusion.
///
/// # Errors
/// [`WeighError::NoConclusion`] where the case has no such conclusion; [`WeighError::TooTangled`]; [`WeighError::TooMuch`]
/// where a solution takes so long that thousands of them are not to be had.
pub fn ask(weighed: &Weighed<'_>, about: About) -> Result<Asked, WeighError> {
    let sums = ASKED.saturating_mul(weighed.solved.entries());
    in_reason("work out what would change a conclusion", 0, sums)?;
    all(weighed, about).map_err(|error| weighed.tied(error))
}

fn all(weighed: &Weighed<'_>, about: About) -> Result<Asked, WeighError> {
    Ok(Asked {
        rivals: rivals(weighed, about)?,
        unsupported: unsupported(weighed, about)?,
        margins: margins(weighed, about)?,
        story: story(weighed)?,
    })
}
