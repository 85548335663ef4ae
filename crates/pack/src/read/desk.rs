//! What every reader of a part needs: the names known so far, the frequency words, and the problems found.

use wythe_text::{Doc, Item, Problems, Tree, nearest};

use super::Shelf;
use super::tables::Words;
use crate::{Action, Basis, Chance, Clue, ClueIx, Node, Response, ResponseIx, SourceIx, Support};

/// The names that a file may use.
#[derive(Default)]
pub(super) struct Names {
    pub kinds: Vec<String>,
    pub contexts: Vec<String>,
    pub clues: Vec<String>,
    pub responses: Vec<String>,
    pub mechanisms: Vec<String>,
    pub families: Vec<String>,
    pub sources: Vec<String>,
    pub consequences: Vec<String>,
    /// Grades of each clue.
    pub grades: Vec<Vec<String>>,
    /// States of each response, and whether they are opposed.
    pub states: Vec<(Vec<String>, bool)>,
    /// Names whose files are there and could not be read: no problem of whoever uses them.
    unread: Vec<String>,
}

impl Names {
    pub fn of(shelf: &Shelf<'_>, sources: &Doc, places: &Doc, families: &Doc, head: &Doc, out: &mut Problems) -> Names {
        for doc in shelf.strays() {
            doc.root().problem(out, "a pack has no file of this name", Some("rules stand in contexts, clues, responses, mechanisms, limits, hazards, suppressions and regions, one rule a file".into()));
        }
        let keys = |doc: &Doc| match doc.root().tree() {
            Tree::Map(entries) => entries.iter().map(|(key, _)| key.clone()).collect(),
            _ => Vec::new(),
        };
        let consequences = match head.root().tree() {
            Tree::Map(entries) => entries
                .iter()
                .find(|(key, _)| key == "consequences")
                .and_then(|(_, value)| match value {
                    Tree::Map(rows) => Some(rows.iter().map(|(key, _)| key.clone()).collect()),
                    _ => None,
                })
                .unwrap_or_default(),
            _ => Vec::new(),
        };
        Names {
            kinds: keys(places),
            contexts: shelf.stems("contexts"),
            clues: shelf.stems("clues"),
            responses: shelf.stems("responses"),
            mechanisms: shelf.stems("mechanisms"),
            families: keys(families),
            sources: keys(sources),
            consequences,
            grades: Vec::new(),
            states: Vec::new(),
            unread: shelf.unread_stems(),
        }
    }

    pub fn learn_clues(&mut self, clues: &[Clue]) {
        self.grades = clues
            .iter()
            .map(|clue| clue.grades.iter().map(|grade| grade.id.clone()).collect())
            .collect();
    }

    pub fn learn_responses(&mut self, responses: &[Response]) {
        self.states = responses
            .iter()
            .map(|response| (response.states.clone(), response.opposed.is_some()))
            .collect();
    }

    /// Names of the states of a node: grades of a clue, states of a response.
    pub fn states_of(&self, node: Node) -> Vec<String> {
        match node {
            Node::Clue(ClueIx(at)) => self.grades.get(at).cloned().unwrap_or_default(),
            Node::Response(ResponseIx(at)) => self
                .states
                .get(at)
                .map(|(states, _)| states.clone())
                .unwrap_or_default(),
            Node::Mechanism(_) => vec!["no".into(), "yes".into()],
        }
    }

    pub fn opposed(&self, node: Node) -> bool {
        matches!(node, Node::Response(ResponseIx(at)) if self.states.get(at).is_some_and(|(_, opposed)| *opposed))
    }
}

/// Most names listed in a message.
const LISTED: usize = 12;

/// What to write instead of an unknown name: the nearest, else the names there are, when they are few.
pub(super) fn instead<S: AsRef<str>>(word: &str, known: &[S]) -> String {
    match nearest(word, known.iter().map(AsRef::as_ref)) {
        Some(near) => format!("did you mean `{near}`?"),
        None if known.is_empty() => "there are none: add it, or leave this out".into(),
        None if known.len() <= LISTED => {
            let names: Vec<String> = known.iter().map(|name| format!("`{}`", name.as_ref())).collect();
            format!("the names are {}", names.join(", "))
        }
        None => "add it to the pack, or name another".into(),
    }
}

/// A reader's desk.
pub(super) struct Desk {
    pub names: Names,
    pub words: Words,
    pub problems: Problems,
}

impl Desk {
    /// Text with something in it.
    pub fn words_of(&mut self, item: Option<Item<'_>>) -> String {
        let Some(item) = item else { return String::new() };
        match item.text(&mut self.problems) {
            Some(text) if !text.trim().is_empty() => text.trim().to_owned(),
            Some(_) => {
                item.problem(
                    &mut self.problems,
                    "this text is empty",
                    Some("say it in words, or leave the key out".into()),
                );
                String::new()
            }
            None => String::new(),
        }
    }

    pub fn texts(&mut self, item: Option<Item<'_>>) -> Vec<String> {
        let Some(item) = item else { return Vec::new() };
        item.list_or_one(&mut self.problems)
            .into_iter()
            .map(|one| self.words_of(Some(one)))
            .collect()
    }

    /// The index of a name in a list, or a problem that begins with `lacks` and gives the nearest name.
    pub fn name(&mut self, item: Item<'_>, lacks: &str, known: &[String]) -> Option<usize> {
        let text = item.text(&mut self.problems)?;
        let found = known.iter().position(|name| name == text);
        if found.is_none() && !self.names.unread.iter().any(|name| name == text) {
            item.problem(
                &mut self.problems,
                format!("{lacks} `{text}`"),
                Some(instead(text, known)),
            );
        }
        found
    }

    pub fn id(&mut self, item: Option<Item<'_>>, doc: &Doc) -> String {
        let stem = doc
            .name()
            .rsplit('/')
            .next()
            .unwrap_or_default()
            .trim_end_matches(".yaml")
            .to_owned();
        if let Some(item) = item
            && let Some(id) = item.text(&mut self.problems)
            && id != stem
        {
            item.problem(
                &mut self.problems,
                format!("the id `{id}` is not the name of its file"),
                Some(format!("make it `{stem}`, or rename the file")),
            );
        }
        stem
    }

    /// A chance in (0,1): a frequency word or a number.
    pub fn chance(&mut self, item: Item<'_>) -> Option<Chance> {
        self.chance_in(item, false)
    }

    /// A chance in [0,1).
    pub fn chance_or_zero(&mut self, item: Item<'_>) -> Option<Chance> {
        self.chance_in(item, true)
    }

    fn chance_in(&mut self, item: Item<'_>, zero: bool) -> Option<Chance> {
        if let Tree::Text(word) = item.tree() {
            let found = self.words.frequencies.iter().find(|(known, _)| known == word);
            if let Some((word, value)) = found {
                return Some(Chance {
                    value: *value,
                    word: Some(word.clone()),
                });
            }
            let known: Vec<String> = self.words.frequencies.iter().map(|(known, _)| known.clone()).collect();
            item.problem(
                &mut self.problems,
                format!("`{word}` is not a frequency word"),
                Some(instead(word, &known)),
            );
            return None;
        }
        let value = item.number(&mut self.problems)?;
        if value > 0.0 && value < 1.0 || (zero && value == 0.0) {
            return Some(Chance { value, word: None });
        }
        item.problem(
            &mut self.problems,
            format!("a chance of {value} is out of range"),
            Some("give a number over 0 and under 1: nothing is certain".into()),
        );
        None
    }

    /// A number within bounds, both included.
    pub fn number_in(&mut self, item: Option<Item<'_>>, low: f64, high: f64) -> f64 {
        let Some(item) = item else { return low };
        let Some(value) = item.number(&mut self.problems) else {
            return low;
        };
        if value < low || value > high {
            item.problem(
                &mut self.problems,
                format!("{value} is out of range"),
                Some(format!("give a number from {low} to {high}")),
            );
            return low;
        }
        value
    }

    /// Shares of named kinds: every kind named, none negative, summing to about 1; normalised.
    pub fn shares(&mut self, item: Item<'_>, kinds: &[String], every: bool) -> Vec<f64> {
        if kinds.is_empty() {
            // What they are shares of could not be read, and that is a problem already.
            return Vec::new();
        }
        let mut shares = vec![None; kinds.len()];
        for (key, value) in item.entries(&mut self.problems) {
            let share = match value.tree() {
                Tree::Text(_) => self.chance(value).map(|chance| chance.value),
                _ => value.number(&mut self.problems),
            };
            let Some(at) = kinds.iter().position(|kind| kind == key) else {
                value.key_problem(
                    &mut self.problems,
                    format!("there is no `{key}` here"),
                    Some(instead(key, kinds)),
                );
                continue;
            };
            match share {
                Some(share) if share >= 0.0 => {
                    if let Some(slot) = shares.get_mut(at) {
                        *slot = Some(share);
                    }
                }
                Some(share) => value.problem(
                    &mut self.problems,
                    format!("a share of {share} is negative"),
                    Some("give 0 or more".into()),
                ),
                None => {}
            }
        }
        if every {
            for (kind, share) in kinds.iter().zip(&shares) {
                if share.is_none() {
                    item.problem(
                        &mut self.problems,
                        format!("the share of `{kind}` is missing"),
                        Some("give each kind its share; they add up to 1".into()),
                    );
                }
            }
        }
        let shares: Vec<f64> = shares.into_iter().map(|share| share.unwrap_or(0.0)).collect();
        let sum: f64 = shares.iter().sum();
        if sum <= 0.0 || (every && (sum - 1.0).abs() > 0.02) {
            item.problem(
                &mut self.problems,
                format!("these shares add up to {sum:.3}"),
                Some("make them add up to 1".into()),
            );
            return vec![1.0 / kinds.len().max(1) as f64; kinds.len()];
        }
        shares.into_iter().map(|share| share / sum).collect()
    }

    pub fn sources(&mut self, item: Option<Item<'_>>) -> Vec<SourceIx> {
        let Some(item) = item else { return Vec::new() };
        let known = std::mem::take(&mut self.names.sources);
        let found = item
            .list_or_one(&mut self.problems)
            .into_iter()
            .filter_map(|one| self.name(one, "this pack has no source", &known))
            .map(SourceIx)
            .collect::<Vec<_>>();
        self.names.sources = known;
        found
    }

    /// Other names of the trade: none twice, none empty.
    pub fn other_names(&mut self, item: Option<Item<'_>>) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        for row in item
            .map(|item| item.list_or_one(&mut self.problems))
            .unwrap_or_default()
        {
            let name = self.words_of(Some(row));
            if names.contains(&name) {
                row.problem(
                    &mut self.problems,
                    format!("`{name}` stands twice"),
                    Some("say each name once".into()),
                );
            } else if !name.is_empty() {
                names.push(name);
            }
        }
        names
    }

    pub fn basis(&mut self, item: Option<Item<'_>>) -> Basis {
        item.and_then(|item| item.one_of(&mut self.problems, &Basis::NAMES))
            .and_then(|at| Basis::ALL.get(at).copied())
            .unwrap_or_default()
    }

    pub fn action(&mut self, item: Option<Item<'_>>) -> Action {
        item.and_then(|item| item.one_of(&mut self.problems, &Action::NAMES))
            .and_then(|at| Action::ALL.get(at).copied())
            .unwrap_or(Action::Record)
    }

    pub fn supports<'d>(&mut self, item: Item<'d>) -> Vec<(Support, Item<'d>)> {
        let mut rows = Vec::new();
        for (key, value) in item.entries(&mut self.problems) {
            match Support::NAMES
                .iter()
                .position(|name| *name == key)
                .and_then(|at| Support::ALL.get(at))
            {
                Some(support) => rows.push((*support, value)),
                None => value.key_problem(
                    &mut self.problems,
                    format!("there is no support `{key}`"),
                    Some(instead(key, &Support::NAMES)),
                ),
            }
        }
        rows
    }

    /// One of a list of names fixed by the format.
    pub fn choice<T: Copy>(&mut self, item: Option<Item<'_>>, names: &[&str], all: &[T]) -> Option<T> {
        item.and_then(|item| item.one_of(&mut self.problems, names))
            .and_then(|at| all.get(at).copied())
    }

    /// The node that a link leads to.
    pub fn node(&mut self, item: Item<'_>) -> Option<Node> {
        let text = item.text(&mut self.problems)?;
        let find = |names: &[String]| names.iter().position(|name| name == text);
        let found = find(&self.names.responses)
            .map(|at| Node::Response(ResponseIx(at)))
            .or_else(|| find(&self.names.clues).map(|at| Node::Clue(ClueIx(at))))
            .or_else(|| find(&self.names.mechanisms).map(|at| Node::Mechanism(crate::MechanismIx(at))));
        if found.is_none() && !self.names.unread.iter().any(|name| name == text) {
            let known: Vec<&String> = self
                .names
                .responses
                .iter()
                .chain(&self.names.clues)
                .chain(&self.names.mechanisms)
                .collect();
            item.problem(
                &mut self.problems,
                format!("this pack has no response, clue or mechanism `{text}`"),
                Some(instead(text, &known)),
            );
        }
        found
    }

    /// A name from one of the desk's own lists.
    pub fn known(
        &mut self,
        item: Option<Item<'_>>,
        what: &str,
        list: fn(&mut Names) -> &mut Vec<String>,
    ) -> Option<usize> {
        let item = item?;
        let known = std::mem::take(list(&mut self.names));
        let found = self.name(item, &format!("this pack has no {what}"), &known);
        *list(&mut self.names) = known;
        found
    }
}
