//! A loose lintel: the dip expected of a bare angle against the dip seen.

use serde_json::json;
use wythe_case::Lintel;
use wythe_measure::COVER_95;
use wythe_measure::lintel::{BrickLoad, LintelResult, MIN_SEAT_MM, expected, lintel_readings, overhang};
use wythe_text::{Problem, Problems};

use super::lines::Lines;
use super::words::{mm, mm_pm, ratio};
use super::{NO_ENGINEERING, guarded, guarded_json, readings_json};
use crate::Error;

/// One lintel, reckoned.
#[derive(Clone, Debug)]
pub struct LintelReport {
    read: Lintel,
    result: LintelResult,
}

impl LintelReport {
    /// Reckons the dip to expect.
    ///
    /// # Errors
    /// Sizes that make no sense; a lintel to which a bare angle's dip does not apply, and why.
    pub fn new(read: &Lintel) -> Result<Self, Error> {
        let result = expected(&read.lintel)
            .map_err(|error| Problems::from(Problem::new(&read.title, error.to_string(), None)))?;
        Ok(Self {
            read: read.clone(),
            result,
        })
    }

    /// As plain text, at most 80 columns wide.
    ///
    /// # Errors
    /// A sentence that makes a determination, such as in a title.
    pub fn text(&self) -> Result<String, Error> {
        let (lintel, result) = (&self.read.lintel, &self.result);
        let mut out = Lines::titled(&format!("Loose lintel: {}", self.read.title));
        out.say("Every ± is a 95 % error.");
        out.heading("Numbers");
        let flat = if lintel.long_leg_flat {
            ", laid with its long leg flat"
        } else {
            ""
        };
        out.row(
            "Angle",
            &format!(
                "{} of {} in{flat}",
                if lintel.count == 2 { "two" } else { "one" },
                lintel.angle.name
            ),
        );
        out.row(
            "Span",
            &format!("{} from centre to centre of its seats", mm(result.effective_span_mm)),
        );
        out.row(
            "Brick it carries",
            &match result.load {
                BrickLoad::Triangle => "a triangle of 45 degrees: the brick above arches".to_owned(),
                BrickLoad::FullHeight(why) => format!("its full height: {why}"),
                BrickLoad::Between(why) => format!("from a triangle to its full height: {why}"),
            },
        );
        let dip = result.expected_dip_mm;
        out.row(
            "Dip expected",
            &format!("{}, with its own weight", mm_pm(dip.value, dip.sd)),
        );
        if let Some(seen) = self.read.dip_mm {
            out.row(
                "Dip seen",
                &format!(
                    "{}, {} of the span",
                    mm_pm(seen.value, seen.sd),
                    ratio(seen.value / result.effective_span_mm)
                ),
            );
            let (excess, sd) = (seen.value - dip.value, seen.sd.hypot(dip.sd));
            let says = match excess / sd {
                z if z > COVER_95 => "more than expected, beyond both errors",
                z if z < -COVER_95 => {
                    "less than expected, beyond both errors: camber, or brick that arches more than was taken"
                }
                _ => "no different from what is expected, within both errors",
            };
            out.row("Seen less expected", &format!("{}: {says}", mm_pm(excess, sd)));
        }
        out.heading("Compared with published marks");
        out.say("A mark is something to compare with. It settles nothing by itself, either way.");
        let against = |size: f64, mark: f64| if size >= mark { "at or over it" } else { "under it" };
        let limit = result.limit_mm;
        out.item(&format!("A calculated dip of new work: {}, the lesser of span/600 and 0.3 in (ACI 530-88, MSJC 1999). The dip expected is {}.", mm(limit), against(dip.value, limit)));
        match [lintel.seats.0, lintel.seats.1].into_iter().flatten().min() {
            Some(seat) => out.item(&format!(
                "The shorter seat seen, {}: against 4 in of new work (IRC R703.8.3): {}.",
                seat.both(),
                against(seat.as_mm(), MIN_SEAT_MM)
            )),
            None => out.item("No seat was seen. New work has 4 in or more (IRC R703.8.3)."),
        }
        if let Some((projection, bed)) = self.read.overhang
            && let Ok(share) = overhang(projection, bed)
        {
            out.item(&format!(
                "The brick overhangs by {:.0} % of its bed: against one third (IRC R703.8.2.2): {}.",
                100.0 * share,
                against(share, 1.0 / 3.0)
            ));
        }
        out.heading("Say with it");
        for note in self.read.notes.iter().chain(&result.notes) {
            out.item(&note.replace("adequacy", "whether it will do"));
        }
        out.item("A dip seen also holds mill camber, how it was set, and rust that lifts.");
        out.item(NO_ENGINEERING);
        guarded(out.finish())
    }

    /// As JSON: lengths in mm.
    ///
    /// # Errors
    /// A sentence that makes a determination.
    pub fn json(&self) -> Result<String, Error> {
        let readings = lintel_readings(
            &self.read.lintel,
            &self.result,
            self.read.dip_mm,
            std::slice::from_ref(&self.read.title),
        );
        let notes: Vec<&String> = self.read.notes.iter().chain(&self.result.notes).collect();
        guarded_json(&json!({
            "format": 1, "title": self.read.title, "effective_span_mm": self.result.effective_span_mm, "limit_mm": self.result.limit_mm,
            "moment_lb_ft": self.result.moment_lb_ft, "reaction_lb": self.result.reaction_lb,
            "readings": readings_json(&readings), "notes": notes, "caution": [NO_ENGINEERING],
        }))
    }
}
