//! Adds to a list of a file, and leaves every other character as it stands: comments, order, quotes, blank lines.
//!
//! Where the new text goes is worked out from the places of the values around it. Files can be written in more ways
//! than that knows of, so each guess is read again and kept only if it says what was meant: all that was there, and
//! the new values at the end of the list.

mod entry;

use crate::inline::{block_item, inline};
use crate::spots::Spots;
use crate::{Doc, Item, Problem, Problems, Tree};

impl Doc {
    /// The text of the file with `values` at the end of the list that the names `path` lead to from the root; a number
    /// among them is an index in a list. A list that is not there is made, in the mapping that would hold it.
    ///
    /// # Errors
    /// The path leads to no list, or the file is written in a way that can't be added to.
    ///
    /// ```
    /// use wythe_text::{Doc, Tree};
    /// let doc = Doc::parse("wall.yaml", "seen:  # so far\n  - {a: 1}\n\n# the end\n")?;
    /// let more = doc.appended(&["seen"], &[Tree::Text("it's new".into())])?;
    /// assert_eq!(more, "seen:  # so far\n  - {a: 1}\n  - \"it's new\"\n\n# the end\n");
    /// # Ok::<(), wythe_text::Problems>(())
    /// ```
    pub fn appended(&self, path: &[&str], values: &[Tree]) -> Result<String, Problems> {
        if values.is_empty() {
            return Ok(self.text().to_owned());
        }
        let mut wanted = self.root().tree().clone();
        if !put(&mut wanted, path, values) {
            return Err(Problem::new(self.name(), format!("there is no list {}", path.join(".")), None).into());
        }
        let reads = |text: &String| Doc::parse(self.name(), text).is_ok_and(|read| *read.root().tree() == wanted);
        let found = Form::of(self, path).guesses(values).into_iter().find(reads);
        found.ok_or_else(|| {
            let what = "the file is written in a way that can't be added to";
            let help = "put each pass, place and sighting on a line of its own, with a dash before it";
            Problem::new(self.name(), what, Some(help.into())).into()
        })
    }
}

/// Puts the values at the end of the list; false when there is none.
fn put(tree: &mut Tree, path: &[&str], values: &[Tree]) -> bool {
    let Some((first, rest)) = path.split_first() else {
        return match tree {
            Tree::List(list) => {
                list.extend_from_slice(values);
                true
            }
            Tree::Null => {
                *tree = Tree::List(values.to_vec());
                true
            }
            _ => false,
        };
    };
    match tree {
        Tree::Map(entries) => match entries.iter_mut().find(|(name, _)| name == first) {
            Some((_, value)) => put(value, rest, values),
            None if rest.is_empty() => {
                entries.push(((*first).to_owned(), Tree::List(values.to_vec())));
                true
            }
            None => false,
        },
        Tree::List(list) => first
            .parse()
            .ok()
            .and_then(|at: usize| list.get_mut(at))
            .is_some_and(|value| put(value, rest, values)),
        _ => false,
    }
}

/// How the list stands in the text.
struct Form<'d> {
    doc: &'d Doc,
    spots: &'d Spots,
    /// The mapping that holds the list, or would.
    holder: Option<Item<'d>>,
    list: Option<Item<'d>>,
    name: String,
    as_json: bool,
    newline: &'static str,
}

impl<'d> Form<'d> {
    fn of(doc: &'d Doc, path: &[&str]) -> Self {
        let (mut holder, mut list) = (None, Some(doc.root()));
        for step in path {
            holder = list;
            list = holder.and_then(|item: Item<'d>| match item.tree() {
                Tree::List(_) => step
                    .parse()
                    .ok()
                    .and_then(|at: usize| item.members().into_iter().nth(at))
                    .map(|(_, item)| item),
                _ => item.child(step),
            });
        }
        Self {
            doc,
            spots: doc.spots(),
            holder,
            list,
            name: path.last().copied().unwrap_or_default().to_owned(),
            as_json: doc.name().to_ascii_lowercase().ends_with(".json"),
            newline: if doc.text().contains("\r\n") { "\r\n" } else { "\n" },
        }
    }

    /// New texts, the likeliest first.
    fn guesses(&self, values: &[Tree]) -> Vec<String> {
        let inlined = values
            .iter()
            .map(|value| inline(value, self.as_json))
            .collect::<Vec<_>>();
        let Some(list) = self.list else {
            return self.new_list(&inlined, values);
        };
        let after_name = self.key(&list).and_then(|key| self.after_colon(key));
        match after_name {
            Some(open) if self.text_at(open).starts_with('[') => {
                let mut guesses = Vec::new();
                // An empty pair of brackets in a block gives way to a block.
                if let (Tree::List(empty), false, Some(key)) = (list.tree(), self.as_json, self.key(&list))
                    && empty.is_empty()
                    && let Some((_, close)) = self.flow_end(open)
                {
                    let indent = self.column(key).saturating_add(2);
                    let items = format!("{}{}", self.newline, self.items(values, indent));
                    guesses.push(self.with(open, close.saturating_add(1), items.trim_end_matches(['\r', '\n'])));
                }
                guesses.extend(self.in_brackets(&list, open, &inlined));
                guesses
            }
            _ if matches!(list.tree(), Tree::Null) => self
                .key(&list)
                .map(|key| self.after_line(key, &self.items(values, self.column(key).saturating_add(2))))
                .into_iter()
                .collect(),
            _ => self.in_block(&list, values),
        }
    }

    fn items(&self, values: &[Tree], indent: usize) -> String {
        values
            .iter()
            .map(|value| block_item(value, indent, self.newline))
            .collect()
    }

    /// Before the bracket that closes a list.
    fn in_brackets(&self, list: &Item<'d>, open: usize, inlined: &[String]) -> Vec<String> {
        let Some((last, _)) = self.flow_end(open) else {
            return Vec::new();
        };
        let first = list.members().first().map(|(_, item)| self.start(item));
        let break_line = first.and_then(|first| {
            let between = self.doc.text().get(open..first)?;
            between
                .contains('\n')
                .then(|| format!("{}{}", self.newline, " ".repeat(self.indent(first))))
        });
        let gap = break_line.unwrap_or_else(|| if first.is_some() { " ".into() } else { String::new() });
        let more = inlined.join(&format!(",{}", if gap.is_empty() { " " } else { &gap }));
        let comma = if first.is_some() { "," } else { "" };
        vec![
            self.with(last, last, &format!("{comma}{gap}{more}")),
            self.with(last, last, &format!("{gap}{more}")),
        ]
    }

    /// After the last item of a list with dashes.
    fn in_block(&self, list: &Item<'d>, values: &[Tree]) -> Vec<String> {
        let Some((_, first)) = list.members().into_iter().next() else {
            return Vec::new();
        };
        let start = self.start(&first);
        let line = self.line_start(start);
        let before = self.doc.text().get(line..start).unwrap_or_default();
        let Some(dash) = before.find('-') else {
            return Vec::new();
        };
        self.after(list, &self.items(values, dash))
    }

    /// As a new entry of the mapping that is to hold it.
    fn new_list(&self, inlined: &[String], values: &[Tree]) -> Vec<String> {
        let Some(holder) = self.holder else {
            return Vec::new();
        };
        let Some((_, member)) = holder.members().into_iter().next() else {
            return Vec::new();
        };
        let Some(first) = self.key(&member) else {
            return Vec::new();
        };
        let before = self.doc.text().get(..first).unwrap_or_default().trim_end();
        if before.ends_with('{') {
            let Some((last, _)) = self.flow_end(before.len().saturating_sub(1)) else {
                return Vec::new();
            };
            let name = inline(&Tree::Text(self.name.clone()), self.as_json);
            let entry = format!("{name}: [{}]", inlined.join(", "));
            return vec![self.with(last, last, &format!(", {entry}"))];
        }
        let column = self.column(first);
        let items = self.items(values, column.saturating_add(2));
        let entry = format!("{}{}:{}{items}", " ".repeat(column), self.name, self.newline);
        self.after(&holder, &entry)
    }

    /// Lines put after everything that belongs to an item: after its last line with something on it, or before what
    /// follows, where the last lines are a block of text that looks like comments.
    fn after(&self, item: &Item<'d>, lines: &str) -> Vec<String> {
        let text = self.doc.text();
        let next = item.locus().after(self.doc.size(item.locus()));
        let end = match self.spots.places.get(next.0 as usize) {
            Some(place) => self.line_start(self.spots.byte(text, place.key.unwrap_or(place.value))),
            None => text.len(),
        };
        let start = self.start(item);
        let mut last = end;
        let inside = text.get(start..end).unwrap_or_default();
        let mut at = end;
        for line in inside.split_inclusive('\n').rev() {
            if !line.trim().is_empty() && !line.trim_start().starts_with('#') {
                last = at;
                break;
            }
            at = at.saturating_sub(line.len());
        }
        [last, end].into_iter().map(|at| self.with_lines(at, lines)).collect()
    }

    /// Lines put after the line of a byte.
    fn after_line(&self, byte: usize, lines: &str) -> String {
        let rest = self.text_at(byte);
        let end = rest.find('\n').map_or(rest.len(), |at| at.saturating_add(1));
        self.with_lines(byte.saturating_add(end), lines)
    }

    /// The text with whole lines put in at a byte where a line begins.
    fn with_lines(&self, at: usize, lines: &str) -> String {
        let before = self.doc.text().get(..at).unwrap_or_default();
        if before.is_empty() || before.ends_with('\n') {
            self.with(at, at, lines)
        } else {
            self.with(at, at, &format!("{}{lines}", self.newline))
        }
    }

    /// The text with the bytes from `from` to `to` given up for `new`.
    fn with(&self, from: usize, to: usize, new: &str) -> String {
        let text = self.doc.text();
        let before = text.get(..from).unwrap_or_default();
        let after = text.get(to..).unwrap_or_default();
        format!("{before}{new}{after}")
    }

    fn text_at(&self, byte: usize) -> &'d str {
        self.doc.text().get(byte..).unwrap_or_default()
    }

    fn key(&self, item: &Item<'d>) -> Option<usize> {
        let place = self.spots.places.get(item.locus().0 as usize)?;
        Some(self.spots.byte(self.doc.text(), place.key?))
    }

    /// Where an item begins: its first name, when it is a mapping.
    fn start(&self, item: &Item<'d>) -> usize {
        let text = self.doc.text();
        let place = self.spots.places.get(item.locus().0 as usize);
        place.map_or(0, |place| self.spots.byte(text, place.value))
    }

    fn line_start(&self, byte: usize) -> usize {
        let before = self.doc.text().get(..byte).unwrap_or_default();
        before.rfind('\n').map_or(0, |at| at.saturating_add(1))
    }

    fn column(&self, byte: usize) -> usize {
        byte.saturating_sub(self.line_start(byte))
    }

    /// Blanks before the first character of a byte's line.
    fn indent(&self, byte: usize) -> usize {
        let line = self.text_at(self.line_start(byte));
        line.len().saturating_sub(line.trim_start_matches(' ').len())
    }

    /// The first byte of a value after the name that begins at `key`, past blanks and comments.
    fn after_colon(&self, key: usize) -> Option<usize> {
        let rest = self.text_at(key);
        let quote = rest.chars().next().filter(|c| matches!(c, '"' | '\''));
        let name_end = match quote {
            Some(quote) => rest.get(1..)?.find(quote)?.saturating_add(2),
            None => rest.find(':')?,
        };
        let mut at = name_end
            .saturating_add(rest.get(name_end..)?.find(':')?)
            .saturating_add(1);
        loop {
            let after = rest.get(at..)?;
            let blank = after.len().saturating_sub(after.trim_start().len());
            at = at.saturating_add(blank);
            if !rest.get(at..)?.starts_with('#') {
                return Some(key.saturating_add(at));
            }
            at = at.saturating_add(rest.get(at..)?.find('\n')?);
        }
    }

    /// Of the bracket that opens at a byte: the byte after the last that says something inside, and that of the
    /// bracket that closes it.
    fn flow_end(&self, open: usize) -> Option<(usize, usize)> {
        let mut depth = 0_usize;
        let mut last = open;
        let mut before = ' ';
        let mut spoke = ' ';
        let mut chars = self.text_at(open).char_indices().peekable();
        while let Some((at, c)) = chars.next() {
            let end = open.saturating_add(at).saturating_add(c.len_utf8());
            match c {
                '#' if before.is_whitespace() => while chars.next_if(|(_, c)| *c != '\n').is_some() {},
                '"' | '\'' if matches!(spoke, '[' | '{' | ',' | ':') => {
                    let mut escaped = false;
                    for (at, inner) in chars.by_ref() {
                        last = open.saturating_add(at).saturating_add(1);
                        if inner == c && !escaped {
                            break;
                        }
                        escaped = c == '"' && inner == '\\' && !escaped;
                    }
                    spoke = c;
                }
                ']' | '}' if depth == 1 => return Some((last, open.saturating_add(at))),
                '[' | '{' => depth = depth.saturating_add(1),
                ']' | '}' => depth = depth.saturating_sub(1),
                _ => {}
            }
            if !c.is_whitespace() && c != '#' && !matches!(c, '"' | '\'') {
                (last, spoke) = (end, c);
            }
            before = c;
        }
        None
    }
}
