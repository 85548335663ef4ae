//! Marks of angular distortion, deflection ratio and tilt.

use super::{Limit, Provenance};
use crate::{AngularDistortion, DeflectionRatio, Slope};

/// A mark of 1/n.
const fn mark<T: Copy>(
    value: T,
    means: &'static str,
    purpose: &'static str,
    publisher: &'static str,
    provenance: Provenance,
) -> Limit<T> {
    Limit {
        value,
        means,
        purpose,
        publisher,
        provenance,
    }
}

const fn beta(n: f64) -> AngularDistortion {
    AngularDistortion::raw(1.0 / n)
}

const fn ratio(n: f64) -> DeflectionRatio {
    DeflectionRatio::raw(1.0 / n)
}

const fn slope(n: f64) -> Slope {
    Slope::raw(1.0 / n)
}

/// Skempton & MacDonald 1956, from 98 buildings.
pub fn skempton_macdonald() -> [Limit<AngularDistortion>; 3] {
    let by = "Skempton & MacDonald 1956";
    let of = "frames and load-bearing walls, settlement under own weight";
    [
        mark(
            beta(500.0),
            "upper bound recommended for design",
            of,
            by,
            Provenance::Quoted,
        ),
        mark(beta(300.0), "cracking of panels and walls", of, by, Provenance::Quoted),
        mark(beta(150.0), "structural damage", of, by, Provenance::Quoted),
    ]
}

/// Bjerrum 1963.
pub fn bjerrum() -> [Limit<AngularDistortion>; 6] {
    let by = "Bjerrum 1963";
    let of = "buildings in general";
    [
        mark(
            beta(750.0),
            "trouble with settlement-sensitive machines",
            of,
            by,
            Provenance::Quoted,
        ),
        mark(
            beta(600.0),
            "danger for frames with diagonals",
            of,
            by,
            Provenance::Quoted,
        ),
        mark(
            beta(500.0),
            "bound where cracking is not allowed",
            of,
            by,
            Provenance::Quoted,
        ),
        mark(
            beta(300.0),
            "first cracks in panel walls expected",
            of,
            by,
            Provenance::Quoted,
        ),
        mark(
            beta(250.0),
            "tilt of tall rigid buildings noticeable",
            of,
            by,
            Provenance::Quoted,
        ),
        mark(
            beta(150.0),
            "structural damage; considerable cracking of panels and brick",
            of,
            by,
            Provenance::Quoted,
        ),
    ]
}

/// Meyerhof 1956, frames.
pub fn meyerhof() -> [Limit<AngularDistortion>; 2] {
    let by = "Meyerhof 1956";
    [
        mark(beta(500.0), "wall cracks", "frames", by, Provenance::Quoted),
        mark(beta(250.0), "structural damage", "frames", by, Provenance::Quoted),
    ]
}

/// Eurocode 7 (EN 1997-1:2004), Annex H; all halved in hogging.
pub fn eurocode7(hogging: bool) -> [Limit<AngularDistortion>; 4] {
    let by = "EN 1997-1:2004, Annex H";
    let of = "structures of usual loading; halved in hogging";
    let half = if hogging { 2.0 } else { 1.0 };
    [
        mark(
            beta(2000.0 * half),
            "strictest end of the range kept to avoid a serviceability limit",
            of,
            by,
            Provenance::Primary,
        ),
        mark(
            beta(500.0 * half),
            "acceptable for many structures up to here",
            of,
            by,
            Provenance::Primary,
        ),
        mark(
            beta(300.0 * half),
            "laxest end of the range kept to avoid a serviceability limit",
            of,
            by,
            Provenance::Primary,
        ),
        mark(
            beta(150.0 * half),
            "an ultimate limit state is likely",
            of,
            by,
            Provenance::Primary,
        ),
    ]
}

/// Length over height of a wall.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LengthToHeight {
    /// About 1.
    One,
    /// About 5.
    Five,
}

/// Burland & Wroth 1974: onset of visible cracks in bearing walls without
/// reinforcement. The hogging reading of the source's table is from memory.
pub fn burland_wroth(of: LengthToHeight, hogging: bool) -> Limit<DeflectionRatio> {
    let n = match (of, hogging) {
        (LengthToHeight::One, false) => 2500.0,
        (LengthToHeight::Five, false) => 1250.0,
        (LengthToHeight::One, true) => 5000.0,
        (LengthToHeight::Five, true) => 2500.0,
    };
    let provenance = if hogging {
        Provenance::FromMemory
    } else {
        Provenance::Quoted
    };
    mark(
        ratio(n),
        "onset of visible cracks",
        "bearing walls without reinforcement",
        "Burland & Wroth 1974",
        provenance,
    )
}

/// Polshin & Tokar 1957: bearing walls without reinforcement.
pub fn polshin_tokar_deflection() -> Limit<DeflectionRatio> {
    mark(
        DeflectionRatio::raw(0.0004),
        "cracks",
        "bearing walls without reinforcement",
        "Polshin & Tokar 1957",
        Provenance::Quoted,
    )
}

/// Deflection mark of the Texas Section ASCE guidelines: 1/360, since
/// construction, to be read together with signs of distress.
pub fn texas_deflection() -> Limit<DeflectionRatio> {
    mark(
        ratio(360.0),
        "more information is needed; with more than minimal signs, deflection is likely",
        "house slabs on ground, movement since construction",
        "Texas Section ASCE guidelines",
        Provenance::Quoted,
    )
}

/// Tilt mark of the Texas Section ASCE guidelines: 1 % since construction.
pub fn texas_tilt() -> Limit<Slope> {
    mark(
        Slope::raw(0.01),
        "tilt to be considered with signs of distress",
        "house slabs on ground, movement since construction",
        "Texas Section ASCE guidelines",
        Provenance::Quoted,
    )
}

/// Bands of tilt of low-rise houses (BRE Digest 475; Charles & Skinner 2004).
pub fn tilt_low_rise() -> [Limit<Slope>; 4] {
    let by = "BRE Digest 475; Charles & Skinner 2004";
    let of = "low-rise buildings";
    [
        mark(
            slope(400.0),
            "beyond what new building aims at",
            of,
            by,
            Provenance::FromMemory,
        ),
        mark(
            slope(250.0),
            "noticeable from here to 1/200; monitor",
            of,
            by,
            Provenance::Quoted,
        ),
        mark(slope(100.0), "remedial action considered", of, by, Provenance::Quoted),
        mark(slope(50.0), "ultimate limit", of, by, Provenance::FromMemory),
    ]
}

/// Tilt of chimneys and towers (BRE Digest 475; Sowers 1962 gives the same).
pub fn tilt_chimney() -> Limit<Slope> {
    mark(
        slope(250.0),
        "limit of tilt",
        "chimneys and towers",
        "BRE Digest 475",
        Provenance::Primary,
    )
}

/// Deflection ratio at which a wall, taken as a deep beam under a point load
/// in the middle, reaches a tensile strain: the smaller by bending and by
/// diagonal strain (Burland & Wroth 1974, E/G = 2.6; re-derived, coefficients
/// from memory). Sagging has its neutral axis at mid-height, hogging at the
/// base. `None` unless both numbers are above 0.
///
/// ```
/// use wythe_measure::limits::deep_beam;
/// // L/H = 1, 0.05 %, sagging: 0.0408 %, which is 1/2449.
/// let ratio = deep_beam(1.0, 0.0005, false).unwrap();
/// assert_eq!((1.0 / ratio.value()).round(), 2449.0);
/// ```
pub fn deep_beam(length_over_height: f64, strain: f64, hogging: bool) -> Option<DeflectionRatio> {
    let a = length_over_height;
    if !(a > 0.0 && a.is_finite() && strain > 0.0 && strain < 1.0) {
        return None;
    }
    let (bending, diagonal) = if hogging {
        (a / 12.0 + 1.3 / a, 1.0 + a * a / 15.6)
    } else {
        (a / 6.0 + 0.65 / a, 1.0 + a * a / 3.9)
    };
    DeflectionRatio::new(bending.min(diagonal) * strain).ok()
}
