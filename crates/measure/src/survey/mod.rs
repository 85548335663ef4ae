//! Level surveys: from raw readings to tilt, bend, shape and change.
//!
//! The steps, each a pure function:
//!
//! 1. [`reduce()`] turns a [`FieldBook`] into [`Levels`]: floor coverings,
//!    stations and closure taken out, with the error that is left.
//! 2. [`fit_plane`] gives tilt; [`worst_lines`] the deflection ratio along
//!    every admissible line; [`Neighbours`] angular distortion; [`shape()`]
//!    names the pattern.
//! 3. [`analyse()`] does all of it; [`change()`] compares two visits.
//!
//! A single survey shows the shape of a floor on one day. How level it was
//! built is unknown, so it can't tell construction from movement: see
//! [`AsBuilt`].
//!
//! How often shapes are named rightly was measured by simulation: see
//! [`shape()`].

mod along;
mod analyse;
mod as_built;
mod book;
mod change;
mod chosen;
mod deflection;
mod error;
mod levels;
mod map;
mod neighbours;
mod plane;
mod readings;
mod reduce;
mod shape;
mod slabs;
mod svg;

#[cfg(test)]
mod tests;

pub use analyse::{Analysis, Options, analyse};
pub use as_built::AsBuilt;
pub use book::{Covering, FieldBook, Sense, Shot};
pub use change::{Benchmark, Change, Moved, change};
pub use deflection::{LineSearch, SearchLimits, WorstLine, worst_lines};
pub use error::SurveyError;
pub use levels::{Level, Levels};
pub use map::{ContourLine, contours, text_map};
pub use neighbours::{Distortion, Neighbours, Suspect};
pub use plane::{Plane, Tilt, fit_plane, fit_plane_robust};
pub use readings::TILT_HIDES;
pub use reduce::{Closure, Reduction, reduce};
pub use shape::{Axis, Corner, Edge, Part, Shape, ShapeFit, shape};
pub use svg::svg;
