//! Offsets of a wall or chimney from a plumb line.

use wythe_measure::walls::PlumbOffset;
use wythe_measure::{COVER_95, Length};
use wythe_text::{Item, Problems};

use super::sheet::Sheet;
use super::values::{error_sd, length, setting, title};

const KEYS: [&str; 6] = ["title", "error", "offsets", "string", "thickness", "note"];
/// Error of an offset when none is stated, mm, 95 %: 1/8 in (common practice, no source).
const UNSTATED_MM: f64 = 3.175;

/// Offsets of one face from a plumb line.
#[derive(Clone, Debug, PartialEq)]
pub struct Wall {
    /// Which face.
    pub title: String,
    /// The offsets, in the order of the file.
    pub offsets: Vec<PlumbOffset>,
    /// Offsets from a string between two ends: at one end, at the worst place between, at the other end; and how far
    /// along the worst place lies, over 0 and under 1.
    pub string: Option<(Length, Length, Length, f64)>,
    /// Thickness of the wall, where it stands by itself.
    pub thickness: Option<Length>,
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
        let string = fields.optional("string").and_then(|item| string(&sheet, &item, out));
        let listed = match fields.optional("string") {
            Some(_) => fields.optional("offsets"),
            None => fields.required(out, "offsets"),
        };
        let list = listed.map(|item| item.list(out)).unwrap_or_default();
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
            thickness: setting(&fields, "thickness", out).and_then(|cell| length(&sheet, &cell, None, out)),
            string,
            offsets,
            sd_mm: stated.unwrap_or(UNSTATED_MM / COVER_95),
            notes,
        }
    }
}

fn string(sheet: &Sheet, item: &Item<'_>, out: &mut Problems) -> Option<(Length, Length, Length, f64)> {
    let inner = item.fields(out, &["first", "middle", "last", "along"]);
    let [first, middle, last] = ["first", "middle", "last"].map(|key| {
        inner.required(out, key)?;
        setting(&inner, key, out).and_then(|cell| length(sheet, &cell, None, out))
    });
    let along = match inner.optional("along") {
        Some(item) => item.number(out)?,
        None => 0.5,
    };
    if !(along > 0.0 && along < 1.0) {
        item.problem(out, "`along` is over 0 and under 1: 0.5 halfway", None);
        return None;
    }
    Some((first?, middle?, last?, along))
}
