//! Cracks and gaps over time, said and drawn.

use serde_json::{Value, json};
use wythe_case::{CrackPoint, CrackReadings};
use wythe_measure::trend::{Movement, Trend, TrendFit, TrendVerdict, plan, season, trend, trend_readings, trend_svg};
use wythe_text::{Problem, Problems};

use super::lines::Lines;
use super::words::{capital, chance, mm, mm_pm};
use super::{NO_ENGINEERING, guarded, guarded_json, readings_json};
use crate::Error;

/// Days between the visits that are proposed: six weeks, the middle of the usual 4 to 8.
const VISIT_DAYS: f64 = 42.0;

/// What the dated readings of some points show.
#[derive(Clone, Debug)]
pub struct TrendReport {
    read: CrackReadings,
    trends: Vec<(CrackPoint, Trend)>,
}

impl TrendReport {
    /// Fits and compares the movements of every point.
    ///
    /// # Errors
    /// Every point with too few dates.
    pub fn new(read: &CrackReadings) -> Result<Self, Error> {
        let mut problems = Problems::new();
        let mut trends = Vec::new();
        for one in &read.points {
            match trend(&one.readings) {
                Ok(found) => trends.push((one.clone(), found)),
                Err(error) => problems.push(Problem::new(
                    &read.title,
                    format!("point `{}`: {error}", one.point),
                    None,
                )),
            }
        }
        Ok(problems.into_result(Self {
            read: read.clone(),
            trends,
        })?)
    }

    /// The names of the points, in the order read.
    pub fn points(&self) -> impl Iterator<Item = &str> {
        self.trends.iter().map(|(one, _)| one.point.as_str())
    }

    /// As plain text, at most 80 columns wide.
    ///
    /// # Errors
    /// A sentence that makes a determination, such as in a title.
    pub fn text(&self) -> Result<String, Error> {
        let mut out = Lines::titled(&format!("Readings over time: {}", self.read.title));
        out.say(&format!(
            "One reading is good to ± {}. Every ± is a 95 % error.",
            mm(wythe_measure::COVER_95 * self.read.sd_mm)
        ));
        for (one, found) in &self.trends {
            out.heading(&one.point);
            let (first, last) = (one.dates.iter().min(), one.dates.iter().max());
            if let (Some(first), Some(last)) = (first, last) {
                out.row(
                    "Seen",
                    &format!(
                        "{} readings from {first} to {last}, {:.1} months",
                        one.readings.len(),
                        found.span_days / (365.25 / 12.0)
                    ),
                );
            }
            out.row("It may be said", said(found.verdict));
            match found.verdict {
                TrendVerdict::Is(movement) => {
                    if let Some(fit) = found.fits.iter().find(|fit| fit.movement == movement) {
                        sizes(&mut out, fit);
                    }
                }
                TrendVerdict::CannotSeparate | TrendVerdict::NoChangeYet | TrendVerdict::Unclear => {}
            }
            if let Some(widest) = widest(&season(found)) {
                out.row("Widest", &widest);
            }
            if whole_year(found) {
                let shares: Vec<String> = found
                    .fits
                    .iter()
                    .map(|fit| format!("{} {}", name(fit.movement), chance(fit.weight)))
                    .collect();
                out.row("Evidence", &shares.join("; "));
            }
            for note in &found.notes {
                out.item(note);
            }
        }
        out.heading("Watching on");
        match plan(VISIT_DAYS, 1.0, self.read.sd_mm) {
            Ok(plan) => {
                out.say(&format!(
                    "Every six weeks for a year, {} visits. {} That would show a one-way movement of {} a year four times in five, the seasons allowed for. A change of more than {} between two visits is more than error of reading: call.",
                    plan.visits.len(), plan.method, mm(plan.power.at_80_percent), mm(plan.prompt_change_mm)
                ));
                for note in plan.notes {
                    out.item(note);
                }
            }
            Err(error) => out.say(&format!("No plan: {error}.")),
        }
        out.heading("Say with it");
        for note in &self.read.notes {
            out.item(note);
        }
        out.item("How a crack moved says nothing yet of why it did.");
        out.item(NO_ENGINEERING);
        guarded(out.finish())
    }

    /// The plot of one point; of the first, when none is named. None when there is no such point.
    ///
    /// # Errors
    /// A title that makes a determination.
    pub fn svg(&self, point: Option<&str>) -> Result<Option<String>, Error> {
        let found = self
            .trends
            .iter()
            .find(|(one, _)| point.is_none_or(|point| one.point == point));
        found
            .map(|(one, trend)| {
                guarded(trend_svg(
                    &one.readings,
                    trend,
                    &format!("{}: {}", self.read.title, one.point),
                ))
            })
            .transpose()
    }

    /// As JSON: lengths in mm, rates in mm per year.
    ///
    /// # Errors
    /// A sentence that makes a determination.
    pub fn json(&self) -> Result<String, Error> {
        let points: Vec<Value> = self
            .trends
            .iter()
            .map(|(one, found)| {
                let fits: Vec<Value> = found
                    .fits
                    .iter()
                    .filter(|_| whole_year(found))
                    .map(|fit| json!({ "movement": name(fit.movement), "share": fit.weight, "rate": fit.rate_mm_per_year.value, "rate_sd": fit.rate_mm_per_year.sd, "half_swing": fit.amplitude_mm.value, "half_swing_sd": fit.amplitude_mm.sd }))
                    .collect();
                json!({ "point": one.point, "says": said(found.verdict), "span_days": found.span_days, "widened": found.widened, "fits": fits, "readings": readings_json(&trend_readings(found, &one.point)), "notes": found.notes })
            })
            .collect();
        guarded_json(
            &json!({ "format": 1, "title": self.read.title, "reading_sd_mm": self.read.sd_mm, "points": points, "notes": self.read.notes, "caution": [NO_ENGINEERING] }),
        )
    }
}

/// Whether a full year was seen. The rates and shares of less mislead, so they are not given.
fn whole_year(found: &Trend) -> bool {
    !matches!(found.verdict, TrendVerdict::CannotSeparate | TrendVerdict::NoChangeYet)
}

/// The months that the peak may lie in at 95 %: `in September`, `from August to October`.
fn widest(found: &[&str]) -> Option<String> {
    let names: Vec<String> = found
        .iter()
        .filter_map(|name| name.strip_prefix("widest_").map(capital))
        .collect();
    match names.as_slice() {
        [] => None,
        [one] => Some(format!("in {one}")),
        [first, .., last] => Some(format!("from {first} to {last}, at some time")),
    }
}

fn sizes(out: &mut Lines, fit: &TrendFit) {
    if matches!(fit.movement, Movement::Linear | Movement::Both) {
        let way = if fit.rate_mm_per_year.value > 0.0 {
            "opening"
        } else {
            "closing"
        };
        out.row(
            "One way",
            &format!(
                "{way}, {} a year",
                mm_pm(fit.rate_mm_per_year.value.abs(), fit.rate_mm_per_year.sd)
            ),
        );
    }
    if matches!(fit.movement, Movement::Seasonal | Movement::Both) {
        out.row(
            "With the seasons",
            &format!(
                "{} from its middle to either end",
                mm_pm(fit.amplitude_mm.value, fit.amplitude_mm.sd)
            ),
        );
    }
}

fn name(movement: Movement) -> &'static str {
    match movement {
        Movement::Constant => "still",
        Movement::Linear => "one way",
        Movement::Seasonal => "with the seasons",
        Movement::Both => "both",
    }
}

fn said(verdict: TrendVerdict) -> &'static str {
    match verdict {
        TrendVerdict::Is(Movement::Constant) => "no change beyond the error, over a full year of seasons",
        TrendVerdict::Is(Movement::Linear) => "it moved one way",
        TrendVerdict::Is(Movement::Seasonal) => "it moved to and fro with the seasons",
        TrendVerdict::Is(Movement::Both) => "it moved to and fro with the seasons, and one way too",
        TrendVerdict::CannotSeparate => {
            "cannot separate seasonal from one-way movement: less than a full year was seen"
        }
        TrendVerdict::NoChangeYet => "no change beyond the error so far, in less than a full year",
        TrendVerdict::Unclear => "it moved in a way that no one pattern explains best",
    }
}
