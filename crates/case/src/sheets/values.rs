//! Small values of a sheet: lengths with a unit, names, stated errors.

use wythe_measure::{COVER_95, Length, Quantity, parse_measured_as};
use wythe_text::{Fields, Problems, shown};

use super::sheet::{Cell, Sheet, cell_of};

/// Units that bare numbers can be given.
pub(super) const UNITS: [&str; 5] = ["in", "ft", "mm", "cm", "m"];
/// Longest name, in characters.
const LONGEST_NAME: usize = 40;

/// A length; a bare number is taken in `unit`.
pub(super) fn length(sheet: &Sheet, cell: &Cell, unit: Option<&str>, out: &mut Problems) -> Option<Length> {
    let bare = cell.text.parse::<f64>();
    if bare.as_ref().is_ok_and(|number| !number.is_finite()) {
        out.push(sheet.problem(
            cell.at,
            format!("{} is not a finite number", shown(&cell.text)),
            Some("leave the row out where nothing was read".into()),
        ));
        return None;
    }
    let text = match (bare, unit) {
        (Ok(_), Some(unit)) => format!("{} {unit}", cell.text),
        _ => cell.text.clone(),
    };
    match Length::parse(&text) {
        Ok(length) => Some(length),
        Err(error) => {
            out.push(sheet.problem(
                cell.at,
                format!("{} is not read as a length: {error}", shown(&cell.text)),
                None,
            ));
            None
        }
    }
}

/// A stated error as a standard deviation, mm: `1/16 in` is ±1/16 in, a 95 % half-width.
pub(super) fn error_sd(sheet: &Sheet, cell: &Cell, unit: Option<&str>, out: &mut Problems) -> Option<f64> {
    let text = cell.text.trim_start_matches(['±', '+', '/', '-', ' ']);
    let cell = Cell {
        text: text.to_owned(),
        at: cell.at,
    };
    let mm = length(sheet, &cell, unit, out)?.as_mm();
    if !(0.002..=190.0).contains(&mm) {
        out.push(sheet.problem(
            cell.at,
            "an error is between 0.002 mm and 190 mm",
            Some("write for example `1/16 in`".into()),
        ));
        return None;
    }
    Some(mm / COVER_95)
}

/// A name fit to be printed: letters, digits, blanks and a few marks.
pub(super) fn name(sheet: &Sheet, cell: &Cell, out: &mut Problems) -> Option<String> {
    let fine = |c: char| c.is_alphanumeric() || " -_.'/#()+&".contains(c);
    if cell.text.chars().count() > LONGEST_NAME || !cell.text.chars().all(fine) {
        let help = format!("use up to {LONGEST_NAME} letters, digits, blanks and - _ . ' / # ( ) + &");
        out.push(sheet.problem(cell.at, format!("{} is not a name", shown(&cell.text)), Some(help)));
        return None;
    }
    Some(cell.text.clone())
}

/// A setting as a cell.
pub(super) fn setting(fields: &Fields<'_>, key: &str, out: &mut Problems) -> Option<Cell> {
    fields.optional(key).and_then(|item| cell_of(&item, out))
}

/// The title of a sheet, or the name of its file.
pub(super) fn title(sheet: &Sheet, fields: &Fields<'_>, out: &mut Problems) -> String {
    let given = setting(fields, "title", out).filter(|cell| {
        let fits = cell.text.chars().count() <= 100;
        if !fits {
            out.push(sheet.problem(cell.at, "a title has up to 100 letters", None));
        }
        fits
    });
    given.map_or_else(
        || {
            sheet
                .doc
                .name()
                .rsplit(['/', '\\'])
                .next()
                .unwrap_or_default()
                .to_owned()
        },
        |cell| cell.text,
    )
}

/// Whether a text names metric units (`Some(true)`), others (`Some(false)`) or none.
pub(super) fn is_metric(text: &str) -> Option<bool> {
    if text.parse::<f64>().is_ok() || parse_measured_as(text, Quantity::Length).is_err() {
        return None;
    }
    Some(text.trim_end().ends_with('m'))
}
