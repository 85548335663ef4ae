//! `wythe site`.

use std::path::PathBuf;

use clap::Args;
use wythe::field::{SiteReport, read_site};

use crate::run::Stopped;

/// The end of its long help.
pub const SITE: &str = "\
A file says what was learned of the ground; leave out what was not:
  format: 1
  soil: {plasticity_index: 38 ± 4, expansion_index: 95}
  falls:
    - {name: front bed, fall: 1 in, run: 10 ft}
    - {name: drive, fall: 3 in, run: 10 ft, paved: yes}
  trees:
    - {name: oak, species: English oak, distance: 30 ft}
    - {name: row of pines, height: 40 ft, distance: 25 ft}

soil takes linear_extensibility, passing_200, finer_5_micron (percent) and
surface_movement too. A fall toward the house is below 0. fall_error and
tree_error state the error of a fall and of a distance (95 %).

Exit codes: 0 done; 1 a file has problems or cannot be read; 2 wrong use";

/// `wythe site`.
#[derive(Debug, Args)]
pub struct Site {
    /// What was learned of the site, as YAML.
    pub file: PathBuf,
    /// Print JSON.
    #[arg(long)]
    pub json: bool,
}

/// What is printed.
pub fn site(asked: &Site) -> Result<String, Stopped> {
    let report = SiteReport::new(&read_site(&asked.file)?)?;
    Ok(if asked.json { report.json()? } else { report.text()? })
}
