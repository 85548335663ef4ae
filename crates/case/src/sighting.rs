//! One observation.

use wythe_measure::Measured;
use wythe_text::Locus;

/// One observation: a clue, a place, what was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Sighting {
    /// Name, unlike any other in the case: given, or `<pass>.<n>`, counting from 1.
    pub id: String,
    /// The clue, as the pack names it.
    pub clue: String,
    /// The place, by index.
    pub at: usize,
    /// What was found.
    pub seen: Seen,
    /// Marks that it bears, each with the kinds that it may be. Empty when none there or not reached.
    pub marks: Vec<(String, Vec<String>)>,
    /// How sure the observer was.
    pub sure: Sure,
    /// The earlier sighting that it takes the place of, by id: a slip put right, not a second look.
    pub corrects: Option<String>,
    /// Free note.
    pub note: Option<String>,
    /// Names of photos.
    pub photos: Vec<String>,
    /// What it was computed from: a sheet of the case and one of its numbers, by index. None when a person saw it.
    pub computed: Option<(usize, usize)>,
    /// Where the case file says so.
    pub locus: Locus,
}

/// What was found.
#[derive(Clone, Debug, PartialEq)]
pub enum Seen {
    /// A grade of the clue above none, as the pack names it.
    Grade(String),
    /// It is there, and how big it is was not noted: any grade above none.
    Present,
    /// A measurement, for the pack to grade.
    Measured {
        /// The reading.
        reading: Measured,
        /// The instrument.
        with: Option<String>,
        /// True when it was scaled off a photo.
        from_photo: bool,
    },
    /// Looked, and none was there.
    NoneThere {
        /// How much of the place was looked at.
        looked: Looked,
    },
    /// Could not look. No evidence either way.
    NotReached {
        /// Why.
        why: String,
        /// True when access is to be asked for.
        ask_access: bool,
    },
}

/// How much of a place was looked at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Looked {
    /// All of it.
    All,
    /// Part of it, no telling how much.
    Part,
    /// A share of it, over 0 and under 1.
    Share(f64),
}

/// How sure the observer was.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sure {
    /// Sure.
    Sure,
    /// Fairly sure.
    Fairly,
    /// Not sure.
    Unsure,
}

impl Sure {
    /// Every degree, surest first.
    pub const ALL: [Sure; 3] = [Sure::Sure, Sure::Fairly, Sure::Unsure];

    pub(crate) const NAMES: [&'static str; 3] = ["sure", "fairly", "unsure"];

    /// The name in case files.
    pub fn name(self) -> &'static str {
        match self {
            Sure::Sure => "sure",
            Sure::Fairly => "fairly",
            Sure::Unsure => "unsure",
        }
    }
}
