//! What was seen of one loose lintel.

use wythe_measure::lintel::{LooseLintel, SteelAngle, observed_dip};
use wythe_measure::{COVER_95, Estimate, Length};
use wythe_text::{Doc, Fields, Item, Problems};

use super::sheet::{Cell, Sheet, cell_of, format};
use super::values::{error_sd, length, setting, title};

const KEYS: [&str; 18] = [
    "format",
    "title",
    "angle",
    "count",
    "long_leg_flat",
    "clear_span",
    "left_seat",
    "right_seat",
    "brick_height",
    "brick_weight",
    "running_bond",
    "joint_near_jamb",
    "load_in_triangle",
    "reinforced_courses",
    "sight_line",
    "projection",
    "bed_depth",
    "note",
];
/// Error of a sight-line reading when none is stated, mm, 95 %: 1/16 in (common practice, no source).
const UNSTATED_MM: f64 = 1.5875;

/// A lintel as read from a file.
#[derive(Clone, Debug, PartialEq)]
pub struct Lintel {
    /// Which lintel.
    pub title: String,
    /// What is known of it.
    pub lintel: LooseLintel,
    /// The dip seen against a straight line, mm; above 0 the middle is low.
    pub dip_mm: Option<Estimate<f64>>,
    /// How far the brick stands out beyond its support, and how deep its bed is.
    pub overhang: Option<(Length, Length)>,
    /// What must be said with the results, a sentence each.
    pub notes: Vec<String>,
}

impl Lintel {
    /// Reads a lintel: JSON when the name ends in `.json`, else YAML.
    ///
    /// # Errors
    /// Every problem found, with its line and column.
    pub fn read(file: &str, text: &str) -> Result<Lintel, Problems> {
        let doc = Doc::parse(file, text)?;
        let mut out = Problems::new();
        format(&doc.root().fields(&mut Problems::new(), &KEYS), &mut out, true);
        match Self::of_item(&doc.root(), &mut out) {
            Some(lintel) => out.sorted().into_result(lintel),
            None => Err(out.sorted()),
        }
    }

    /// Reads a lintel that stands at an item of a file; none without angle, span or height of brick.
    pub(crate) fn of_item(item: &Item<'_>, out: &mut Problems) -> Option<Lintel> {
        let sheet = Sheet::of_settings(item);
        let fields = sheet.settings(out, &KEYS);
        let mut notes = Vec::new();
        let angle = required(&fields, "angle", out).and_then(|cell| angle(&sheet, &cell, &mut notes, out));
        let clear_span = required(&fields, "clear_span", out).and_then(|cell| length(&sheet, &cell, None, out));
        let brick_height = required(&fields, "brick_height", out).and_then(|cell| length(&sheet, &cell, None, out));
        let size = |key: &str, out: &mut Problems| {
            setting(&fields, key, out).and_then(|cell| length(&sheet, &cell, None, out))
        };
        let seats = (size("left_seat", out), size("right_seat", out));
        let overhang = size("projection", out).zip(size("bed_depth", out));
        let flag = |key: &str, out: &mut Problems| fields.optional(key).and_then(|item| item.flag(out));
        let count = fields.optional("count").and_then(|item| {
            let count = item.integer(out)?;
            if !(1..=2).contains(&count) {
                item.problem(out, "one angle or two side by side are reckoned here", None);
            }
            u8::try_from(count).ok()
        });
        let brick_psf = fields.optional("brick_weight").and_then(|item| {
            let weight = item.number(out)?;
            if !(5.0..=300.0).contains(&weight) {
                item.problem(
                    out,
                    "the weight of brick is 5 to 300 lb/ft2",
                    Some("leave it out where it is not known: 40 is taken".into()),
                );
            }
            Some(weight)
        });
        let (running_bond, joint_near_jamb) = (flag("running_bond", out), flag("joint_near_jamb", out));
        let (load_in_triangle, reinforced_courses) = (flag("load_in_triangle", out), flag("reinforced_courses", out));
        let long_leg_flat = flag("long_leg_flat", out).unwrap_or(false);
        let dip_mm = fields.optional("sight_line").and_then(|item| {
            let inner = item.fields(out, &["left", "middle", "right", "error"]);
            let at = |key: &str, out: &mut Problems| {
                required(&inner, key, out).and_then(|cell| length(&sheet, &cell, None, out))
            };
            let (left, middle, right) = (at("left", out), at("middle", out), at("right", out));
            let sd = match setting(&inner, "error", out) {
                Some(cell) => error_sd(&sheet, &cell, None, out)?,
                None => {
                    notes.push(
                        "No error of the sight line is stated: one reading is taken as good to ± 1/16 in (1.6 mm)."
                            .into(),
                    );
                    UNSTATED_MM / COVER_95
                }
            };
            observed_dip(left?, middle?, right?, sd).ok()
        });
        let title = title(&sheet, &fields, out);
        let lintel = LooseLintel {
            angle: angle?,
            count: count.unwrap_or(1),
            long_leg_flat,
            clear_span: clear_span?,
            seats,
            brick_height: brick_height?,
            brick_psf,
            running_bond,
            joint_near_jamb,
            load_in_triangle,
            reinforced_courses,
        };
        Some(Lintel {
            title,
            lintel,
            dip_mm,
            overhang,
            notes,
        })
    }
}

fn required(fields: &Fields<'_>, key: &str, out: &mut Problems) -> Option<Cell> {
    let item = fields.required(out, key)?;
    if item.is_null() {
        item.problem(
            out,
            format!("`{key}` is empty"),
            Some("measure it: nothing can be reckoned without it".into()),
        );
    }
    cell_of(&item, out)
}

/// `4 x 3 x 1/4`: the vertical leg, the level leg, the thickness, in inches.
fn angle(sheet: &Sheet, cell: &Cell, notes: &mut Vec<String>, out: &mut Problems) -> Option<SteelAngle> {
    let sizes: Vec<f64> = cell
        .text
        .split(['x', 'X', '×'])
        .filter_map(|part| {
            Length::parse(&format!(
                "{} in",
                part.trim()
                    .trim_end_matches(" in")
                    .trim_end_matches('"')
                    .replace('-', " ")
            ))
            .ok()
        })
        .map(Length::as_inches)
        .collect();
    let &[vertical, level, thick] = sizes.as_slice() else {
        out.push(sheet.problem(
            cell.at,
            "an angle has two legs and a thickness, in inches",
            Some("write for example `4 x 3 x 1/4`: the upright leg first".into()),
        ));
        return None;
    };
    if let Some(standard) = SteelAngle::standard(vertical, level, thick) {
        return Some(standard);
    }
    let odd = SteelAngle::square_cornered(vertical, level, thick);
    match odd {
        Some(_) => notes.push(
            "The angle is not in the table of standard ones: it is reckoned as if its corners were square.".into(),
        ),
        None => out.push(sheet.problem(
            cell.at,
            "no such angle: legs longer than the thickness, up to 24 in",
            None,
        )),
    }
    odd
}
