//! The cracks of one wall as one movement, held against the floor.

use wythe_measure::kinematics::{
    Agreement, WallCrack, against_survey, block_movement, block_readings, taper, taper_finding, wall_readings,
};
use wythe_measure::survey::Edge;
use wythe_measure::{DeflectionRatio, Estimate, MeasureError, Reading};
use wythe_text::{Item, Problems};

use super::{Floor, at_item, one};
use crate::sheets::WallCracks;
use crate::{Computed, Readings};

/// Widths, taper, the movement of the block, and whether the floor along the wall agrees.
pub(in crate::read) fn cracks(
    blank: Readings,
    read: &WallCracks,
    at: usize,
    clue: Option<String>,
    floor: Option<&Floor>,
    item: &Item<'_>,
) -> Result<Readings, Problems> {
    let mut notes = Vec::new();
    let bend = floor.and_then(|floor| {
        let edges = [Edge::XMin, Edge::XMax, Edge::YMin, Edge::YMax];
        let side = edges.into_iter().find(|side| floor.sides.side(*side) == Some(at));
        let bend = side.and_then(|side| floor.analysis.bend_along(side));
        if bend.is_none() {
            notes.push(format!(
                "The survey {} has no row of points along this wall, so floor and cracks are not compared.",
                floor.id
            ));
        }
        bend
    });
    if clue.is_none() {
        notes.push("No `clue` says what kind of cracks these are, so nothing of them is weighed.".into());
    }
    let (readings, finding, said) = read.computed(bend).map_err(|error| at_item(item, error.to_string()))?;
    let mut found: Vec<Computed> = readings.into_iter().map(|reading| one(reading, &[at])).collect();
    for width in found.iter_mut().filter(|one| one.reading.name == "crack-width") {
        width.clue.clone_from(&clue);
        width.findings.extend(finding);
    }
    Ok(Readings {
        taken: (read.cracks.len(), "cracks"),
        sd_mm: read.sd_mm,
        computed: found,
        notes: said.into_iter().chain(notes).collect(),
        ..blank
    })
}

impl WallCracks {
    /// Widths, taper and the movement that closes the cracks best; what the taper shows, by the names of
    /// [`wythe_measure::FINDINGS`]; and what must be said with it all. `bend` is that of the floor along the wall
    /// ([`wythe_measure::survey::Analysis::bend_along`]), to be held against the cracks.
    ///
    /// # Errors
    /// Readings that determine no movement.
    #[allow(clippy::type_complexity)]
    pub fn computed(
        &self,
        bend: Option<Reading>,
    ) -> Result<(Vec<Reading>, Option<&'static str>, Vec<String>), MeasureError> {
        let movement = block_movement(&self.cracks)?;
        let mut notes = self.notes.clone();
        notes.extend(movement.notes.iter().cloned());
        let mut found = wall_readings(&self.cracks);
        found.extend(block_readings(&movement, &self.cracks));
        if let Some(bend) = bend {
            notes.extend(compared(&self.cracks, &bend));
            found.push(bend);
        }
        Ok((found, taper_finding(&self.cracks), notes))
    }
}

/// Whether cracks and floor tell of the same bend; the floor's error is that of movement since construction.
fn compared(cracks: &[WallCrack], bend: &Reading) -> Option<String> {
    let taper = taper(cracks)?;
    let floor = Estimate {
        value: DeflectionRatio::new(bend.value).ok()?,
        sd: bend.sd_as_movement.unwrap_or(bend.sd).max(bend.sd),
    };
    let open = if taper.value > 0.0 { "top" } else { "bottom" };
    let middle = if bend.value > 0.0 { "high" } else { "low" };
    Some(match against_survey(&taper, &floor) {
        Agreement::Agree => format!("Floor and cracks agree: along this wall the middle of the floor is {middle}, and the cracks are wider at the {open}."),
        Agreement::Disagree => format!("Floor and cracks disagree: along this wall the middle of the floor is {middle}, and yet the cracks are wider at the {open}. One of them tells of something else, or was there before."),
        Agreement::CannotTell => "Floor and cracks can't be compared: the bend of the floor along this wall, or the taper of the cracks, is within its error.".to_owned(),
    })
}
