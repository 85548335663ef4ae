//! The cracks of one wall, as read on one visit.

use wythe_measure::kinematics::{MovedSide, WallCrack};
use wythe_measure::{COVER_95, Length};
use wythe_text::{Doc, Fields, Item, Problems};

use super::sheet::{Sheet, cell_of, format};
use super::values::{error_sd, length, name, setting, title};

const KEYS: [&str; 6] = ["format", "title", "error", "moved", "cracks", "note"];
const CRACK: [&str; 7] = ["name", "lower", "upper", "slip", "offset", "moved", "note"];
/// Error of a width when none is stated, mm, 95 %: a comparator card, by interpolation (common practice, no source).
const UNSTATED_MM: f64 = 0.5;
/// Most cracks of a wall.
const MAX_CRACKS: usize = 100;

/// The cracks of one wall, seen from outside: along to the right, and up.
#[derive(Clone, Debug, PartialEq)]
pub struct WallCracks {
    /// Which wall.
    pub title: String,
    /// The cracks, in the order of the file.
    pub cracks: Vec<WallCrack>,
    /// Standard deviation of one reading, mm.
    pub sd_mm: f64,
    /// What must be said with the results, a sentence each.
    pub notes: Vec<String>,
}

impl WallCracks {
    /// Reads the cracks of a wall: JSON when the name ends in `.json`, else YAML.
    ///
    /// # Errors
    /// Every problem found, with its line and column.
    pub fn read(file: &str, text: &str) -> Result<WallCracks, Problems> {
        let doc = Doc::parse(file, text)?;
        let mut out = Problems::new();
        format(&doc.root().fields(&mut Problems::new(), &KEYS), &mut out, true);
        let read = Self::of_item(&doc.root(), &mut out);
        out.sorted().into_result(read)
    }

    /// Reads the cracks that stand at an item of a file.
    pub(crate) fn of_item(item: &Item<'_>, out: &mut Problems) -> WallCracks {
        let sheet = Sheet::of_settings(item);
        let fields = sheet.settings(out, &KEYS);
        let stated = setting(&fields, "error", out).and_then(|cell| error_sd(&sheet, &cell, None, out));
        let sd_mm = stated.unwrap_or(UNSTATED_MM / COVER_95);
        let usual = moved(&fields, out);
        let told = fields.optional("moved").is_some();
        let list = fields
            .required(out, "cracks")
            .map(|item| item.list(out))
            .unwrap_or_default();
        if list.len() > MAX_CRACKS {
            out.push(fields.problem(format!("more than {MAX_CRACKS} cracks"), None));
        }
        let mut cracks: Vec<WallCrack> = Vec::new();
        for item in list.into_iter().take(MAX_CRACKS) {
            let Some(crack) = one(&sheet, &item, (usual, told), sd_mm, out) else {
                continue;
            };
            if cracks.iter().any(|other| other.name == crack.name) {
                let what = format!("the crack {} is listed twice", crack.name);
                item.problem(out, what, Some("give it another `name`".into()));
            }
            cracks.push(crack);
        }
        if cracks.is_empty() && out.is_empty() {
            out.push(fields.problem("there are no cracks", None));
        }
        let mut notes = Vec::new();
        if stated.is_none() {
            notes.push("No error is stated: one reading is taken as good to ± 0.5 mm (1/64 in).".into());
        }
        WallCracks {
            title: title(&sheet, &fields, out),
            cracks,
            sd_mm,
            notes,
        }
    }
}

fn one(
    sheet: &Sheet,
    item: &Item<'_>,
    (usual, told): (Option<MovedSide>, bool),
    sd_mm: f64,
    out: &mut Problems,
) -> Option<WallCrack> {
    let fields = item.fields(out, &CRACK);
    let name = fields
        .required(out, "name")
        .and_then(|item| cell_of(&item, out))
        .and_then(|cell| name(sheet, &cell, out));
    let mut end = |key: &str| {
        let inner = fields.required(out, key)?.fields(out, &["along", "up", "width"]);
        let mut size = |key: &str| setting(&inner, key, out).and_then(|cell| length(sheet, &cell, None, out));
        let (along, up, width) = (size("along"), size("up"), size("width"));
        for key in ["along", "up"] {
            inner.required(out, key);
        }
        Some(((along?, up?), width))
    };
    let (lower, upper) = (end("lower"), end("upper"));
    let size = |key: &str, out: &mut Problems| -> Option<Length> {
        setting(&fields, key, out).and_then(|cell| length(sheet, &cell, None, out))
    };
    let (slip, offset) = (size("slip", out), size("offset", out));
    let side = moved(&fields, out).or(usual);
    let ((name, lower), (upper, side)) = (
        name.zip(lower)?,
        upper.zip(side.or_else(|| missing_side(&fields, told, out)))?,
    );
    Some(WallCrack {
        name,
        lower: lower.0,
        upper: upper.0,
        width_lower: lower.1,
        width_upper: upper.1,
        slip,
        offset,
        moved: side,
        sd_mm,
    })
}

fn moved(fields: &Fields<'_>, out: &mut Problems) -> Option<MovedSide> {
    let at = fields.optional("moved")?.one_of(out, &["left", "right"])?;
    Some(if at == 0 { MovedSide::Left } else { MovedSide::Right })
}

/// Told of once: where the sheet gives a side that is no side, that is told of there.
fn missing_side(fields: &Fields<'_>, told: bool, out: &mut Problems) -> Option<MovedSide> {
    if fields.optional("moved").is_none() && !told {
        out.push(fields.problem(
            "which side of the crack moved is missing here",
            Some("write `moved: left` or `moved: right`, going up the crack, here or for the whole sheet".into()),
        ));
    }
    None
}
