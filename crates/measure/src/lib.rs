//! Lengths, slopes and stated errors; what readings say and how surely.
//!
//! Pure functions: no files, no clock, no randomness. The same input gives the
//! same output, to the last bit, on every platform.
//!
//! - [`Length`], [`Slope`], [`Angle`], [`DeflectionRatio`],
//!   [`AngularDistortion`]: numbers with a meaning;
//! - [`survey`]: levels, tilt, bend and shape of a floor;
//! - [`lintel`]: expected dip of a loose angle against the dip seen;
//! - [`trend`]: cracks and gaps over time, and plans to watch them;
//! - [`kinematics`]: several cracks as one movement;
//! - [`openings`], [`walls`], [`site`]: racking, plumb and bow, soil and trees;
//! - [`limits`]: published marks, each with its publisher.
//!
//! Computations end in [`Reading`]s: a value, its error, and what it was
//! computed from. They are evidence, never a verdict.
//!
//! ```
//! use wythe_measure::{Quantity, parse_measured};
//!
//! let gap = parse_measured("3/16 in ± 1/32 in")?;
//! assert_eq!(gap.quantity, Quantity::Length);
//! assert_eq!(gap.value, 4.7625); // millimetres
//! # Ok::<(), wythe_measure::MeasureError>(())
//! ```

mod error;
mod estimate;
pub mod kinematics;
mod least_squares;
mod length;
pub mod limits;
pub mod lintel;
mod mass;
mod measured;
mod number;
pub mod openings;
mod ratio;
mod scan;
pub mod site;
pub mod survey;
mod svg;
pub mod trend;
mod unit;
pub mod walls;

pub use error::MeasureError;
pub use estimate::{COMPUTED, Estimate, FINDINGS, Reading, quadrature};
pub use length::Length;
pub use mass::{class_masses, normal_cdf, normal_mass, normal_upper_tail_point};
pub use measured::{COVER_95, Measured, Quantity, parse_measured, parse_measured_as};
pub use ratio::{Angle, AngularDistortion, DeflectionRatio, Slope};
