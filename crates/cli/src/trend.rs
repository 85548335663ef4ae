//! `wythe trend`.

use std::path::PathBuf;

use clap::Args;
use wythe::field::{TrendReport, read_cracks};

use crate::run::{Stopped, miss};
use crate::survey::write;

/// The end of its long help.
pub const TREND: &str = "\
As CSV; settings stand in a head of # lines, as YAML:
  # error: 0.2 mm
  # units: mm
  point,date,width
  study corner,2026-01-13,1.8

As YAML: the same names, the rows as a list under readings.

Exit codes: 0 done; 1 a file has problems or cannot be read; 2 wrong use";

/// `wythe trend`.
#[derive(Debug, Args)]
pub struct Trend {
    /// Dated readings: CSV when the name ends in .csv, else YAML.
    pub file: PathBuf,
    /// Which point to draw; the first, when none is named.
    #[arg(long, value_name = "POINT", requires = "svg")]
    pub point: Option<String>,
    /// Draw one point to this file, as SVG.
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Print JSON.
    #[arg(long)]
    pub json: bool,
}

/// What is printed.
pub fn trend(asked: &Trend) -> Result<String, Stopped> {
    let report = TrendReport::new(&read_cracks(&asked.file)?)?;
    let text = if asked.json { report.json()? } else { report.text()? };
    if let Some(path) = &asked.svg {
        let drawn = report.svg(asked.point.as_deref())?;
        let drawn = drawn.ok_or_else(|| {
            miss(
                "point",
                asked.point.as_deref().unwrap_or_default(),
                report.points(),
                &report.points().collect::<Vec<_>>().join(", "),
            )
        })?;
        write(path, &drawn)?;
    }
    Ok(text)
}
