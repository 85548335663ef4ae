//! `wythe steps`.

use clap::Args;
use wythe::Error;

use crate::asked::{Asked, Written};
use crate::run::{Stopped, about};

/// `wythe steps`.
#[derive(Debug, Args)]
pub struct Steps {
    #[command(flatten)]
    asked: Asked,
    /// One conclusion to follow: a mechanism or a family, by its id in the pack.
    conclusion: Option<String>,
    /// The place of the mechanism; without it, the place where it is likeliest.
    #[arg(long, value_name = "PLACE", requires = "conclusion")]
    at: Option<String>,
    /// Print JSON, with all that each sighting moved.
    #[arg(long, conflicts_with = "markdown")]
    json: bool,
    #[command(flatten)]
    written: Written,
}

/// What is printed.
pub fn steps(asked: &Steps) -> Result<String, Stopped> {
    let (pack, case, outcome) = asked.asked.weighed()?;
    let follow = asked
        .conclusion
        .as_deref()
        .map(|name| about(&pack, &case, &outcome, name, asked.at.as_deref()))
        .transpose()?;
    let walk = wythe::walk(&pack, &case).map_err(Error::from)?;
    if asked.json {
        let page = wythe::report::walk_page(&pack, &case, &walk, follow).map_err(Error::from)?;
        return Ok(page.json().map_err(Error::from)?);
    }
    Ok(wythe::report::steps(&pack, &case, &walk, follow, asked.written.form()).map_err(Error::from)?)
}
