//! Walls and chimneys: out of plumb, bow, and the middle third.

use crate::least_squares::fit;
use crate::openings::{good_sd, weighable_sd};
use crate::{Estimate, Length, MeasureError, Quantity, Reading, Slope};

/// An offset of a wall's face from a plumb line, at a height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlumbOffset {
    /// Height up the wall.
    pub height: Length,
    /// Distance from the plumb line out to the face.
    pub offset: Length,
}

/// How a wall stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Plumb {
    /// Lean: change of offset over height, above 0 away from the line.
    pub lean: Estimate<Slope>,
    /// Lean over the height read, mm.
    pub lean_mm: Estimate<f64>,
    /// Largest stand-off of a reading from the chord of the lowest and the
    /// highest, mm, signed, and the height where it is; `None` with two
    /// readings.
    pub bow: Option<(Estimate<f64>, Length)>,
    /// Chance that a straight wall would show less bow than was read is at
    /// least 95 %: the wall is bowed beyond reading error (Bonferroni).
    pub bowed: bool,
}

/// Lean and bow of a wall or chimney from offsets at heights, each with the
/// standard deviation `sd_mm`. The lean is by least squares.
///
/// # Errors
///
/// Fewer than two readings; no two heights apart; an error that is not a
/// number above 0.
///
/// ```
/// use wythe_measure::{Length, walls::{PlumbOffset, plumb}};
/// let at = |h, o| Ok::<_, wythe_measure::MeasureError>(PlumbOffset {
///     height: Length::parse(h)?, offset: Length::parse(o)? });
/// let wall = [at("0 in", "2 in")?, at("4 ft", "2 1/2 in")?, at("8 ft", "3 in")?];
/// assert_eq!(plumb(&wall, 1.0)?.lean.value.to_string(), "1 in 96");
/// # Ok::<(), wythe_measure::MeasureError>(())
/// ```
pub fn plumb(offsets: &[PlumbOffset], sd_mm: f64) -> Result<Plumb, MeasureError> {
    weighable_sd(sd_mm)?;
    let n = offsets.len();
    if n < 2 {
        return Err(MeasureError::TooFew {
            what: "offsets",
            need: 2,
            found: n,
        });
    }
    let mut sorted = offsets.to_vec();
    sorted.sort_by_key(|o| (o.height, o.offset));
    let (low, high) = (sorted[0], sorted[n - 1]);
    let h = |o: &PlumbOffset| o.height.as_mm() - low.height.as_mm();
    let heights: Vec<f64> = sorted.iter().map(h).collect();
    let values: Vec<f64> = sorted.iter().map(|o| o.offset.as_mm()).collect();
    let weights = vec![1.0 / (sd_mm * sd_mm); n];
    let f = fit(&[vec![1.0; n], heights], &values, &weights).ok_or_else(|| MeasureError::Undetermined {
        what: "the offsets are all at one height, so a lean is not determined".to_owned(),
    })?;
    let rise = h(&high);
    let lean = Estimate {
        value: Slope::new(f.coefficients[1])?,
        sd: f.sd(1),
    };
    let mut bow: Option<(Estimate<f64>, Length)> = None;
    for o in &sorted[1..n - 1] {
        let t = h(o) / rise;
        let value = o.offset.as_mm() - (1.0 - t) * low.offset.as_mm() - t * high.offset.as_mm();
        let sd = sd_mm * libm::sqrt(1.0 + (1.0 - t) * (1.0 - t) + t * t);
        if bow.is_none_or(|(b, _)| value.abs() > b.value.abs()) {
            bow = Some((Estimate { value, sd }, o.height));
        }
    }
    let bound = crate::normal_upper_tail_point(0.025 / n.saturating_sub(2).max(1) as f64);
    Ok(Plumb {
        lean_mm: Estimate {
            value: lean.value.value() * rise,
            sd: lean.sd * rise,
        },
        bowed: bow.is_some_and(|(b, _)| b.value.abs() > bound * b.sd),
        bow,
        lean,
    })
}

/// Bow of a wall from a string between two ends: offsets from the string at
/// the ends and at the worst place between, which lies the share `along`
/// (0 to 1) from the first end. Above 0 it stands out from the string's side.
///
/// # Errors
///
/// `along` not between 0 and 1.
pub fn string_line_bow(
    first: Length,
    middle: Length,
    last: Length,
    along: f64,
    sd_mm: f64,
) -> Result<Estimate<f64>, MeasureError> {
    good_sd(sd_mm)?;
    if !(along > 0.0 && along < 1.0) {
        return Err(MeasureError::OutOfRange {
            what: "the place along the string",
            range: "between 0 and 1",
        });
    }
    let chord = (1.0 - along) * first.as_mm() + along * last.as_mm();
    Ok(Estimate {
        value: chord - middle.as_mm(),
        sd: sd_mm * libm::sqrt(1.0 + (1.0 - along) * (1.0 - along) + along * along),
    })
}

/// A prompt to look at a leaning wall as a hazard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MiddleThird {
    /// Offset of the centre of gravity over a sixth of the thickness: 1 at
    /// the edge of the middle third.
    pub use_of_middle_third: Estimate<f64>,
    /// Chance that the centre of gravity is outside the middle third of the
    /// base, from the reading error alone.
    pub chance_outside: f64,
}

/// Middle-third check of a straight lean of a wall of uniform thickness: the
/// centre of gravity is off by half the offset at the top, and leaves the
/// middle third at a sixth of the thickness (old dangerous-building
/// ordinances; derived for a uniform wall). A prompt to keep clear and ask an
/// engineer, not a verdict: ties and returns hold walls that this check does
/// not know of.
///
/// # Errors
///
/// A thickness that is not above 0.
pub fn middle_third(top_offset_mm: Estimate<f64>, thickness: Length) -> Result<MiddleThird, MeasureError> {
    if thickness.nm() <= 0 || !top_offset_mm.value.is_finite() {
        return Err(MeasureError::OutOfRange {
            what: "the thickness of the wall",
            range: "above 0",
        });
    }
    good_sd(top_offset_mm.sd)?;
    let scale = 3.0 / thickness.as_mm();
    let used = Estimate {
        value: top_offset_mm.value.abs() * scale,
        sd: top_offset_mm.sd * scale,
    };
    let chance_outside = if used.sd > 0.0 {
        crate::normal_cdf((used.value - 1.0) / used.sd)
    } else {
        f64::from(u8::from(used.value > 1.0))
    };
    Ok(MiddleThird {
        use_of_middle_third: used,
        chance_outside,
    })
}

/// The check as a reading, `middle-third`.
pub fn middle_third_reading(of: &MiddleThird, from: &[String]) -> Reading {
    const METHOD: &str = "three times the lean at the top over the thickness, for a straight lean of a uniform wall";
    Reading::new(("middle-third", METHOD), Quantity::Ratio, of.use_of_middle_third, from.to_vec()).noted(
        "The lean is taken as straight from the base up and the wall as standing by itself: ties, returns and a built-in lean are not known to it.",
    )
}

const LEAN: &str = "least-squares line through offsets from plumb";
const BOW: &str = "largest offset from the line between the lowest and the highest reading";

/// Lean and bow as readings, without their signs: `out-of-plumb` (ratio) and
/// `wall-bow` (length), with `wall-lean` (length) over the height read.
pub fn plumb_readings(plumb: &Plumb, from: &[String]) -> Vec<Reading> {
    let lean = Reading::new(("out-of-plumb", LEAN), Quantity::Ratio, plumb.lean, from.to_vec());
    let over = Reading::new(("wall-lean", LEAN), Quantity::Length, plumb.lean_mm, from.to_vec());
    let bow = plumb
        .bow
        .map(|(bow, _)| Reading::new(("wall-bow", BOW), Quantity::Length, bow, from.to_vec()));
    [Some(lean), Some(over), bow]
        .into_iter()
        .flatten()
        .map(|one| {
            one.unsigned()
                .noted("A wall may have been built out of plumb; 1/4 in (6 mm) in 10 ft (3 m) is usual for new brick.")
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn inch(v: f64) -> Length {
        Length::inches(v).unwrap()
    }

    #[test]
    fn middle_third_rows() {
        // Thickness 7.625, 9.625, 11.625 in: top offset 2.542, 3.208, 3.875 in (derived).
        for (t, top) in [(7.625, 2.542), (9.625, 3.208), (11.625, 3.875)] {
            let m = middle_third(
                Estimate {
                    value: top * 25.4,
                    sd: 0.0,
                },
                inch(t),
            )
            .unwrap();
            assert!((m.use_of_middle_third.value - 1.0).abs() < 3e-4, "{m:?}");
        }
        let exact = |v: f64| {
            middle_third(
                Estimate {
                    value: v * 25.4,
                    sd: 0.0,
                },
                inch(7.625),
            )
            .unwrap()
            .chance_outside
        };
        assert_eq!((exact(2.5), exact(2.6), exact(-2.6)), (0.0, 1.0, 1.0));
        assert!(middle_third(Estimate { value: 1.0, sd: 1.0 }, Length::ZERO).is_err());
        assert!(
            middle_third(
                Estimate {
                    value: f64::NAN,
                    sd: 1.0
                },
                inch(8.0)
            )
            .is_err()
        );
    }

    #[test]
    fn a_bow_is_not_a_lean() {
        let wall = |offsets: &[f64]| -> Vec<PlumbOffset> {
            offsets
                .iter()
                .enumerate()
                .map(|(i, &o)| PlumbOffset {
                    height: inch(24.0 * i as f64),
                    offset: inch(o),
                })
                .collect()
        };
        let leaning = plumb(&wall(&[1.0, 1.25, 1.5, 1.75, 2.0]), 1.0).unwrap();
        assert!(!leaning.bowed && leaning.bow.unwrap().0.value.abs() < 1e-9);
        assert!((leaning.lean_mm.value / 25.4 - 1.0).abs() < 1e-9);
        let bowed = plumb(&wall(&[1.0, 1.75, 2.0, 1.75, 1.0]), 1.0).unwrap();
        assert!(bowed.bowed && bowed.lean.value.value().abs() < 1e-12);
        assert!((bowed.bow.unwrap().0.value / 25.4 - 1.0).abs() < 1e-9);
        assert_eq!(plumb_readings(&bowed, &[]).len(), 3);
        assert!(plumb(&wall(&[1.0, 2.0]), 1.0).unwrap().bow.is_none());
    }

    #[test]
    fn bad_input_is_refused() {
        let at = |h: f64, o: f64| PlumbOffset {
            height: inch(h),
            offset: inch(o),
        };
        assert!(plumb(&[at(0.0, 1.0)], 1.0).is_err());
        assert!(plumb(&[at(5.0, 1.0), at(5.0, 2.0)], 1.0).is_err());
        for sd in [0.0, -1.0, f64::NAN] {
            assert!(plumb(&[at(0.0, 1.0), at(5.0, 2.0)], sd).is_err());
        }
        assert!(string_line_bow(inch(1.0), inch(1.0), inch(1.0), 1.0, 1.0).is_err());
        let bow = string_line_bow(inch(2.0), inch(1.0), inch(2.0), 0.5, 1.0).unwrap();
        assert!((bow.value - 25.4).abs() < 1e-9 && (bow.sd - 1.5_f64.sqrt()).abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn moving_the_plumb_line_changes_nothing(o in proptest::collection::vec(0.0..3.0f64, 3..9), shift in -40.0..40.0f64) {
            let wall = |d: f64| -> Vec<PlumbOffset> {
                o.iter().enumerate().map(|(i, &o)| PlumbOffset { height: inch(20.0 * i as f64), offset: inch(o + d) }).collect()
            };
            let (a, b) = (plumb(&wall(0.0), 1.0).unwrap(), plumb(&wall(shift), 1.0).unwrap());
            prop_assert!((a.lean.value.value() - b.lean.value.value()).abs() < 1e-8);
            prop_assert!((a.bow.unwrap().0.value.abs() - b.bow.unwrap().0.value.abs()).abs() < 1e-5);
        }
    }
}
