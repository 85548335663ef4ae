//! What the words for a size mean, sign by sign, of those that the packet uses.

use std::collections::BTreeMap;

use wythe_measure::{Length, Quantity};
use wythe_pack::{Clue, Grade};

use super::Packet;
use crate::phrase::{capital, words};
use crate::units::rise;
use crate::wrap::Lines;

impl Packet<'_> {
    pub fn grades(&self, lines: &mut Lines) {
        let shown = self.readings(|one| one.shows());
        let clues: BTreeMap<&String, &Clue> = shown
            .map(|(_, one)| &self.pack[one.clue])
            .filter(|clue| clue.grades.len() > 2)
            .map(|clue| (&clue.id, clue))
            .collect();
        if clues.is_empty() {
            return;
        }
        lines.heading("The words for a size");
        for clue in clues.values() {
            lines.item(0, &format!("{}: {}.", capital(&clue.title), sizes(clue)));
        }
    }
}

/// From the least to the most that shows: `fine, up to 1/32 in (1 mm); slight, up to 3/16 in (5 mm); moderate, beyond
/// that`; of a clue graded by eye, the words in their order.
fn sizes(clue: &Clue) -> String {
    let falls = clue.measured_by.as_ref().is_some_and(|by| by.less_is_worse);
    let (to, beyond) = if falls {
        ("down to", "less than that")
    } else {
        ("up to", "beyond that")
    };
    let name = |grade: &Grade| grade.title.clone().unwrap_or_else(|| words(&grade.id));
    let shows: Vec<&Grade> = clue.grades.iter().skip(1).collect();
    let quantity = clue.measured_by.as_ref().map(|by| by.quantity);
    if shows.iter().all(|grade| grade.up_to.is_none()) {
        let all: Vec<String> = shows.into_iter().map(name).collect();
        return format!("by eye, from least to most: {}", all.join("; "));
    }
    let said = shows.into_iter().map(|grade| match grade.up_to {
        Some(bound) => format!("{}, {to} {}", name(grade), size(quantity, bound.abs(), grade)),
        None if grade.title.is_some() => name(grade),
        None => format!("{}, {beyond}", name(grade)),
    });
    said.collect::<Vec<_>>().join("; ")
}

/// The size of a grade, where it has one: `up to 1/8 in (3 mm)`.
pub(crate) fn bound(clue: &Clue, grade: &Grade) -> Option<String> {
    let by = clue.measured_by.as_ref()?;
    let to = if by.less_is_worse { "down to" } else { "up to" };
    let bound = grade.up_to?;
    Some(format!("{to} {}", size(Some(by.quantity), bound.abs(), grade)))
}

/// A bound in both units; as the file states it where it is no length and no slope.
fn size(quantity: Option<Quantity>, bound: f64, grade: &Grade) -> String {
    let stated = || grade.up_to_text.clone().unwrap_or_default();
    match quantity {
        Some(Quantity::Length) => Length::mm(bound).map_or_else(|_| stated(), Length::both),
        Some(Quantity::Ratio) => rise(bound),
        _ => stated(),
    }
}
