//! A level survey, said and drawn.

use serde_json::{Value, json};
use wythe_case::{Compass, Survey};
use wythe_measure::limits::{
    Limit, TexasReading, band, chance_beyond, eurocode7, skempton_macdonald, texas_deflection, texas_reading,
    texas_tilt, tilt_low_rise,
};
use wythe_measure::survey::{
    Analysis, Axis, Benchmark, Change, Corner, Edge, Options, Reduction, Shape, WorstLine, analyse, change, svg,
    text_map,
};
use wythe_measure::{COVER_95, Estimate, Length};
use wythe_text::Problems;

use super::lines::Lines;
use super::words::{chance, mark, mm, mm_pm, ratio, ratio_range};
use super::{NO_ENGINEERING, guarded, guarded_json, readings_json};
use crate::Error;

const CAUTION: &str = "A single survey shows the shape of a floor on one day. How level it was built is unknown, so it can't tell \
construction from movement. Published surveys of new house slabs found about 1/2 in from high to low on average \
(Walsh, Bashford & Mason 2001). A second survey at the same points, a season or a year on, can tell.";
const CHANGE_CAUTION: &str = "Two surveys show what changed between two days, not before. Clay moves with the seasons: \
compare visits in the same season, or read through a full year.";
/// As the picture of one survey says it, which a change does not.
const ONE_SURVEY: &str = "How level the floor was built is unknown: one survey can't tell construction from movement.";
/// Columns of the map.
const COLUMNS: usize = 60;

/// One survey, or the change between two, reduced and analysed.
#[derive(Clone, Debug)]
pub struct SurveyReport {
    title: String,
    facing: Option<(Compass, Compass)>,
    notes: Vec<String>,
    sd_mm: f64,
    analysis: Analysis,
    change: Option<Change>,
    reduction: Option<Reduction>,
}

impl SurveyReport {
    /// Reduces and analyses a survey.
    ///
    /// # Errors
    /// What stops it: too few points, points in one line, numbers that no floor has.
    pub fn new(survey: &Survey) -> Result<Self, Error> {
        let reduction = survey.reduce()?;
        let analysis =
            analyse(&reduction.levels, &Options::default()).map_err(|error| Problems::from(survey.problem(&error)))?;
        let notes = survey
            .notes
            .iter()
            .chain(&reduction.notes)
            .chain(&analysis.notes)
            .cloned()
            .collect();
        let when = survey.date.map_or(String::new(), |date| format!(", {date}"));
        Ok(Self {
            title: format!("{}{when}", survey.title),
            facing: survey.facing,
            notes,
            sd_mm: reduction.levels.sd_mm(),
            analysis,
            change: None,
            reduction: Some(reduction),
        })
    }

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
            if !note.contains("how it was built") && !note.contains("construction from movement") {
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
        let high_low = mm(self.analysis.high_low.value);
        match (fit.shape, self.analysis.lines.worst()) {
            (Shape::NoPattern, _) | (_, None) => {}
            (Shape::PlainTilt, _) => out.say(&format!("Of {high_low} from high to low, all but {left} is tilt: it leans as one piece. Walls follow a tilt without bending, and a floor may be laid out of level.")),
            (_, Some(worst)) => out.say(&format!("From high to low it is {high_low}; with tilt taken out, {left}. The worst of that lies along one line: {}. Walls crack over a bend sooner than over a tilt.", self.ends(worst))),
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
                "Bend, {} read: against 1/360 of the {}, for {}. Of three readings it may be given: {reading}. Chance that it is beyond the mark by error of reading, the search allowed for: {}.",
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
            "Tilt, {}: against 1/100 (1 %) of the {}, for {}: {}. Chance that it is beyond: {}.",
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

    /// The way of an angle from the x axis toward the y axis.
    fn toward(&self, rad: f64) -> String {
        match self.facing {
            Some((x, y)) => {
                let (east, north) = (rad.cos(), rad.sin());
                let (x, y) = (
                    if east < 0.0 { x.across() } else { x },
                    if north < 0.0 { y.across() } else { y },
                );
                // Within 22.5 degrees of a side, that side alone.
                match (east.abs() > 0.924, north.abs() > 0.924) {
                    (true, _) => format!("the {}", x.name()),
                    (_, true) => format!("the {}", y.name()),
                    _ if matches!(x, Compass::North | Compass::South) => format!("the {}-{}", x.name(), y.name()),
                    _ => format!("the {}-{}", y.name(), x.name()),
                }
            }
            None => {
                let part = |size: f64, axis: &str| {
                    if size.abs() < 0.383 {
                        None
                    } else {
                        Some(format!("{} {axis}", if size > 0.0 { "larger" } else { "smaller" }))
                    }
                };
                [part(rad.cos(), "x"), part(rad.sin(), "y")]
                    .into_iter()
                    .flatten()
                    .collect::<Vec<_>>()
                    .join(" and ")
            }
        }
    }

    fn named(&self, shape: Shape) -> String {
        let quarter = core::f64::consts::FRAC_PI_4;
        let edge = |edge| {
            self.toward(match edge {
                Edge::XMax => 0.0,
                Edge::YMax => 2.0 * quarter,
                Edge::XMin => 4.0 * quarter,
                Edge::YMin => 6.0 * quarter,
            })
        };
        let corner = |corner| {
            self.toward(match corner {
                Corner::XMaxYMax => quarter,
                Corner::XMinYMax => 3.0 * quarter,
                Corner::XMinYMin => 5.0 * quarter,
                Corner::XMaxYMin => 7.0 * quarter,
            })
        };
        let axis = |axis| match axis {
            Axis::X => "x",
            Axis::Y => "y",
        };
        match shape {
            Shape::NoPattern => "no tilt and no bend above the noise".into(),
            Shape::PlainTilt => "plain tilt: no bend above the noise".into(),
            Shape::EdgeDown(at) => format!("one edge is down, toward {}", edge(at)),
            Shape::EdgeUp(at) => format!("one edge is up, toward {}", edge(at)),
            Shape::CornerDown(at) => format!("one corner is down, toward {}", corner(at)),
            Shape::CornerUp(at) => format!("one corner is up, toward {}", corner(at)),
            Shape::Dome => "a dome: high in the middle".into(),
            Shape::Dish => "a dish: low in the middle".into(),
            Shape::Ridge(at) => format!("a ridge: high along a line that runs with {}", axis(at)),
            Shape::Trough(at) => format!("a trough: low along a line that runs with {}", axis(at)),
            Shape::Saddle => "a saddle: opposite sides up, the others down".into(),
            Shape::Unclear => "a bend above the noise, whose form can't be told".into(),
        }
    }

    /// As a picture, for print and for grey.
    ///
    /// # Errors
    /// Points that can't be drawn; a title that makes a determination.
    pub fn svg(&self) -> Result<String, Error> {
        let range = self.analysis.high_low.value;
        // Contours every 1/16, 1/8, 1/4 ... in, some six to twelve of them, no closer than the error.
        let every = [1, 2, 4, 8, 16, 32]
            .into_iter()
            .map(|n| Length::from_nm(n * 1_587_500))
            .find(|every| range / every.as_mm() <= 12.0 && every.as_mm() >= self.sd_mm);
        let every = every.unwrap_or(Length::from_nm(50_800_000));
        let drawn = svg(&self.analysis, every, &self.title)
            .map_err(|error| Problems::from(wythe_text::Problem::new(&self.title, error.to_string(), None)))?;
        let drawn = match &self.change {
            Some(_) => drawn
                .replace("Heights above the lowest point", "Change, above that of the lowest")
                .replace(ONE_SURVEY, "Seasons move clay: compare visits in the same season."),
            None => drawn,
        };
        guarded(drawn.replace("stable", "unmoved"))
    }

    /// As JSON: what was measured, with standard deviations; lengths in mm.
    ///
    /// # Errors
    /// A sentence that makes a determination.
    pub fn json(&self) -> Result<String, Error> {
        let a = &self.analysis;
        let name = |index: usize| a.levels.points().get(index).map(|point| point.name.clone());
        let line = |line: &WorstLine| {
            json!({
                "from": name(line.line[0]), "over": name(line.line[1]), "to": name(line.line[2]),
                "chord_mm": line.chord_mm, "offset_mm": line.offset_mm.value, "offset_sd_mm": line.offset_mm.sd,
                "ratio": line.ratio.value.value(), "ratio_sd": line.ratio.sd, "at_least": line.at_least.value(),
            })
        };
        let shape = a.shape.as_ref().map(|fit| json!({ "name": self.named(fit.shape), "share": fit.share, "height_mm": fit.height_mm.value, "height_sd_mm": fit.height_mm.sd, "noise_mm": fit.noise_mm }));
        let points: Vec<Value> = a
            .levels
            .points()
            .iter()
            .map(|p| json!({ "point": p.name, "x_mm": p.x, "y_mm": p.y, "z_mm": p.z, "readings": p.readings }))
            .collect();
        let moved: Option<Vec<Value>> = self.change.as_ref().map(|change| {
            change
                .moved
                .iter()
                .map(|one| json!({ "point": one.point, "change_mm": one.change_mm.value, "sd_mm": one.change_mm.sd }))
                .collect()
        });
        let notes: Vec<String> = self
            .notes
            .iter()
            .map(|note| note.replace("stable", "unmoved"))
            .collect();
        guarded_json(&json!({
            "format": 1,
            "title": self.title,
            "reading_sd_mm": self.sd_mm,
            "readings": readings_json(&a.readings()),
            "down_rad": if a.tilt.down_sd.is_finite() { Some(a.tilt.down.rad()) } else { None },
            "hogging": a.lines.hogging.as_ref().map(line),
            "sagging": a.lines.sagging.as_ref().map(line),
            "shape": shape,
            "moved": moved,
            "points": points,
            "notes": notes,
            "caution": [if self.change.is_some() { CHANGE_CAUTION } else { CAUTION }, NO_ENGINEERING],
        }))
    }
}

/// The change from one visit to the next. `benchmark` names a point that heights are taken from; without it the median
/// change counts as none.
///
/// # Errors
/// As [`SurveyReport::new`], of either visit; visits that share fewer than three points.
pub fn survey_change(before: &Survey, after: &Survey, benchmark: Option<&str>) -> Result<SurveyReport, Error> {
    let (first, second) = (before.reduce()?, after.reduce()?);
    let from = benchmark.map_or(Benchmark::None, |point| Benchmark::Point(point.to_owned()));
    let refused = |error| Problems::from(after.problem(&error));
    let change = change(&first.levels, &second.levels, &from).map_err(refused)?;
    let analysis = analyse(&change.levels, &Options::default()).map_err(refused)?;
    let mut notes: Vec<String> = Vec::new();
    if let (Some(one), Some(two)) = (before.date, after.date)
        && one >= two
    {
        notes.push(format!(
            "The dates of the visits, {one} and {two}, do not run forward: check which was first."
        ));
    }
    for note in before
        .notes
        .iter()
        .chain(&after.notes)
        .chain(&first.notes)
        .chain(&second.notes)
        .chain(&change.notes)
        .chain(&analysis.notes)
    {
        if !notes.contains(note) {
            notes.push(note.clone());
        }
    }
    let day = |survey: &Survey| {
        survey
            .date
            .map_or("an undated visit".to_owned(), |date| date.to_string())
    };
    Ok(SurveyReport {
        title: format!("{}, from {} to {}", after.title, day(before), day(after)),
        facing: after.facing.or(before.facing),
        notes,
        sd_mm: change.levels.sd_mm(),
        analysis,
        change: Some(change),
        reduction: None,
    })
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

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or(String::new(), |first| first.to_uppercase().chain(chars).collect())
}
