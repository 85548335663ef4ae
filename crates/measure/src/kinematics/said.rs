//! What several cracks of a wall say, as readings and findings.

use super::{BlockMovement, WallCrack, taper};
use crate::{COVER_95, Estimate, Quantity, Reading};

/// Change of width from end to end, over the mean width, under which a crack
/// counts as even. Our definition, no source.
const EVEN_WITHIN: f64 = 1.0 / 3.0;

/// The movement as readings: `block-rotation`, `block-rise`, `block-spread`
/// and `block-outward`, each where determined.
pub fn block_readings(movement: &BlockMovement, cracks: &[WallCrack]) -> Vec<Reading> {
    const RIGID: &str = "the rigid movement of one block that closes the cracks best, by least squares";
    let from: Vec<String> = cracks.iter().map(|c| c.name.clone()).collect();
    [
        ("block-rotation", RIGID, Quantity::Angle, movement.rotation_rad),
        ("block-rise", RIGID, Quantity::Length, movement.rise_mm),
        ("block-spread", RIGID, Quantity::Length, movement.spread_mm),
        (
            "block-outward",
            "mean of the steps out of the wall",
            Quantity::Length,
            movement.outward_mm,
        ),
    ]
    .into_iter()
    .filter_map(|(name, method, quantity, e)| Some(Reading::new((name, method), quantity, e?, from.clone())))
    .collect()
}

/// The widths as readings: `crack-width`, the widest that was read, and
/// `crack-taper`, where a crack tells it.
pub fn wall_readings(cracks: &[WallCrack]) -> Vec<Reading> {
    let widths = cracks.iter().flat_map(|c| {
        [c.width_lower, c.width_upper]
            .into_iter()
            .flatten()
            .map(move |width| (width.as_mm(), c))
    });
    let widest = widths.reduce(|a, b| if b.0 > a.0 { b } else { a });
    let width = widest.map(|(value, of)| {
        let named = ("crack-width", "the widest that was read");
        let width = Estimate { value, sd: of.sd_mm };
        Reading::new(named, Quantity::Length, width, vec![of.name.clone()])
    });
    let tapered = taper(cracks).map(|taper| {
        let method = "growth of width over height, the cracks weighted by their error";
        let from = both_ends(cracks).map(|c| c.name.clone()).collect();
        Reading::new(("crack-taper", method), Quantity::Ratio, taper, from)
    });
    width.into_iter().chain(tapered).collect()
}

/// The taper as a finding: `wider_up` or `wider_down` beyond the error (95 %),
/// `even_width` where the change from end to end is surely under a third of
/// the mean width; `None` where the readings don't tell.
pub fn taper_finding(cracks: &[WallCrack]) -> Option<&'static str> {
    let taper = taper(cracks)?;
    let reach = COVER_95 * taper.sd;
    let (mut height, mut width, mut count) = (0.0, 0.0, 0.0);
    for c in both_ends(cracks) {
        height += (c.upper.1.as_mm() - c.lower.1.as_mm()).abs();
        width += c
            .width_lower
            .into_iter()
            .chain(c.width_upper)
            .map(|w| w.as_mm())
            .sum::<f64>()
            / 2.0;
        count += 1.0;
    }
    let change = (taper.value.abs() + reach) * height / count;
    if taper.value > reach {
        Some("wider_up")
    } else if taper.value < -reach {
        Some("wider_down")
    } else if change < EVEN_WITHIN * width / count {
        Some("even_width")
    } else {
        None
    }
}

fn both_ends(cracks: &[WallCrack]) -> impl Iterator<Item = &WallCrack> {
    cracks
        .iter()
        .filter(|c| c.width_lower.is_some() && c.width_upper.is_some())
}
