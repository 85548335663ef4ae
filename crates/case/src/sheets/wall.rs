//! Offsets of a wall or chimney from a plumb line.

use wythe_measure::COVER_95;
use wythe_measure::walls::PlumbOffset;
use wythe_text::{Item, Problems};

use super::sheet::Sheet;
use super::values::{error_sd, length, setting, title};

const KEYS: [&str; 4] = ["title", "error", "offsets", "note"];
/// Error of an offset when none is stated, mm, 95 %: 1/8 in (common practice, no source).
const UNSTATED_MM: f64 = 3.175;

/// Offsets of one face from a plumb line.
#[derive(Clone, Debug, PartialEq)]
pub struct Wall {
    /// Which face.
    pub title: String,
    /// The offsets, in the order of the file.
    pub offsets: Vec<PlumbOffset>,
    /// Standard deviation of one offset, mm.
    pub sd_mm: f64,
    /// What must be said with the results, a sentence each.
    pub notes: Vec<String>,
}

impl Wall {
    /// Reads the offsets that stand at an item of a file.
    pub(crate) fn of_item(item: &Item<'_>, out: &mut Problems) -> Wall {
        let sheet = Sheet::of_settings(item);
        let fields = sheet.settings(out, &KEYS);
        let stated = setting(&fields, "error", out).and_then(|cell| error_sd(&sheet, &cell, None, out));
        let list = fields
            .required(out, "offsets")
            .map(|item| item.list(out))
            .unwrap_or_default();
        let mut offsets = Vec::new();
        for item in list {
            let inner = item.fields(out, &["height", "offset"]);
            let mut sized = |key: &str| {
                inner.required(out, key)?;
                setting(&inner, key, out).and_then(|cell| length(&sheet, &cell, None, out))
            };
            if let (Some(height), Some(offset)) = (sized("height"), sized("offset")) {
                offsets.push(PlumbOffset { height, offset });
            }
        }
        let mut notes = Vec::new();
        if stated.is_none() {
            notes.push("No error is stated: one offset is taken as good to ± 1/8 in (3.2 mm).".into());
        }
        Wall {
            title: title(&sheet, &fields, out),
            offsets,
            sd_mm: stated.unwrap_or(UNSTATED_MM / COVER_95),
            notes,
        }
    }
}
