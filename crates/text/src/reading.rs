//! From a deserializer to a [`Tree`], within bounds, gathering what is wrong on the way.

use std::collections::BTreeSet;
use std::fmt;

use serde::de::{DeserializeSeed, Deserializer, EnumAccess, Error, MapAccess, SeqAccess, Visitor};

use crate::chars::first_hostile;
use crate::{Locus, Tree, shown};

/// Deepest nesting read.
pub const MAX_DEPTH: usize = 64;
/// Most values and names in one file.
pub const MAX_NODES: usize = 500_000;
/// Longest name in a mapping, in bytes.
const LONGEST_NAME: usize = 100;

/// Something wrong that does not end the reading.
pub(crate) struct Fault {
    pub at: Locus,
    pub on_key: bool,
    pub what: String,
    pub help: Option<String>,
}

/// What a reading has used up, and found.
pub(crate) struct Reading {
    /// How many nodes, itself included, lie in the node of each number. Nodes are numbered as they begin.
    pub sizes: Vec<u32>,
    /// Characters of each text, by number; 0 for what is no text.
    pub lengths: Vec<u32>,
    pub faults: Vec<Fault>,
    /// Bytes that may still be read. More than the file holds means that something in it stands for more than itself.
    bytes_left: usize,
}

impl Reading {
    pub fn new(file_bytes: usize) -> Self {
        let bytes_left = file_bytes.saturating_mul(4).saturating_add(64);
        Self {
            sizes: Vec::new(),
            lengths: Vec::new(),
            faults: Vec::new(),
            bytes_left,
        }
    }

    fn spend<E: Error>(&mut self, bytes: usize) -> Result<(), E> {
        self.bytes_left = self
            .bytes_left
            .checked_sub(bytes.saturating_add(1))
            .ok_or_else(too_many)?;
        Ok(())
    }

    fn open<E: Error>(&mut self, length: usize) -> Result<u32, E> {
        let number = u32::try_from(self.sizes.len()).map_err(|_| too_many())?;
        if self.sizes.len() >= MAX_NODES {
            return Err(too_many());
        }
        self.sizes.push(1);
        self.lengths.push(u32::try_from(length).unwrap_or(u32::MAX));
        Ok(number)
    }

    fn close(&mut self, number: u32) {
        let len = self.sizes.len();
        if let Some(size) = self.sizes.get_mut(number as usize) {
            *size = (len.saturating_sub(number as usize)) as u32;
        }
    }

    fn fault(&mut self, at: u32, on_key: bool, what: String, help: Option<&str>) {
        let help = help.map(str::to_owned);
        self.faults.push(Fault {
            at: Locus(at),
            on_key,
            what,
            help,
        });
    }

    fn check_text(&mut self, at: u32, on_key: bool, text: &str) {
        if let Some((_, c)) = first_hostile(text) {
            let what = format!("the text holds the control character U+{:04X}", u32::from(c));
            self.fault(at, on_key, what, Some("take it out"));
        }
    }
}

fn too_many<E: Error>() -> E {
    E::custom(format_args!("the file holds more than {MAX_NODES} values"))
}

/// Reads one value, `depth` levels down.
pub(crate) struct Node<'r> {
    pub reading: &'r mut Reading,
    pub depth: usize,
}

impl Node<'_> {
    fn scalar<E: Error>(self, tree: Tree, bytes: usize) -> Result<Tree, E> {
        self.reading.spend(bytes)?;
        let length = if let Tree::Text(text) = &tree {
            text.chars().count()
        } else {
            0
        };
        let number = self.reading.open(length)?;
        if let Tree::Number(value) = tree
            && !value.is_finite()
        {
            self.reading.fault(
                number,
                false,
                "a number must be finite".into(),
                Some("leave the entry out"),
            );
        }
        if let Tree::Text(text) = &tree {
            self.reading.check_text(number, false, text);
        }
        Ok(tree)
    }

    fn deeper<E: Error>(&self) -> Result<usize, E> {
        if self.depth >= MAX_DEPTH {
            return Err(E::custom(format_args!("nested more than {MAX_DEPTH} levels deep")));
        }
        Ok(self.depth.saturating_add(1))
    }
}

impl<'de> DeserializeSeed<'de> for Node<'_> {
    type Value = Tree;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Tree, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Node<'_> {
    type Value = Tree;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("text, a number, a flag, a list or a mapping")
    }

    fn visit_bool<E: Error>(self, value: bool) -> Result<Tree, E> {
        self.scalar(Tree::Flag(value), 1)
    }

    fn visit_i64<E: Error>(self, value: i64) -> Result<Tree, E> {
        self.scalar(Tree::Integer(value), 1)
    }

    fn visit_u64<E: Error>(self, value: u64) -> Result<Tree, E> {
        let tree = i64::try_from(value).map_or(Tree::Number(value as f64), Tree::Integer);
        self.scalar(tree, 1)
    }

    fn visit_i128<E: Error>(self, value: i128) -> Result<Tree, E> {
        self.scalar(Tree::Number(value as f64), 1)
    }

    fn visit_u128<E: Error>(self, value: u128) -> Result<Tree, E> {
        self.scalar(Tree::Number(value as f64), 1)
    }

    fn visit_f64<E: Error>(self, value: f64) -> Result<Tree, E> {
        self.scalar(Tree::Number(value), 1)
    }

    fn visit_str<E: Error>(self, value: &str) -> Result<Tree, E> {
        self.scalar(Tree::Text(value.to_owned()), value.len())
    }

    fn visit_unit<E: Error>(self) -> Result<Tree, E> {
        self.scalar(Tree::Null, 1)
    }

    fn visit_none<E: Error>(self) -> Result<Tree, E> {
        self.visit_unit()
    }

    fn visit_enum<A: EnumAccess<'de>>(self, _: A) -> Result<Tree, A::Error> {
        Err(A::Error::custom("tags are not read"))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut access: A) -> Result<Tree, A::Error> {
        let depth = self.deeper()?;
        self.reading.spend(1)?;
        let number = self.reading.open(0)?;
        let mut list = Vec::new();
        while let Some(value) = access.next_element_seed(Node {
            reading: &mut *self.reading,
            depth,
        })? {
            list.push(value);
        }
        self.reading.close(number);
        Ok(Tree::List(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<Tree, A::Error> {
        let depth = self.deeper()?;
        self.reading.spend(1)?;
        let number = self.reading.open(0)?;
        let mut entries: Vec<(String, Tree)> = Vec::new();
        let mut names = BTreeSet::new();
        while let Some(name) = access.next_key_seed(Name)? {
            self.reading.spend(name.len())?;
            let at = self.reading.sizes.len() as u32;
            let value = access.next_value_seed(Node {
                reading: &mut *self.reading,
                depth,
            })?;
            self.reading.check_text(at, true, &name);
            if !names.insert(name.clone()) {
                let what = format!("{} is given twice here", shown(&name));
                self.reading.fault(at, true, what, Some("keep one of them"));
            }
            entries.push((name, value));
        }
        self.reading.close(number);
        Ok(Tree::Map(entries))
    }
}

/// Reads a name in a mapping: text, or a whole number as typed.
struct Name;

impl<'de> DeserializeSeed<'de> for Name {
    type Value = String;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<String, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl Visitor<'_> for Name {
    type Value = String;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a name before the colon (text; put it in quotes)")
    }

    fn visit_str<E: Error>(self, value: &str) -> Result<String, E> {
        if value.len() > LONGEST_NAME {
            return Err(E::custom(format_args!("a name is longer than {LONGEST_NAME} bytes")));
        }
        Ok(value.to_owned())
    }

    fn visit_i64<E: Error>(self, value: i64) -> Result<String, E> {
        Ok(value.to_string())
    }

    fn visit_u64<E: Error>(self, value: u64) -> Result<String, E> {
        Ok(value.to_string())
    }
}
