//! Strain and length-change classes, the settlement screen, and the Texas
//! guideline's three-way reading.

use super::CrackClass;
use crate::{DeflectionRatio, Estimate, Length, Slope, normal_cdf};

/// Damage class by limiting tensile strain, in per cent (Boscardin & Cording
/// 1989): bounds 0.05, 0.075, 0.15, 0.3. The highest band covers classes 4
/// and 5 and is given as [`CrackClass::Severe`].
///
/// ```
/// use wythe_measure::limits::{CrackClass, strain_class};
/// assert_eq!(strain_class(0.10), Some(CrackClass::Slight));
/// ```
pub fn strain_class(strain_percent: f64) -> Option<CrackClass> {
    if !(strain_percent >= 0.0 && strain_percent.is_finite()) {
        return None;
    }
    let at = [0.05, 0.075, 0.15, 0.3].iter().filter(|&&b| strain_percent > b).count();
    Some(CrackClass::ALL[at])
}

/// Damage by change of length of the building (National Coal Board 1975,
/// mining subsidence).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)] // the table's own words
pub enum LengthChangeClass {
    VerySlight,
    Slight,
    Appreciable,
    Severe,
    VerySevere,
}

/// Class by change of length: up to 0.1 ft, 0.2, 0.4, 0.6, and more. `None`
/// when the product is not a finite number.
///
/// ```
/// use wythe_measure::{Length, limits::{LengthChangeClass, length_change_class}};
/// let class = length_change_class(Length::parse("110 ft")?, 1600e-6);
/// assert_eq!(class, Some(LengthChangeClass::Slight)); // 0.176 ft
/// # Ok::<(), wythe_measure::MeasureError>(())
/// ```
pub fn length_change_class(length: Length, strain: f64) -> Option<LengthChangeClass> {
    let change_ft = (length.as_inches() / 12.0 * strain).abs();
    if !change_ft.is_finite() {
        return None;
    }
    use LengthChangeClass::{Appreciable, Severe, Slight, VerySevere, VerySlight};
    let at = [0.1, 0.2, 0.4, 0.6].iter().filter(|&&b| change_ft > b).count();
    Some([VerySlight, Slight, Appreciable, Severe, VerySevere][at])
}

/// First-stage screen of a building beside ground movement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Screen {
    /// Under 10 mm and under 1/500: negligible, no more study.
    Negligible,
    /// Otherwise.
    StudyFurther,
}

/// Screen by settlement and ground slope (Mair, Taylor & Burland 1996,
/// quoted).
pub fn settlement_screen(settlement: Length, slope: Slope) -> Screen {
    let small = settlement.as_mm().abs() < 10.0 && slope.value().abs() < 1.0 / 500.0;
    if small {
        Screen::Negligible
    } else {
        Screen::StudyFurther
    }
}

/// The three-way reading of the Texas Section ASCE guidelines. Never a pass
/// or a fail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TexasReading {
    /// Under 1/360: unlikely to be materially deflected, unless visible signs
    /// say otherwise (quoted).
    Unlikely,
    /// Over 1/360 with few signs, or too near to tell: more information
    /// needed (quoted).
    MoreInformation,
    /// Over 1/360 with more than minimal signs: likely deflected (from
    /// memory).
    Likely,
}

/// Read a deflection ratio with its error. `signs` is how many visible signs
/// of distress go with it; more than one is "more than minimal" (from
/// memory). Within its error of 1/360 (a chance of 1 in 20 to 19 in 20 of
/// being beyond it), more information is needed.
pub fn texas_reading(ratio: &Estimate<DeflectionRatio>, signs: u32) -> TexasReading {
    let (value, sd) = (ratio.value.value().abs(), ratio.sd);
    let mark = 1.0 / 360.0;
    let beyond = if sd > 0.0 {
        normal_cdf((value - mark) / sd)
    } else {
        f64::from(u8::from(value >= mark))
    };
    if beyond <= 0.05 && signs <= 1 {
        TexasReading::Unlikely
    } else if beyond >= 0.95 && signs > 1 {
        TexasReading::Likely
    } else {
        TexasReading::MoreInformation
    }
}
