//! Crack classes by width.

use super::{Limit, Provenance};
use crate::{Length, class_masses};

/// Damage class of a wall by its cracks (Burland, Broms & de Mello 1977; BRE
/// Digest 251). The basis is ease of repair; width is one aspect only, and
/// where the damage is counts too.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CrackClass {
    /// 0: hairline, up to about 0.1 mm.
    Negligible,
    /// 1: up to about 1 mm.
    VerySlight,
    /// 2: up to about 5 mm.
    Slight,
    /// 3: 5 to 15 mm, or a number of cracks over 3 mm.
    Moderate,
    /// 4: 15 to 25 mm.
    Severe,
    /// 5: over 25 mm.
    VerySevere,
}

impl CrackClass {
    /// All, mildest first.
    pub const ALL: [Self; 6] = [
        Self::Negligible,
        Self::VerySlight,
        Self::Slight,
        Self::Moderate,
        Self::Severe,
        Self::VerySevere,
    ];

    /// Upper bounds of the first five, mm, each in its own class (reprints
    /// differ between "less than" and "up to"; this one is kept).
    pub const BOUNDS_MM: [f64; 5] = [0.1, 1.0, 5.0, 15.0, 25.0];

    /// Number in the table, 0 to 5.
    pub fn number(self) -> u8 {
        self as u8
    }
}

/// Class by width; `several` for a number of such cracks, where over 3 mm
/// counts as moderate. A width that is not a number, or below 0, has none.
///
/// ```
/// use wythe_measure::limits::{CrackClass, burland_class};
/// assert_eq!(burland_class(4.0, false), Some(CrackClass::Slight));
/// assert_eq!(burland_class(4.0, true), Some(CrackClass::Moderate));
/// ```
pub fn burland_class(width_mm: f64, several: bool) -> Option<CrackClass> {
    if !(width_mm >= 0.0 && width_mm.is_finite()) {
        return None;
    }
    let at = CrackClass::BOUNDS_MM.iter().filter(|&&b| width_mm > b).count();
    let class = CrackClass::ALL[at];
    Some(if several && width_mm > 3.0 {
        class.max(CrackClass::Moderate)
    } else {
        class
    })
}

/// Share of a reading's error distribution in each class, mildest first.
pub fn crack_class_masses(width_mm: f64, sd_mm: f64) -> Vec<f64> {
    class_masses(width_mm, sd_mm, &CrackClass::BOUNDS_MM)
}

/// Class of a wall by AS 2870 Appendix C, table C1 (quoted): as
/// [`burland_class`] up to 4, where the table ends; several of 3 mm or more in
/// one group count as 3. Widths over 25 mm are off the table: `None`.
pub fn as2870_wall_class(width_mm: f64, several: bool) -> Option<u8> {
    if !(0.0..=25.0).contains(&width_mm) {
        return None;
    }
    let class = CrackClass::BOUNDS_MM[..4].iter().filter(|&&b| width_mm > b).count() as u8;
    Some(if several && width_mm >= 3.0 {
        class.max(3)
    } else {
        class
    })
}

/// A slab's class by AS 2870 table C2.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SlabCrackClass {
    /// 0 to 4: the worse of width and offset.
    pub class: u8,
    /// Beyond class 2, which one state's building commission calls faulty
    /// (bulletin 31, 2013, quoted).
    pub beyond_2: bool,
}

/// Class of a concrete floor by crack width and by the change in offset from
/// a 3 m straightedge (AS 2870 table C2, figures from memory).
pub fn as2870_slab_class(width_mm: f64, offset_mm: f64) -> Option<SlabCrackClass> {
    if !(width_mm >= 0.0 && offset_mm >= 0.0 && width_mm.is_finite() && offset_mm.is_finite()) {
        return None;
    }
    let count = |v: f64, bounds: [f64; 4]| bounds.iter().filter(|&&b| v >= b).count() as u8;
    let by_width = count(width_mm, [0.3, 1.0, 2.0, 4.0]);
    let by_offset = count(offset_mm, [8.0, 10.0, 15.0, 25.0]);
    let class = by_width.max(by_offset);
    Some(SlabCrackClass {
        class,
        beyond_2: class > 2,
    })
}

/// Widths from which new-home performance standards call a crack in a
/// concrete floor excessive. Contract terms of the first year; never to be
/// mixed with damage classes.
pub fn slab_crack_limits() -> [Limit<Length>; 3] {
    let sixteenths = |n: i64| Length::from_nm(n * 1_587_500);
    let limit = |n, purpose, publisher, provenance| Limit {
        value: sixteenths(n),
        means: "repaired under the standard when wider",
        purpose,
        publisher,
        provenance,
    };
    [
        limit(
            1,
            "living-area slab on ground, new home",
            "remodelling performance standard, older edition",
            Provenance::Quoted,
        ),
        limit(
            3,
            "basement floor, new home",
            "remodelling performance standard",
            Provenance::Quoted,
        ),
        limit(
            4,
            "basement floor, garage slab or attached patio, new home",
            "N.J.A.C. 5:25-3.5 (2024)",
            Provenance::Primary,
        ),
    ]
}
