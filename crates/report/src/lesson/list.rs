//! Every step as a list, for print, for a reader that runs no script, and for reading through.

use wythe_engine::decibans;

use super::{Lesson, LessonStep, State};
use crate::number::{short_chance, times};
use crate::steps::{in_decibans, tenths};
use crate::svg::escaped;

/// Decibans from which small moves together are told.
const SMALL: f64 = 0.5;

pub(super) fn steps(lesson: &Lesson) -> String {
    let mut before = &lesson.start;
    let mut items = String::new();
    for step in &lesson.steps {
        items.push_str(&item(lesson, step, before));
        before = &step.state;
    }
    format!(
        "<details class=\"all-steps\" data-case=\"{}\"><summary>Every step of “{}”, as a list</summary>\
         <ol>{items}</ol>{}</details>",
        escaped(&lesson.case),
        escaped(&lesson.title),
        small_moves(lesson)
    )
}

/// What the moves come to that are too small to be told at their step, where a chance would be another without them.
fn small_moves(lesson: &Lesson) -> String {
    let Some(last) = lesson.steps.last() else {
        return String::new();
    };
    let mut said: Vec<String> = Vec::new();
    for (at, belief) in lesson.beliefs.iter().enumerate() {
        let stands = |state: &State| state.chances.get(at).map_or(f64::NAN, |chance| decibans(*chance));
        let mut weight = 0.0;
        let mut before = &lesson.start;
        for step in &lesson.steps {
            if !step.moved.iter().any(|told| told.belief == at) {
                weight += stands(&step.state) - stands(before);
            }
            before = &step.state;
        }
        if let Some(now) = chance(&last.state, at).filter(|_| weight.abs() >= SMALL && weight.is_finite()) {
            let (title, did) = (escaped(&belief.title), times(weight));
            said.push(format!(
                "<li>{title}: {did} ({}); it stands at {now}.</li>",
                tenths(weight)
            ));
        }
    }
    if said.is_empty() {
        return String::new();
    }
    format!(
        "<p>Moves of less than a deciban are not told at their step. Together they come to:</p><ul>{}</ul>",
        said.concat()
    )
}

fn chance(state: &State, at: usize) -> Option<String> {
    state.chances.get(at).map(|chance| short_chance(*chance))
}

fn item(lesson: &Lesson, step: &LessonStep, before: &State) -> String {
    let moved: Vec<String> = step
        .moved
        .iter()
        .filter_map(|told| {
            let title = escaped(&lesson.beliefs.get(told.belief)?.title);
            let (from, to) = (chance(before, told.belief)?, chance(&step.state, told.belief)?);
            let (times, by) = (times(told.decibans), in_decibans(told.decibans));
            // Near 0 or 1 a chance moves less than its digits show.
            let chances = if from == to {
                format!("{to} before and after")
            } else {
                format!("{from} to {to}")
            };
            Some(format!("{title} {chances} ({times}; {by})"))
        })
        .collect();
    let did = if moved.is_empty() {
        "It moved nothing shown here by as much as a deciban.".to_string()
    } else {
        format!("It moved: {}.", moved.join("; "))
    };
    let asides: String = step.asides.iter().map(|one| format!(" {}", escaped(one))).collect();
    format!(
        "<li>{} [{}] {did}{asides}</li>",
        escaped(&step.says),
        escaped(&step.sighting)
    )
}
