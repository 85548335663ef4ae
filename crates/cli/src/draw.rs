//! `wythe draw`.

use std::path::PathBuf;

use clap::Args;
use wythe::Error;
use wythe::report::{Key, plan_svg, reasoning_svg};

use crate::asked::Asked;
use crate::run::{Stopped, about};
use crate::survey::write;

/// `wythe draw`.
#[derive(Debug, Args)]
pub struct Draw {
    #[command(flatten)]
    asked: Asked,
    /// Draw the reasoning for this: a mechanism or a family, by its id in the pack.
    #[arg(required_unless_present = "plan", conflicts_with = "plan")]
    conclusion: Option<String>,
    /// The place of the mechanism; without it, the place where it is likeliest.
    #[arg(long, value_name = "PLACE", requires = "conclusion")]
    at: Option<String>,
    /// Draw the house: in plan and wall by wall, with what was seen and what was not.
    #[arg(long)]
    plan: bool,
    /// The file to draw to, as SVG; - prints it.
    #[arg(long, value_name = "FILE")]
    svg: PathBuf,
}

/// Draws, and says what was drawn.
pub fn draw(asked: &Draw) -> Result<String, Stopped> {
    let (pack, case, outcome) = asked.asked.weighed()?;
    let (drawing, what) = match &asked.conclusion {
        Some(name) => {
            let about = about(&pack, &case, &outcome, name, asked.at.as_deref())?;
            let reasons = wythe::reasons(&pack, &case, about).map_err(Error::from)?;
            (reasoning_svg(&pack, &case, &outcome, &reasons), "reasoning")
        }
        None => (plan_svg(&pack, &case, &outcome, Key::Below), "house"),
    };
    let drawing = drawing.map_err(Error::from)?;
    if asked.svg.as_os_str() == "-" {
        return Ok(drawing);
    }
    write(&asked.svg, &drawing)?;
    Ok(format!("The {what} was drawn to {}.\n", asked.svg.display()))
}
