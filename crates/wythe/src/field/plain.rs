//! Cracks of one wall, and the ground around a house: numbers, each with its error, and what must be said with them.

use serde_json::json;
use wythe_case::{Site, Survey, WallCracks};
use wythe_measure::survey::{Edge, Options, analyse};
use wythe_measure::{COMPUTED, COVER_95, FINDINGS, Quantity, Reading};
use wythe_text::{Problem, Problems};

use super::lines::Lines;
use super::words::{capital, mm, ratio};
use super::{NO_ENGINEERING, guarded, guarded_json, readings_json};
use crate::Error;

/// The cracks of one wall as one movement.
#[derive(Clone, Debug)]
pub struct CracksReport {
    title: String,
    sd_mm: f64,
    readings: Vec<Reading>,
    finding: Option<&'static str>,
    notes: Vec<String>,
}

impl CracksReport {
    /// Finds the movement that closes the cracks best; with a survey, and the side of its plan that the wall is, holds
    /// the bend of the floor against the taper of the cracks.
    ///
    /// # Errors
    /// Readings that determine no movement; a survey that cannot be analysed.
    pub fn new(read: &WallCracks, floor: Option<(&Survey, Edge)>) -> Result<Self, Error> {
        let mut notes = Vec::new();
        let mut bend = None;
        if let Some((survey, side)) = floor {
            let analysis = analyse(&survey.reduce()?.levels, &Options::default())
                .map_err(|error| Problems::from(survey.problem(&error)))?;
            bend = analysis.bend_along(side);
            if bend.is_none() {
                notes.push(
                    "The survey has no row of points along this wall, so floor and cracks are not compared.".into(),
                );
            }
        }
        let (readings, finding, said) = read
            .computed(bend)
            .map_err(|error| Problems::from(Problem::new(&read.title, error.to_string(), None)))?;
        notes.extend(said);
        Ok(Self {
            title: read.title.clone(),
            sd_mm: read.sd_mm,
            readings,
            finding,
            notes,
        })
    }

    /// As plain text, at most 80 columns wide.
    ///
    /// # Errors
    /// A sentence that makes a determination, such as in a title.
    pub fn text(&self) -> Result<String, Error> {
        let mut out = Lines::titled(&format!("Cracks of one wall: {}", self.title));
        out.say(&format!(
            "One reading is good to ± {}. Every ± is a 95 % error.",
            mm(COVER_95 * self.sd_mm)
        ));
        out.heading("Numbers");
        numbers(&mut out, "cracks", &self.readings);
        if let Some((.., title)) = FINDINGS.iter().find(|(_, name, _)| Some(*name) == self.finding) {
            out.item(&format!("Together the cracks are {title}."));
        }
        out.heading("Say with it");
        for note in &self.notes {
            out.item(note);
        }
        out.item("Cracks wider at the top tell that the wall bends over a high middle, or that an end went down; wider at the bottom, the other way round. Which of the two moved they can't tell.");
        out.item(NO_ENGINEERING);
        guarded(out.finish())
    }

    /// As JSON: lengths in mm, turns in rad.
    ///
    /// # Errors
    /// A sentence that makes a determination.
    pub fn json(&self) -> Result<String, Error> {
        guarded_json(&json!({
            "format": 1, "title": self.title, "reading_sd_mm": self.sd_mm, "readings": readings_json(&self.readings),
            "finding": self.finding, "notes": self.notes, "caution": [NO_ENGINEERING],
        }))
    }
}

/// What was learned of a site.
#[derive(Clone, Debug)]
pub struct SiteReport {
    title: String,
    readings: Vec<Reading>,
    notes: Vec<String>,
}

impl SiteReport {
    /// Computes the numbers of a site, and the published classes that they lie in.
    ///
    /// # Errors
    /// A number that no site has.
    pub fn new(read: &Site) -> Result<Self, Error> {
        let (readings, said) = read
            .computed()
            .map_err(|error| Problems::from(Problem::new(&read.title, error.to_string(), None)))?;
        Ok(Self {
            title: read.title.clone(),
            readings,
            notes: read.notes.iter().cloned().chain(said).collect(),
        })
    }

    /// As plain text, at most 80 columns wide.
    ///
    /// # Errors
    /// A sentence that makes a determination, such as in a title.
    pub fn text(&self) -> Result<String, Error> {
        let mut out = Lines::titled(&format!("Site: {}", self.title));
        out.say("Every ± is a 95 % error.");
        out.heading("Numbers");
        numbers(&mut out, "site", &self.readings);
        out.heading("Compared with published classes and rules");
        for note in &self.notes {
            out.item(note);
        }
        out.heading("Say with it");
        out.item("Each of these makes a movement likelier or less likely. None is a sign that anything moved.");
        out.item(NO_ENGINEERING);
        guarded(out.finish())
    }

    /// As JSON.
    ///
    /// # Errors
    /// A sentence that makes a determination.
    pub fn json(&self) -> Result<String, Error> {
        guarded_json(&json!({
            "format": 1, "title": self.title, "readings": readings_json(&self.readings), "notes": self.notes,
            "caution": [NO_ENGINEERING],
        }))
    }
}

fn numbers(out: &mut Lines, sheet: &str, readings: &[Reading]) {
    for reading in readings {
        let title = COMPUTED
            .iter()
            .find(|(of, name, ..)| *of == sheet && *name == reading.name)
            .map_or(reading.name, |(.., title)| title);
        let half = COVER_95 * reading.sd;
        let sign = if reading.value < 0.0 { "-" } else { "" };
        let said = match reading.quantity {
            Quantity::Length => format!("{} ± {}", mm(reading.value), mm(half)),
            Quantity::Angle => {
                let degrees = 180.0 / core::f64::consts::PI;
                format!("{:.2}° ± {:.2}°", reading.value * degrees, half * degrees)
            }
            Quantity::Ratio if reading.value.abs() < 0.2 => {
                let (value, half) = (1000.0 * reading.value, 1000.0 * half);
                format!(
                    "{sign}{} ({value:.1} mm per m ± {half:.1} mm per m)",
                    ratio(reading.value)
                )
            }
            Quantity::Ratio => format!("{:.0} % ± {:.0} %", 100.0 * reading.value, 100.0 * half),
            _ if half > 0.0 => format!("{:.1} ± {half:.1}", reading.value),
            _ => format!("{:.1}", reading.value),
        };
        out.item(&format!("{}: {said}.", capital(title)));
    }
}
