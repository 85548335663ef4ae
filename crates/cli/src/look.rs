//! `wythe look`.

use std::path::PathBuf;

use clap::Args;
use wythe::{Error, Weighed};

use crate::asked::Written;
use crate::run::{Stopped, as_of, pack, place_of};

/// `wythe look`.
#[derive(Debug, Args)]
pub struct Look {
    /// The case file.
    pub case: PathBuf,
    /// Only this place.
    #[arg(long, value_name = "PLACE")]
    pub at: Option<String>,
    /// Weigh the case as it stood after this pass.
    #[arg(long, value_name = "PASS")]
    pub as_of: Option<String>,
    /// Print JSON, with every look and what it would do.
    #[arg(long, conflicts_with = "markdown")]
    pub json: bool,
    #[command(flatten)]
    pub written: Written,
    /// The folder of another rule pack than the built-in one.
    #[arg(long, value_name = "DIR")]
    pub pack: Option<PathBuf>,
}

/// What is printed.
pub fn look(asked: &Look) -> Result<String, Stopped> {
    let pack = pack(asked.pack.as_ref())?;
    let case = as_of(wythe::read_case(&asked.case)?, asked.as_of.as_deref())?;
    let at = asked.at.as_ref().map(|place| place_of(&case, place)).transpose()?;
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
