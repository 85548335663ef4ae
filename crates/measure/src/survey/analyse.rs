//! A whole survey in one call, and what it says as evidence.

use crate::Estimate;

use super::{
    AsBuilt, Distortion, Levels, LineSearch, Neighbours, Plane, SearchLimits, ShapeFit, SurveyError, Suspect, Tilt,
    fit_plane, fit_plane_robust, shape, worst_lines,
};

/// How a survey is analysed.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Which lines are admissible.
    pub lines: SearchLimits,
    /// Fit the plane by Huber's method instead of least squares.
    pub robust: bool,
    /// Leave out readings that stand far off their neighbours, and say so.
    pub set_aside: bool,
    /// How level the floor may have been built.
    pub as_built: AsBuilt,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            lines: SearchLimits::default(),
            robust: false,
            set_aside: true,
            as_built: AsBuilt::default(),
        }
    }
}

/// What one survey shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Analysis {
    /// The levels used, without any set aside.
    pub levels: Levels,
    /// The readings that stood far off their neighbours, by name, with how
    /// far, mm.
    pub suspects: Vec<(String, f64)>,
    /// The best plane.
    pub plane: Plane,
    /// Its tilt.
    pub tilt: Tilt,
    /// Highest less lowest, mm.
    pub high_low: Estimate<f64>,
    /// The worst lines.
    pub lines: LineSearch,
    /// The worst angular distortion between neighbours.
    pub distortion: Option<Distortion>,
    /// The pattern, when there are points enough.
    pub shape: Option<ShapeFit>,
    /// What must be said with the results, a sentence each.
    pub notes: Vec<String>,
    pub(super) as_built: AsBuilt,
}

/// Analyse reduced levels.
///
/// # Errors
///
/// Fewer than three points, or points in one line.
pub fn analyse(levels: &Levels, options: &Options) -> Result<Analysis, SurveyError> {
    let fit = |l: &Levels| {
        if options.robust {
            fit_plane_robust(l)
        } else {
            fit_plane(l)
        }
    };
    let first = fit(levels)?;
    let mut neighbours = Neighbours::of(levels)?;
    let found = neighbours.suspects(levels, &first);
    let suspects = found
        .iter()
        .map(|s| (levels.points()[s.point].name.clone(), s.off_mm))
        .collect();
    let mut notes = Vec::new();
    let out = set_aside(levels, &found, options.set_aside, &mut notes);
    let (mut levels, mut plane) = (levels.clone(), first);
    if !out.is_empty() {
        levels = levels.without(&out);
        plane = fit(&levels)?;
        neighbours = Neighbours::of(&levels)?;
    }
    let lines = worst_lines(&levels, &plane, &options.lines);
    if lines.worst().is_none() {
        notes.push(
            "No line between two readings is long enough, with a reading between, to give a deflection ratio."
                .to_owned(),
        );
    }
    if !lines.exact {
        notes.push(format!(
            "The worst line was looked for among {} of {} points.",
            lines.searched,
            levels.points().len()
        ));
    }
    let shape = match shape(&levels, &plane) {
        Ok(fit) => Some(fit),
        Err(e) => {
            notes.push(format!("No shape is named: {e}."));
            None
        }
    };
    notes.push(AS_BUILT.to_owned());
    notes.push(BUILT_SPREAD.to_owned());
    let distortion = neighbours.worst_distortion(&levels, &plane);
    Ok(Analysis {
        suspects,
        tilt: plane.tilt(),
        high_low: levels.high_low(),
        plane,
        lines,
        distortion,
        shape,
        notes,
        levels,
        as_built: options.as_built,
    })
}

const AS_BUILT: &str = "How level the floor was built is unknown: one survey can't tell construction from movement.";
const BUILT_SPREAD: &str = "New house slabs differed by 13.5 mm (0.53 in) from high to low on average (Walsh, Bashford & Mason 2001), so every number is less sure as a sign of movement since construction than as a measurement.";

impl Analysis {
    /// Longer side of the plan's bounding box, mm.
    pub fn extent_mm(&self) -> f64 {
        let range = |of: fn(&super::Level) -> f64| {
            let (low, high) = self
                .levels
                .points()
                .iter()
                .map(of)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
            high - low
        };
        range(|p| p.x).max(range(|p| p.y))
    }
}

fn set_aside(levels: &Levels, found: &[Suspect], leave: bool, notes: &mut Vec<String>) -> Vec<usize> {
    // So many that they are the floor, not slips: keep them.
    let few = found.len() * 10 <= levels.points().len().max(10);
    for s in found {
        let point = &levels.points()[s.point].name;
        let done = if leave && few {
            "it was left out"
        } else {
            "it was kept; check it"
        };
        notes.push(format!(
            "The reading at {point} stands {:.0} mm off its neighbours (a misreading, or a step?): {done}.",
            s.off_mm
        ));
    }
    if leave && few {
        found.iter().map(|s| s.point).collect()
    } else {
        Vec::new()
    }
}
