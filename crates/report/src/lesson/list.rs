//! Every step as a list, for print, for a reader that runs no script, and for reading through.

use super::{Lesson, LessonStep, State};
use crate::number::{short_chance, times};
use crate::steps::in_decibans;
use crate::svg::escaped;

pub(super) fn steps(lesson: &Lesson) -> String {
    let mut before = &lesson.start;
    let mut items = String::new();
    for step in &lesson.steps {
        items.push_str(&item(lesson, step, before));
        before = &step.state;
    }
    format!(
        "<details class=\"all-steps\" data-case=\"{}\"><summary>Every step of “{}”, as a list</summary>\
         <ol>{items}</ol></details>",
        escaped(&lesson.case),
        escaped(&lesson.title)
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
