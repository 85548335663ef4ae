//! Cursors into a document that read a value or say what is wrong with it.

use crate::{Doc, Locus, Problem, Problems, Tree, nearest, shown};

/// A value in a document.
#[derive(Clone, Copy, Debug)]
pub struct Item<'d> {
    doc: &'d Doc,
    tree: &'d Tree,
    locus: Locus,
    key: Option<&'d str>,
}

impl<'d> Item<'d> {
    pub(crate) fn new(doc: &'d Doc, tree: &'d Tree, locus: Locus, key: Option<&'d str>) -> Self {
        Self { doc, tree, locus, key }
    }

    /// The value itself.
    pub fn tree(&self) -> &'d Tree {
        self.tree
    }

    /// Where it stands.
    pub fn locus(&self) -> Locus {
        self.locus
    }

    /// The document that it stands in.
    pub fn doc(&self) -> &'d Doc {
        self.doc
    }

    /// The name that it has in its mapping; none in a list and at the root.
    pub fn key(&self) -> Option<&'d str> {
        self.key
    }

    /// True when it is `null` or left empty.
    pub fn is_null(&self) -> bool {
        *self.tree == Tree::Null
    }

    /// Adds a problem with this value.
    pub fn problem(&self, out: &mut Problems, what: impl Into<String>, help: Option<String>) {
        out.push_with(|| self.doc.problem_at(&self.locus, what, help));
    }

    /// Adds a problem with a part of this text: `length` characters from the byte `offset` on. With the whole of it,
    /// when that part can't be told apart in the file.
    pub fn problem_inside(
        &self,
        out: &mut Problems,
        (offset, length): (usize, usize),
        what: impl Into<String>,
        help: Option<String>,
    ) {
        let Tree::Text(value) = self.tree else {
            return self.problem(out, what, help);
        };
        out.push_with(|| {
            self.doc
                .problem_inside(self.locus, value, (offset, length), what.into(), help)
        });
    }

    /// Adds a problem with this value's name in its mapping; with the value, when it has no name.
    pub fn key_problem(&self, out: &mut Problems, what: impl Into<String>, help: Option<String>) {
        out.push_with(|| self.doc.problem_at_name(&self.locus, what, help));
    }

    /// The members of a list or mapping, in the order of the file, with their names in a mapping.
    pub fn members(&self) -> Vec<(Option<&'d str>, Item<'d>)> {
        let mut next = self.locus.after(1);
        let mut member = |key: Option<&'d str>, tree: &'d Tree| {
            let item = Item::new(self.doc, tree, next, key);
            next = next.after(self.doc.size(next));
            (key, item)
        };
        match self.tree {
            Tree::List(list) => list.iter().map(|tree| member(None, tree)).collect(),
            Tree::Map(entries) => entries.iter().map(|(key, tree)| member(Some(key), tree)).collect(),
            _ => Vec::new(),
        }
    }

    /// The value of that name, when this is a mapping that has it.
    pub(crate) fn child(&self, key: &str) -> Option<Item<'d>> {
        self.members()
            .into_iter()
            .find(|(name, _)| *name == Some(key))
            .map(|(_, child)| child)
    }

    /// The named values of a mapping whose names are all known. A name not known, or a value that is no mapping, is a
    /// problem; the known names can still be read.
    pub fn fields(&self, out: &mut Problems, known: &[&str]) -> Fields<'d> {
        let entries = self.entries(out);
        for (key, item) in &entries {
            if !known.contains(key) && !out.is_full() {
                let near = nearest(key, known.iter().copied());
                let near = near.map_or(String::new(), |near| format!("did you mean `{near}`? "));
                let help = format!("{near}names known here: {}", list_of(known));
                item.key_problem(out, format!("{} is not a name known here", shown(key)), Some(help));
            }
        }
        Fields {
            whole: *self,
            entries,
            is_mapping: matches!(self.tree, Tree::Map(_)),
        }
    }

    /// The entries of a mapping with names of any kind, in the order of the file.
    pub fn entries(&self, out: &mut Problems) -> Vec<(&'d str, Item<'d>)> {
        if !matches!(self.tree, Tree::Map(_)) {
            self.wrong_kind::<()>(out, "a mapping (`name: value`)");
        }
        self.members()
            .into_iter()
            .filter_map(|(key, item)| Some((key?, item)))
            .collect()
    }

    /// The members of a list.
    pub fn list(&self, out: &mut Problems) -> Vec<Item<'d>> {
        match self.tree {
            Tree::List(_) => self.members().into_iter().map(|(_, item)| item).collect(),
            _ => {
                self.wrong_kind::<()>(out, "a list (`- item`, or `[item, item]`)");
                Vec::new()
            }
        }
    }

    /// The members of a list, or the one value that stands in for a list of one.
    pub fn list_or_one(&self, out: &mut Problems) -> Vec<Item<'d>> {
        match self.tree {
            Tree::Null => {
                self.wrong_kind::<()>(out, "one item or a list of them");
                Vec::new()
            }
            Tree::List(_) => self.list(out),
            _ => vec![*self],
        }
    }

    /// Text.
    pub fn text(&self, out: &mut Problems) -> Option<&'d str> {
        match self.tree {
            Tree::Text(text) => Some(text),
            Tree::Flag(_) | Tree::Integer(_) | Tree::Number(_) => {
                let what = format!("text is wanted here, and this reads as {}", self.tree.kind());
                self.problem(out, what, Some("put it in quotes".into()));
                None
            }
            _ => self.wrong_kind(out, "text"),
        }
    }

    /// Text, or a whole number read as the text that it is, as in a house number.
    pub fn text_or_number(&self, out: &mut Problems) -> Option<String> {
        match self.tree {
            Tree::Integer(integer) => Some(integer.to_string()),
            _ => self.text(out).map(str::to_owned),
        }
    }

    /// A number, always finite.
    pub fn number(&self, out: &mut Problems) -> Option<f64> {
        match self.tree {
            Tree::Integer(integer) => Some(*integer as f64),
            Tree::Number(number) => Some(*number),
            _ => self.wrong_kind(out, "a number"),
        }
    }

    /// A whole number.
    pub fn integer(&self, out: &mut Problems) -> Option<i64> {
        match self.tree {
            Tree::Integer(integer) => Some(*integer),
            _ => self.wrong_kind(out, "a whole number"),
        }
    }

    /// `yes` or `no`, `true` or `false`.
    pub fn flag(&self, out: &mut Problems) -> Option<bool> {
        match self.tree {
            Tree::Flag(flag) => Some(*flag),
            Tree::Text(text) if text == "yes" => Some(true),
            Tree::Text(text) if text == "no" => Some(false),
            _ => self.wrong_kind(out, "`yes` or `no`"),
        }
    }

    /// Which of the choices it names.
    pub fn one_of(&self, out: &mut Problems, choices: &[&str]) -> Option<usize> {
        let Tree::Text(text) = self.tree else {
            return self.wrong_kind(out, &format!("one of {}", list_of(choices)));
        };
        let found = choices.iter().position(|choice| choice == text);
        if found.is_none() {
            let near = nearest(text, choices.iter().copied());
            let near = near.map_or(String::new(), |near| format!("did you mean `{near}`? "));
            let help = format!("{near}choices: {}", list_of(choices));
            self.problem(out, format!("{} is not a choice here", shown(text)), Some(help));
        }
        found
    }

    fn wrong_kind<T>(&self, out: &mut Problems, wanted: &str) -> Option<T> {
        let found = match self.tree {
            Tree::Text(text) => shown(text),
            tree => tree.kind().to_owned(),
        };
        self.problem(out, format!("{wanted} is wanted here, found {found}"), None);
        None
    }
}

fn list_of(names: &[&str]) -> String {
    names
        .iter()
        .map(|name| format!("`{name}`"))
        .collect::<Vec<_>>()
        .join(", ")
}

/// The named values of a mapping.
#[derive(Clone, Debug)]
pub struct Fields<'d> {
    whole: Item<'d>,
    entries: Vec<(&'d str, Item<'d>)>,
    is_mapping: bool,
}

impl<'d> Fields<'d> {
    /// The value of that name. When there is none, a problem with the mapping.
    pub fn required(&self, out: &mut Problems, key: &str) -> Option<Item<'d>> {
        let found = self.optional(key);
        if found.is_none() && self.is_mapping {
            self.whole
                .problem(out, format!("`{key}` is missing here"), Some(format!("add `{key}:`")));
        }
        found
    }

    /// The value of that name, when there is one.
    pub fn optional(&self, key: &str) -> Option<Item<'d>> {
        self.entries
            .iter()
            .find(|(name, _)| *name == key)
            .map(|(_, item)| *item)
    }

    /// The mapping as a whole.
    pub fn item(&self) -> Item<'d> {
        self.whole
    }

    /// A problem with the mapping as a whole.
    pub fn problem(&self, what: impl Into<String>, help: Option<String>) -> Problem {
        self.whole.doc().problem_at(&self.whole.locus(), what, help)
    }
}
