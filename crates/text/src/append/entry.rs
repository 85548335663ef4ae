//! One entry of a mapping set, and every other character kept.

use super::Form;
use crate::inline::inline;
use crate::{Doc, Item, Problem, Problems, Tree};

impl Doc {
    /// The text of this file with one entry of a mapping set: `path` leads to the mapping, each step a name. An entry of
    /// that name has its value changed; else it is added at the end. A mapping that is not there is made.
    ///
    /// # Errors
    /// The path leads to no mapping, or the file is written in a way that can't be changed so.
    ///
    /// ```
    /// use wythe_text::{Doc, Tree};
    /// let doc = Doc::parse("wall.yaml", "wall:\n  dry: unknown  # in August\n")?;
    /// let text = doc.with_entry(&["wall"], "dry", &Tree::Text("yes".into()))?;
    /// assert_eq!(text, "wall:\n  dry: yes  # in August\n");
    /// # Ok::<(), wythe_text::Problems>(())
    /// ```
    pub fn with_entry(&self, path: &[&str], name: &str, value: &Tree) -> Result<String, Problems> {
        let mut wanted = self.root().tree().clone();
        if !set(&mut wanted, path, name, value) {
            return Err(Problem::new(self.name(), format!("there is no mapping {}", path.join(".")), None).into());
        }
        let reads = |text: &String| Doc::parse(self.name(), text).is_ok_and(|read| *read.root().tree() == wanted);
        let form = Form::of(self, path);
        let found = form.entry_guesses(name, value).into_iter().find(reads);
        found.ok_or_else(|| {
            let what = format!("the file is written in a way in which `{name}` can't be set");
            let help = "put each name and its value on a line of its own";
            Problem::new(self.name(), what, Some(help.into())).into()
        })
    }
}

/// Sets the entry; false when the path leads to something else than a mapping.
fn set(tree: &mut Tree, path: &[&str], name: &str, value: &Tree) -> bool {
    if matches!(tree, Tree::Null) {
        *tree = Tree::Map(Vec::new());
    }
    let Tree::Map(entries) = tree else { return false };
    let Some((first, rest)) = path.split_first() else {
        match entries.iter_mut().find(|(other, _)| other == name) {
            Some((_, old)) => *old = value.clone(),
            None => entries.push((name.to_owned(), value.clone())),
        }
        return true;
    };
    if !entries.iter().any(|(other, _)| other == first) {
        entries.push(((*first).to_owned(), Tree::Null));
    }
    let found = entries.iter_mut().find(|(other, _)| other == first);
    found.is_some_and(|(_, inner)| set(inner, rest, name, value))
}

impl Form<'_> {
    /// New texts, the likeliest first.
    fn entry_guesses(&self, name: &str, value: &Tree) -> Vec<String> {
        let json = self.as_json;
        let value = inline(value, json);
        let entry = format!("{}: {value}", inline(&Tree::Text(name.to_owned()), json));
        let Some(mapping) = self.list else {
            let outer = inline(&Tree::Text(self.name.clone()), json);
            let Some(holder) = self.holder else { return Vec::new() };
            let Some(column) = self.names_column(&holder) else {
                return Vec::new();
            };
            let block = format!(
                "{margin}{outer}:{newline}{margin}  {entry}{newline}",
                margin = " ".repeat(column),
                newline = self.newline
            );
            let mut guesses = self.in_braces(&holder, &format!("{outer}: {{{entry}}}"));
            guesses.extend(self.after(&holder, &block));
            return guesses;
        };
        if let Some(old) = mapping.child(name) {
            return self.replaced(&old, &value);
        }
        if let Some(column) = self.names_column(&mapping) {
            let line = format!("{}{entry}{}", " ".repeat(column), self.newline);
            let mut guesses = self.in_braces(&mapping, &entry);
            guesses.extend(self.after(&mapping, &line));
            return guesses;
        }
        // Nothing in it yet: `name:` or `name: {}`.
        let Some(key) = self.key(&mapping) else {
            return Vec::new();
        };
        let indent = self.column(key).saturating_add(2);
        let mut guesses = vec![self.after_line(key, &format!("{}{entry}{}", " ".repeat(indent), self.newline))];
        if let Some(open) = self
            .after_colon(key)
            .filter(|open| self.text_at(*open).starts_with('{'))
            && let Some((_, close)) = self.flow_end(open)
        {
            guesses.push(self.with(open, close.saturating_add(1), &format!("{{{entry}}}")));
        }
        guesses
    }

    /// The column in which the names of a mapping stand, when it has any.
    fn names_column(&self, mapping: &Item<'_>) -> Option<usize> {
        let (_, member) = mapping.members().into_iter().next()?;
        let place = self.spots.places.get(member.locus().0 as usize)?;
        Some(self.column(self.spots.byte(self.doc.text(), place.key?)))
    }

    /// Before the brace that closes a mapping, where braces are round it.
    fn in_braces(&self, mapping: &Item<'_>, entry: &str) -> Vec<String> {
        let first = mapping.members().into_iter().next().and_then(|(_, member)| {
            let place = self.spots.places.get(member.locus().0 as usize)?;
            Some(self.spots.byte(self.doc.text(), place.key?))
        });
        let before = first
            .and_then(|first| self.doc.text().get(..first))
            .unwrap_or_default()
            .trim_end();
        if !before.ends_with('{') {
            return Vec::new();
        }
        let end = self.flow_end(before.len().saturating_sub(1));
        end.map(|(last, _)| self.with(last, last, &format!(", {entry}")))
            .into_iter()
            .collect()
    }

    /// A value given up for another on the same line.
    fn replaced(&self, old: &Item<'_>, value: &str) -> Vec<String> {
        let Some(start) = self.key(old).and_then(|key| self.after_colon(key)) else {
            return Vec::new();
        };
        let rest = self.text_at(start);
        let line = rest.lines().next().unwrap_or_default();
        let mut ends: Vec<usize> = Vec::new();
        match line.chars().next() {
            Some('{' | '[') => ends.extend(
                self.flow_end(start)
                    .map(|(_, close)| close.saturating_add(1).saturating_sub(start)),
            ),
            Some(quote @ ('"' | '\'')) => {
                ends.extend(
                    line.char_indices()
                        .skip(1)
                        .filter(|(_, c)| *c == quote)
                        .map(|(at, _)| at.saturating_add(1)),
                );
            }
            _ => {
                let marks = [" #", ",", "}"].iter().filter_map(|mark| line.find(mark));
                ends.extend(
                    marks
                        .chain([line.len()])
                        .map(|end| line.get(..end).unwrap_or_default().trim_end().len()),
                );
            }
        }
        ends.sort_unstable();
        ends.into_iter()
            .map(|end| self.with(start, start.saturating_add(end), value))
            .collect()
    }
}
