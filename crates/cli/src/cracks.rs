//! `wythe cracks`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use wythe::field::{CracksReport, Edge, read_survey, read_wall_cracks};

use crate::run::Stopped;

/// The end of its long help.
pub const CRACKS: &str = "\
Seen from outside: along the wall to the right, and up. A file says:
  format: 1
  title: front wall
  error: 0.5 mm
  moved: left
  cracks:
    - name: A
      lower: {along: 6 ft, up: 1 ft, width: 1/64 in}
      upper: {along: 9 ft, up: 7 ft, width: 3/16 in}
      slip: 1/16 in

moved is the side that belongs to the part that moved, going up the crack; it
may stand at each crack. slip is along the crack, above 0 up on that side;
offset is a step out of the wall. Leave out what was not read.

With a survey of the floor inside and the side of its plan that this wall is,
the two are held against one another.

Exit codes: 0 done; 1 a file has problems or cannot be read; 2 wrong use";

/// A side of the plan.
#[derive(Clone, Copy, Debug, ValueEnum)]
#[value(rename_all = "snake_case")]
pub enum Side {
    /// Where x is least.
    XLow,
    /// Where x is greatest.
    XHigh,
    /// Where y is least.
    YLow,
    /// Where y is greatest.
    YHigh,
}

/// `wythe cracks`.
#[derive(Debug, Args)]
pub struct Cracks {
    /// The cracks of one wall, as YAML.
    pub file: PathBuf,
    /// A survey of the floor along the wall.
    #[arg(long, value_name = "FILE", requires = "side")]
    pub survey: Option<PathBuf>,
    /// Which side of the survey's plan the wall is.
    #[arg(long, value_name = "SIDE", requires = "survey")]
    pub side: Option<Side>,
    /// Print JSON.
    #[arg(long)]
    pub json: bool,
}

/// What is printed.
pub fn cracks(asked: &Cracks) -> Result<String, Stopped> {
    let read = read_wall_cracks(&asked.file)?;
    let floor = match (&asked.survey, asked.side) {
        (Some(path), Some(side)) => Some((read_survey(path)?, edge(side))),
        _ => None,
    };
    let report = CracksReport::new(&read, floor.as_ref().map(|(survey, side)| (survey, *side)))?;
    Ok(if asked.json { report.json()? } else { report.text()? })
}

fn edge(side: Side) -> Edge {
    match side {
        Side::XLow => Edge::XMin,
        Side::XHigh => Edge::XMax,
        Side::YLow => Edge::YMin,
        Side::YHigh => Edge::YMax,
    }
}
