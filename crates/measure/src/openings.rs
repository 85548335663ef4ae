//! Door and window openings: out of square, and door heads against floors.

use crate::{Angle, Estimate, Length, MeasureError, Quantity, Reading, Slope, quadrature};

/// How far an opening is racked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutOfSquare {
    /// How far the angle at the lower left is from a right angle: above 0 it
    /// is sharp, and the top leans right.
    pub angle: Angle,
    /// Standard deviation of that, rad.
    pub angle_sd: f64,
    /// The same as a slope of the jambs against the sill.
    pub slope: Estimate<Slope>,
}

/// Racking from both diagonals of an opening: lower left to upper right, and
/// lower right to upper left, each with the standard deviation `sd_mm`. For
/// sides `w` and `h` that keep their lengths (a parallelogram) the difference
/// of the squared diagonals is `4 w h` times the sine of the racking.
///
/// # Errors
///
/// Sides not above 0; diagonals that no parallelogram of those sides has.
///
/// ```
/// use wythe_measure::{Length, openings::from_diagonals};
/// let l = |t: &str| Length::parse(t);
/// // 36 by 80 in, diagonals 1/4 in apart.
/// let r = from_diagonals(l("36 in")?, l("80 in")?, l("87.85 in")?, l("87.60 in")?, 0.8)?;
/// assert!((r.slope.value.value() - 0.25 * 2.0 * 87.725 / (4.0 * 36.0 * 80.0)).abs() < 1e-6);
/// # Ok::<(), wythe_measure::MeasureError>(())
/// ```
pub fn from_diagonals(
    width: Length,
    height: Length,
    rising_right: Length,
    rising_left: Length,
    sd_mm: f64,
) -> Result<OutOfSquare, MeasureError> {
    good_sd(sd_mm)?;
    let (w, h, p, q) = (width.as_mm(), height.as_mm(), rising_right.as_mm(), rising_left.as_mm());
    if !(w > 0.0 && h > 0.0 && p > 0.0 && q > 0.0) {
        return Err(MeasureError::OutOfRange {
            what: "a side or diagonal",
            range: "above 0",
        });
    }
    let sine = (p * p - q * q) / (4.0 * w * h);
    let expected = 2.0 * (w * w + h * h);
    if sine.abs() >= 0.2 || ((p * p + q * q) / expected - 1.0).abs() > 0.1 {
        return Err(MeasureError::Conflict {
            what: "the diagonals don't belong to an opening of that width and height".to_owned(),
        });
    }
    let lean = libm::asin(sine);
    let sd = sd_mm * libm::hypot(2.0 * p, 2.0 * q) / (4.0 * w * h * libm::cos(lean));
    Ok(racked(lean, sd))
}

/// Racking from four gaps between a straight door and its frame: along the
/// head at the left and at the right, and along the latch side (right) at the
/// top and at the bottom. The gap that changes along the head tells the head's
/// slope, that along the side the jamb's lean; the racking is between them.
///
/// # Errors
///
/// A door without size.
pub fn from_gaps(
    door_width: Length,
    door_height: Length,
    head: (Length, Length),
    side: (Length, Length),
    sd_mm: f64,
) -> Result<OutOfSquare, MeasureError> {
    good_sd(sd_mm)?;
    let (w, h) = (door_width.as_mm(), door_height.as_mm());
    if !(w > 0.0 && h > 0.0) {
        return Err(MeasureError::OutOfRange {
            what: "a side of the door",
            range: "above 0",
        });
    }
    let head_rise = (head.1.as_mm() - head.0.as_mm()) / w;
    let jamb_right = (side.0.as_mm() - side.1.as_mm()) / h;
    // A head up to the right turns one way, a jamb out to the right the other:
    // a frame that is only turned stays square.
    let sharp = jamb_right + head_rise;
    let sd = sd_mm * core::f64::consts::SQRT_2 * libm::hypot(1.0 / w, 1.0 / h);
    Ok(racked(libm::atan(sharp), sd))
}

fn racked(angle: f64, sd: f64) -> OutOfSquare {
    let slope = libm::tan(angle);
    OutOfSquare {
        angle: Angle::raw(angle),
        angle_sd: sd,
        slope: Estimate {
            value: Slope::raw(slope),
            sd: sd * (1.0 + slope * slope),
        },
    }
}

/// Whether a door head follows the floor under it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeadAgainstFloor {
    /// Slope of the head less slope of the floor.
    pub difference: Estimate<Slope>,
    /// The two slopes agree within their error (95 %).
    pub agree: bool,
    /// Both slopes stand out from level (95 %) and go the same way.
    pub move_together: bool,
}

/// Compare the slope of a door head gap with the floor's slope below it, both
/// up to the same side.
pub fn head_against_floor(head: Estimate<Slope>, floor: Estimate<Slope>) -> HeadAgainstFloor {
    let difference = head.value.value() - floor.value.value();
    let sd = libm::hypot(head.sd, floor.sd);
    let out = |e: &Estimate<Slope>| e.value.value().abs() > crate::COVER_95 * e.sd;
    let agree = difference.abs() <= crate::COVER_95 * sd;
    HeadAgainstFloor {
        difference: Estimate {
            value: Slope::raw(difference),
            sd,
        },
        agree,
        move_together: agree && out(&head) && out(&floor) && (head.value.value() > 0.0) == (floor.value.value() > 0.0),
    }
}

/// How the head and the floor below it go, as a reading, `head-against-floor`,
/// and a finding where the head stands out from level: `with_floor` where both
/// slope the same way and agree, `against_floor` where they differ beyond
/// their errors (95 %).
pub fn head_against_floor_reading(
    head: Estimate<Slope>,
    floor: Estimate<Slope>,
    from: &[String],
) -> (Reading, Option<&'static str>) {
    let found = head_against_floor(head, floor);
    let slopes = head.value.value().abs() > crate::COVER_95 * head.sd;
    let finding = match (found.move_together, found.agree) {
        (true, _) => Some("with_floor"),
        (false, false) if slopes => Some("against_floor"),
        _ => None,
    };
    let method = "slope of the head gap less slope of the floor below it";
    let named = ("head-against-floor", method);
    (
        Reading::new(named, Quantity::Ratio, found.difference, from.to_vec()),
        finding,
    )
}

/// Slope from two readings over a run, each with the standard deviation
/// `sd_mm`: above 0 the second is higher.
///
/// # Errors
///
/// A run that is not above 0, or a slope out of range.
pub fn slope_between(first: Length, second: Length, run: Length, sd_mm: f64) -> Result<Estimate<Slope>, MeasureError> {
    good_sd(sd_mm)?;
    if run.nm() <= 0 {
        return Err(MeasureError::OutOfRange {
            what: "the run",
            range: "above 0",
        });
    }
    let rise = Length::from_nm(second.nm().saturating_sub(first.nm()));
    Ok(Estimate {
        value: Slope::of(rise, run)?,
        sd: quadrature(&[sd_mm, sd_mm]) / run.as_mm(),
    })
}

/// The racking as a reading, without its sign.
pub fn out_of_square_reading(of: &OutOfSquare, from: &[String]) -> Reading {
    let named = ("out-of-square", "angle between head and jamb");
    Reading::new(named, Quantity::Ratio, of.slope, from.to_vec())
        .unsigned()
        .noted("An opening may have been built or hung out of square.")
}

/// How much the gap above a door changes from one side to the other, without
/// its sign: `head-gap-change` (length).
///
/// # Errors
///
/// An error that is not a finite number of 0 or above.
pub fn head_gap_reading(head: (Length, Length), sd_mm: f64, from: &[String]) -> Result<Reading, MeasureError> {
    good_sd(sd_mm)?;
    let named = ("head-gap-change", "one side of the head less the other");
    let change = Estimate {
        value: head.1.as_mm() - head.0.as_mm(),
        sd: sd_mm * core::f64::consts::SQRT_2,
    };
    let reading = Reading::new(named, Quantity::Length, change, from.to_vec()).unsigned();
    Ok(reading.noted("A leaf that sags on its hinges in a level frame looks the same."))
}

/// A stated standard deviation of a reading, mm, that may be none.
pub(crate) fn good_sd(sd_mm: f64) -> Result<(), MeasureError> {
    if (0.0..=1e6).contains(&sd_mm) {
        Ok(())
    } else {
        Err(MeasureError::OutOfRange {
            what: "the error of a reading",
            range: "0 mm to 1 km",
        })
    }
}

/// As [`good_sd`], where none can't be weighed.
pub(crate) fn weighable_sd(sd_mm: f64) -> Result<(), MeasureError> {
    if (1e-6..=1e6).contains(&sd_mm) {
        Ok(())
    } else {
        Err(MeasureError::OutOfRange {
            what: "the error of a reading",
            range: "1 nm to 1 km",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn mm(v: f64) -> Length {
        Length::mm(v).unwrap()
    }

    #[test]
    fn a_square_opening_is_square() {
        let d = mm(libm::hypot(900.0, 2000.0));
        let r = from_diagonals(mm(900.0), mm(2000.0), d, d, 1.0).unwrap();
        assert_eq!(r.angle.rad(), 0.0);
        let r = from_gaps(mm(900.0), mm(2000.0), (mm(3.0), mm(3.0)), (mm(2.0), mm(2.0)), 0.5).unwrap();
        assert_eq!(r.angle.rad(), 0.0);
        // A frame that is only turned: head up 1/100 to the right, jamb in by as much at its top.
        let r = from_gaps(mm(1000.0), mm(2000.0), (mm(3.0), mm(13.0)), (mm(0.0), mm(20.0)), 0.5).unwrap();
        assert!(r.angle.rad().abs() < 1e-12);
    }

    #[test]
    fn both_ways_of_reading_agree_in_sign() {
        // The top of the frame is pushed 20 mm to the right.
        let (w, h, push) = (900.0, 2000.0, 20.0);
        let tall = libm::sqrt(h * h - push * push);
        let right = mm(libm::hypot(w + push, tall));
        let left = mm(libm::hypot(w - push, tall));
        let a = from_diagonals(mm(w), mm(h), right, left, 1.0).unwrap();
        let b = from_gaps(mm(w), mm(h), (mm(3.0), mm(3.0)), (mm(3.0 + push), mm(3.0)), 1.0).unwrap();
        assert!((a.slope.value.value() - 0.01).abs() < 1e-5, "{a:?}");
        assert!((b.slope.value.value() - 0.01).abs() < 1e-9);
    }

    #[test]
    fn bad_input_is_refused() {
        assert!(from_diagonals(mm(900.0), mm(2000.0), mm(3000.0), mm(1000.0), 1.0).is_err());
        assert!(from_diagonals(mm(0.0), mm(2000.0), mm(2000.0), mm(2000.0), 1.0).is_err());
        assert!(from_gaps(mm(900.0), mm(0.0), (mm(1.0), mm(1.0)), (mm(1.0), mm(1.0)), 1.0).is_err());
        assert!(slope_between(mm(1.0), mm(2.0), mm(0.0), 1.0).is_err());
        assert!(slope_between(mm(1.0), mm(2.0), mm(10.0), f64::NAN).is_err());
        let far = (Length::from_nm(i64::MIN), Length::from_nm(i64::MAX));
        assert!(slope_between(far.0, far.1, mm(1.0), 1.0).is_err());
    }

    #[test]
    fn a_head_that_slopes_with_the_floor_is_a_finding() {
        let s = |v: f64| Estimate {
            value: Slope::new(v).unwrap(),
            sd: 0.001,
        };
        let finding = |head: f64, floor: f64| head_against_floor_reading(s(head), s(floor), &[]).1;
        assert_eq!(finding(0.010, 0.009), Some("with_floor"));
        assert_eq!(finding(0.010, 0.0), Some("against_floor"));
        assert_eq!(finding(0.010, -0.009), Some("against_floor"));
        // A level head over any floor, and what is within its error, say nothing.
        assert_eq!(finding(0.0, 0.010), None);
        assert_eq!(finding(0.001, 0.001), None);
    }

    #[test]
    fn head_and_floor() {
        let s = |v: f64, sd: f64| Estimate {
            value: Slope::new(v).unwrap(),
            sd,
        };
        assert!(head_against_floor(s(0.010, 0.001), s(0.009, 0.001)).move_together);
        let apart = head_against_floor(s(0.010, 0.001), s(-0.009, 0.001));
        assert!(!apart.agree && !apart.move_together);
        assert!(!head_against_floor(s(0.001, 0.001), s(0.001, 0.001)).move_together);
    }

    proptest! {
        #[test]
        fn racking_comes_back(w in 600.0..2400.0f64, h in 1800.0..2400.0f64, lean in -0.03..0.03f64) {
            let (s, c) = (lean.sin(), lean.cos());
            let right = mm(libm::hypot(w + h * s, h * c));
            let left = mm(libm::hypot(w - h * s, h * c));
            let r = from_diagonals(mm(w), mm(h), right, left, 1.0).unwrap();
            prop_assert!((r.angle.rad() - lean).abs() < 1e-7);
        }
    }
}
