//! Sheets of readings, as the page has them.

use serde::Serialize;

/// A sheet of readings, and what was computed from it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Readings {
    /// Its id in the case.
    pub id: String,
    /// Kind of sheet: `survey`, `lintel`, `trend`, `wall` or `opening`.
    pub kind: &'static str,
    /// Its title.
    pub title: String,
    /// Day of the readings, year first.
    pub date: Option<String>,
    /// The file that they stand in; none when they stand in the case.
    pub file: Option<String>,
    /// How many readings there are: `42 points`.
    pub taken: String,
    /// Half-width of the error of one reading at 95 %, mm; none where it has none.
    pub reading_error_mm: Option<f64>,
    /// The numbers computed.
    pub numbers: Vec<ComputedNumber>,
    /// What must be said with them.
    pub notes: Vec<String>,
}

/// One number computed from a sheet.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ComputedNumber {
    /// Which.
    pub name: &'static str,
    /// Its name for people.
    pub title: &'static str,
    /// In the base unit: mm, a plain ratio, or mm per year.
    pub value: Option<f64>,
    /// Half-width of the error of measurement at 95 %, in the same unit.
    pub error: Option<f64>,
    /// The same as a sign of movement since construction, where how it was built adds an error.
    pub error_as_movement: Option<f64>,
    /// In both units.
    pub both: String,
    /// The error in words; none where it is next to nothing.
    pub error_words: Option<String>,
    /// How it was computed.
    pub method: &'static str,
    /// The readings that it was computed from, by name.
    pub from: Vec<String>,
    /// Ids of the places that it may be about.
    pub places: Vec<String>,
    /// What must be said with it.
    pub notes: Vec<String>,
    /// The sighting that it makes, where the pack has a clue for it.
    pub sighting: Option<String>,
    /// What the readings show beside the size of the number.
    pub findings: Vec<String>,
    /// The context that it says, where the case does not state it.
    pub context: Option<String>,
}

/// What a sighting was computed from.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ComputedFrom {
    /// Id of the sheet of readings.
    pub sheet: String,
    /// Kind of sheet.
    pub kind: &'static str,
    /// Which number.
    pub number: &'static str,
    /// How it was computed.
    pub method: &'static str,
    /// How many readings the sheet has: `42 points`.
    pub taken: String,
    /// The readings that it was computed from, by name.
    pub from: Vec<String>,
}
