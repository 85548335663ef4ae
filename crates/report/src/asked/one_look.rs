//! One look asked for, and what its answer did.

use wythe_case::Case;
use wythe_engine::{Conclusion, Look, Outcome};
use wythe_pack::Pack;

use super::look::says;
use super::look_text::moves;
use crate::build::conclusions;
use crate::number::short_chance;
use crate::phrase::{capital, clean, sentence, the_place, words};
use crate::wrap::{Form, Lines};
use crate::{ReportError, page_since, plain};

/// Most moved chances told.
const MOVED: usize = 3;
/// A chance that moved by less is not told of.
const LITTLE: f64 = 0.005;

/// The question for one look: where, what, how, what it could change, and what may be answered.
///
/// # Errors
/// A sentence that makes a determination.
pub fn look_question(pack: &Pack, case: &Case, outcome: &Outcome, look: &Look) -> Result<String, ReportError> {
    let clue = &pack[look.clue];
    let place = case.places.get(look.at).map(the_place).unwrap_or_default();
    let says = says(pack, case, outcome, look);
    let mut lines = Lines::default();
    lines.say(0, &format!("Look next, at {place}: {}.", clue.title));
    let minutes = format!("about {:.0} min", look.minutes.max(1.0));
    lines.say(
        2,
        &format!(
            "{} [{}, {minutes}]",
            sentence(&clue.look_for),
            words(clue.effort.name())
        ),
    );
    for tells in says.tells.iter().take(1) {
        lines.say(2, &capital(&moves(tells)));
    }
    if let Some(wait) = &look.wait {
        let days = wait.days;
        lines.say(
            2,
            &format!("Other looks must wait {days} days after it. {}", sentence(&wait.reason)),
        );
    }
    let grades: Vec<String> = clue.grades.iter().map(|grade| words(&grade.id)).collect();
    let size = if clue.measured_by.is_some() {
        "; or a size, such as 1/16 in"
    } else {
        ""
    };
    lines.say(2, &format!("Answer: {}{size}.", grades.join(", ")));
    lines.say(
        2,
        "Or: not reached: WHY; skip; back (the last answer was a slip); stop.",
    );
    lines.written(Form::Text)
}

/// The next look where none pays for its time: what it is, what it is worth and what its time costs.
///
/// # Errors
/// A sentence that makes a determination.
pub fn look_anyway(pack: &Pack, case: &Case, look: &Look) -> Result<String, ReportError> {
    let place = case.places.get(look.at).map(the_place).unwrap_or_default();
    let mut lines = Lines::default();
    let worth = match look.worth {
        worth if worth < 1e-9 => "no grade of it would carry a conclusion over the bound for a visit".to_string(),
        worth => format!("worth about {} of a needless engineer's visit", short_chance(worth)),
    };
    let costs = short_chance(pack.policy.look_costs(look.effort));
    lines.say(
        0,
        &format!(
            "The next look would be, at {place}: {} ({}, about {:.0} min). It is not worth its time: {worth}, and its time \
             costs {costs} of one.",
            clean(&pack[look.clue].title),
            words(pack[look.clue].effort.name()),
            look.minutes.max(1.0),
        ),
    );
    lines.written(Form::Text)
}

/// What an answer did: the changes of support and action where there are any, and the chances that moved most.
///
/// # Errors
/// A sentence that makes a determination.
pub fn look_answered(pack: &Pack, case: &Case, before: &Outcome, after: &Outcome) -> Result<String, ReportError> {
    let page = page_since(pack, case, before, after)?;
    let then = |one: &Conclusion| before.conclusions.iter().find(|other| other.about == one.about);
    let mut moved: Vec<(f64, String)> = Vec::new();
    let mut regraded = false;
    for one in &after.conclusions {
        let Some(then) = then(one) else { continue };
        regraded |= (then.support, then.action) != (one.support, one.action);
        let by = (one.chance - then.chance).abs();
        if by >= LITTLE {
            let title = conclusions::title_and_place(pack, case, one.about);
            let (from, to) = (short_chance(then.chance), short_chance(one.chance));
            moved.push((by, format!("{} from {from} to {to}", title)));
        }
    }
    moved.sort_by(|a, b| b.0.total_cmp(&a.0));
    moved.truncate(MOVED);
    let mut lines = Lines::default();
    if regraded {
        lines.raw(&plain::changes_alone(&page, Some("By this answer")));
    } else if moved.is_empty() {
        lines.say(0, "It moved no chance by as much as 0.005, and no support or action.");
    } else {
        let moved: Vec<String> = moved.into_iter().map(|(_, text)| text).collect();
        lines.say(
            0,
            &format!("Moved: {}. No support or action changed.", moved.join("; ")),
        );
    }
    lines.written(Form::Text)
}
