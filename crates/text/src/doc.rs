//! One file, parsed.

use std::sync::{Arc, OnceLock};

use crate::chars::first_hostile;
use crate::item::Item;
use crate::reading::Reading;
use crate::spots::{Spots, scalar_length};
use crate::{Problem, Problems, Spot, Tree, json, yaml};

/// Largest file read, in bytes: 4 MiB.
pub const MAX_BYTES: usize = 4 << 20;

/// Where a value stands in its document: opaque, small, and of use to that [`Doc`] only. The default is the root.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Locus(pub(crate) u32);

impl Locus {
    /// The locus so many nodes further on, as nodes are numbered.
    pub(crate) fn after(self, nodes: u32) -> Self {
        Self(self.0.saturating_add(nodes))
    }
}

/// Why a whole text can't be read.
#[derive(Debug)]
pub(crate) struct Refusal {
    pub place: Option<(usize, usize)>,
    pub what: String,
    pub help: Option<String>,
}

impl Refusal {
    pub fn whole(what: impl Into<String>) -> Self {
        Self {
            place: None,
            what: what.into(),
            help: None,
        }
    }

    pub fn at_byte(text: &str, byte: usize, what: String, help: Option<String>) -> Self {
        let spot = Spots::new(text, Vec::new()).of_byte(text, byte);
        Self {
            place: Some((spot.line, spot.column)),
            what,
            help,
        }
    }
}

/// One parsed file: its name, its text and its tree. Cheap to clone.
#[derive(Clone, Debug)]
pub struct Doc(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    name: String,
    text: String,
    tree: Tree,
    /// Nodes in each node, itself included, by number.
    sizes: Vec<u32>,
    /// Characters of each text, by number; 0 for what is no text.
    lengths: Vec<u32>,
    spots: OnceLock<Spots>,
}

/// Two documents are the same when their names and texts are.
impl PartialEq for Doc {
    fn eq(&self, other: &Self) -> bool {
        (&self.0.name, &self.0.text) == (&other.0.name, &other.0.text)
    }
}

impl Doc {
    /// Reads a text as JSON when the name ends in `.json`, else as YAML.
    ///
    /// # Errors
    /// Every problem found: not well formed; more than 4 MiB, [`crate::MAX_NODES`] values or [`crate::MAX_DEPTH`]
    /// levels; more than one document; an anchor, alias or tag; a name given twice; a number that is not finite; a
    /// character that could mislead a terminal.
    pub fn parse(name: &str, text: &str) -> Result<Doc, Problems> {
        if text.len() > MAX_BYTES {
            let what = format!("the file is larger than {MAX_BYTES} bytes");
            return Err(Problem::new(name, what, None).into());
        }
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let as_json = name.to_ascii_lowercase().ends_with(".json");
        let mut reading = Reading::new(text.len());
        let tree = check_characters(text)
            .and_then(|()| {
                if as_json {
                    json::parse(text, &mut reading)
                } else {
                    yaml::parse(text, &mut reading)
                }
            })
            .map_err(|refusal| refused(name, text, refusal))?;
        let faults = std::mem::take(&mut reading.faults);
        let doc = Doc(Arc::new(Inner {
            name: name.to_owned(),
            text: text.to_owned(),
            tree,
            sizes: reading.sizes,
            lengths: reading.lengths,
            spots: OnceLock::new(),
        }));
        let mut problems = Problems::new();
        for fault in faults {
            problems.push_with(|| doc.pointing(fault.at, fault.on_key, fault.what, fault.help));
        }
        problems.into_result(doc)
    }

    /// The file's name, as given.
    pub fn name(&self) -> &str {
        &self.0.name
    }

    /// The file's text.
    pub fn text(&self) -> &str {
        &self.0.text
    }

    /// The whole of it.
    pub fn root(&self) -> Item<'_> {
        Item::new(self, &self.0.tree, Locus::default(), None)
    }

    /// A problem with the value at `locus`.
    pub fn problem_at(&self, locus: &Locus, what: impl Into<String>, help: Option<String>) -> Problem {
        self.pointing(*locus, false, what.into(), help)
    }

    /// A problem with the name `key` in the mapping at `locus`; with the mapping, when it has no such name.
    pub fn problem_at_key(&self, locus: &Locus, key: &str, what: impl Into<String>, help: Option<String>) -> Problem {
        let child = self.item_at(*locus).and_then(|item| item.child(key));
        match child {
            Some(child) => self.pointing(child.locus(), true, what.into(), help),
            None => self.pointing(*locus, false, what.into(), help),
        }
    }

    /// A problem with a part of the text `value` at `locus`: `length` characters from the byte `offset` within it.
    pub(crate) fn problem_inside(
        &self,
        locus: Locus,
        value: &str,
        (offset, length): (usize, usize),
        what: String,
        help: Option<String>,
    ) -> Problem {
        let spots = self.spots();
        let inside = spots.places.get(locus.0 as usize).and_then(|place| {
            let (line, column) = place.value;
            let rest = spots.rest(&self.0.text, place.value);
            let quote = usize::from(rest.starts_with(['"', '\'']));
            let before = value.get(..offset)?.chars().count();
            let length = length.min(value.chars().count().saturating_sub(before)).max(1);
            let column = column.saturating_add(quote).saturating_add(before);
            rest.get(quote..)?
                .starts_with(value)
                .then_some(Spot { line, column, length })
        });
        match inside {
            Some(spot) => Problem::new(self.name(), what, help).at(spot, spots.line(&self.0.text, spot.line)),
            None => self.pointing(locus, false, what, help),
        }
    }

    /// A problem with the name of the value at `locus`; with the value, when it has no name.
    pub fn problem_at_name(&self, locus: &Locus, what: impl Into<String>, help: Option<String>) -> Problem {
        self.pointing(*locus, true, what.into(), help)
    }

    /// A problem with the value that `path` leads to, name by name, from the mapping at `locus`; with the last value
    /// that is there.
    pub fn problem_in(&self, locus: &Locus, path: &[&str], what: impl Into<String>, help: Option<String>) -> Problem {
        let mut item = self.item_at(*locus);
        for key in path {
            let Some(child) = item.and_then(|item| item.child(key)) else {
                break;
            };
            item = Some(child);
        }
        self.pointing(item.map_or(*locus, |item| item.locus()), false, what.into(), help)
    }

    /// How many nodes the node of that number holds, itself included.
    pub(crate) fn size(&self, locus: Locus) -> u32 {
        self.0.sizes.get(locus.0 as usize).copied().unwrap_or(1)
    }

    /// The value at `locus`.
    pub fn item_at(&self, locus: Locus) -> Option<Item<'_>> {
        let mut item = self.root();
        while item.locus() != locus {
            item = item
                .members()
                .into_iter()
                .map(|(_, child)| child)
                .rfind(|child| child.locus() <= locus)?;
        }
        Some(item)
    }

    pub(crate) fn spots(&self) -> &Spots {
        self.0.spots.get_or_init(|| {
            let text = &self.0.text;
            let as_json = self.0.name.to_ascii_lowercase().ends_with(".json");
            let places = if as_json {
                json::places(text)
            } else {
                yaml::places(text)
            };
            let in_step = places.len() == self.0.sizes.len();
            Spots::new(text, if in_step { places } else { Vec::new() })
        })
    }

    fn pointing(&self, locus: Locus, on_key: bool, what: String, help: Option<String>) -> Problem {
        let problem = Problem::new(self.name(), what, help);
        let spots = self.spots();
        let Some(place) = spots.places.get(locus.0 as usize) else {
            return problem;
        };
        let (at, length) = match place.key {
            Some(key) if on_key => (key, 0),
            _ => (
                place.value,
                self.0.lengths.get(locus.0 as usize).copied().unwrap_or_default(),
            ),
        };
        let length = scalar_length(spots.rest(&self.0.text, at), length as usize);
        problem.at(
            Spot {
                line: at.0,
                column: at.1,
                length,
            },
            spots.line(&self.0.text, at.0),
        )
    }
}

fn check_characters(text: &str) -> Result<(), Refusal> {
    match first_hostile(text) {
        None => Ok(()),
        Some((at, c)) => {
            let what = format!("the control character U+{:04X} is not read", u32::from(c));
            Err(Refusal::at_byte(text, at, what, Some("take it out".into())))
        }
    }
}

fn refused(name: &str, text: &str, refusal: Refusal) -> Problem {
    let problem = Problem::new(name, refusal.what, refusal.help);
    match refusal.place {
        None => problem,
        Some((line, column)) => {
            let spots = Spots::new(text, Vec::new());
            problem.at(
                Spot {
                    line,
                    column,
                    length: 1,
                },
                spots.line(text, line),
            )
        }
    }
}
