//! From the sheets that a case names to the numbers computed from them.

mod cracks;
mod frames;
mod site;

pub(super) use cracks::cracks;
pub(super) use frames::{opening, wall};
pub(super) use site::site;

use wythe_measure::survey::{Analysis, Benchmark, Corner, Edge, Options, Part, SurveyError, analyse, change};
use wythe_measure::trend::{season, trend, trend_readings};
use wythe_measure::{Quantity, Reading, lintel as reckon};
use wythe_text::{Fields, Item, Problems};

use super::desk::Desk;
use crate::sheets::{CrackReadings, Lintel, Survey};
use crate::{Case, Computed, Readings};

/// What lies on each side of a plan, and inside it.
#[derive(Default)]
pub(super) struct Sides {
    /// Low x, high x, low y, high y.
    sides: [Option<usize>; 4],
    inside: Option<usize>,
}

impl Sides {
    pub fn read(desk: &mut Desk, fields: &Fields<'_>) -> Self {
        const NAMES: [&str; 4] = ["x_low", "x_high", "y_low", "y_high"];
        let mut read = Self::default();
        if let Some(item) = fields.optional("sides") {
            let inner = item.fields(&mut desk.out, &NAMES);
            read.sides = NAMES.map(|name| inner.optional(name).and_then(|item| desk.place(&item)));
        }
        read.inside = fields.optional("inside").and_then(|item| desk.place(&item));
        read
    }

    fn side(&self, edge: Edge) -> Option<usize> {
        let at = match edge {
            Edge::XMin => 0,
            Edge::XMax => 1,
            Edge::YMin => 2,
            Edge::YMax => 3,
        };
        self.sides.get(at).copied().flatten()
    }

    /// The places that a part of the plan may be: of a corner, those that touch both of its sides.
    fn places(&self, case: &Case, part: Part) -> Vec<usize> {
        match part {
            Part::Middle => self.inside.into_iter().collect(),
            Part::Edge(edge) => self.side(edge).into_iter().collect(),
            Part::Corner(corner) => {
                let (x, y) = match corner {
                    Corner::XMinYMin => (Edge::XMin, Edge::YMin),
                    Corner::XMaxYMin => (Edge::XMax, Edge::YMin),
                    Corner::XMinYMax => (Edge::XMin, Edge::YMax),
                    Corner::XMaxYMax => (Edge::XMax, Edge::YMax),
                };
                let Some((x, y)) = self.side(x).zip(self.side(y)) else {
                    return Vec::new();
                };
                (0..case.places.len())
                    .filter(|&at| case.touching(at, x) && case.touching(at, y))
                    .collect()
            }
        }
    }
}

/// A survey of the case, kept for what is compared with it.
pub(super) struct Floor {
    pub id: String,
    pub sides: Sides,
    pub analysis: Analysis,
}

/// A survey, and what changed since an earlier one.
pub(super) fn survey(
    case: &Case,
    blank: Readings,
    read: &Survey,
    at: usize,
    sides: &Sides,
    earlier: Option<(Survey, Vec<String>)>,
) -> Result<(Readings, Analysis), Problems> {
    let refused = |error: SurveyError| Problems::from(read.problem(&error));
    let reduction = read.reduce()?;
    let analysis = analyse(&reduction.levels, &Options::default()).map_err(refused)?;
    let mut found: Vec<Computed> = analysis
        .readings()
        .into_iter()
        .map(|reading| one(reading, &[at]))
        .collect();
    for (part, reading) in analysis.local_readings() {
        let places = sides.places(case, part);
        if !places.is_empty() {
            found.push(one(reading, &places));
        }
    }
    let mut notes: Vec<String> = read
        .notes
        .iter()
        .chain(&reduction.notes)
        .chain(&analysis.notes)
        .cloned()
        .collect();
    if let Some((before, marks)) = earlier {
        let from = match marks.as_slice() {
            [] => Benchmark::None,
            [mark] => Benchmark::Point(mark.clone()),
            _ => Benchmark::Stable(marks),
        };
        let changed = change(&before.reduce()?.levels, &reduction.levels, &from).map_err(refused)?;
        notes.extend(changed.notes.iter().cloned());
        found.extend(changed.reading().map(|reading| one(reading, &[at])));
    }
    let readings = Readings {
        title: titled(&blank, &read.title, &read.whole_problem(String::new()).file),
        date: read.date,
        taken: (analysis.levels.points().len(), "points"),
        sd_mm: reduction.levels.sd_mm(),
        computed: found,
        notes,
        ..blank
    };
    Ok((readings, analysis))
}

/// A loose lintel. Where a bare angle's dip does not apply, what was seen is still given, and the notes say why.
pub(super) fn lintel(blank: Readings, read: &Lintel, at: usize, item: &Item<'_>) -> Result<Readings, Problems> {
    let from = [read.title.clone()];
    let mut notes = read.notes.clone();
    let mut readings = match reckon::expected(&read.lintel) {
        Ok(result) => {
            notes.extend(result.notes.iter().cloned());
            reckon::lintel_readings(&read.lintel, &result, read.dip_mm, &from)
        }
        Err(error @ wythe_measure::MeasureError::Undetermined { .. }) => {
            notes.push(format!("No dip to expect was reckoned: {error}."));
            reckon::lintel_seen(&read.lintel, read.dip_mm, &from)
        }
        Err(error) => return Err(at_item(item, error.to_string())),
    };
    if let Some((projection, bed)) = read.overhang {
        let found = reckon::overhang_reading(projection, bed, &from);
        readings.push(found.map_err(|error| at_item(item, error.to_string()))?);
    }
    Ok(Readings {
        taken: (readings.len(), "numbers"),
        sd_mm: read.dip_mm.map_or(0.0, |dip| dip.sd),
        computed: readings.into_iter().map(|reading| one(reading, &[at])).collect(),
        notes,
        ..blank
    })
}

/// Where the points of a trend are, and what each is a crack or gap of.
pub(super) struct Points {
    all: Option<(usize, String)>,
    named: Vec<(String, usize, String)>,
}

impl Points {
    pub fn read(desk: &mut Desk, fields: &Fields<'_>, at: Option<usize>) -> Self {
        let mut named = Vec::new();
        let whole = fields.optional("clue").and_then(|item| desk.name(&item));
        let item = match fields.optional("points") {
            Some(item) => Some(item),
            None if at.is_none() => fields.required(&mut desk.out, "points"),
            None if whole.is_none() => fields.required(&mut desk.out, "clue"),
            None => None,
        };
        for (point, item) in item.map(|item| item.entries(&mut desk.out)).unwrap_or_default() {
            let inner = item.fields(&mut desk.out, &["at", "clue"]);
            let place = match inner.optional("at") {
                Some(item) => desk.place(&item),
                None if at.is_none() => inner.required(&mut desk.out, "at").map(|_| 0),
                None => at,
            };
            let clue = match inner.optional("clue") {
                Some(item) => desk.name(&item),
                None if whole.is_none() => inner.required(&mut desk.out, "clue").map(|_| String::new()),
                None => whole.clone(),
            };
            named.extend(place.zip(clue).map(|(place, clue)| (point.to_owned(), place, clue)));
        }
        Self {
            all: at.zip(whole),
            named,
        }
    }

    fn of(&self, point: &str) -> Option<(usize, String)> {
        let named = self.named.iter().find(|(name, ..)| name == point);
        named
            .map(|(_, at, clue)| (*at, clue.clone()))
            .or_else(|| self.all.clone())
    }
}

/// Dated readings: of each point the last width, and where a full year was seen its rate, its swing and its season.
pub(super) fn trend_of(
    case: &Case,
    blank: Readings,
    read: &CrackReadings,
    points: &Points,
    item: &Item<'_>,
) -> Result<Readings, Problems> {
    let mut problems = Problems::new();
    for (name, ..) in &points.named {
        if !read.points.iter().any(|one| one.point == *name) {
            let known: Vec<&str> = read.points.iter().map(|one| one.point.as_str()).collect();
            let help = Some(format!("the points read are {}", known.join(", ")));
            problems.push(item.doc().problem_in(
                &item.locus(),
                &["points", name],
                format!("no reading is of the point `{name}`"),
                help,
            ));
        }
    }
    let (mut found, mut notes, mut count) = (Vec::new(), read.notes.clone(), 0_usize);
    for one_point in &read.points {
        let name = &one_point.point;
        count = count.saturating_add(one_point.readings.len());
        let Some((at, clue)) = points.of(name) else {
            notes.push(format!("The point {name} was given no place, so it says nothing here."));
            continue;
        };
        let (mut readings, mut findings) = (Vec::new(), Vec::new());
        if let Some(last) = one_point
            .readings
            .iter()
            .reduce(|a, b| if b.day > a.day { b } else { a })
        {
            readings.push(Reading {
                name: "crack-width",
                method: "the latest reading",
                quantity: Quantity::Length,
                value: last.value_mm,
                sd: last.sd_mm,
                sd_as_movement: None,
                from: vec![name.clone()],
                notes: Vec::new(),
            });
        }
        match trend(&one_point.readings) {
            Ok(fitted) => {
                notes.extend(fitted.notes.iter().map(|note| format!("{name}: {note}")));
                readings.extend(trend_readings(&fitted, name));
                findings = season(&fitted);
            }
            Err(error) => notes.push(format!("{name}: no trend is given: {error}.")),
        }
        // What kind of crack it is says what its width is of; its rate and swing say what they are themselves, and are
        // of what it lies in too.
        let around: Vec<usize> = std::iter::once(at)
            .chain(case.around(at))
            .filter(|at| *at > 0)
            .collect();
        found.extend(readings.into_iter().map(|reading| {
            let width = reading.name == "crack-width";
            Computed {
                clue: width.then(|| clue.clone()),
                at: if width { vec![at] } else { around.clone() },
                findings: if width { findings.clone() } else { Vec::new() },
                reading,
            }
        }));
    }
    problems.into_result(Readings {
        taken: (count, "dated readings"),
        sd_mm: read.sd_mm,
        computed: found,
        notes,
        ..blank
    })
}

fn one(reading: Reading, at: &[usize]) -> Computed {
    Computed {
        reading,
        at: at.to_vec(),
        clue: None,
        findings: Vec::new(),
    }
}

fn at_item(item: &Item<'_>, what: String) -> Problems {
    item.doc().problem_at(&item.locus(), what, None).into()
}

/// The title that the entry gives, else the sheet's own, else the id.
fn titled(blank: &Readings, own: &str, file: &str) -> String {
    if blank.title != blank.id || file.ends_with(own) {
        return blank.title.clone();
    }
    own.to_owned()
}
