//! A survey, or a change, as plain text.

use wythe_measure::limits::{
    Limit, TexasReading, band, chance_beyond, eurocode7, skempton_macdonald, texas_deflection, texas_reading,
    texas_tilt, tilt_low_rise,
};
use wythe_measure::survey::{Analysis, Change, Shape, TILT_HIDES, WorstLine, text_map};
use wythe_measure::{COVER_95, Estimate};

use super::lines::Lines;
use super::survey::{CAUTION, CHANGE_CAUTION, SurveyReport};
use super::words::{capital, chance, mark, mm, mm_pm, ratio, ratio_range};
use super::{NO_ENGINEERING, guarded};
use crate::Error;

/// Columns of the map.
const COLUMNS: usize = 60;

impl SurveyReport {
    /// As plain text, at most 80 columns wide.
    ///
    /// # Errors
    /// A sentence that makes a determination, such as in a title.
    pub fn text(&self) -> Result<String, Error> {
        let (a, heights) = (&self.analysis, if self.change.is_some() { "changes" } else { "levels" });
        let mut out = Lines::titled(&format!(
            "{}: {}",
            if self.change.is_some() {
                "Change between two level surveys"
            } else {
                "Level survey"
            },
            self.title
        ));
        out.say(&format!(
            "{} points; one {} is good to ± {}. Every ± is a 95 % error of measurement.",
            a.levels.points().len(),
            if self.change.is_some() {
                "difference of two readings"
            } else {
                "reading"
            },
            mm(COVER_95 * self.sd_mm)
        ));
        out.heading("Numbers");
        self.numbers(&mut out);
        out.heading("Shape");
        self.shape(&mut out);
        if let Some(change) = &self.change {
            out.heading("Points that moved");
            moved(&mut out, change);
        }
        out.heading("Compared with published marks");
        self.marks(&mut out);
        out.heading("Map");
        let names = |low: bool| extreme(a, low);
        out.say(&format!(
            "Heights ({heights}) from 0, the lowest, to 9, the highest; not to scale; y runs up the page."
        ));
        out.raw(&text_map(&a.levels, &heights_of(a), COLUMNS).unwrap_or_else(|error| format!("no map: {error}")));
        out.say(&format!("Lowest at {}; highest at {}.", names(true), names(false)));
        out.heading("Say with it");
        for note in &self.notes {
            // The measuring part speaks of its own caution; ours is said once, below.
            if !["construction from movement", "since construction than"]
                .iter()
                .any(|said| note.contains(said))
            {
                out.item(&note.replace("stable", "unmoved"));
            }
        }
        out.item(if self.change.is_some() { CHANGE_CAUTION } else { CAUTION });
        out.item(NO_ENGINEERING);
        guarded(out.finish())
    }

    fn numbers(&self, out: &mut Lines) {
        let a = &self.analysis;
        out.row(
            "High to low",
            &format!(
                "{}. It mixes tilt with bend, so it is the poorest of these numbers.",
                mm_pm(a.high_low.value, a.high_low.sd)
            ),
        );
        let slope = a.tilt.slope;
        let way = if a.tilt.down_sd.is_finite() {
            format!(", down toward {}", self.toward(a.tilt.down.rad()))
        } else {
            "; too little to give its direction".into()
        };
        out.row(
            "Tilt",
            &format!(
                "{} ± {:.2} %{way}. Over the whole floor: {}.",
                slope.value.both(),
                100.0 * COVER_95 * slope.sd,
                mm(slope.value.value() * a.extent_mm())
            ),
        );
        out.row(
            "Off the best plane",
            &format!("{} from high to low, once tilt is taken out", mm(self.off_plane())),
        );
        for (name, line) in [
            ("Worst hogging line", &a.lines.hogging),
            ("Worst sagging line", &a.lines.sagging),
        ] {
            if let Some(line) = line {
                out.row(name, &self.line(line));
            }
        }
        if let Some(d) = &a.distortion {
            let name = |index: usize| a.levels.points().get(index).map_or("?", |point| point.name.as_str());
            out.row(
                "Angular distortion",
                &format!(
                    "{} ({}) from {} to {}, {} apart. It is the most of many pairs, so partly noise.",
                    ratio(d.distortion.value.value()),
                    ratio_range(d.distortion.value.value(), d.distortion.sd),
                    name(d.between.0),
                    name(d.between.1),
                    mm(d.apart_mm)
                ),
            );
        }
        for closure in self.reduction.iter().flat_map(|reduction| &reduction.closures) {
            let station = if closure.station.is_empty() {
                String::new()
            } else {
                format!(" from station {}", closure.station)
            };
            let spread = if closure.spread {
                "spread back over the readings"
            } else {
                "within the error of reading, left as it is"
            };
            out.row(
                "Closing error",
                &format!("{} at {}{station}: {spread}", mm(closure.error_mm), closure.point),
            );
        }
    }

    fn line(&self, line: &WorstLine) -> String {
        let [from, by, to] = line.line.map(|index| {
            self.analysis
                .levels
                .points()
                .get(index)
                .map_or("?", |point| point.name.as_str())
        });
        format!(
            "{} ({}): {} is {} {} than the line from {from} to {to}, {} long. Allowing for the search over many lines, at least {}.",
            ratio(line.ratio.value.value()),
            ratio_range(line.ratio.value.value(), line.ratio.sd),
            by,
            mm_pm(line.offset_mm.value.abs(), line.offset_mm.sd),
            if line.offset_mm.value > 0.0 { "higher" } else { "lower" },
            mm(line.chord_mm),
            ratio(line.at_least.value()),
        )
    }

    fn shape(&self, out: &mut Lines) {
        let Some(fit) = &self.analysis.shape else {
            return out.say("No shape is named: it takes eight points to tell one from noise.");
        };
        let bend = !matches!(fit.shape, Shape::NoPattern | Shape::PlainTilt);
        let sure = match fit.shape {
            Shape::Unclear => format!(
                "; the nearest is \"{}\", with {} of the evidence",
                self.named(fit.nearest),
                chance(fit.share)
            ),
            _ if bend => format!(
                "; {} of the evidence for this form over the others; height {}",
                chance(fit.share),
                mm_pm(fit.height_mm.value.abs(), fit.height_mm.sd)
            ),
            _ => String::new(),
        };
        out.say(&format!(
            "{}{sure}. Found by comparing forms, not by eye; readings stray {} about it.",
            capital(&self.named(fit.shape)),
            mm(fit.noise_mm)
        ));
        let left = mm(self.off_plane());
        let hidden = if self.analysis.tilt_hides() {
            format!(" {TILT_HIDES}")
        } else {
            String::new()
        };
        let high_low = mm(self.analysis.high_low.value);
        match (fit.shape, self.analysis.lines.worst()) {
            (Shape::NoPattern, _) | (_, None) => {}
            (Shape::PlainTilt, _) => out.say(&format!("Of {high_low} from high to low, all but {left} is tilt: it leans as one piece. Walls follow a tilt without bending, and a floor may be laid out of level.")),
            (_, Some(worst)) => out.say(&format!("From high to low it is {high_low}; with tilt taken out, {left}.{hidden} The worst of that lies along one line: {}. Walls crack over a bend sooner than over a tilt.", self.ends(worst))),
        }
    }

    /// The points of a line: `A1, B2, C3`.
    fn ends(&self, line: &WorstLine) -> String {
        let names = line.line.map(|index| {
            self.analysis
                .levels
                .points()
                .get(index)
                .map_or("?", |point| point.name.as_str())
        });
        names.join(", ")
    }

    /// Residuals from the plane, highest less lowest, mm.
    fn off_plane(&self) -> f64 {
        let residuals = self.analysis.plane.residuals(&self.analysis.levels);
        residuals.iter().copied().fold(0.0, f64::max) - residuals.iter().copied().fold(0.0, f64::min)
    }

    fn marks(&self, out: &mut Lines) {
        let a = &self.analysis;
        out.say("A mark is something to compare with. It settles nothing by itself, either way.");
        if let Some(worst) = a.lines.worst() {
            let allowed = worst.allowing_for_search();
            let limit = texas_deflection();
            let reading = match texas_reading(&allowed, 0) {
                TexasReading::Unlikely => {
                    "under the mark. Movement enough to deflect the slab is unlikely, unless visible signs of distress say otherwise"
                }
                TexasReading::MoreInformation | TexasReading::Likely => {
                    "more information is needed: over or near the mark. With more than minimal signs of distress, deflection is likely; with few, the survey alone does not say"
                }
            };
            out.item(&format!(
                "Bend, {} read: against 1 in 360 of the {}, for {}. Of three readings it may be given: {reading}. Chance that it is beyond the mark by error of reading, the search allowed for: {}.",
                ratio(worst.ratio.value.value()),
                limit.publisher,
                limit.purpose,
                chance(chance_beyond(&allowed, &limit))
            ));
            let name = if worst.offset_mm.value > 0.0 {
                "hogging"
            } else {
                "sagging"
            };
            if self.change.is_none()
                && let Some(sd) = a
                    .readings()
                    .iter()
                    .find(|reading| reading.name == name)
                    .and_then(|reading| reading.sd_as_movement)
            {
                let moved = Estimate {
                    value: allowed.value,
                    sd,
                };
                out.item(&format!(
                    "The mark is for movement since construction. Allowing too for how level it may have been built, the chance that the bend is beyond it: {}.",
                    chance(chance_beyond(&moved, &limit))
                ));
            }
        }
        let slope = a.tilt.slope;
        let tilt = texas_tilt();
        out.item(&format!(
            "Tilt, {}: against 1 in 100 (1 %) of the {}, for {}: {}. Chance that it is beyond: {}.",
            ratio(slope.value.value()),
            tilt.publisher,
            tilt.purpose,
            if slope.value.value() >= tilt.value.value() {
                "over it; to be considered with signs of distress"
            } else {
                "under it"
            },
            chance(chance_beyond(&slope, &tilt))
        ));
        bands(out, "Tilt", slope, &tilt_low_rise());
        if let Some(d) = &a.distortion {
            let hogging = a.lines.worst().is_some_and(|worst| worst.offset_mm.value > 0.0);
            bands(out, "Angular distortion", d.distortion, &skempton_macdonald());
            bands(out, "Angular distortion", d.distortion, &eurocode7(hogging));
        }
        if self.change.is_none() {
            let built = self
                .analysis
                .readings()
                .iter()
                .find(|reading| reading.name == "tilt")
                .and_then(|reading| reading.sd_as_movement);
            if let Some(sd) = built {
                out.item(&format!("Taken as movement since construction, the tilt is uncertain by ± {:.2} %, since how level it was built is unknown.", 100.0 * COVER_95 * sd));
            }
        }
    }
}

fn moved(out: &mut Lines, change: &Change) {
    if change.moved.is_empty() {
        out.say("None beyond the error of both visits.");
    }
    for one in change.moved.iter().take(20) {
        let way = if one.change_mm.value > 0.0 { "up" } else { "down" };
        out.item(&format!(
            "{}: {way} {}",
            one.point,
            mm_pm(one.change_mm.value.abs(), one.change_mm.sd)
        ));
    }
    if change.moved.len() > 20 {
        out.item(&format!("and {} more", change.moved.len().saturating_sub(20)));
    }
    if let Some(drift) = change.drift_mm {
        out.say(&format!(
            "The bench mark itself drifted by {}: taken out.",
            mm_pm(drift.value, drift.sd)
        ));
    }
}

fn bands<T: Copy + Into<f64>>(out: &mut Lines, what: &str, value: Estimate<T>, limits: &[Limit<T>]) {
    let band = band(value.value, limits);
    let size: f64 = value.value.into();
    let reached = band.reached.map(|limit| format!("reaches {}", mark(&limit)));
    let next = band.next.map(|limit| {
        format!(
            "short of {}; chance that it is beyond that: {}",
            mark(&limit),
            chance(chance_beyond(&value, &limit))
        )
    });
    let both: Vec<String> = reached.into_iter().chain(next).collect();
    out.item(&format!("{what}, {}: {}.", ratio(size), both.join(". It is ")));
}

fn heights_of(a: &Analysis) -> Vec<f64> {
    a.levels.points().iter().map(|point| point.z).collect()
}

/// The point that is lowest or highest.
fn extreme(a: &Analysis, low: bool) -> String {
    let sign = if low { 1.0 } else { -1.0 };
    let least = a
        .levels
        .points()
        .iter()
        .min_by(|one, two| (sign * one.z).total_cmp(&(sign * two.z)));
    least.map_or(String::new(), |point| point.name.clone())
}
