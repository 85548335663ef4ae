//! `wythe look`.

use clap::Args;
use wythe::{Date, Error, PassHead, Weighed};

use crate::ask::{Asking, ask};
use crate::asked::{Asked, Written};
use crate::run::{Stopped, place_of};

/// The end of its long help.
pub const LOOK: &str = "\
With --ask the best look is named, the answer is taken from the input and saved in the case, and
the case is weighed again, until no look that is left would pay for its time. An answer is what
was found: a grade, a size, `none`, or `not reached: WHY`; further parts go as in field notes.
`skip` leaves a look out, `back` puts the last answer right (both stay on record), `stop` ends.
Every answer is saved before the next question: whatever breaks off, none is lost.

  wythe look house.yaml
  wythe look house.yaml --ask --pass second --date 2026-04-02

Exit codes: 0 done; 1 a file has problems or cannot be read; 2 wrong use;
3 too tangled to weigh exactly";

/// `wythe look`.
#[derive(Debug, Args)]
pub struct Look {
    #[command(flatten)]
    pub asked: Asked,
    /// Only this place.
    #[arg(long, value_name = "PLACE")]
    pub at: Option<String>,
    /// Ask for the best look, save the answer in the case, weigh again, and go on.
    #[arg(long, conflicts_with_all = ["json", "markdown", "as_of"])]
    pub ask: bool,
    /// The pass that answers are saved in: one of the case, or a new one. Without it, the last.
    #[arg(long, value_name = "PASS", requires = "ask")]
    pub pass: Option<String>,
    /// The day of a new pass, as in 2026-03-14.
    #[arg(long, value_name = "DAY", requires = "ask", value_parser = crate::add::day)]
    pub date: Option<Date>,
    /// Who looked, for a new pass.
    #[arg(long, value_name = "NAME", requires = "ask")]
    pub by: Option<String>,
    /// Print JSON, with every look and what it would do.
    #[arg(long, conflicts_with = "markdown")]
    pub json: bool,
    #[command(flatten)]
    pub written: Written,
}

/// What is printed.
pub fn look(asked: &Look) -> Result<String, Stopped> {
    let (pack, case) = asked.asked.read()?;
    let at = asked.at.as_ref().map(|place| place_of(&case, place)).transpose()?;
    if asked.ask {
        let head = PassHead {
            id: asked.pass.clone(),
            date: asked.date,
            by: asked.by.clone(),
        };
        return ask(&Asking {
            pack: &pack,
            path: &asked.asked.case,
            head: &head,
            only: at,
        });
    }
    let weighed = Weighed::new(&pack, &case).map_err(Error::from)?;
    let looks = wythe::looks(&weighed).map_err(Error::from)?;
    let page = wythe::report::look_page(&pack, &case, weighed.outcome(), &looks, at).map_err(Error::from)?;
    Ok(if asked.json {
        page.json()
    } else {
        page.written(asked.written.form())
    }
    .map_err(Error::from)?)
}
