//! Sheets of readings that a case names, and what was computed from each.

use wythe_measure::Reading;
use wythe_text::{Locus, Tree};

use crate::Date;

/// A sheet of readings that belongs to a case: worked out when the case is read.
///
/// What it says of which clue is a pack's knowledge; here are the numbers, each with the places that it may be about.
#[derive(Clone, Debug, PartialEq)]
pub struct Readings {
    /// What kind of sheet.
    pub section: Section,
    /// Name, unlike that of any other sheet of the case.
    pub id: String,
    /// Title for people.
    pub title: String,
    /// Day of the readings, where that is stated.
    pub date: Option<Date>,
    /// Index of the pass that they belong to.
    pub pass: usize,
    /// The file beside the case that they stand in; none when they stand in the case.
    pub file: Option<String>,
    /// How many readings, and what one is: `42` and `points`.
    pub taken: (usize, &'static str),
    /// Standard deviation of one reading, mm.
    pub sd_mm: f64,
    /// What was computed.
    pub computed: Vec<Computed>,
    /// Whether what was computed stands among the sightings of its pass already.
    pub entered: bool,
    /// What must be said with it: stated downgrades and cautions, a sentence each.
    pub notes: Vec<String>,
    /// Where the case file names it.
    pub locus: Locus,
    /// The entry as the case file has it.
    pub(crate) entry: Tree,
}

/// One number computed from a sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Computed {
    /// The number, its errors, its method and what it was computed from.
    pub reading: Reading,
    /// The places that it may be about, by index; the kind of place that a clue asks for decides.
    pub at: Vec<usize>,
    /// The clue that it is of, where the case says.
    pub clue: Option<String>,
    /// What the readings show beside the size of the number, by the names of [`wythe_measure::FINDINGS`].
    pub findings: Vec<&'static str>,
}

/// Kinds of sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Section {
    /// Levels of a floor.
    Survey,
    /// A loose lintel.
    Lintel,
    /// Cracks and gaps over time.
    Trend,
    /// Offsets of a wall or chimney from plumb.
    Wall,
    /// Gaps or diagonals of an opening.
    Opening,
    /// The cracks of one wall.
    Cracks,
    /// Soil, falls of the ground, trees.
    Site,
}

impl Section {
    /// Every kind.
    pub const ALL: [Section; 7] = [
        Section::Survey,
        Section::Lintel,
        Section::Trend,
        Section::Wall,
        Section::Opening,
        Section::Cracks,
        Section::Site,
    ];

    /// Its name in rule files and for people: `survey`.
    pub fn name(self) -> &'static str {
        match self {
            Section::Survey => "survey",
            Section::Lintel => "lintel",
            Section::Trend => "trend",
            Section::Wall => "wall",
            Section::Opening => "opening",
            Section::Cracks => "cracks",
            Section::Site => "site",
        }
    }

    /// The section of a case file that lists them: `surveys`.
    pub fn key(self) -> &'static str {
        match self {
            Section::Survey => "surveys",
            Section::Lintel => "lintels",
            Section::Trend => "trends",
            Section::Wall => "walls",
            Section::Opening => "openings",
            Section::Cracks => "cracks",
            Section::Site => "sites",
        }
    }
}
