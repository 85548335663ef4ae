//! The house drawn: in plan and wall by wall from outside, with what was seen, what was looked for and not there, what
//! could not be seen and what nobody has looked at yet.
//!
//! Nothing is to scale. Where a place stands follows from what it lies in, what it touches and what its name says
//! (front, back, left, right, or a way of the compass; upstairs, basement); each storey is a plan of its own; what a kind of place is in a drawing, the pack says.

mod block;
mod earlier;
mod ground;
mod group;
mod house;
mod inside;
mod key;
mod marks;
mod openings;
mod outside;
mod rooms;
mod sides;
mod storeys;

pub(crate) use marks::{HIGH, State, shape};

use std::collections::BTreeMap;

use wythe_case::Case;
use wythe_engine::{Outcome, Walk};
use wythe_pack::Pack;

use crate::ReportError;
use crate::phrase::clean;
use crate::svg::Svg;

/// Whether a drawing carries its key: what each mark says, and the cautions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Key {
    /// Below the drawing: it stands alone, in print.
    Below,
    /// Left out: a page around the drawing says it.
    LeftOut,
}

/// The letter and number of each sighting in the drawing of a walk, by its id.
pub(crate) fn names_of_marks(pack: &Pack, case: &Case, walk: &Walk) -> BTreeMap<String, String> {
    let marks = marks_of(pack, case, walk).into_values().flatten();
    marks
        .flat_map(|mark| {
            let own = (mark.sighting.clone(), mark.name());
            let earlier = mark.earlier.into_iter().map(|one| (one.sighting.clone(), one.name()));
            earlier.chain([own]).collect::<Vec<_>>()
        })
        .filter_map(|(sighting, name)| Some((sighting?, name)))
        .collect()
}

/// The marks at the end of a walk, with those that were replaced on the way.
fn marks_of(pack: &Pack, case: &Case, walk: &Walk) -> BTreeMap<usize, Vec<marks::Mark>> {
    let last = walk.steps.last().map_or(&walk.start, |step| &step.outcome);
    let case = &*wythe_engine::with_computed(pack, case);
    let mut marks = marks::marks(pack, case, last);
    earlier::put(pack, case, walk, &mut marks);
    marks
}

/// A line of the key to a drawing: what one mark says.
#[derive(Clone, Debug, PartialEq)]
pub struct KeyLine {
    /// What became of the look, with the letter that stands for it: `S: seen`.
    pub state: &'static str,
    /// Its letter and number.
    pub mark: String,
    /// What it says.
    pub says: String,
    /// Id of its sighting; none where nobody has looked.
    pub sighting: Option<String>,
    /// Of one that was replaced on the way: the id of the sighting that came after it.
    pub until: Option<String>,
}

/// The key to the drawing of a walk, by letter and then by number; those that were replaced on the way are among them.
pub(crate) fn walked_key(pack: &Pack, case: &Case, walk: &Walk) -> Vec<KeyLine> {
    let marks = marks_of(pack, case, walk).into_values().flatten();
    let each = |mut mark: marks::Mark| {
        let mut all = std::mem::take(&mut mark.earlier);
        all.push(mark);
        all
    };
    let mut all: Vec<marks::Mark> = marks.flat_map(each).collect();
    all.sort_by_key(|mark| (mark.state, mark.number));
    let line = |mark: marks::Mark| KeyLine {
        state: mark.state.says(),
        mark: mark.name(),
        says: mark.says,
        sighting: mark.sighting,
        until: mark.until,
    };
    all.into_iter().map(line).collect()
}

/// The house of a walk, without a key: as [`plan_svg`], and each sighting that was replaced is a group in the place of the
/// one that stands, of the class `later`, with the id of the one that came after it as `data-until`.
pub(crate) fn walked_svg(pack: &Pack, case: &Case, walk: &Walk) -> Result<String, ReportError> {
    let case = &*wythe_engine::with_computed(pack, case);
    drawn(pack, case, &marks_of(pack, case, walk), Key::LeftOut)
}

/// The house in plan and from outside, as SVG.
///
/// Each storey that the case has places on is a plan, with its name as `data-storey`. Each place is a group with the id `place-ID` in the plan and `outside-ID` on a wall seen from outside (a corner:
/// `left-end-ID` and `right-end-ID`), and with `data-place`. Each sighting is a group with the id `sighting-ID`, and
/// the same with `-outside`, `-left-end` or `-right-end` behind it, and with `data-sighting`; a place that nobody has
/// looked at carries `not-looked-ID`. Classes: `plan`, `elevation`, `place`, `key`; and `mark` with `seen`,
/// `none-there`, `not-reached` or `not-looked`. Each mark has a title that says it in words.
///
/// # Errors
/// A text in it makes a determination.
pub fn plan_svg(pack: &Pack, case: &Case, outcome: &Outcome, with: Key) -> Result<String, ReportError> {
    let case = &*wythe_engine::with_computed(pack, case);
    drawn(pack, case, &marks::marks(pack, case, outcome), with)
}

fn drawn(
    pack: &Pack,
    case: &Case,
    marks: &BTreeMap<usize, Vec<marks::Mark>>,
    with: Key,
) -> Result<String, ReportError> {
    let house = house::House::of(pack, case);
    let width = ground::width(&house);
    let mut svg = Svg::default();
    let top = key::head(&mut svg, case, width);
    let storeys = storeys::storeys(&house);
    let y = ground::draw_each(&mut svg, &storeys, marks, top, width);
    let y = key::beside(&mut svg, &house, marks, y + block::GAP, width);
    let mut y = outside::draw(&mut svg, &storeys, marks, y + block::GAP, width);
    if with == Key::Below {
        y = key::key(&mut svg, marks, y, width);
        y = key::cautions(&mut svg, pack, y, width);
    }
    let title = format!("{}: plan and walls", clean(&case.title));
    svg.finish(
        width,
        y + block::GAP,
        &title,
        "A scheme of the house with what was seen and what was not.",
    )
}
