//! Loose steel angles over openings in brick veneer: how far such an angle is
//! expected to dip, against how far it is seen to dip.
//!
//! The result is evidence. It says nothing of adequacy, nor of any code: the
//! published limits are for new work, and an observed dip also holds mill
//! camber, setting error and rust lift.

mod angle;
mod beam;
mod brickwork;
mod seen;

pub use angle::{ANGLES, SteelAngle};
pub use beam::{BeamResult, triangular_load, uniform_load};
pub use brickwork::{corner_legs, joint_spacing_in, joint_width_in, veneer_growth};
pub use seen::{
    MIN_SEAT_MM, lintel_readings, lintel_seen, observed_dip, overhang, overhang_over_grimm, overhang_reading,
};

use crate::{Estimate, Length, MeasureError};

/// Elastic modulus of steel, psi (UFC 3-310-05A lists 29,000,000).
pub const STEEL_PSI: f64 = 29.0e6;
/// Weight of nominal 4 in clay brick veneer, lb/ft², when none is given
/// (engineers' practice).
pub const BRICK_PSF: f64 = 40.0;
/// Relative standard deviation of a brick weight that was not measured. Clay
/// brick may differ from the listed weight by more than 30 % (Grimm 1996);
/// taken as two standard deviations.
const WEIGHT_SPREAD: f64 = 0.15;
/// Brick needed above the apex of the triangle, in (Taly; NCMA TEK 17-1B).
const ABOVE_APEX_IN: f64 = 8.0;
/// Widest clear span of this computation when joint reinforcement is not
/// known to be absent, in: 10 ft. Wider openings often act with reinforced
/// courses, and the bare angle then overstates the dip several times.
const WIDE_IN: f64 = 120.0;
/// Widest clear span at all, in: 18 ft 3 in (IRC R703.8.3.2).
const WIDEST_IN: f64 = 219.0;

/// What is known of one loose lintel. `None` means not seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LooseLintel {
    /// The angle.
    pub angle: SteelAngle,
    /// Angles side by side that share the brick: 1 or 2.
    pub count: u8,
    /// The long leg was laid flat, so the weaker axis bends.
    pub long_leg_flat: bool,
    /// Opening from jamb to jamb.
    pub clear_span: Length,
    /// Length of the seat on the brick, left then right.
    pub seats: (Option<Length>, Option<Length>),
    /// Brick above the lintel, up to its top or to the next opening.
    pub brick_height: Length,
    /// Weight of the brick, lb/ft²; [`BRICK_PSF`] when not known.
    pub brick_psf: Option<f64>,
    /// Laid in running bond.
    pub running_bond: Option<bool>,
    /// A movement joint, a corner or another opening close to a jamb.
    pub joint_near_jamb: Option<bool>,
    /// An opening, a beam or a floor load within the triangle.
    pub load_in_triangle: Option<bool>,
    /// Reinforced bed joints or bond beam that act with the angle.
    pub reinforced_courses: Option<bool>,
}

/// How much brick the angle is taken to carry.
#[derive(Debug, Clone, PartialEq)]
pub enum BrickLoad {
    /// The brick arches: only a 45° triangle over the span.
    Triangle,
    /// The brick does not arch: its full height, for the reason given.
    FullHeight(&'static str),
    /// It may arch: a condition was not seen.
    Between(&'static str),
}

/// What is expected of the lintel.
#[derive(Debug, Clone, PartialEq)]
pub struct LintelResult {
    /// Span from centre to centre of the seats, mm.
    pub effective_span_mm: f64,
    /// What it is taken to carry.
    pub load: BrickLoad,
    /// Expected elastic dip at the middle, mm, brick and own weight.
    pub expected_dip_mm: Estimate<f64>,
    /// The published limit for a calculated dip, mm: the lesser of span/600
    /// and 0.3 in (ACI 530-88, MSJC 1999). Later editions keep span/600 only
    /// (from memory).
    pub limit_mm: f64,
    /// Moment at the middle, lb-ft, of the heavier load considered.
    pub moment_lb_ft: f64,
    /// Reaction at each end, lb, of the heavier load considered.
    pub reaction_lb: f64,
    /// What must be said with it, one sentence each.
    pub notes: Vec<String>,
}

/// Least height of brick above a lintel for arching, in: half the effective
/// span and 8 in (Taly; NCMA TEK 17-1B).
///
/// ```
/// // 6 ft: 3.67 ft (Taly, example 4.26).
/// let height = wythe_measure::lintel::arching_height_in(72.0);
/// assert!((height / 12.0 - 3.67).abs() < 0.005);
/// ```
pub fn arching_height_in(effective_span_in: f64) -> f64 {
    effective_span_in / 2.0 + ABOVE_APEX_IN
}

/// Weight of the 45° triangle over a span, lb.
///
/// ```
/// use wythe_measure::lintel::triangle_weight_lb;
/// assert_eq!(triangle_weight_lb(50.0, 48.0), 200.0); // UFC 3-310-05A
/// assert_eq!(triangle_weight_lb(78.0, 72.0), 702.0); // Taly, example 4.26
/// ```
pub fn triangle_weight_lb(psf: f64, effective_span_in: f64) -> f64 {
    let span_ft = effective_span_in / 12.0;
    psf * span_ft * span_ft / 4.0
}

/// Span from centre to centre of two seats, in (Taly 4.77).
///
/// ```
/// // 5.33 ft clear with 8 in seats is 6 ft; 8 ft clear is 8.67 ft.
/// use wythe_measure::lintel::effective_span_in;
/// assert!((effective_span_in(64.0, 8.0, 8.0) - 72.0).abs() < 1e-9);
/// assert!((effective_span_in(96.0, 8.0, 8.0) / 12.0 - 8.67).abs() < 0.005);
/// ```
pub fn effective_span_in(clear_in: f64, left_seat_in: f64, right_seat_in: f64) -> f64 {
    clear_in + 0.5 * (left_seat_in + right_seat_in)
}

/// Limit of a calculated dip, in: the lesser of span/600 and 0.3 in.
pub fn dip_limit_in(span_in: f64) -> f64 {
    (span_in / 600.0).min(0.3)
}

/// What dip to expect.
///
/// # Errors
///
/// [`MeasureError::OutOfRange`] for senseless sizes or weights;
/// [`MeasureError::Undetermined`] where the assumptions don't hold: courses
/// that act with the angle, or an opening too wide for a bare angle.
pub fn expected(lintel: &LooseLintel) -> Result<LintelResult, MeasureError> {
    let clear = lintel.clear_span.as_inches();
    let psf = lintel.brick_psf.unwrap_or(BRICK_PSF);
    check(lintel, clear, psf)?;
    gate(lintel, clear)?;
    let mut notes = Vec::new();
    let seat = |s: Option<Length>| s.map_or(MIN_SEAT_MM / 25.4, Length::as_inches);
    if lintel.seats.0.is_none() || lintel.seats.1.is_none() {
        notes.push("A seat was not seen; 4 in is assumed for the span.".to_owned());
    }
    let span = effective_span_in(clear, seat(lintel.seats.0), seat(lintel.seats.1));
    let count = f64::from(lintel.count);
    let inertia = if lintel.long_leg_flat {
        lintel.angle.iy_in4
    } else {
        lintel.angle.ix_in4
    };
    let stiffness = STEEL_PSI * inertia * count;
    let own = uniform_load(lintel.angle.weight_lb_per_in() * count, span, stiffness);
    let triangle = triangular_load(triangle_weight_lb(psf, span), span, stiffness).plus(own);
    let full = uniform_load(psf * lintel.brick_height.as_inches() / 144.0, span, stiffness).plus(own);
    let load = brick_load(lintel, span);
    let (light, heavy) = match load {
        BrickLoad::Triangle => (triangle, triangle),
        BrickLoad::FullHeight(_) => (full, full),
        BrickLoad::Between(_) => (triangle, full),
    };
    match load {
        BrickLoad::Triangle => {}
        BrickLoad::FullHeight(why) => notes.push(format!("The full height of brick is taken: {why}.")),
        BrickLoad::Between(why) => notes.push(format!("Triangle or full height of brick: {why}.")),
    }
    notes.push("Expected of a bare new angle, as evidence; it says nothing of adequacy.".to_owned());
    let middle = 0.5 * (light.deflection + heavy.deflection);
    let spread = if lintel.brick_psf.is_some() {
        0.02
    } else {
        WEIGHT_SPREAD
    };
    // A range taken as even has a standard deviation of its width over root 12.
    let range = (heavy.deflection - light.deflection).abs() / libm::sqrt(12.0);
    Ok(LintelResult {
        effective_span_mm: span * 25.4,
        load,
        expected_dip_mm: Estimate {
            value: middle * 25.4,
            sd: 25.4 * crate::quadrature(&[middle * spread, range]),
        },
        limit_mm: 25.4 * dip_limit_in(span),
        moment_lb_ft: heavy.moment / 12.0,
        reaction_lb: heavy.reaction,
        notes,
    })
}

fn check(lintel: &LooseLintel, clear: f64, psf: f64) -> Result<(), MeasureError> {
    let range = |what, range| Err(MeasureError::OutOfRange { what, range });
    if !(6.0..=600.0).contains(&clear) {
        return range("the clear span", "6 in to 50 ft");
    }
    if !(5.0..=300.0).contains(&psf) {
        return range("the weight of the brick", "5 to 300 lb/ft2");
    }
    if !(0.0..=1200.0).contains(&lintel.brick_height.as_inches()) {
        return range("the height of brick", "0 to 100 ft");
    }
    if !(1..=2).contains(&lintel.count) {
        return range("the number of angles", "1 or 2");
    }
    let seats = [lintel.seats.0, lintel.seats.1];
    if seats.iter().flatten().any(|s| !(0.0..=48.0).contains(&s.as_inches())) {
        return range("a seat", "0 to 4 ft");
    }
    let a = &lintel.angle;
    if !(a.ix_in4 > 0.0 && a.iy_in4 > 0.0 && a.area_in2 > 0.0) {
        return range("a section property of the angle", "above 0");
    }
    Ok(())
}

fn gate(lintel: &LooseLintel, clear: f64) -> Result<(), MeasureError> {
    let not_applicable = |why: &str| {
        Err(MeasureError::Undetermined {
            what: format!("a bare-angle dip does not apply here: {why}"),
        })
    };
    if lintel.reinforced_courses == Some(true) {
        return not_applicable("reinforced courses act with the angle");
    }
    if clear > WIDEST_IN {
        return not_applicable("the opening is wider than 18 ft 3 in");
    }
    if clear > WIDE_IN && lintel.reinforced_courses.is_none() {
        return not_applicable(
            "the opening is wider than 10 ft, and whether reinforced courses act with the angle is not known",
        );
    }
    Ok(())
}

fn brick_load(lintel: &LooseLintel, span_in: f64) -> BrickLoad {
    if lintel.brick_height.as_inches() < arching_height_in(span_in) {
        return BrickLoad::FullHeight("less brick above than half the span and 8 in");
    }
    let conditions = [
        (
            lintel.running_bond.map(|b| !b),
            "it is not in running bond",
            "the bond was not seen",
        ),
        (
            lintel.joint_near_jamb,
            "a joint, corner or opening is close to a jamb",
            "joints near the jambs were not looked for",
        ),
        (
            lintel.load_in_triangle,
            "a load or an opening lies within the triangle",
            "loads within the triangle were not looked for",
        ),
    ];
    if let Some(c) = conditions.iter().find(|c| c.0 == Some(true)) {
        return BrickLoad::FullHeight(c.1);
    }
    match conditions.iter().find(|c| c.0.is_none()) {
        Some(c) => BrickLoad::Between(c.2),
        None => BrickLoad::Triangle,
    }
}

#[cfg(test)]
mod tests;
