//! Published limits: what each is for, who published it, and where a reading
//! falls among them.
//!
//! A limit is a mark to compare with, never a verdict. A deflection ratio
//! and an angular distortion have limits of different types, so one can't be
//! compared with the other's limit:
//!
//! ```compile_fail
//! use wythe_measure::{DeflectionRatio, limits};
//! let bend = DeflectionRatio::one_in(400.0).unwrap();
//! limits::band(bend, &limits::bjerrum()); // an angular distortion is wanted
//! ```

mod classes;
mod distortion;
mod masonry;
mod soil_strain;

pub use classes::{
    CrackClass, SlabCrackClass, as2870_slab_class, as2870_wall_class, burland_class, crack_class_masses,
    slab_crack_limits,
};
pub use distortion::{
    LengthToHeight, bjerrum, burland_wroth, deep_beam, eurocode7, meyerhof, polshin_tokar_deflection,
    skempton_macdonald, texas_deflection, texas_tilt, tilt_chimney, tilt_low_rise,
};
pub use masonry::{OVERHANG_SHARE, floor_slope, lintel_dip, lintel_seat, member_deflection, wall_plumb};
pub use soil_strain::{
    LengthChangeClass, Screen, TexasReading, length_change_class, settlement_screen, strain_class, texas_reading,
};

/// How a figure was come by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Provenance {
    /// Seen in the publication itself or a copy of its text.
    Primary,
    /// Seen quoted in another publication.
    Quoted,
    /// Recalled, not found again.
    FromMemory,
    /// Worked out from published figures.
    Derived,
}

/// One published mark of a quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit<T> {
    /// The mark.
    pub value: T,
    /// What is said to happen from there on.
    pub means: &'static str,
    /// What the mark is for.
    pub purpose: &'static str,
    /// Who published it.
    pub publisher: &'static str,
    /// How the figure was come by.
    pub provenance: Provenance,
}

/// Where a value falls among marks of its own type, mildest first: the last
/// mark reached and the next one. The sign of the value is not looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band<T> {
    /// Steepest mark that the value reaches.
    pub reached: Option<Limit<T>>,
    /// Next mark that it doesn't.
    pub next: Option<Limit<T>>,
}

/// Find the band. A value equal to a mark has reached it; equality is taken
/// within a millionth, so that 10 mm in 3 m reaches 1/300.
pub fn band<T: Copy + Into<f64>>(value: T, limits: &[Limit<T>]) -> Band<T> {
    let size: f64 = value.into();
    let size = size.abs();
    let at = |l: &Limit<T>| {
        let mark: f64 = l.value.into();
        mark
    };
    let mut sorted: Vec<Limit<T>> = limits.to_vec();
    sorted.sort_by(|a, b| at(a).total_cmp(&at(b)));
    let reached = sorted.iter().rev().find(|l| size >= at(l) * (1.0 - 1e-6)).copied();
    let next = sorted.iter().find(|l| size < at(l) * (1.0 - 1e-6)).copied();
    Band { reached, next }
}

/// Chance that the true value is at or beyond a mark, given a reading's
/// normal error. The sign of the value is not looked at.
pub fn chance_beyond<T: Copy + Into<f64>>(reading: &crate::Estimate<T>, limit: &Limit<T>) -> f64 {
    let value: f64 = reading.value.into();
    let mark: f64 = limit.value.into();
    let (value, sd) = (value.abs(), reading.sd);
    if !(value.is_finite() && sd >= 0.0) {
        return 0.5;
    }
    if sd == 0.0 {
        return if value >= mark { 1.0 } else { 0.0 };
    }
    crate::normal_cdf((value - mark) / sd)
}

#[cfg(test)]
mod tests;
