//! The field book: what was read, where and with what.

use crate::Length;

/// One reading of an instrument.
#[derive(Debug, Clone, PartialEq)]
pub struct Shot {
    /// Name of the point. The same name read again is a repeat reading, a
    /// turning point (from another station) or a covering pair (on another
    /// floor covering).
    pub point: String,
    /// Place on the plan, along x.
    pub x: Length,
    /// Place on the plan, along y.
    pub y: Length,
    /// The reading as taken; see [`Sense`] for its direction.
    pub reading: Length,
    /// Name of the floor covering read on; `None` is the bare floor.
    pub covering: Option<String>,
    /// Name of the instrument's station or set-up; `None` is one set-up.
    pub station: Option<String>,
}

/// A floor covering and how much it lifts a reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Covering {
    /// Its name, as in [`Shot::covering`].
    pub name: String,
    /// Thickness over the bare floor, 0 to 150 mm. `None`: to be found from
    /// points read on both sides of a change of covering.
    pub thickness: Option<Length>,
    /// Standard deviation of the stated thickness, mm; 0 takes it as exact.
    pub sd_mm: f64,
}

/// Which way a reading runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Sense {
    /// A larger reading is a higher floor (a height).
    #[default]
    Height,
    /// A larger reading is a lower floor (a rod read from a level line).
    Rod,
}

/// Everything read at one visit, in the order read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FieldBook {
    /// The readings, in the order taken.
    pub shots: Vec<Shot>,
    /// The coverings. One that is named in a shot but not here has an unknown
    /// thickness.
    pub coverings: Vec<Covering>,
    /// Which way readings run.
    pub sense: Sense,
    /// Standard deviation of one reading, mm, 0.001 to 100. For an error
    /// stated as ± e, e / 1.96.
    pub sd_mm: f64,
}
