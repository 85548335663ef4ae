//! Lengths, slopes and stated errors; what readings say and how surely.
//!
//! Pure functions: no files, no clock, no randomness. The same input gives the
//! same output, to the last bit, on every platform.
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
mod least_squares;
mod length;
mod mass;
mod measured;
mod number;
mod ratio;
mod scan;
pub mod lintel;
pub mod survey;
mod svg;
pub mod trend;
pub mod limits;
pub mod openings;
pub mod walls;
pub mod site;
pub mod kinematics;
mod unit;

pub use error::MeasureError;
pub use estimate::{Estimate, Reading, quadrature};
pub use length::Length;
pub use mass::{class_masses, normal_cdf, normal_mass, normal_upper_tail_point};
pub use measured::{COVER_95, Measured, Quantity, parse_measured, parse_measured_as};
pub use ratio::{Angle, AngularDistortion, DeflectionRatio, Slope};
