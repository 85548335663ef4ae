//! `wythe survey`.

use std::path::{Path, PathBuf};

use clap::Args;
use wythe::field::{SurveyReport, read_survey, survey_change};

use crate::run::Stopped;

/// The end of its long help.
pub const SURVEY: &str = "\
As CSV; settings stand in a head of # lines, as YAML:
  # error: 1/16 in
  # units: {plan: ft, readings: in}
  point,x,y,reading,covering,station
  A1,0,0,0.25,,hall
  A2,7 ft,0,1/2 in,carpet,hall

Settings: title, date, error (of one reading, 95 %), reads (height or rod),
units, coverings, instruments, x_points and y_points (north, east ...).
Further columns: covering, instrument, station. As YAML: the same names, the
rows as a list under readings.

Exit codes: 0 done; 1 a file has problems or cannot be read; 2 wrong use";

/// `wythe survey`.
#[derive(Debug, Args)]
pub struct Survey {
    /// The survey: CSV when its name ends in .csv, else YAML.
    pub file: PathBuf,
    /// A later survey of the same points: what changed is said.
    pub later: Option<PathBuf>,
    /// A point that heights are taken from, in a change; given more than once, the mean of those points.
    #[arg(long, value_name = "POINT", requires = "later")]
    pub benchmark: Vec<String>,
    /// Draw it to this file, as SVG.
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Print JSON.
    #[arg(long)]
    pub json: bool,
}

/// What is printed.
pub fn survey(asked: &Survey) -> Result<String, Stopped> {
    let first = read_survey(&asked.file)?;
    let report = match &asked.later {
        Some(later) => survey_change(&first, &read_survey(later)?, &asked.benchmark)?,
        None => SurveyReport::new(&first)?,
    };
    let text = if asked.json { report.json()? } else { report.text()? };
    if let Some(path) = &asked.svg {
        write(path, &report.svg()?)?;
    }
    Ok(text)
}

/// Writes a picture.
pub fn write(path: &Path, text: &str) -> Result<(), Stopped> {
    std::fs::write(path, text).map_err(|error| Stopped {
        code: 1,
        says: format!("{} could not be written: {error}", path.display()),
    })
}
