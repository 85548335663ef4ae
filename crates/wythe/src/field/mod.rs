//! Readings of the field as text, JSON and pictures: a level survey, cracks over time, a loose lintel, the cracks of one
//! wall, the ground around a house.
//!
//! Each says what it measured, with its error, and what published marks it may be compared with. None makes a
//! determination: every text goes through the guard before it is given.

mod lines;
mod lintel;
mod plain;
mod survey;
mod survey_text;
mod survey_words;
mod trend;
mod words;

pub use lintel::LintelReport;
pub use plain::{CracksReport, SiteReport};
pub use survey::{SurveyReport, survey_change};
pub use trend::TrendReport;

use std::path::Path;

use serde_json::{Value, json};
use wythe_case::{CrackReadings, Lintel, Site, Survey, WallCracks};
use wythe_measure::Reading;
/// A side of a survey's plan.
pub use wythe_measure::survey::Edge;
use wythe_pack::guard::refused;
use wythe_report::ReportError;

use crate::Error;
use crate::files::text_of;

/// Reads a survey: CSV when the name ends in `.csv`, JSON in `.json`, else YAML.
///
/// # Errors
/// A file that cannot be read; every problem in it.
pub fn read_survey(path: impl AsRef<Path>) -> Result<Survey, Error> {
    let path = path.as_ref();
    Ok(Survey::read(&path.display().to_string(), &text_of(path)?)?)
}

/// Reads dated readings of cracks and gaps; endings as for [`read_survey`].
///
/// # Errors
/// A file that cannot be read; every problem in it.
pub fn read_cracks(path: impl AsRef<Path>) -> Result<CrackReadings, Error> {
    let path = path.as_ref();
    Ok(CrackReadings::read(&path.display().to_string(), &text_of(path)?)?)
}

/// Reads a lintel: JSON when the name ends in `.json`, else YAML.
///
/// # Errors
/// A file that cannot be read; every problem in it.
pub fn read_lintel(path: impl AsRef<Path>) -> Result<Lintel, Error> {
    let path = path.as_ref();
    Ok(Lintel::read(&path.display().to_string(), &text_of(path)?)?)
}

/// Reads the cracks of one wall: JSON when the name ends in `.json`, else YAML.
///
/// # Errors
/// A file that cannot be read; every problem in it.
pub fn read_wall_cracks(path: impl AsRef<Path>) -> Result<WallCracks, Error> {
    let path = path.as_ref();
    Ok(WallCracks::read(&path.display().to_string(), &text_of(path)?)?)
}

/// Reads what was learned of a site: JSON when the name ends in `.json`, else YAML.
///
/// # Errors
/// A file that cannot be read; every problem in it.
pub fn read_site(path: impl AsRef<Path>) -> Result<Site, Error> {
    let path = path.as_ref();
    Ok(Site::read(&path.display().to_string(), &text_of(path)?)?)
}

/// The text, when no sentence of it makes a determination.
fn guarded(text: String) -> Result<String, Error> {
    match refused(&text) {
        None => Ok(text),
        Some(phrase) => {
            let sentence = text
                .lines()
                .find(|line| refused(line).is_some())
                .unwrap_or_default()
                .trim()
                .to_owned();
            Err(ReportError::Determination { phrase, sentence }.into())
        }
    }
}

/// A value as JSON text, when no sentence of it makes a determination.
fn guarded_json(value: &Value) -> Result<String, Error> {
    let text = serde_json::to_string_pretty(value).map_err(|error| ReportError::Json(error.to_string()))?;
    guarded(text + "\n")
}

fn readings_json(readings: &[Reading]) -> Value {
    let one = |reading: &Reading| {
        json!({
            "name": reading.name,
            "quantity": reading.quantity.to_string(),
            "value": reading.value,
            "sd": reading.sd,
            "sd_as_movement": reading.sd_as_movement,
            "from": reading.from,
        })
    };
    Value::Array(readings.iter().map(one).collect())
}

/// Said at the end of every text.
const NO_ENGINEERING: &str = "These are measurements and what they may be compared with. They are not engineering and make no \
determination: that is for a licensed professional engineer.";
