//! Sheets of readings: level surveys, dated cracks, lintels. YAML, or a CSV table whose settings stand in a head of
//! `#` lines, written as the same YAML.
//!
//! ```
//! let survey = wythe_case::Survey::read("hall.csv", "\
//! ## error: 1/16 in
//! ## units: {plan: ft, readings: in}
//! point,x,y,reading
//! A,0,0,0.0
//! B,12,0,1/4 in
//! C,0,12,0.1
//! ".replace("##", "#").as_str())?;
//! assert_eq!(survey.reduce()?.levels.points().len(), 3);
//! # Ok::<(), wythe_text::Problems>(())
//! ```

mod cracks;
mod lintel;
mod opening;
mod sheet;
mod site;
mod survey;
#[cfg(test)]
mod tests;
mod trend;
mod values;
mod wall;

pub use cracks::WallCracks;
pub use lintel::Lintel;
pub use opening::Opening;
pub use site::{Fall, Site, Tree};
pub use survey::{Compass, Survey};
pub use trend::{CrackPoint, CrackReadings};
pub use wall::Wall;
