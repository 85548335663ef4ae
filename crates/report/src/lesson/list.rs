//! Every step as a list, for print, for a reader that runs no script, and for reading through.

use super::{Lesson, LessonStep, State};
use crate::number::short_chance;
use crate::svg::escaped;

pub(super) fn steps(lesson: &Lesson) -> String {
    let mut before = &lesson.start;
    let mut items = String::new();
    for step in &lesson.steps {
        items.push_str(&item(lesson, step, before));
        before = &step.state;
    }
    let end: String = (0..lesson.beliefs.len())
        .filter_map(|at| at_the_end(lesson, before, at))
        .collect();
    format!(
        "<details class=\"all-steps\" data-case=\"{}\"><summary>Every step of “{}”, as a list</summary>\
         <ol>{items}</ol><p>At the end:</p><ul>{end}</ul></details>",
        escaped(&lesson.case),
        escaped(&lesson.title)
    )
}

/// Most sightings named as carrying a belief, and as speaking against it.
const MOST: usize = 3;

/// Where a belief stands at the end; for what asks for something, what carried it, what spoke against it, and what would
/// change it.
fn at_the_end(lesson: &Lesson, end: &State, at: usize) -> Option<String> {
    let belief = lesson.beliefs.get(at)?;
    let action = *end.actions.get(at)?;
    let (support, asks) = (
        lesson.supports.get(*end.supports.get(at)?)?,
        lesson.actions.get(action)?,
    );
    let title = escaped(&belief.title);
    let mut says = format!("<li>{title}: {support} ({}). Asks for: {asks}.", chance(end, at)?);
    if action > 0 {
        for (lead, up) in [("What carried it", true), ("What spoke against it", false)] {
            let mut did: Vec<(&LessonStep, f64)> = lesson
                .steps
                .iter()
                .filter_map(|step| Some((step, step.moved.iter().find(|told| told.belief == at)?.decibans)))
                .filter(|(_, weight)| (*weight > 0.0) == up)
                .collect();
            did.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
            let named: Vec<String> = did
                .iter()
                .take(MOST)
                .map(|(step, weight)| format!("{} ({} decibans)", escaped(step.short()), signed(*weight)))
                .collect();
            let named = if named.is_empty() {
                "nothing by as much as a deciban".into()
            } else {
                named.join("; ")
            };
            says.push_str(&format!(" {lead}: {named}."));
        }
        if !belief.mind_changers.is_empty() {
            says.push_str(&format!(
                " What would change this: {}.",
                escaped(&belief.mind_changers.join("; "))
            ));
        }
    }
    says.push_str("</li>");
    Some(says)
}

impl LessonStep {
    /// What was found, without its particulars.
    fn short(&self) -> &str {
        self.says.split([':', '.']).next().unwrap_or(&self.says)
    }
}

/// A whole number of decibans with its sign.
fn signed(weight: f64) -> String {
    let sign = if weight > 0.0 { "+" } else { "−" };
    format!("{sign}{:.0}", weight.abs())
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
            let sign = if told.decibans > 0.0 { "+" } else { "−" };
            Some(format!(
                "{title} {from} to {to} ({sign}{:.0} decibans)",
                told.decibans.abs()
            ))
        })
        .collect();
    let did = if moved.is_empty() {
        "It moved nothing shown here by as much as a deciban.".to_string()
    } else {
        format!("It moved: {}.", moved.join("; "))
    };
    format!("<li>{} {did}</li>", escaped(&step.says))
}
