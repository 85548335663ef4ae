//! Trees near a house on shrinkable clay.
//!
//! The zones are foundation-design rules of the United Kingdom (NHBC 4.2)
//! and its climate; elsewhere they are a rough guide, and suction differs
//! less between species than the multiples say (a published criticism).

use crate::{Estimate, Length, MeasureError};

/// How much water a tree draws.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)] // the table's own words
pub enum WaterDemand {
    Low,
    Moderate,
    High,
}

impl WaterDemand {
    /// Zone of influence over mature height (NHBC 4.2, table 3b).
    pub const fn multiple(self) -> f64 {
        match self {
            Self::Low => 0.5,
            Self::Moderate => 0.75,
            Self::High => 1.25,
        }
    }
}

/// A species with its mature height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TreeSpecies {
    /// Common name.
    pub name: &'static str,
    /// Mature height, m.
    pub mature_m: f64,
    /// Water demand.
    pub demand: WaterDemand,
}

use WaterDemand::{High, Low, Moderate};

/// Mature heights and demands (NHBC 4.2 appendix, 2006).
#[rustfmt::skip]
pub const SPECIES: [TreeSpecies; 26] = [
    species("English oak", 20.0, High), species("red oak", 24.0, High),
    species("hybrid black poplar", 28.0, High), species("Lombardy poplar", 25.0, High),
    species("crack willow", 24.0, High), species("weeping willow", 16.0, High),
    species("English elm", 24.0, High), species("hawthorn", 10.0, High),
    species("eucalyptus", 18.0, High), species("Leyland cypress", 20.0, High),
    species("Lawson's cypress", 18.0, High), species("ash", 23.0, Moderate),
    species("lime", 22.0, Moderate), species("plane", 26.0, Moderate),
    species("sycamore", 22.0, Moderate), species("beech", 20.0, Moderate),
    species("horse chestnut", 20.0, Moderate), species("Norway maple", 18.0, Moderate),
    species("apple", 10.0, Moderate), species("cedar", 20.0, Moderate),
    species("pine", 20.0, Moderate), species("birch", 14.0, Low),
    species("holly", 12.0, Low), species("hornbeam", 17.0, Low),
    species("magnolia", 9.0, Low), species("hazel", 8.0, Low),
];

const fn species(name: &'static str, mature_m: f64, demand: WaterDemand) -> TreeSpecies {
    TreeSpecies { name, mature_m, demand }
}

/// Zone of influence of a tree, m from its trunk.
///
/// ```
/// use wythe_measure::site::{WaterDemand, tree_zone};
/// assert_eq!(tree_zone(28.0, WaterDemand::High), 35.0); // a black poplar
/// ```
pub fn tree_zone(mature_m: f64, demand: WaterDemand) -> f64 {
    mature_m * demand.multiple()
}

/// Distance of a tree from the nearest face of the foundation over its mature
/// height.
///
/// # Errors
///
/// A height that is not above 0, a distance below 0.
pub fn distance_over_height(distance: Length, mature_height: Length) -> Result<f64, MeasureError> {
    if mature_height.nm() <= 0 || distance.nm() < 0 {
        return Err(MeasureError::OutOfRange {
            what: "the tree's height or distance",
            range: "height above 0, distance 0 or above",
        });
    }
    Ok(distance.nm() as f64 / mature_height.nm() as f64)
}

/// Chance that a foundation is within a tree's zone, from the errors of the
/// distance over height; 0.5 when that says nothing.
pub fn within_zone(distance_over_height: Estimate<f64>, demand: WaterDemand) -> f64 {
    let (value, sd, edge) = (distance_over_height.value, distance_over_height.sd, demand.multiple());
    if !(value.is_finite() && sd >= 0.0 && sd.is_finite()) {
        0.5
    } else if sd == 0.0 {
        f64::from(u8::from(value <= edge))
    } else {
        crate::normal_cdf((edge - value) / sd)
    }
}
