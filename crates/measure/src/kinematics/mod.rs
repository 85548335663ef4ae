//! Several cracks of one wall as one movement: the rigid-block movement that
//! closes them best, and whether a level survey agrees with it.
//!
//! The wall is seen from outside; `s` runs to the right along it and `z` up.
//! One side of every crack belongs to the block that moved, the other to the
//! rest of the wall. In the plane of the wall a rigid block has three
//! freedoms: spread `u`, rise `v` and rotation `ω`, so a place of the block
//! moves by `(u - ω (z - z0), v + ω (s - s0))`. Each width and slip read is a
//! linear equation in the three.

mod agreement;
mod said;

pub use agreement::{Agreement, against_survey, taper};
pub use said::{block_readings, taper_finding, wall_readings};

use crate::least_squares::{Fit, fit};
use crate::openings::weighable_sd;
use crate::{Estimate, Length, MeasureError};

/// Standardised misfit from which a crack does not belong to the movement.
const STRANGE_FROM: f64 = 3.0;

/// The side of a crack on which the block lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MovedSide {
    /// To the left of the crack, going up it.
    Left,
    /// To the right.
    Right,
}

/// One crack of a wall. `None` means not read.
#[derive(Debug, Clone, PartialEq)]
pub struct WallCrack {
    /// Name.
    pub name: String,
    /// Lower end: along the wall, up the wall.
    pub lower: (Length, Length),
    /// Upper end. A level crack runs from its left end to its right.
    pub upper: (Length, Length),
    /// Width at the lower end, square to the crack.
    pub width_lower: Option<Length>,
    /// Width at the upper end.
    pub width_upper: Option<Length>,
    /// Slip of the moved side along the crack, above 0 toward its upper end.
    pub slip: Option<Length>,
    /// Step of the moved side out of the wall's plane, above 0 outward.
    pub offset: Option<Length>,
    /// The side that belongs to the moved block.
    pub moved: MovedSide,
    /// Standard deviation of each reading, mm.
    pub sd_mm: f64,
}

/// The movement that closes the cracks best.
#[derive(Debug, Clone, PartialEq)]
pub struct BlockMovement {
    /// To the right along the wall, mm, at [`BlockMovement::about_mm`];
    /// `None` where the readings don't determine it.
    pub spread_mm: Option<Estimate<f64>>,
    /// Upward, mm; below 0 the block dropped.
    pub rise_mm: Option<Estimate<f64>>,
    /// Rotation, rad; above 0 its top goes to the left.
    pub rotation_rad: Option<Estimate<f64>>,
    /// Mean step out of the plane, mm; `None` when none was read.
    pub outward_mm: Option<Estimate<f64>>,
    /// Place that spread and rise are given at: along, up.
    pub about_mm: (f64, f64),
    /// Equations less unknowns.
    pub spare: usize,
    /// Root mean square misfit over the stated error: about 1 when one rigid
    /// movement explains the cracks; `None` with no equation to spare.
    pub misfit: Option<f64>,
    /// Cracks that don't belong to the movement of the rest.
    pub strangers: Vec<String>,
    /// What must be said with it, one sentence each.
    pub notes: Vec<String>,
}

/// One equation: factors of spread, rise and rotation, and what was read.
struct Equation {
    crack: usize,
    s: f64,
    z: f64,
    /// Direction that the reading is along.
    along: (f64, f64),
    value: f64,
    sd: f64,
}

/// Find the movement. When the readings don't determine all three freedoms,
/// the richest movement that they do determine is given: spread and rotation
/// before rise and rotation, before one alone; a freedom left out is taken
/// as none, and the notes say so. Errors are widened where the misfit shows
/// more scatter than was stated.
///
/// # Errors
///
/// No crack with a reading; a crack without length; a stated error that is
/// not above 0; more than 1000 cracks.
pub fn block_movement(cracks: &[WallCrack]) -> Result<BlockMovement, MeasureError> {
    if cracks.len() > 1000 {
        return Err(MeasureError::OutOfRange {
            what: "the number of cracks",
            range: "up to 1000",
        });
    }
    let equations = equations(cracks)?;
    if equations.is_empty() {
        return Err(MeasureError::TooFew {
            what: "widths or slips",
            need: 1,
            found: 0,
        });
    }
    let count = equations.len() as f64;
    let s0 = equations.iter().map(|e| e.s).sum::<f64>() / count;
    let z0 = equations.iter().map(|e| e.z).sum::<f64>() / count;
    let columns: [Vec<f64>; 3] = [
        equations.iter().map(|e| e.along.0).collect(),
        equations.iter().map(|e| e.along.1).collect(),
        equations
            .iter()
            .map(|e| (e.s - s0) * e.along.1 - (e.z - z0) * e.along.0)
            .collect(),
    ];
    let y: Vec<f64> = equations.iter().map(|e| e.value).collect();
    let weights: Vec<f64> = equations.iter().map(|e| 1.0 / (e.sd * e.sd)).collect();
    const CHOICES: [&[usize]; 6] = [&[0, 1, 2], &[0, 2], &[1, 2], &[0, 1], &[0], &[1]];
    let (chosen, solved) = CHOICES
        .iter()
        .find_map(|&chosen| {
            let some: Vec<Vec<f64>> = chosen.iter().map(|&i| columns[i].clone()).collect();
            fit(&some, &y, &weights).map(|f| (chosen, f))
        })
        .ok_or_else(|| MeasureError::Undetermined {
            what: "the cracks' readings determine no movement of the block".to_owned(),
        })?;
    let spare = y.len() - chosen.len();
    let misfit = (spare > 0).then(|| libm::sqrt(solved.chi2 / spare as f64));
    let wider = misfit.unwrap_or(1.0).max(1.0);
    let of = |i: usize| {
        let at = chosen.iter().position(|&c| c == i)?;
        Some(Estimate {
            value: solved.coefficients[at],
            sd: solved.sd(at) * wider,
        })
    };
    let strangers = strangers(cracks, &equations, &solved);
    Ok(BlockMovement {
        spread_mm: of(0),
        rise_mm: of(1),
        rotation_rad: of(2),
        outward_mm: outward(cracks),
        about_mm: (s0, z0),
        spare,
        notes: notes(chosen, misfit, &strangers),
        misfit,
        strangers,
    })
}

fn equations(cracks: &[WallCrack]) -> Result<Vec<Equation>, MeasureError> {
    let mut all = Vec::new();
    for (crack, c) in cracks.iter().enumerate() {
        weighable_sd(c.sd_mm)?;
        let (a, b) = (at(c.lower), at(c.upper));
        let length = libm::hypot(b.0 - a.0, b.1 - a.1);
        if length < 1.0 {
            return Err(MeasureError::Undetermined {
                what: format!("crack {} has no length", c.name),
            });
        }
        let up = ((b.0 - a.0) / length, (b.1 - a.1) / length);
        // Square to the crack, from the rest of the wall toward the block.
        let side = if c.moved == MovedSide::Right { 1.0 } else { -1.0 };
        let out = (side * up.1, -side * up.0);
        let middle = (0.5 * (a.0 + b.0), 0.5 * (a.1 + b.1));
        let mut push = |place: (f64, f64), along, value: Option<Length>| {
            if let Some(value) = value {
                all.push(Equation {
                    crack,
                    s: place.0,
                    z: place.1,
                    along,
                    value: value.as_mm(),
                    sd: c.sd_mm,
                });
            }
        };
        push(a, out, c.width_lower);
        push(b, out, c.width_upper);
        push(middle, up, c.slip);
    }
    Ok(all)
}

fn at(place: (Length, Length)) -> (f64, f64) {
    (place.0.as_mm(), place.1.as_mm())
}

/// Cracks with a reading far from the common movement, when there are
/// equations to spare.
fn strangers(cracks: &[WallCrack], equations: &[Equation], solved: &Fit) -> Vec<String> {
    if equations.len() <= solved.coefficients.len() {
        return Vec::new();
    }
    let mut names = Vec::new();
    for (i, c) in cracks.iter().enumerate() {
        let strange = equations
            .iter()
            .zip(&solved.residuals)
            .any(|(e, r)| e.crack == i && r.abs() > STRANGE_FROM * e.sd);
        if strange {
            names.push(c.name.clone());
        }
    }
    names
}

fn outward(cracks: &[WallCrack]) -> Option<Estimate<f64>> {
    let read: Vec<(f64, f64)> = cracks
        .iter()
        .filter_map(|c| c.offset.map(|o| (o.as_mm(), c.sd_mm)))
        .collect();
    let weight: f64 = read.iter().map(|(_, s)| 1.0 / (s * s)).sum();
    (!read.is_empty()).then(|| Estimate {
        value: read.iter().map(|(o, s)| o / (s * s)).sum::<f64>() / weight,
        sd: libm::sqrt(1.0 / weight),
    })
}

fn notes(chosen: &[usize], misfit: Option<f64>, strangers: &[String]) -> Vec<String> {
    let mut notes = Vec::new();
    let names = ["spread", "rise or drop", "rotation"];
    let missing: Vec<&str> = (0..3).filter(|i| !chosen.contains(i)).map(|i| names[i]).collect();
    if !missing.is_empty() {
        notes.push(format!(
            "These readings don't determine {}; it is taken as none.",
            missing.join(" nor ")
        ));
    }
    match misfit {
        None => notes.push("There is no reading to spare, so nothing checks this movement.".to_owned()),
        Some(m) if m > 2.0 => {
            notes.push(format!(
                "One rigid block does not close these cracks: they miss by {m:.1} times their stated error."
            ));
        }
        Some(_) => {}
    }
    if !strangers.is_empty() {
        notes.push(format!("Out of step with the rest: {}.", strangers.join(", ")));
    }
    notes
}

#[cfg(test)]
mod tests;
