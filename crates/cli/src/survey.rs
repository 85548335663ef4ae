//! `wythe survey`.

use std::path::{Path, PathBuf};

use clap::Args;
use wythe::field::{SurveyReport, read_survey, survey_change};

use crate::run::Stopped;

/// `wythe survey`.
#[derive(Debug, Args)]
pub struct Survey {
    /// The survey: CSV when its name ends in .csv, else YAML.
    pub file: PathBuf,
    /// A later survey of the same points: what changed is said.
    pub later: Option<PathBuf>,
    /// The point that heights are taken from, in a change.
    #[arg(long, value_name = "POINT", requires = "later")]
    pub benchmark: Option<String>,
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
        Some(later) => survey_change(&first, &read_survey(later)?, asked.benchmark.as_deref())?,
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
