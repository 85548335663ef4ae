//! From a case to its file.

use wythe_measure::{Quantity, parse_measured_as};
use wythe_text::{Tree, to_yaml};

use crate::{Case, FORMAT, Looked, Pass, Place, Repair, Section, Seen, Sighting, Sure};

impl Case {
    /// The case as a YAML file. Read again, it is the same case.
    pub fn to_yaml(&self) -> String {
        let mut map = vec![("format", Tree::Integer(FORMAT)), ("id", text(&self.id))];
        if self.title != self.id {
            map.push(("title", text(&self.title)));
        }
        map.extend(self.visited.map(|date| ("visited", text(&date.to_string()))));
        map.extend(self.region.as_deref().map(|region| ("region", text(region))));
        if !self.how_many.is_empty() {
            let entries = self
                .how_many
                .iter()
                .map(|(kind, number)| (kind.clone(), number_tree(*number)));
            map.push(("how_many", Tree::Map(entries.collect())));
        }
        let places = (0..).zip(&self.places).filter(|(index, place)| {
            *index > 0
                || **place
                    != Place {
                        locus: place.locus,
                        ..Place::house()
                    }
        });
        list(
            &mut map,
            "places",
            places.map(|(index, place)| self.place_tree(index, place)),
        );
        if !self.contexts.is_empty() {
            let said = self.contexts.iter().filter(|fact| fact.computed.is_none());
            let entries = said.map(|fact| {
                let holds = text(if fact.holds { "yes" } else { "no" });
                let value = match &fact.note {
                    Some(note) => mapping(vec![("holds", holds), ("note", text(note))]),
                    None => holds,
                };
                (fact.id.clone(), value)
            });
            map.push(("contexts", Tree::Map(entries.collect())));
        }
        list(&mut map, "passes", self.passes.iter().map(|pass| self.pass_tree(pass)));
        list(
            &mut map,
            "repairs",
            self.repairs.iter().map(|repair| self.repair_tree(repair)),
        );
        for section in Section::ALL {
            let sheets = self.readings.iter().filter(|sheet| sheet.section == section);
            list(&mut map, section.key(), sheets.map(|sheet| sheet.entry.clone()));
        }
        to_yaml(&mapping(map)).unwrap_or_default()
    }

    fn id_of(&self, place: usize) -> &str {
        self.places.get(place).map_or("", |place| &place.id)
    }

    fn place_tree(&self, index: usize, place: &Place) -> Tree {
        self.place_touching(place, |other| other > index)
    }

    /// A place that comes after all others: it names the earlier ones that it touches.
    pub(crate) fn new_place_tree(&self, index: usize, place: &Place) -> Tree {
        self.place_touching(place, |other| other < index)
    }

    fn place_touching(&self, place: &Place, names: impl Fn(usize) -> bool) -> Tree {
        let mut map = vec![("id", text(&place.id)), ("kind", text(&place.kind))];
        if place.label != place.id {
            map.push(("label", text(&place.label)));
        }
        map.extend(
            place
                .within
                .filter(|&within| within > 0)
                .map(|within| ("in", text(self.id_of(within)))),
        );
        let touches = place.touches.iter().filter(|&&other| names(other));
        list(&mut map, "touches", touches.map(|&other| text(self.id_of(other))));
        map.extend(place.note.as_ref().map(|note| ("note", text(note))));
        mapping(map)
    }

    pub(crate) fn pass_tree(&self, pass: &Pass) -> Tree {
        let mut map = vec![("pass", text(&pass.id))];
        map.extend(pass.title.as_ref().map(|title| ("title", text(title))));
        map.extend(pass.date.map(|date| ("date", text(&date.to_string()))));
        map.extend(pass.by.as_ref().map(|by| ("by", text(by))));
        list(&mut map, "sightings", self.sighting_trees(pass, 0).into_iter());
        mapping(map)
    }

    /// The sightings of a pass that has so many before them.
    pub(crate) fn sighting_trees(&self, pass: &Pass, before: usize) -> Vec<Tree> {
        // What was computed is computed again when the case is read.
        let made = pass.sightings.iter().filter(|sighting| sighting.computed.is_none());
        let numbered = (before.saturating_add(1)..).zip(made);
        let tree = |(number, sighting): (usize, &Sighting)| {
            let usual = format!("{}.{number}", pass.id);
            self.sighting_tree(sighting, &usual)
        };
        numbered.map(tree).collect()
    }

    fn sighting_tree(&self, sighting: &Sighting, usual_id: &str) -> Tree {
        let mut map = Vec::new();
        if sighting.id != usual_id && !sighting.id.is_empty() {
            map.push(("id", text(&sighting.id)));
        }
        map.extend([("clue", text(&sighting.clue)), ("at", text(self.id_of(sighting.at)))]);
        map.extend(seen(&sighting.seen));
        if !sighting.marks.is_empty() {
            let one_or_list = |kinds: &[String]| match kinds {
                [one] => text(one),
                kinds => Tree::List(kinds.iter().map(|kind| text(kind)).collect()),
            };
            let entries = sighting
                .marks
                .iter()
                .map(|(mark, kinds)| (mark.clone(), one_or_list(kinds)));
            map.push(("marks", Tree::Map(entries.collect())));
        }
        if sighting.sure != Sure::Sure {
            map.push(("sure", text(sighting.sure.name())));
        }
        map.extend(sighting.corrects.as_ref().map(|id| ("corrects", text(id))));
        map.extend(sighting.note.as_ref().map(|note| ("note", text(note))));
        list(&mut map, "photos", sighting.photos.iter().map(|photo| text(photo)));
        mapping(map)
    }

    pub(crate) fn repair_tree(&self, repair: &Repair) -> Tree {
        let mut map = Vec::new();
        map.extend(repair.date.map(|date| ("date", text(&date.to_string()))));
        list(&mut map, "at", repair.at.iter().map(|&at| text(self.id_of(at))));
        list(&mut map, "clues", repair.clues.iter().map(|clue| text(clue)));
        map.push(("what", text(&repair.what)));
        mapping(map)
    }
}

fn seen(seen: &Seen) -> Vec<(&'static str, Tree)> {
    let yes = || text("yes");
    let mut map = Vec::new();
    match seen {
        Seen::Grade(grade) => map.push(("seen", text(grade))),
        Seen::Present => map.push(("seen", text("present"))),
        Seen::Measured {
            reading,
            with,
            from_photo,
        } => {
            map.push(("measured", text(&reading.text)));
            map.extend(with.as_ref().map(|with| ("with", text(with))));
            map.extend(from_photo.then(|| ("from_photo", yes())));
        }
        Seen::NoneThere { looked } => {
            map.push(("seen", text("none")));
            match looked {
                Looked::All => {}
                Looked::Part => map.push(("looked", text("part"))),
                Looked::Share(share) => map.push(("looked", share_tree(*share))),
            }
        }
        Seen::NotReached { why, ask_access } => {
            map.push(("not_reached", text(why)));
            map.extend(ask_access.then(|| ("ask_access", yes())));
        }
    }
    map
}

/// The share as a percentage when one of few digits reads as the same number, else as a number.
fn share_tree(share: f64) -> Tree {
    let percentages = (0..=6).map(|digits| format!("{:.digits$} %", share * 100.0));
    let same = |text: &String| parse_measured_as(text, Quantity::Ratio).is_ok_and(|read| read.value == share);
    percentages
        .into_iter()
        .find(same)
        .map_or(Tree::Number(share), Tree::Text)
}

fn number_tree(number: f64) -> Tree {
    let whole = number.fract() == 0.0 && number.abs() < 1e9;
    if whole {
        Tree::Integer(number as i64)
    } else {
        Tree::Number(number)
    }
}

fn text(text: &str) -> Tree {
    Tree::Text(text.to_owned())
}

fn mapping(entries: Vec<(&str, Tree)>) -> Tree {
    Tree::Map(
        entries
            .into_iter()
            .map(|(key, value)| (key.to_owned(), value))
            .collect(),
    )
}

/// Adds a list, unless it is empty.
fn list<'k>(map: &mut Vec<(&'k str, Tree)>, key: &'k str, values: impl Iterator<Item = Tree>) {
    let values: Vec<Tree> = values.collect();
    if !values.is_empty() {
        map.push((key, Tree::List(values)));
    }
}
