//! `wythe draw`.

use std::path::PathBuf;

use clap::Args;
use wythe::Error;
use wythe::report::{Key, plan_svg};

use crate::run::{Stopped, as_of, pack};
use crate::survey::write;

/// `wythe draw`.
#[derive(Debug, Args)]
pub struct Draw {
    /// The case file.
    pub case: PathBuf,
    /// Draw the house: in plan and wall by wall, with what was seen and what was not.
    #[arg(long)]
    pub plan: bool,
    /// The file to draw to, as SVG.
    #[arg(long, value_name = "FILE")]
    pub svg: PathBuf,
    /// Weigh the case as it stood after this pass.
    #[arg(long, value_name = "PASS")]
    pub as_of: Option<String>,
    /// The folder of another rule pack than the built-in one.
    #[arg(long, value_name = "DIR")]
    pub pack: Option<PathBuf>,
}

/// Draws, and says what was drawn.
pub fn draw(asked: &Draw) -> Result<String, Stopped> {
    let pack = pack(asked.pack.as_ref())?;
    let case = as_of(wythe::read_case(&asked.case)?, asked.as_of.as_deref())?;
    let outcome = wythe::weigh(&pack, &case).map_err(Error::from)?;
    let drawing = plan_svg(&pack, &case, &outcome, Key::Below).map_err(Error::from)?;
    write(&asked.svg, &drawing)?;
    Ok(format!("The house was drawn to {}.\n", asked.svg.display()))
}
