//! A level survey: the field book of one visit.

use std::collections::{BTreeMap, BTreeSet};

use wythe_measure::COVER_95;
use wythe_measure::survey::{Covering, FieldBook, Reduction, Sense, Shot, SurveyError, reduce};
use wythe_text::{Fields, Item, Problem, Problems};

use super::sheet::{At, Row, Sheet, cell_of};
use super::values::{UNITS, error_sd, is_metric, length, name, setting, title};
use crate::Date;

const KEYS: [&str; 10] = [
    "format",
    "title",
    "date",
    "error",
    "reads",
    "units",
    "coverings",
    "instruments",
    "x_points",
    "y_points",
];
const COLUMNS: [&str; 7] = ["point", "x", "y", "reading", "covering", "instrument", "station"];
/// Error of a reading when none is stated, mm, 95 %: 1/8 in (common practice, no source).
const UNSTATED_MM: f64 = 3.175;

/// A side of the world.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Compass {
    /// North.
    North,
    /// East.
    East,
    /// South.
    South,
    /// West.
    West,
}

impl Compass {
    const NAMES: [&'static str; 4] = ["north", "east", "south", "west"];

    /// Its name: `north`.
    pub fn name(self) -> &'static str {
        Self::NAMES.get(self as usize).copied().unwrap_or_default()
    }

    /// The side across.
    pub fn across(self) -> Self {
        match self {
            Self::North => Self::South,
            Self::East => Self::West,
            Self::South => Self::North,
            Self::West => Self::East,
        }
    }

    fn of(number: usize) -> Option<Self> {
        [Self::North, Self::East, Self::South, Self::West].get(number).copied()
    }
}

/// A survey as read from a file.
#[derive(Clone, Debug, PartialEq)]
pub struct Survey {
    /// What was surveyed.
    pub title: String,
    /// The day of the visit.
    pub date: Option<Date>,
    /// The readings.
    pub book: FieldBook,
    /// Which way x and y grow, when both are stated.
    pub facing: Option<(Compass, Compass)>,
    /// What must be said with the results: stated downgrades, a sentence each.
    pub notes: Vec<String>,
    sheet: Sheet,
    rows: BTreeMap<String, At>,
}

impl Survey {
    /// Reads a survey: CSV when the name ends in `.csv`, JSON in `.json`, else YAML.
    ///
    /// # Errors
    /// Every problem found, with its line and column.
    pub fn read(file: &str, text: &str) -> Result<Survey, Problems> {
        let mut out = Problems::new();
        let sheet = Sheet::read(file, text, &KEYS, &COLUMNS, 4, &mut out)?;
        let survey = Self::of(&sheet, &mut out);
        out.into_result(survey)
    }

    /// Reads a survey that stands at an item of a file.
    pub(crate) fn of_item(item: &Item<'_>, out: &mut Problems) -> Survey {
        let sheet = Sheet::of_item(item, &KEYS, &COLUMNS, 4, out);
        Self::of(&sheet, out)
    }

    fn of(sheet: &Sheet, out: &mut Problems) -> Survey {
        // Names not known were told of when the sheet was read.
        let fields = sheet.settings(&mut Problems::new(), &KEYS);
        let mut notes = Vec::new();
        let units = units(&fields, out);
        let sense = fields
            .optional("reads")
            .and_then(|item| item.one_of(out, &["height", "rod"]));
        let mut survey = Survey {
            title: title(sheet, &fields, out),
            date: date(sheet, &fields, out),
            book: FieldBook {
                shots: Vec::new(),
                coverings: coverings(sheet, &fields, units.1, out),
                sense: if sense == Some(1) { Sense::Rod } else { Sense::Height },
                sd_mm: UNSTATED_MM / COVER_95,
            },
            facing: facing(&fields, out),
            notes: Vec::new(),
            sheet: sheet.clone(),
            rows: BTreeMap::new(),
        };
        let instruments = instruments(sheet, &fields, units.1, out);
        let stated = setting(&fields, "error", out).and_then(|cell| error_sd(sheet, &cell, units.1, out));
        let mut used: BTreeSet<Option<String>> = BTreeSet::new();
        let mut systems = BTreeSet::new();
        for row in &sheet.rows {
            let cell = |index: usize| row.cells.get(index).and_then(Option::as_ref);
            systems.extend(cell(3).and_then(|cell| is_metric(&cell.text)));
            let instrument = cell(5).and_then(|cell| {
                let name = name(sheet, cell, out)?;
                if !instruments.is_empty() && !instruments.contains_key(&name) {
                    out.push(sheet.problem(
                        cell.at,
                        format!("the instrument `{name}` is not listed"),
                        Some("add it under `instruments:`".into()),
                    ));
                }
                Some(name)
            });
            used.insert(instrument.clone());
            if let Some(shot) = shot(sheet, row, units, instrument.as_deref(), out) {
                survey.rows.entry(shot.point.clone()).or_insert(row.at);
                survey.book.shots.push(shot);
            }
        }
        if used.len() < 2 {
            // One instrument: its stations are told apart by their own names.
            for shot in &mut survey.book.shots {
                shot.station = shot.station.take().and_then(|both| {
                    both.split_once('\n')
                        .map(|(_, station)| station.to_owned())
                        .filter(|station| !station.is_empty())
                });
            }
        } else {
            survey
                .book
                .shots
                .iter_mut()
                .filter_map(|shot| shot.station.as_mut())
                .for_each(|station| *station = station.replace('\n', " "));
            notes.push("More than one instrument was used: each is taken as a station of its own.".into());
        }
        let of_used = used
            .iter()
            .flatten()
            .filter_map(|name| instruments.get(name).copied())
            .fold(stated, |most: Option<f64>, sd| {
                Some(most.map_or(sd, |most| most.max(sd)))
            });
        match of_used {
            Some(sd) => survey.book.sd_mm = sd,
            None => {
                notes.push("No instrument error is stated: one reading is taken as good to ± 1/8 in (3.2 mm).".into())
            }
        }
        if systems.len() > 1 {
            notes.push(
                "Readings are given in inches and in millimetres both: check that none was typed in the wrong unit."
                    .into(),
            );
        }
        let stations: BTreeSet<_> = survey.book.shots.iter().map(|shot| &shot.station).collect();
        let again = survey.book.shots.len() > survey.rows.len();
        if stations.len() < 2 && !again && !survey.book.shots.is_empty() {
            notes.push("All was read from one station and no point twice, so neither closing error nor the stated error could be checked.".into());
        }
        survey.notes = notes;
        survey
    }

    /// The readings reduced to levels.
    ///
    /// # Errors
    /// What stops the survey, at the row of the point it is about.
    pub fn reduce(&self) -> Result<Reduction, Problems> {
        reduce(&self.book).map_err(|error| self.problem(&error).into())
    }

    /// A problem with the file as a whole.
    pub fn whole_problem(&self, what: String) -> Problem {
        Problem::new(self.sheet.doc.name(), what, None)
    }

    /// A survey's error as a problem of this file.
    pub fn problem(&self, error: &SurveyError) -> Problem {
        let point = match error {
            SurveyError::TwoPlaces { name, .. } => Some(name),
            SurveyError::OnePlace { second, .. } => Some(second),
            SurveyError::Absurd { point, .. } => Some(point),
            _ => None,
        };
        match point.and_then(|point| self.rows.get(point)) {
            Some(at) => self.sheet.problem(*at, error.to_string(), None),
            None => self.sheet.whole_problem(error.to_string()),
        }
    }
}

/// The units of bare numbers on the plan and of readings.
type Units = (Option<&'static str>, Option<&'static str>);

fn units(fields: &Fields<'_>, out: &mut Problems) -> Units {
    let Some(item) = fields.optional("units") else {
        return (None, None);
    };
    let inner = item.fields(out, &["plan", "readings"]);
    let mut unit = |key| {
        inner
            .optional(key)
            .and_then(|item| item.one_of(out, &UNITS))
            .and_then(|at| UNITS.get(at).copied())
    };
    (unit("plan"), unit("readings"))
}

pub(super) fn date(sheet: &Sheet, fields: &Fields<'_>, out: &mut Problems) -> Option<Date> {
    let cell = setting(fields, "date", out)?;
    match Date::parse(&cell.text) {
        Ok(date) => Some(date),
        Err(error) => {
            out.push(sheet.problem(cell.at, error.to_string(), None));
            None
        }
    }
}

fn facing(fields: &Fields<'_>, out: &mut Problems) -> Option<(Compass, Compass)> {
    let mut side = |key: &str| {
        fields
            .optional(key)
            .and_then(|item| item.one_of(out, &Compass::NAMES))
            .and_then(Compass::of)
    };
    let (x, y) = (side("x_points")?, side("y_points")?);
    if x == y || x.across() == y {
        out.push(fields.problem(
            "`x_points` and `y_points` run along one line",
            Some("give two sides at right angles".into()),
        ));
        return None;
    }
    Some((x, y))
}

fn coverings(sheet: &Sheet, fields: &Fields<'_>, unit: Option<&str>, out: &mut Problems) -> Vec<Covering> {
    let list = fields
        .optional("coverings")
        .map(|item| item.list(out))
        .unwrap_or_default();
    list.iter()
        .filter_map(|item| {
            let inner = item.fields(out, &["name", "thickness", "error"]);
            let named = inner
                .required(out, "name")
                .and_then(|item| cell_of(&item, out))
                .and_then(|cell| name(sheet, &cell, out))?;
            let thickness = setting(&inner, "thickness", out).and_then(|cell| length(sheet, &cell, unit, out));
            let sd_mm = setting(&inner, "error", out)
                .and_then(|cell| error_sd(sheet, &cell, unit, out))
                .unwrap_or(0.0);
            Some(Covering {
                name: named,
                thickness,
                sd_mm,
            })
        })
        .collect()
}

fn instruments(sheet: &Sheet, fields: &Fields<'_>, unit: Option<&str>, out: &mut Problems) -> BTreeMap<String, f64> {
    let list = fields
        .optional("instruments")
        .map(|item| item.list(out))
        .unwrap_or_default();
    list.iter()
        .filter_map(|item| {
            let inner = item.fields(out, &["name", "error"]);
            let named = inner
                .required(out, "name")
                .and_then(|item| cell_of(&item, out))
                .and_then(|cell| name(sheet, &cell, out));
            let sd = inner
                .required(out, "error")
                .and_then(|item| cell_of(&item, out))
                .and_then(|cell| error_sd(sheet, &cell, unit, out));
            Some((named?, sd?))
        })
        .collect()
}

/// One reading. Its station is `INSTRUMENT\nSTATION` until it is known whether instruments differ.
fn shot(sheet: &Sheet, row: &Row, units: Units, instrument: Option<&str>, out: &mut Problems) -> Option<Shot> {
    let cell = |index: usize| row.cells.get(index).and_then(Option::as_ref);
    let point = cell(0).and_then(|cell| name(sheet, cell, out));
    let mut sized = |index: usize, unit| cell(index).and_then(|cell| length(sheet, cell, unit, out));
    let (x, y, reading) = (sized(1, units.0), sized(2, units.0), sized(3, units.1));
    let covering = cell(4)
        .filter(|cell| cell.text != "bare")
        .map(|cell| name(sheet, cell, out));
    let station = cell(6).map(|cell| name(sheet, cell, out));
    let both = format!(
        "{}\n{}",
        instrument.unwrap_or_default(),
        station.clone().flatten().unwrap_or_default()
    );
    Some(Shot {
        point: point?,
        x: x?,
        y: y?,
        reading: reading?,
        covering: covering.flatten(),
        station: Some(both),
    })
}
