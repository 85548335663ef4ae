//! The site: how much the soil may swell, how the ground falls, how near the
//! trees stand. Each gives a context, never a cause.

mod said;
mod soil;
mod trees;

pub use said::{least_fall_reading, nearest_tree_reading, soil_reading};
pub use soil::{
    ExpansiveTests, SiteClass, SwellClass, expansion_index, expansion_index_class, ibc_expansive, lep_class,
    plasticity_class, site_class,
};
pub use trees::{SPECIES, TreeSpecies, WaterDemand, distance_over_height, tree_zone, within_zone};

use crate::{Estimate, Length, MeasureError, Quantity, Reading, Slope};

/// Fall of the ground away from the house that the IRC asks for: 6 in in
/// 10 ft (R401.3).
pub const GROUND_FALL: Slope = Slope::raw(0.05);
/// Fall of paving within 10 ft (R401.3): 2 %.
pub const PAVING_FALL: Slope = Slope::raw(0.02);

/// Fall of the ground away from the house over a run: above 0 it falls away,
/// below 0 it falls toward the house. `sd_mm` is of the fall.
///
/// # Errors
///
/// A run that is not above 0; an error that is not a number of 0 or above.
///
/// ```
/// use wythe_measure::{Length, site::{GROUND_FALL, ground_fall}};
/// let fall = ground_fall(Length::parse("6 in")?, Length::parse("10 ft")?, 6.0)?;
/// assert_eq!(fall.value.percent(), 5.0);
/// assert_eq!(fall.value, GROUND_FALL);
/// # Ok::<(), wythe_measure::MeasureError>(())
/// ```
pub fn ground_fall(fall: Length, run: Length, sd_mm: f64) -> Result<Estimate<Slope>, MeasureError> {
    crate::openings::good_sd(sd_mm)?;
    if run.nm() <= 0 {
        return Err(MeasureError::OutOfRange {
            what: "the run of the ground",
            range: "above 0",
        });
    }
    Ok(Estimate {
        value: Slope::of(fall, run)?,
        sd: sd_mm / run.as_mm(),
    })
}

/// The fall as a reading, `ground-fall`.
pub fn ground_fall_reading(fall: &Estimate<Slope>, from: &[String]) -> Reading {
    Reading::new(("ground-fall", "fall over run"), Quantity::Ratio, *fall, from.to_vec())
}

#[cfg(test)]
mod tests;
