//! Gaps around a door, or the diagonals of an opening.

use wythe_measure::{COVER_95, Length};
use wythe_text::{Fields, Item, Problems};

use super::sheet::Sheet;
use super::values::{error_sd, length, setting, title};

const KEYS: [&str; 9] = [
    "title",
    "error",
    "width",
    "height",
    "head",
    "side",
    "floor",
    "diagonals",
    "note",
];
/// Error of a gap when none is stated, mm, 95 %: 1/32 in (common practice, no source).
const UNSTATED_MM: f64 = 0.793_75;

/// What was measured at one door or window.
#[derive(Clone, Debug, PartialEq)]
pub struct Opening {
    /// Which opening.
    pub title: String,
    /// Width and height of the leaf, or of the opening where diagonals are given.
    pub size: Option<(Length, Length)>,
    /// Gap above the leaf, left and right.
    pub head: Option<(Length, Length)>,
    /// Gap on the right side, top and bottom.
    pub side: Option<(Length, Length)>,
    /// Height of the floor at the left and at the right jamb, from one level line.
    pub floor: Option<(Length, Length)>,
    /// Diagonal that rises to the right, and the one that rises to the left.
    pub diagonals: Option<(Length, Length)>,
    /// Standard deviation of one length, mm.
    pub sd_mm: f64,
    /// What must be said with the results, a sentence each.
    pub notes: Vec<String>,
}

impl Opening {
    /// Reads the lengths that stand at an item of a file.
    pub(crate) fn of_item(item: &Item<'_>, out: &mut Problems) -> Opening {
        let sheet = Sheet::of_settings(item);
        let fields = sheet.settings(out, &KEYS);
        let stated = setting(&fields, "error", out).and_then(|cell| error_sd(&sheet, &cell, None, out));
        let size = |key: &str, fields: &Fields<'_>, out: &mut Problems| {
            setting(fields, key, out).and_then(|cell| length(&sheet, &cell, None, out))
        };
        let pair = |key: &str, names: [&str; 2], out: &mut Problems| {
            let inner = fields.optional(key)?.fields(out, &names);
            let [one, two] = names.map(|name| {
                inner.required(out, name)?;
                size(name, &inner, out)
            });
            one.zip(two)
        };
        let (head, side) = (
            pair("head", ["left", "right"], out),
            pair("side", ["top", "bottom"], out),
        );
        let diagonals = pair("diagonals", ["rising_right", "rising_left"], out);
        if ["head", "diagonals"].iter().all(|key| fields.optional(key).is_none()) {
            out.push(fields.problem(
                "nothing was measured here",
                Some("give `head: {left, right}` or `diagonals: {rising_right, rising_left}`".into()),
            ));
        }
        let mut notes = Vec::new();
        if stated.is_none() {
            notes.push("No error is stated: one length is taken as good to ± 1/32 in (0.8 mm).".into());
        }
        Opening {
            title: title(&sheet, &fields, out),
            size: size("width", &fields, out).zip(size("height", &fields, out)),
            head,
            side,
            floor: pair("floor", ["left", "right"], out),
            diagonals,
            sd_mm: stated.unwrap_or(UNSTATED_MM / COVER_95),
            notes,
        }
    }
}
