//! What every reader needs: the problems so far, the places by name, and the small values.

use std::collections::{BTreeMap, BTreeSet};

use wythe_text::{Item, Problems, Tree, nearest, shown};

use crate::{Date, Place};

/// Longest name, in characters.
const LONGEST_NAME: usize = 60;

pub(super) struct Desk {
    pub out: Problems,
    places: BTreeMap<String, usize>,
    names: Vec<String>,
}

impl Desk {
    pub fn new() -> Self {
        Self {
            out: Problems::new(),
            places: BTreeMap::new(),
            names: Vec::new(),
        }
    }

    /// Takes note of the places, so that they can be named from now on.
    pub fn know(&mut self, places: &[Place]) {
        self.names = places.iter().map(|place| place.id.clone()).collect();
        self.places = self.names.iter().cloned().zip(0..).collect();
    }

    /// A name: letters, digits, `-`, `_` and `.`.
    pub fn name(&mut self, item: &Item<'_>) -> Option<String> {
        let text = item.text_or_number(&mut self.out)?;
        match not_a_name(&text) {
            None => Some(text),
            Some(why) => {
                item.problem(&mut self.out, why, Some(NAME_HELP.into()));
                None
            }
        }
    }

    /// The name that a value has in its mapping.
    pub fn name_of(&mut self, item: &Item<'_>) -> Option<String> {
        let key = item.key()?;
        match not_a_name(key) {
            None => Some(key.to_owned()),
            Some(why) => {
                item.key_problem(&mut self.out, why, Some(NAME_HELP.into()));
                None
            }
        }
    }

    /// One name, or a list of them without one twice.
    pub fn names(&mut self, item: &Item<'_>) -> Vec<String> {
        let (mut read, mut known) = (Vec::new(), BTreeSet::new());
        for item in item.list_or_one(&mut self.out) {
            let Some(name) = self.name(&item) else {
                continue;
            };
            if known.insert(name.clone()) {
                read.push(name);
            } else {
                item.problem(
                    &mut self.out,
                    format!("{} is listed twice here", shown(&name)),
                    Some("keep one".into()),
                );
            }
        }
        read
    }

    /// Text for people: anything but empty.
    pub fn words(&mut self, item: &Item<'_>) -> Option<String> {
        let text = item.text_or_number(&mut self.out)?;
        if text.trim().is_empty() {
            item.problem(
                &mut self.out,
                "the text is empty",
                Some("fill it in, or leave the entry out".into()),
            );
            return None;
        }
        Some(text)
    }

    /// A day of the calendar.
    pub fn date(&mut self, item: &Item<'_>) -> Option<Date> {
        let Tree::Text(text) = item.tree() else {
            item.problem(&mut self.out, "a date is wanted here", Some(DATE_HELP.into()));
            return None;
        };
        match Date::parse(text) {
            Ok(date) => Some(date),
            Err(error) => {
                item.problem(
                    &mut self.out,
                    format!("{} is no date: {error}", shown(text)),
                    Some(DATE_HELP.into()),
                );
                None
            }
        }
    }

    /// `yes`, `no`, or none for `unknown`.
    pub fn yes_no_unknown(&mut self, item: &Item<'_>) -> Option<bool> {
        if *item.tree() == Tree::Text("unknown".into()) {
            return None;
        }
        if matches!(item.tree(), Tree::Flag(_)) {
            return item.flag(&mut self.out);
        }
        Some(item.one_of(&mut self.out, &["yes", "no", "unknown"])? == 0)
    }

    /// The place that an item names.
    pub fn place(&mut self, item: &Item<'_>) -> Option<usize> {
        let id = self.name(item)?;
        let found = self.places.get(&id).copied();
        if found.is_none() && !self.out.is_full() {
            let near = nearest(&id, self.names.iter().map(String::as_str));
            let help = match near {
                Some(near) => {
                    format!("did you mean `{near}`? if not, add the place under `places`")
                }
                None => "add it under `places`".into(),
            };
            item.problem(&mut self.out, format!("there is no place {}", shown(&id)), Some(help));
        }
        found
    }
}

/// Why a text can't be a name.
fn not_a_name(text: &str) -> Option<String> {
    let fits = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.');
    if text.is_empty() {
        Some("the name is empty".into())
    } else if text.chars().count() > LONGEST_NAME {
        Some(format!("{} is too long for a name", shown(text)))
    } else if !text.chars().all(fits) {
        Some(format!("{} can't be a name", shown(text)))
    } else {
        None
    }
}

const NAME_HELP: &str = "a name has letters, digits, `-`, `_` and `.` only, and at most 60 of them";
const DATE_HELP: &str = "write it as in 2026-03-14";
