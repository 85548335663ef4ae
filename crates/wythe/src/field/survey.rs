//! A level survey, said and drawn.

use serde_json::{Value, json};
use wythe_case::{Compass, Survey};
use wythe_measure::Length;
use wythe_measure::survey::{Analysis, Benchmark, Change, Options, Reduction, WorstLine, analyse, change, svg};
use wythe_text::Problems;

use super::{NO_ENGINEERING, guarded, guarded_json, readings_json};
use crate::Error;

pub(super) const CAUTION: &str = "A single survey shows the shape of a floor on one day. How level it was built is unknown, so it can't tell \
construction from movement. Published surveys of new house slabs found about 1/2 in from high to low on average \
(Walsh, Bashford & Mason 2001). A second survey at the same points, a season or a year on, can tell.";
pub(super) const CHANGE_CAUTION: &str = "Two surveys show what changed between two days, not before. Clay moves with the seasons: \
compare visits in the same season, or read through a full year.";
/// As the picture of one survey says it, which a change does not.
const ONE_SURVEY: &str = "How level the floor was built is unknown: one survey can't tell construction from movement.";

/// One survey, or the change between two, reduced and analysed.
#[derive(Clone, Debug)]
pub struct SurveyReport {
    pub(super) title: String,
    pub(super) facing: Option<(Compass, Compass)>,
    pub(super) notes: Vec<String>,
    pub(super) sd_mm: f64,
    pub(super) analysis: Analysis,
    pub(super) change: Option<Change>,
    pub(super) reduction: Option<Reduction>,
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

/// The change from one visit to the next. `benchmarks` names the point that heights are taken from, or several whose mean
/// they are taken from and that check one another; without any the median change counts as none.
///
/// # Errors
/// As [`SurveyReport::new`], of either visit; visits that share fewer than three points.
pub fn survey_change(before: &Survey, after: &Survey, benchmarks: &[String]) -> Result<SurveyReport, Error> {
    let (first, second) = (before.reduce()?, after.reduce()?);
    for name in benchmarks {
        for (survey, levels) in [(before, &first.levels), (after, &second.levels)] {
            if !levels.points().iter().any(|point| point.name == *name) {
                let what = format!("the bench mark `{name}` is not a point of this survey");
                return Err(Problems::from(survey.whole_problem(what)).into());
            }
        }
    }
    let from = match benchmarks {
        [] => Benchmark::None,
        [one] => Benchmark::Point(one.clone()),
        several => Benchmark::Stable(several.to_vec()),
    };
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
