//! All that is asked of one conclusion, or of several, at once.

use crate::effort::{ASKED, in_reason};
use crate::joint::Asking;
use crate::look::Looking;
use crate::rivals::Telling;
use crate::unsupported::Signs;
use crate::{About, Looks, Margins, Rivals, Story, Unsupported, WeighError, Weighed, margins, story};

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
    bearable(weighed, 1)?;
    all(weighed, about).map_err(|error| weighed.tied(error))
}

fn all(weighed: &Weighed<'_>, about: About) -> Result<Asked, WeighError> {
    let (rivals, unsupported) = answered(weighed, &[about], &mut Asking::default())?;
    Ok(Asked {
        rivals: rivals.into_iter().next().ok_or(WeighError::Impossible)?,
        unsupported: unsupported.into_iter().next().ok_or(WeighError::Impossible)?,
        margins: margins(weighed, about)?,
        story: story(weighed)?,
    })
}

/// The rivals of some conclusions and what kept each down, answered together with what was asked before.
fn answered(
    weighed: &Weighed<'_>,
    abouts: &[About],
    asking: &mut Asking,
) -> Result<(Vec<Rivals>, Vec<Unsupported>), WeighError> {
    let telling = Telling::ask(weighed, abouts, asking)?;
    let signs = Signs::ask(weighed, abouts, asking)?;
    asking.answer(weighed)?;
    Ok((telling.finish(abouts, asking), signs.finish(weighed, asking)?))
}

/// All that is asked of several conclusions but how little would change them, and what to look at next.
#[derive(Clone, Debug, PartialEq)]
pub struct Besides {
    /// Of each conclusion, what else could be behind its signs.
    pub rivals: Vec<Rivals>,
    /// Of each, what kept it down.
    pub unsupported: Vec<Unsupported>,
    /// The most probable combinations of mechanisms.
    pub story: Story,
    /// What could be looked at, best first.
    pub looks: Looks,
}

/// Asks all of several conclusions but the margins: the same as one by one, at less cost.
///
/// # Errors
/// As [`crate::rivals()`], and as [`crate::looks()`].
pub fn besides_margins(weighed: &Weighed<'_>, abouts: &[About]) -> Result<Besides, WeighError> {
    together(weighed, abouts).map_err(|error| weighed.tied(error))
}

fn together(weighed: &Weighed<'_>, abouts: &[About]) -> Result<Besides, WeighError> {
    let mut asking = Asking::default();
    let looking = Looking::ask(weighed, &mut asking)?;
    let (rivals, unsupported) = answered(weighed, abouts, &mut asking)?;
    Ok(Besides {
        rivals,
        unsupported,
        story: story(weighed)?,
        looks: looking.finish(weighed, &asking),
    })
}

/// The margins of several conclusions.
///
/// # Errors
/// As [`ask`].
pub fn margins_of(weighed: &Weighed<'_>, abouts: &[About]) -> Result<Vec<Margins>, WeighError> {
    bearable(weighed, abouts.len())?;
    let all: Result<Vec<Margins>, WeighError> = abouts.iter().map(|about| margins(weighed, *about)).collect();
    all.map_err(|error| weighed.tied(error))
}

/// Refuses where a solution takes so long that thousands of them are not to be had.
fn bearable(weighed: &Weighed<'_>, conclusions: usize) -> Result<(), WeighError> {
    let sums = ASKED
        .saturating_mul(weighed.solved.entries())
        .saturating_mul(conclusions);
    in_reason("work out what would change a conclusion", 0, sums)
}
