//! Sightings and looks, as the page has them.

use serde::Serialize;

use super::ComputedFrom;

/// One sighting that stands.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sighting {
    /// Its id in the case.
    pub id: String,
    /// The pass; none for a derived clue.
    pub pass: Option<String>,
    /// Id of the clue.
    pub clue: String,
    /// The clue's title.
    pub title: String,
    /// Id of the place.
    pub place: String,
    /// The likeliest grade; none where it could not be looked at, or where its size was not noted.
    pub grade: Option<String>,
    /// The grade beside what the clue says, in words; not part of the JSON, where its id says it.
    #[serde(skip)]
    pub size: Option<String>,
    /// Whether it says that something is there.
    pub shows: bool,
    /// `weighed`, `set_aside`, `hidden` or `not_reached`.
    pub used: &'static str,
    /// Id of what set it aside or hides it.
    pub used_by: Option<String>,
    /// The measurement.
    pub measured: Option<Measurement>,
    /// Marks, each with the kinds that it may be.
    pub marks: Vec<Mark>,
    /// How much was looked at, when not all.
    pub looked: Option<String>,
    /// How sure, when not sure.
    pub sure: Option<&'static str>,
    /// Why it could not be looked at.
    pub why: Option<String>,
    /// Whether access is to be asked for.
    pub ask_access: bool,
    /// The observer's note.
    pub note: Option<String>,
    /// Photos, by name.
    pub photos: Vec<String>,
    /// What it was computed from; none when a person saw it.
    pub computed: Option<ComputedFrom>,
    /// Sightings that a derived clue was made from.
    pub made_from: Vec<String>,
    /// Earlier sightings of the same clue at the same place.
    pub history: Vec<String>,
    /// What was found, in words.
    pub says: String,
    /// Its particulars: grade, measurement, marks.
    pub detail: String,
    /// Where, in words.
    pub at_words: String,
    /// Sources of the clue.
    pub sources: Vec<String>,
}

/// A measurement in both units.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Measurement {
    /// As it was written down.
    pub written: String,
    /// In the base unit: mm, a plain ratio, radians, mm per year, or a number.
    pub value: Option<f64>,
    /// Half-width of the stated error at 95 %, in the same unit.
    pub error: Option<f64>,
    /// In feet and inches.
    pub us: String,
    /// In metric, where that differs.
    pub metric: Option<String>,
    /// In both, with the stated error.
    pub both: String,
    /// The instrument.
    pub with: Option<String>,
    /// True when scaled off a photo.
    pub from_photo: bool,
}

/// A mark.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Mark {
    /// Its id in the clue.
    pub mark: String,
    /// The kinds that it may be.
    pub kinds: Vec<String>,
}

/// Somewhere to look.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Look {
    /// Id of the clue.
    pub clue: String,
    /// Its title.
    pub title: String,
    /// Ids of the places.
    pub places: Vec<String>,
    /// The places in words.
    pub at_words: String,
    /// How to look.
    pub look_for: String,
    /// What it takes.
    pub effort: &'static str,
}
