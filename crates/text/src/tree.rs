//! What a file holds, before anything is made of it.

use serde::ser::{Serialize, SerializeMap, SerializeSeq, Serializer};

/// A value as it stands in a file. Numbers are finite; a mapping keeps the order of the file and names nothing twice.
#[derive(Clone, Debug, PartialEq)]
pub enum Tree {
    /// Nothing: `null`, `~` or an empty value.
    Null,
    /// `true` or `false`.
    Flag(bool),
    /// A whole number.
    Integer(i64),
    /// A number with a decimal point or exponent, or a whole one past the range of [`Tree::Integer`].
    Number(f64),
    /// Text.
    Text(String),
    /// A list.
    List(Vec<Tree>),
    /// A mapping, in the order of the file.
    Map(Vec<(String, Tree)>),
}

impl Tree {
    /// What kind of value it is, for messages.
    pub(crate) fn kind(&self) -> &'static str {
        match self {
            Tree::Null => "nothing",
            Tree::Flag(_) => "a flag",
            Tree::Integer(_) | Tree::Number(_) => "a number",
            Tree::Text(_) => "text",
            Tree::List(_) => "a list",
            Tree::Map(_) => "a mapping",
        }
    }
}

impl Serialize for Tree {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Tree::Null => serializer.serialize_unit(),
            Tree::Flag(flag) => serializer.serialize_bool(*flag),
            Tree::Integer(integer) => serializer.serialize_i64(*integer),
            Tree::Number(number) => serializer.serialize_f64(*number),
            Tree::Text(text) => serializer.serialize_str(text),
            Tree::List(list) => {
                let mut seq = serializer.serialize_seq(Some(list.len()))?;
                list.iter().try_for_each(|value| seq.serialize_element(value))?;
                seq.end()
            }
            Tree::Map(entries) => {
                let mut map = serializer.serialize_map(Some(entries.len()))?;
                entries
                    .iter()
                    .try_for_each(|(key, value)| map.serialize_entry(key, value))?;
                map.end()
            }
        }
    }
}
