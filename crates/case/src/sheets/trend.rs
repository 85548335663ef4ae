//! Cracks and gaps read on several dates.

use wythe_measure::COVER_95;
use wythe_measure::trend::{DatedReading, day_number};
use wythe_text::{Item, Problems};

use super::sheet::Sheet;
use super::values::{UNITS, error_sd, length, name, setting, title};
use crate::Date;

const KEYS: [&str; 4] = ["format", "title", "error", "units"];
const COLUMNS: [&str; 3] = ["point", "date", "width"];
/// Error of a reading when none is stated, mm, 95 %: a grid gauge, read by interpolation (common practice, no source).
const UNSTATED_MM: f64 = 0.5;

/// Most points in a file.
const MAX_POINTS: usize = 200;

/// The dated readings of one point.
#[derive(Clone, Debug, PartialEq)]
pub struct CrackPoint {
    /// Its name.
    pub point: String,
    /// The dates, as given.
    pub dates: Vec<Date>,
    /// The readings, in the same order.
    pub readings: Vec<DatedReading>,
}

/// A file of dated readings.
#[derive(Clone, Debug, PartialEq)]
pub struct CrackReadings {
    /// What was watched.
    pub title: String,
    /// The points, in the order first read.
    pub points: Vec<CrackPoint>,
    /// Standard deviation of one reading, mm.
    pub sd_mm: f64,
    /// What must be said with the results, a sentence each.
    pub notes: Vec<String>,
}

impl CrackReadings {
    /// Reads dated readings: CSV when the name ends in `.csv`, JSON in `.json`, else YAML.
    ///
    /// # Errors
    /// Every problem found, with its line and column.
    pub fn read(file: &str, text: &str) -> Result<CrackReadings, Problems> {
        let mut out = Problems::new();
        let sheet = Sheet::read(file, text, &KEYS, &COLUMNS, 3, &mut out)?;
        let read = Self::of(&sheet, &mut out);
        out.into_result(read)
    }

    /// Reads dated readings that stand at an item of a file.
    pub(crate) fn of_item(item: &Item<'_>, out: &mut Problems) -> CrackReadings {
        let sheet = Sheet::of_item(item, &KEYS, &COLUMNS, 3, out);
        Self::of(&sheet, out)
    }

    fn of(sheet: &Sheet, out: &mut Problems) -> CrackReadings {
        // Names not known were told of when the sheet was read.
        let fields = sheet.settings(&mut Problems::new(), &KEYS);
        let unit = fields
            .optional("units")
            .and_then(|item| item.one_of(out, &UNITS))
            .and_then(|at| UNITS.get(at).copied());
        let stated = setting(&fields, "error", out).and_then(|cell| error_sd(sheet, &cell, unit, out));
        let mut read = CrackReadings {
            title: title(sheet, &fields, out),
            points: Vec::new(),
            sd_mm: stated.unwrap_or(UNSTATED_MM / COVER_95),
            notes: Vec::new(),
        };
        if stated.is_none() {
            read.notes
                .push("No error is stated: one reading is taken as good to ± 0.5 mm (1/64 in).".into());
        }
        for row in &sheet.rows {
            let cell = |index: usize| row.cells.get(index).and_then(Option::as_ref);
            let point = cell(0).and_then(|cell| name(sheet, cell, out));
            let date = cell(1).and_then(|cell| match Date::parse(&cell.text) {
                Ok(date) => Some(date),
                Err(error) => {
                    out.push(sheet.problem(cell.at, error.to_string(), None));
                    None
                }
            });
            let width = cell(2).and_then(|cell| length(sheet, cell, unit, out));
            let (Some(point), Some(date), Some(width)) = (point, date, width) else {
                continue;
            };
            let Some(day) = day_number(i32::from(date.year()), u32::from(date.month()), u32::from(date.day())) else {
                continue;
            };
            let reading = DatedReading {
                day: day as f64,
                value_mm: width.as_mm(),
                sd_mm: read.sd_mm,
            };
            let full = read.points.len() >= MAX_POINTS;
            match read.points.iter_mut().find(|one| one.point == point) {
                Some(one) => {
                    one.dates.push(date);
                    one.readings.push(reading);
                }
                None if full => out.push(sheet.problem(row.at, format!("more than {MAX_POINTS} points"), None)),
                None => read.points.push(CrackPoint {
                    point,
                    dates: vec![date],
                    readings: vec![reading],
                }),
            }
        }
        if read.points.is_empty() && out.is_empty() {
            out.push(fields.problem("there are no readings", None));
        }
        read
    }
}
