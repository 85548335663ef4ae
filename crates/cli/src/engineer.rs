//! `wythe engineer`.

use std::path::PathBuf;

use clap::Args;
use wythe::Error;
use wythe::field::{SurveyReport, TrendReport, read_cracks, read_survey};
use wythe::report::Attachment;

use crate::asked::{Asked, Written};
use crate::run::Stopped;

/// `wythe engineer`.
#[derive(Debug, Args)]
pub struct Engineer {
    #[command(flatten)]
    asked: Asked,
    /// A level survey to go with it; may be given again.
    #[arg(long, value_name = "FILE")]
    survey: Vec<PathBuf>,
    /// Crack readings over time to go with it; may be given again.
    #[arg(long, value_name = "FILE")]
    trend: Vec<PathBuf>,
    #[command(flatten)]
    written: Written,
}

/// What is printed.
pub fn engineer(asked: &Engineer) -> Result<String, Stopped> {
    let (pack, case, outcome) = asked.asked.weighed()?;
    let mut attached = Vec::new();
    for path in &asked.survey {
        attached.push(Attachment {
            title: format!("Level survey {}", path.display()),
            text: SurveyReport::new(&read_survey(path)?)?.text()?,
        });
    }
    for path in &asked.trend {
        attached.push(Attachment {
            title: format!("Cracks over time {}", path.display()),
            text: TrendReport::new(&read_cracks(path)?)?.text()?,
        });
    }
    Ok(wythe::report::engineer(&pack, &case, &outcome, &attached, asked.written.form()).map_err(Error::from)?)
}
