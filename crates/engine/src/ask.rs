//! All that is asked of one conclusion, or of several, at once.

use std::sync::OnceLock;

use wythe_infer::Supposed;

use crate::effort::{ASKED, in_reason};
use crate::joint::{Asking, Open};
use crate::look::Looking;
use crate::margin::margins_each;
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
    let mut asking = Asking::default();
    let telling = Telling::ask(weighed, &[about], &mut asking)?;
    let signs = Signs::ask(weighed, &[about], &mut asking)?;
    asking.answer(weighed)?;
    let rivals = telling.finish(&[about], &asking).into_iter().next();
    let unsupported = signs
        .finish(weighed, &asking, &signs.left_out(weighed)?)?
        .into_iter()
        .next();
    Ok(Asked {
        rivals: rivals.ok_or(WeighError::Impossible)?,
        unsupported: unsupported.ok_or(WeighError::Impossible)?,
        margins: margins(weighed, about)?,
        story: story(weighed)?,
    })
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
    besides_in_parts(weighed, abouts)?.whole()
}

/// The same, in parts that may be worked out in any order, and side by side.
///
/// # Errors
/// As [`besides_margins`].
///
/// ```
/// use wythe_case::Case;
/// use wythe_engine::{Weighed, besides_in_parts, besides_margins};
/// use wythe_pack::{Pack, PackFile};
///
/// let files = wythe_rules::structural();
/// let files: Vec<PackFile> = files.iter().map(|(path, text)| PackFile { path, text }).collect();
/// let pack = Pack::read(&files)?;
/// let case = Case::read("quiet-corner.yaml", include_str!("../../../examples/cases/quiet-corner.yaml"))?;
/// let weighed = Weighed::new(&pack, &case)?;
/// let first = [weighed.outcome().conclusions[0].about];
/// let open = besides_in_parts(&weighed, &first)?;
/// // The last first: on another thread, as likely as not.
/// (0..open.parts()).rev().for_each(|part| open.answer(part));
/// // Two halves, side by side if need be; `whole` is both.
/// let (open, all) = (open.worked_out()?, besides_margins(&weighed, &first)?);
/// assert_eq!((open.looks(), open.reasons()?.0), (all.looks, all.rivals));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn besides_in_parts<'w, 'a>(
    weighed: &'w Weighed<'a>,
    abouts: &[About],
) -> Result<BesidesInParts<'w, 'a>, WeighError> {
    in_parts(weighed, abouts).map_err(|error| weighed.tied(error))
}

fn in_parts<'w, 'a>(weighed: &'w Weighed<'a>, abouts: &[About]) -> Result<BesidesInParts<'w, 'a>, WeighError> {
    let mut asking = Asking::default();
    let mut asked = AllAsked {
        weighed,
        abouts: abouts.to_vec(),
        looking: Looking::ask(weighed, &mut asking)?,
        telling: Telling::ask(weighed, abouts, &mut asking)?,
        signs: Signs::ask(weighed, abouts, &mut asking)?,
        asking,
    };
    Ok(BesidesInParts {
        open: asked.asking.open(weighed)?,
        asked,
        left_out: OnceLock::new(),
        story: OnceLock::new(),
    })
}

/// What is asked of several conclusions, by whom.
struct AllAsked<'w, 'a> {
    weighed: &'w Weighed<'a>,
    abouts: Vec<About>,
    asking: Asking,
    looking: Looking,
    telling: Telling,
    signs: Signs,
}

/// [`besides_margins`] in parts.
pub struct BesidesInParts<'w, 'a> {
    asked: AllAsked<'w, 'a>,
    open: [Open<'w>; 3],
    left_out: OnceLock<Result<Vec<Supposed>, WeighError>>,
    story: OnceLock<Result<Story, WeighError>>,
}

impl<'w, 'a> BesidesInParts<'w, 'a> {
    /// How many parts there are.
    pub fn parts(&self) -> usize {
        2 + self.open.iter().map(Open::parts).sum::<usize>()
    }

    /// Works one part out, and keeps what came of it. The first ones take longest.
    pub fn answer(&self, part: usize) {
        let AllAsked { weighed, signs, .. } = &self.asked;
        match part {
            0 => drop(self.left_out.get_or_init(|| signs.left_out(weighed)).as_ref()),
            1 => drop(self.story.get_or_init(|| story(weighed)).as_ref()),
            _ => {
                let mut part = part - 2;
                for open in &self.open {
                    if part < open.parts() {
                        return open.answer(part);
                    }
                    part -= open.parts();
                }
            }
        }
    }

    /// All of it; what was not worked out is now.
    ///
    /// # Errors
    /// As [`besides_margins`].
    pub fn whole(self) -> Result<Besides, WeighError> {
        let worked_out = self.worked_out()?;
        let (rivals, unsupported, story) = worked_out.reasons()?;
        Ok(Besides {
            rivals,
            unsupported,
            story,
            looks: worked_out.looks(),
        })
    }

    /// What the parts come to; what was not worked out is now.
    ///
    /// # Errors
    /// As [`besides_margins`].
    pub fn worked_out(self) -> Result<WorkedOut<'w, 'a>, WeighError> {
        let weighed = self.asked.weighed;
        self.all().map_err(|error| weighed.tied(error))
    }

    fn all(mut self) -> Result<WorkedOut<'w, 'a>, WeighError> {
        let weighed = self.asked.weighed;
        self.asked.asking.close(self.open)?;
        let left_out = self.left_out.into_inner();
        Ok(WorkedOut {
            left_out: left_out.unwrap_or_else(|| self.asked.signs.left_out(weighed))?,
            story: self.story.into_inner().unwrap_or_else(|| story(weighed))?,
            asked: self.asked,
        })
    }
}

/// What is only to be put together: [`BesidesInParts::whole`] in two halves.
pub struct WorkedOut<'w, 'a> {
    asked: AllAsked<'w, 'a>,
    left_out: Vec<Supposed>,
    story: Story,
}

impl WorkedOut<'_, '_> {
    /// What else could be behind the signs of each conclusion, what kept it down, and the most probable combinations.
    ///
    /// # Errors
    /// As [`besides_margins`].
    pub fn reasons(&self) -> Result<(Vec<Rivals>, Vec<Unsupported>, Story), WeighError> {
        let of = &self.asked;
        let unsupported = of.signs.finish(of.weighed, &of.asking, &self.left_out);
        Ok((
            of.telling.finish(&of.abouts, &of.asking),
            unsupported.map_err(|error| of.weighed.tied(error))?,
            self.story.clone(),
        ))
    }

    /// What could be looked at, best first.
    pub fn looks(&self) -> Looks {
        self.asked.looking.finish(self.asked.weighed, &self.asked.asking)
    }
}

/// The margins of several conclusions.
///
/// # Errors
/// As [`ask`].
pub fn margins_of(weighed: &Weighed<'_>, abouts: &[About]) -> Result<Vec<Margins>, WeighError> {
    bearable(weighed, abouts.len())?;
    margins_each(weighed, abouts).map_err(|error| weighed.tied(error))
}

/// Refuses where a solution takes so long that thousands of them are not to be had.
fn bearable(weighed: &Weighed<'_>, conclusions: usize) -> Result<(), WeighError> {
    let sums = ASKED
        .saturating_mul(weighed.solved.entries())
        .saturating_mul(conclusions);
    in_reason("work out what would change a conclusion", 0, sums)
}
