//! `wythe lintel`.

use std::path::PathBuf;

use clap::Args;
use wythe::field::{LintelReport, read_lintel};

use crate::run::Stopped;

/// The end of its long help.
pub const LINTEL: &str = "\
Give a file, or --angle with --span and --brick:
  wythe lintel --angle '4 x 3 x 1/4' --span '6 ft' --brick '4 ft' --dip '1/8 in'

A file says more: left_seat, right_seat, brick_weight, running_bond,
joint_near_jamb, load_in_triangle, reinforced_courses, count, long_leg_flat,
sight_line, projection, bed_depth. Leave out what was not seen.

Exit codes: 0 done; 1 a file has problems or cannot be read; 2 wrong use";

/// `wythe lintel`.
#[derive(Debug, Args)]
pub struct Lintel {
    /// What was seen of the lintel, as YAML.
    #[arg(required_unless_present = "angle")]
    pub file: Option<PathBuf>,
    /// The angle: upright leg, level leg and thickness in inches, as '4 x 3 x 1/4'.
    #[arg(long, value_name = "SIZES", conflicts_with = "file", requires_all = ["span", "brick"])]
    pub angle: Option<String>,
    /// The opening from jamb to jamb.
    #[arg(long, value_name = "LENGTH", requires = "angle")]
    pub span: Option<String>,
    /// The height of brick above.
    #[arg(long, value_name = "LENGTH", requires = "angle")]
    pub brick: Option<String>,
    /// The dip seen at the middle, below a line from end to end.
    #[arg(long, value_name = "LENGTH", requires = "angle")]
    pub dip: Option<String>,
    /// Print JSON.
    #[arg(long)]
    pub json: bool,
}

/// What is printed.
pub fn lintel(asked: &Lintel) -> Result<String, Stopped> {
    let read = match &asked.file {
        Some(path) => read_lintel(path)?,
        None => wythe::Lintel::read("options", &sheet(asked)).map_err(wythe::Error::from)?,
    };
    let report = LintelReport::new(&read)?;
    Ok(if asked.json { report.json()? } else { report.text()? })
}

/// The options as a file, so that both are read alike.
fn sheet(asked: &Lintel) -> String {
    let quoted = |text: &str| format!("'{}'", text.replace('\'', "''"));
    let mut text = String::from("format: 1\ntitle: as given\n");
    for (key, given) in [
        ("angle", &asked.angle),
        ("clear_span", &asked.span),
        ("brick_height", &asked.brick),
    ] {
        if let Some(given) = given {
            text.push_str(&format!("{key}: {}\n", quoted(given)));
        }
    }
    if let Some(dip) = &asked.dip {
        text.push_str(&format!(
            "sight_line: {{left: 0 in, middle: {}, right: 0 in}}\n",
            quoted(dip)
        ));
    }
    text
}
