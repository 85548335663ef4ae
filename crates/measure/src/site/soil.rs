//! Classes of soil that swells and shrinks.

use crate::{MeasureError, class_masses};

/// How much a soil may swell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)] // the tables' own words
pub enum SwellClass {
    VeryLow,
    Low,
    Medium,
    High,
    VeryHigh,
}

/// Class by expansion index (ASTM D4829): 0 to 20 very low, to 50 low, to 90
/// medium, to 130 high, above very high. `None` below 0 or not a number.
///
/// ```
/// use wythe_measure::site::{SwellClass, expansion_index_class};
/// assert_eq!(expansion_index_class(51.0), Some(SwellClass::Medium));
/// ```
pub fn expansion_index_class(index: f64) -> Option<SwellClass> {
    use SwellClass::{High, Low, Medium, VeryHigh, VeryLow};
    let all = [VeryLow, Low, Medium, High, VeryHigh];
    // The index is a whole number; a class holds its upper bound.
    (index >= 0.0 && index.is_finite()).then(|| {
        all[[20.0, 50.0, 90.0, 130.0]
            .iter()
            .filter(|&&b| libm::round(index) > b)
            .count()]
    })
}

/// Expansion index from the height of a specimen before and after wetting
/// (ASTM D4829): 1000 times the swell over the first height.
///
/// # Errors
///
/// A first height that is not above 0, or an index out of range.
///
/// ```
/// let ei = wythe_measure::site::expansion_index(1.000, 1.060)?;
/// assert!((ei - 60.0).abs() < 1e-9);
/// # Ok::<(), wythe_measure::MeasureError>(())
/// ```
pub fn expansion_index(before: f64, after: f64) -> Result<f64, MeasureError> {
    let index = 1000.0 * (after - before) / before;
    if before > 0.0 && index.is_finite() && index.abs() <= 1000.0 {
        Ok(index)
    } else {
        Err(MeasureError::OutOfRange {
            what: "the height of the specimen",
            range: "above 0, swelling less than twofold",
        })
    }
}

/// Class by linear extensibility, per cent (NRCS): below 3 low, 3 to 6
/// moderate, 6 to 9 high, 9 and above very high.
pub fn lep_class(percent: f64) -> Option<SwellClass> {
    use SwellClass::{High, Low, Medium, VeryHigh};
    (percent >= 0.0 && percent.is_finite())
        .then(|| [Low, Medium, High, VeryHigh][[3.0, 6.0, 9.0].iter().filter(|&&b| percent >= b).count()])
}

/// Class by plasticity index (Snethen and others 1977, quoted): below 25
/// low, 25 to 35 marginal, above 35 high. With the index's standard deviation
/// the shares of low, medium and high; exact with 0.
pub fn plasticity_class(index: f64, sd: f64) -> [(SwellClass, f64); 3] {
    let masses = class_masses(index, sd, &[25.0, 35.0]);
    [
        (SwellClass::Low, masses[0]),
        (SwellClass::Medium, masses[1]),
        (SwellClass::High, masses[2]),
    ]
}

/// The four tests of IBC 1803.5.3. `None` where a test was not made.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ExpansiveTests {
    /// Plasticity index.
    pub plasticity_index: Option<f64>,
    /// Per cent passing the No. 200 sieve.
    pub passing_200: Option<f64>,
    /// Per cent finer than 5 micrometres.
    pub finer_5_micron: Option<f64>,
    /// Expansion index.
    pub expansion_index: Option<f64>,
}

/// Whether a soil counts as expansive: plasticity index of 15 or more, more
/// than 10 % passing No. 200 and more than 10 % finer than 5 micrometres; or
/// an expansion index above 20 alone (the logic is from memory). `None` when
/// the tests made don't settle it.
pub fn ibc_expansive(tests: &ExpansiveTests) -> Option<bool> {
    if let Some(index) = tests.expansion_index.filter(|i| i.is_finite()) {
        return Some(index > 20.0);
    }
    let three = [
        tests.plasticity_index.map(|p| p >= 15.0),
        tests.passing_200.map(|p| p > 10.0),
        tests.finer_5_micron.map(|p| p > 10.0),
    ];
    if three.contains(&Some(false)) {
        Some(false)
    } else if three.iter().all(|t| *t == Some(true)) {
        Some(true)
    } else {
        None
    }
}

/// Site class of AS 2870 by characteristic surface movement (quoted).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SiteClass {
    /// About none.
    A,
    /// Up to 20 mm.
    S,
    /// 20 to 40 mm.
    M,
    /// 40 to 60 mm.
    H1,
    /// 60 to 75 mm.
    H2,
    /// Above 75 mm.
    E,
}

/// Site class by characteristic surface movement, mm; 0 is class A. A class
/// holds its upper bound.
pub fn site_class(surface_movement_mm: f64) -> Option<SiteClass> {
    use SiteClass::{A, E, H1, H2, M, S};
    if !(surface_movement_mm >= 0.0 && surface_movement_mm.is_finite()) {
        return None;
    }
    let at = [0.0, 20.0, 40.0, 60.0, 75.0]
        .iter()
        .filter(|&&b| surface_movement_mm > b)
        .count();
    Some([A, S, M, H1, H2, E][at])
}
