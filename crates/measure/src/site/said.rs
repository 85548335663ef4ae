//! What was learned of the site, as readings.

use super::{distance_over_height, ground_fall};
use crate::{Estimate, Length, MeasureError, Quantity, Reading};

/// An index of the soil with its standard deviation: `plasticity-index`,
/// `expansion-index` or `linear-extensibility`.
///
/// # Errors
///
/// An index that is not between 0 and 1000, or an error that is not a number
/// of 0 or above.
pub fn soil_reading(name: &'static str, index: Estimate<f64>) -> Result<Reading, MeasureError> {
    if !(0.0..=1000.0).contains(&index.value) {
        return Err(MeasureError::OutOfRange {
            what: "an index of the soil",
            range: "0 to 1000",
        });
    }
    if !(0.0..=1000.0).contains(&index.sd) {
        return Err(MeasureError::OutOfRange {
            what: "the error of an index",
            range: "0 to 1000",
        });
    }
    let method = match name {
        "plasticity-index" => "liquid limit less plastic limit, as reported",
        "expansion-index" => "expansion index, as reported",
        _ => "as reported",
    };
    let from = vec![name.replace('-', " ")];
    Ok(Reading::new((name, method), Quantity::Number, index, from))
}

/// The least of several falls of the ground, as the reading `ground-fall`:
/// fall, run and where, with the standard deviation of a fall, mm. The least of
/// several is least partly by error, so its error is that of the least.
///
/// # Errors
///
/// None; a run that is not above 0; an error that is not a number of 0 or above.
pub fn least_fall_reading(falls: &[(Length, Length, String)], sd_mm: f64) -> Result<Reading, MeasureError> {
    let mut least: Option<(Estimate<crate::Slope>, &String)> = None;
    for (fall, run, name) in falls {
        let one = ground_fall(*fall, *run, sd_mm)?;
        if least.is_none_or(|(least, _)| one.value.value() < least.value.value()) {
            least = Some((one, name));
        }
    }
    let (fall, name) = least.ok_or(MeasureError::TooFew {
        what: "falls of the ground",
        need: 1,
        found: 0,
    })?;
    Ok(super::ground_fall_reading(&fall, std::slice::from_ref(name)))
}

/// The nearest of several trees, by distance over mature height, as the reading
/// `tree-distance`: distance, mature height and name, with the standard
/// deviation of a distance, mm.
///
/// # Errors
///
/// None; a height that is not above 0; a distance below 0.
pub fn nearest_tree_reading(trees: &[(Length, Length, String)], sd_mm: f64) -> Result<Reading, MeasureError> {
    crate::openings::good_sd(sd_mm)?;
    let mut nearest: Option<(Estimate<f64>, &String)> = None;
    for (distance, height, name) in trees {
        let value = distance_over_height(*distance, *height)?;
        let sd = sd_mm / height.as_mm();
        if nearest.is_none_or(|(nearest, _)| value < nearest.value) {
            nearest = Some((Estimate { value, sd }, name));
        }
    }
    let (of, name) = nearest.ok_or(MeasureError::TooFew {
        what: "trees",
        need: 1,
        found: 0,
    })?;
    let method = "distance from the trunk to the nearest face of the house, over the mature height";
    let named = ("tree-distance", method);
    Ok(Reading::new(named, Quantity::Ratio, of, vec![name.clone()]))
}
