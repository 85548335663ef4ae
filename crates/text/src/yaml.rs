//! The one file that names the YAML library, with the guard in front of it.

use std::fmt;

use serde::Serialize;
use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor};

use crate::doc::Refusal;
use crate::guard;
use crate::reading::{Node, Reading};
use crate::spots::{Place, Spots};
use crate::{Tree, WriteError};

/// Reads the one document of a text.
pub(crate) fn parse(text: &str, reading: &mut Reading) -> Result<Tree, Refusal> {
    guard::check(text)?;
    let mut documents = serde_yaml::Deserializer::from_str(text);
    let Some(document) = documents.next() else {
        return Err(Refusal::whole("there is nothing in the file"));
    };
    let tree = Node { reading, depth: 0 }.deserialize(document).map_err(refusal)?;
    match documents.next() {
        None => Ok(tree),
        Some(_) => Err(Refusal::whole("the file holds more than one document")),
    }
}

fn refusal(error: serde_yaml::Error) -> Refusal {
    let message = error.to_string();
    let Some(location) = error.location() else {
        return Refusal::whole(message);
    };
    let (line, column) = (location.line(), location.column());
    let what = message.replacen(&format!(" at line {line} column {column}"), "", 1);
    let help = if what.contains("mapping values are not allowed") {
        Some("put text that holds a colon and a space in quotes, or see to the indent")
    } else if what.contains("while parsing") || what.contains("while scanning") {
        Some("look here and just above for a bracket, a quote or an indent that is off")
    } else {
        None
    };
    Refusal {
        place: Some((line, column)),
        what: without_path(&what),
        help: help.map(str::to_owned),
    }
}

/// A message without the path of names that the library puts in front of it.
fn without_path(message: &str) -> String {
    let path_ends = message.split_once(": ").filter(|(path, _)| !path.contains(' '));
    path_ends.map_or(message, |(_, rest)| rest).to_owned()
}

/// Where every node stands. Empty when the text can't be walked.
///
/// The library tells a position with an error only. So each scalar is asked for as something it can't be; the error
/// carries its place, and the walk goes on after it. A list or mapping stands where its first member does.
pub(crate) fn places(text: &str) -> Vec<Place> {
    let mut places = Vec::new();
    if let Some(document) = serde_yaml::Deserializer::from_str(text).next() {
        let outcome = Walk {
            places: &mut places,
            key: None,
        }
        .deserialize(document);
        if outcome.is_err() {
            places.clear();
        }
    }
    place_empty_ones(text, &mut places);
    places
}

/// Line and column that end an error's message. The very start of a text is told as a position instead.
fn place_of(error: impl fmt::Display) -> (usize, usize) {
    let message = error.to_string();
    let told = message
        .rsplit_once(" at line ")
        .and_then(|(_, told)| told.split_once(" column "));
    let read = told.and_then(|(line, column)| Some((line.parse().ok()?, column.parse().ok()?)));
    read.unwrap_or((1, 1))
}

/// Puts lists and mappings without a member at the first bracket after what comes before them.
fn place_empty_ones(text: &str, places: &mut [Place]) {
    let lines = Spots::new(text, Vec::new());
    let mut before = (1, 1);
    for place in places {
        if place.value == (0, 0) {
            place.value = lines.next_bracket(text, place.key.unwrap_or(before)).unwrap_or(before);
        }
        before = place.value;
    }
}

struct Walk<'p> {
    places: &'p mut Vec<Place>,
    key: Option<(usize, usize)>,
}

impl<'de> DeserializeSeed<'de> for Walk<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        let number = self.places.len();
        self.places.push(Place {
            value: (0, 0),
            key: self.key,
        });
        match deserializer.deserialize_any(Members(&mut *self.places)) {
            Ok(()) => {
                let first = self
                    .places
                    .get(number.saturating_add(1))
                    .map(|first| first.key.unwrap_or(first.value));
                if let (Some(place), Some(first)) = (self.places.get_mut(number), first) {
                    place.value = first;
                }
            }
            Err(error) => {
                let value = place_of(error);
                if let Some(place) = self.places.get_mut(number) {
                    place.value = value;
                }
            }
        }
        Ok(())
    }
}

struct Members<'p>(&'p mut Vec<Place>);

impl<'de> Visitor<'de> for Members<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list or a mapping")
    }

    fn visit_str<E: Error>(self, _: &str) -> Result<(), E> {
        Err(E::custom("text"))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut access: A) -> Result<(), A::Error> {
        while access
            .next_element_seed(Walk {
                places: &mut *self.0,
                key: None,
            })?
            .is_some()
        {}
        Ok(())
    }

    fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<(), A::Error> {
        while let Some(key) = access.next_key_seed(KeyPlace)? {
            access.next_value_seed(Walk {
                places: &mut *self.0,
                key: Some(key),
            })?;
        }
        Ok(())
    }
}

/// The place of a name in a mapping.
struct KeyPlace;

impl<'de> DeserializeSeed<'de> for KeyPlace {
    type Value = (usize, usize);

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(usize, usize), D::Error> {
        Ok(deserializer
            .deserialize_str(Members(&mut Vec::new()))
            .map_or_else(place_of, |()| (1, 1)))
    }
}

/// Writes a value as YAML.
///
/// # Errors
/// A value that YAML has no form for.
pub fn to_yaml<T: Serialize + ?Sized>(value: &T) -> Result<String, WriteError> {
    serde_yaml::to_string(value).map_err(|error| WriteError(error.to_string()))
}

/// The text as the library reads it, with no guard in front.
#[cfg(test)]
pub(crate) fn unguarded(text: &str) -> serde_yaml::Deserializer<'_> {
    serde_yaml::Deserializer::from_str(text)
}
