//! An estimate with its error, and a derived reading that names its sources.

use crate::Quantity;

/// Half-width of a 90 % interval of a normal error, in standard deviations.
pub(crate) const COVER_90: f64 = 1.644_853_626_951_472_2;

/// A value with its standard deviation, in the value's own plain unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate<T> {
    /// The value.
    pub value: T,
    /// Its standard deviation: mm for a length, a plain number for a ratio.
    pub sd: f64,
}

impl<T: Copy + Into<f64>> Estimate<T> {
    /// The 90 % interval, ends in the plain unit.
    pub fn interval_90(&self) -> (f64, f64) {
        let value: f64 = self.value.into();
        (value - COVER_90 * self.sd, value + COVER_90 * self.sd)
    }

    /// The value in standard deviations from zero.
    pub fn signal(&self) -> f64 {
        let value: f64 = self.value.into();
        if self.sd > 0.0 {
            value / self.sd
        } else {
            f64::INFINITY.copysign(value)
        }
    }
}

/// What a computation says, ready to be weighed: a value, its error, what it
/// is and what it was computed from.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// A fixed name for what was computed, such as `tilt`.
    pub name: &'static str,
    /// How it was computed, in a few words without a full stop.
    pub method: &'static str,
    /// What kind of number it is.
    pub quantity: Quantity,
    /// The value: mm, a plain ratio, rad or mm per year.
    pub value: f64,
    /// Standard deviation of the measurement alone, same unit.
    pub sd: f64,
    /// Standard deviation when it is taken as movement since construction,
    /// where how it was built adds an error of its own.
    pub sd_as_movement: Option<f64>,
    /// Names of the readings it was computed from, in the order given.
    pub from: Vec<String>,
    /// What must be said with it, one sentence each; may be empty.
    pub notes: Vec<String>,
}

impl Reading {
    /// With the error of the measurement alone and nothing more to be said.
    pub(crate) fn new<T: Copy + Into<f64>>(
        (name, method): (&'static str, &'static str),
        quantity: Quantity,
        of: Estimate<T>,
        from: Vec<String>,
    ) -> Self {
        Self {
            name,
            method,
            quantity,
            value: of.value.into(),
            sd: of.sd,
            sd_as_movement: None,
            from,
            notes: Vec::new(),
        }
    }

    /// With a sentence that must be said with it.
    pub(crate) fn noted(mut self, note: &str) -> Self {
        self.notes.push(note.to_owned());
        self
    }

    /// Without its sign.
    pub(crate) fn unsigned(mut self) -> Self {
        self.value = self.value.abs();
        self
    }
}

/// What is computed from each kind of sheet of readings: the sheet, the name
/// of the number, its quantity, and a name for people.
#[rustfmt::skip]
pub const COMPUTED: &[(&str, &str, Quantity, &str)] = &[
    ("survey", "tilt", Quantity::Ratio, "tilt of the whole floor"),
    ("survey", "bend", Quantity::Ratio, "worst bend along a line"),
    ("survey", "hogging", Quantity::Ratio, "worst line with its middle high"),
    ("survey", "sagging", Quantity::Ratio, "worst line with its middle low"),
    ("survey", "angular-distortion", Quantity::Ratio, "angular distortion between neighbours"),
    ("survey", "high-low", Quantity::Length, "high to low"),
    ("survey", "off-plane", Quantity::Length, "high to low with the tilt taken out"),
    ("survey", "edge-fall", Quantity::Length, "fall toward an edge, tilt taken out"),
    ("survey", "edge-rise", Quantity::Length, "rise toward an edge, tilt taken out"),
    ("survey", "corner-fall", Quantity::Length, "fall into a corner, tilt taken out"),
    ("survey", "dome", Quantity::Length, "rise of the middle, tilt taken out"),
    ("survey", "change", Quantity::Length, "largest change since the earlier survey"),
    ("lintel", "lintel-dip-expected", Quantity::Length, "dip to expect of the bare angle"),
    ("lintel", "lintel-dip", Quantity::Length, "dip seen"),
    ("lintel", "lintel-dip-excess", Quantity::Length, "dip seen beyond the dip to expect"),
    ("lintel", "lintel-dip-ratio", Quantity::Ratio, "dip seen over the span"),
    ("lintel", "lintel-seat", Quantity::Length, "shorter seat"),
    ("lintel", "lintel-seat-short", Quantity::Length, "shorter seat, short of 4 in by"),
    ("lintel", "lintel-overhang", Quantity::Ratio, "share of the brick's bed beyond its support"),
    ("trend", "crack-width", Quantity::Length, "latest width"),
    ("trend", "trend-rate", Quantity::Rate, "one-way rate"),
    ("trend", "trend-swing", Quantity::Length, "swing with the seasons, to either side"),
    ("cracks", "crack-width", Quantity::Length, "widest crack of the wall"),
    ("cracks", "crack-taper", Quantity::Ratio, "taper of the cracks, above 0 wider at the top"),
    ("cracks", "block-rotation", Quantity::Angle, "turn of the part that moved, above 0 with its top to the left"),
    ("cracks", "block-rise", Quantity::Length, "rise of the part that moved, below 0 a drop"),
    ("cracks", "block-spread", Quantity::Length, "shift of the part that moved, above 0 to the right"),
    ("cracks", "block-outward", Quantity::Length, "step of the part that moved out of the wall"),
    ("cracks", "floor-bend-along", Quantity::Ratio, "bend of the floor along the wall, above 0 with its middle high"),
    ("wall", "out-of-plumb", Quantity::Ratio, "lean over the height"),
    ("wall", "wall-lean", Quantity::Length, "lean"),
    ("wall", "wall-bow", Quantity::Length, "bow"),
    ("wall", "middle-third", Quantity::Ratio, "centre of gravity off the base, 1 at the edge of the middle third"),
    ("opening", "head-gap-change", Quantity::Length, "change of the head gap"),
    ("opening", "out-of-square", Quantity::Ratio, "out of square"),
    ("opening", "head-against-floor", Quantity::Ratio, "slope of the head less slope of the floor"),
    ("site", "plasticity-index", Quantity::Number, "plasticity index of the soil"),
    ("site", "expansion-index", Quantity::Number, "expansion index of the soil"),
    ("site", "linear-extensibility", Quantity::Number, "linear extensibility of the soil, percent"),
    ("site", "ground-fall", Quantity::Ratio, "least fall of the ground away from the house"),
    ("site", "tree-distance", Quantity::Ratio, "distance of the nearest tree over its mature height"),
];

/// What a computation shows beside the size of its number: the sheet, the
/// name of the finding, and a name for people. A finding is given only where
/// it stands out from the error at 95 %.
#[rustfmt::skip]
pub const FINDINGS: &[(&str, &str, &str)] = &[
    ("cracks", "wider_up", "wider at the top, beyond the error"),
    ("cracks", "wider_down", "wider at the bottom, beyond the error"),
    ("cracks", "even_width", "as wide at the top as at the bottom, within a third"),
    ("trend", "no_cycle", "no swing with the seasons, over a full year"),
    ("trend", "widest_january", "may be widest in January"),
    ("trend", "widest_february", "may be widest in February"),
    ("trend", "widest_march", "may be widest in March"),
    ("trend", "widest_april", "may be widest in April"),
    ("trend", "widest_may", "may be widest in May"),
    ("trend", "widest_june", "may be widest in June"),
    ("trend", "widest_july", "may be widest in July"),
    ("trend", "widest_august", "may be widest in August"),
    ("trend", "widest_september", "may be widest in September"),
    ("trend", "widest_october", "may be widest in October"),
    ("trend", "widest_november", "may be widest in November"),
    ("trend", "widest_december", "may be widest in December"),
    ("opening", "with_floor", "the head slopes with the floor below it"),
    ("opening", "against_floor", "the head slopes otherwise than the floor below it"),
];

/// Square root of a sum of squares: independent errors in quadrature.
///
/// ```
/// assert_eq!(wythe_measure::quadrature(&[3.0, 4.0]), 5.0);
/// ```
pub fn quadrature(sds: &[f64]) -> f64 {
    libm::sqrt(sds.iter().map(|s| s * s).sum())
}
