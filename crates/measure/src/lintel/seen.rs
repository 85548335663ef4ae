//! What is seen at a lintel: dip, seats, overhang; and it all as readings.

use super::{LintelResult, LooseLintel, effective_span_in};
use crate::{Estimate, Length, MeasureError, Quantity, Reading};

/// Least seat of a lintel on brick, mm: 4 in (IRC R703.8.3, MSJC 2008).
pub const MIN_SEAT_MM: f64 = 101.6;

/// Observed dip from three readings of the underside, down from a straight
/// line (a string, a laser, a sight line): left end, middle, right end. Each
/// has the standard deviation `sd_mm`. Above 0 the middle is low.
///
/// # Errors
///
/// An error that is not a finite number of 0 or above.
///
/// ```
/// use wythe_measure::{Length, lintel::observed_dip};
/// let in_ = |v| Length::inches(v);
/// let dip = observed_dip(in_(1.0)?, in_(1.25)?, in_(1.0)?, 1.0)?;
/// assert!((dip.value - 6.35).abs() < 1e-9);
/// assert!((dip.sd - 1.5_f64.sqrt()).abs() < 1e-12);
/// # Ok::<(), wythe_measure::MeasureError>(())
/// ```
pub fn observed_dip(left: Length, middle: Length, right: Length, sd_mm: f64) -> Result<Estimate<f64>, MeasureError> {
    crate::openings::good_sd(sd_mm)?;
    let value = middle.as_mm() - 0.5 * (left.as_mm() + right.as_mm());
    Ok(Estimate {
        value,
        sd: sd_mm * libm::sqrt(1.5),
    })
}

/// Share of the brick's bed that overhangs its support. Published: at least
/// two thirds bears, so at most 1/3 overhangs (BIA 28B, IRC R703.8.2.2).
///
/// # Errors
///
/// A bed depth that is not above 0.
///
/// ```
/// use wythe_measure::{Length, lintel::overhang};
/// let share = overhang(Length::parse("1 1/4 in")?, Length::parse("3 5/8 in")?)?;
/// assert!(share > 1.0 / 3.0);
/// # Ok::<(), wythe_measure::MeasureError>(())
/// ```
pub fn overhang(projection: Length, bed_depth: Length) -> Result<f64, MeasureError> {
    if bed_depth.nm() <= 0 {
        return Err(MeasureError::OutOfRange {
            what: "the bed depth of the brick",
            range: "above 0",
        });
    }
    Ok(projection.nm() as f64 / bed_depth.nm() as f64)
}

/// The overhang as a reading, `lintel-overhang`. A steel rule is taken as good
/// to 1/16 in, as a standard deviation, for either length (common practice, no
/// source).
///
/// # Errors
///
/// A bed depth that is not above 0.
pub fn overhang_reading(projection: Length, bed_depth: Length, from: &[String]) -> Result<Reading, MeasureError> {
    let value = overhang(projection, bed_depth)?;
    let sd = 1.5875 * libm::hypot(1.0, value) / bed_depth.as_mm();
    let method = "how far the brick stands out beyond its support, over the depth of its bed";
    let seen = Estimate { value, sd };
    Ok(Reading::new(
        ("lintel-overhang", method),
        Quantity::Ratio,
        seen,
        from.to_vec(),
    ))
}

/// Whether a projection is beyond Grimm's figures, quoted second-hand: 1 in
/// for a nominal 3 in brick, 1-1/4 in for one of 3-5/8 in and up.
pub fn overhang_over_grimm(projection: Length, bed_depth: Length) -> bool {
    let limit = if bed_depth.as_inches() < 3.5 { 1.0 } else { 1.25 };
    projection.as_inches() > limit
}

/// Expected and observed, as readings: those of [`lintel_seen`], and
/// `lintel-dip-expected`, and where a dip was seen `lintel-dip-excess`
/// (observed less expected). `from` names what was read.
pub fn lintel_readings(
    lintel: &LooseLintel,
    result: &LintelResult,
    observed_mm: Option<Estimate<f64>>,
    from: &[String],
) -> Vec<Reading> {
    let mut readings = vec![Reading::new(
        (
            "lintel-dip-expected",
            "elastic dip of the bare angle under its brick and own weight",
        ),
        Quantity::Length,
        result.expected_dip_mm,
        from.to_vec(),
    )];
    if let Some(seen) = observed_mm {
        let excess = Estimate {
            value: seen.value - result.expected_dip_mm.value,
            sd: libm::hypot(seen.sd, result.expected_dip_mm.sd),
        };
        readings.push(Reading::new(
            ("lintel-dip-excess", "dip seen less the elastic dip of the bare angle"),
            Quantity::Length,
            excess,
            from.to_vec(),
        ));
    }
    readings.extend(lintel_seen(lintel, observed_mm, from));
    for reading in &mut readings {
        reading.notes.clone_from(&result.notes);
    }
    readings
}

/// What was seen, as readings: `lintel-dip`, `lintel-dip-ratio` (over the
/// effective span; 4 in for a seat that was not seen), `lintel-seat` (the
/// shorter) and `lintel-seat-short` (how far that is under [`MIN_SEAT_MM`]),
/// each where seen.
pub fn lintel_seen(lintel: &LooseLintel, observed_mm: Option<Estimate<f64>>, from: &[String]) -> Vec<Reading> {
    let mut readings = Vec::new();
    let seat = |s: Option<Length>| s.map_or(MIN_SEAT_MM / 25.4, Length::as_inches);
    let (left, right) = lintel.seats;
    let span = 25.4 * effective_span_in(lintel.clear_span.as_inches(), seat(left), seat(right));
    if let Some(seen) = observed_mm {
        let method = "middle against the line between the ends";
        let ratio = Estimate {
            value: seen.value / span,
            sd: seen.sd / span,
        };
        readings.push(Reading::new(
            ("lintel-dip", method),
            Quantity::Length,
            seen,
            from.to_vec(),
        ));
        if span > 0.0 {
            readings.push(Reading::new(
                ("lintel-dip-ratio", method),
                Quantity::Ratio,
                ratio,
                from.to_vec(),
            ));
        }
    }
    // A seat read with a tape: 1/8 in, taken as a standard deviation (common practice, no source).
    if let Some(seat) = [left, right].into_iter().flatten().min() {
        for (name, value) in [
            ("lintel-seat", seat.as_mm()),
            ("lintel-seat-short", MIN_SEAT_MM - seat.as_mm()),
        ] {
            let seen = Estimate { value, sd: 3.175 };
            readings.push(Reading::new(
                (name, "the shorter of the two seats"),
                Quantity::Length,
                seen,
                from.to_vec(),
            ));
        }
    }
    readings
}
