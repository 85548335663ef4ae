//! The tables of a pack: words, sources, places, contexts, wording.

use wythe_text::{Doc, Item, Problems};

use super::desk::{Desk, instead};
use crate::{Action, Context, ContextIx, Drawn, KindIx, PlaceKind, Source, SourceKind, Support, Wording};

/// The frequency and effect words.
#[derive(Default)]
pub(super) struct Words {
    pub frequencies: Vec<(String, f64)>,
    pub effects: Vec<(String, f64)>,
}

pub(super) fn words(doc: &Doc, out: &mut Problems) -> Words {
    let fields = doc.root().fields(out, &["frequencies", "effects"]);
    let mut words = Words::default();
    if let Some(item) = fields.required(out, "frequencies") {
        for (word, value) in item.entries(out) {
            match value.number(out) {
                Some(chance) if chance > 0.0 && chance < 1.0 => {}
                Some(_) => value.problem(
                    out,
                    format!("the word `{word}` must stand for a chance over 0 and under 1"),
                    Some("no word is certain".into()),
                ),
                None => {}
            }
            // Known even when its number is wrong, so that one slip is one problem.
            words
                .frequencies
                .push((word.to_owned(), value.number(&mut Problems::default()).unwrap_or(0.5)));
        }
    }
    if let Some(item) = fields.required(out, "effects") {
        for (word, value) in item.entries(out) {
            match value.number(out) {
                Some(times) if times >= 0.0 => {}
                Some(_) => value.problem(
                    out,
                    format!("the effect `{word}` must multiply odds by 0 or more"),
                    Some("0 rules out, under 1 lowers, over 1 raises".into()),
                ),
                None => {}
            }
            words
                .effects
                .push((word.to_owned(), value.number(&mut Problems::default()).unwrap_or(1.0)));
        }
    }
    words
}

pub(super) fn sources(desk: &mut Desk, doc: &Doc) -> Vec<Source> {
    let mut all = Vec::new();
    for (id, item) in doc.root().entries(&mut desk.problems) {
        let fields = item.fields(&mut desk.problems, &["title", "by", "year", "kind", "seen", "address"]);
        let title = fields.required(&mut desk.problems, "title");
        let kind = fields.required(&mut desk.problems, "kind");
        let seen = fields.optional("seen");
        all.push(Source {
            id: id.to_owned(),
            title: desk.words_of(title),
            by: fields.optional("by").map(|by| desk.words_of(Some(by))),
            year: fields
                .optional("year")
                .and_then(|year| year.integer(&mut desk.problems)),
            kind: desk
                .choice(kind, &SourceKind::NAMES, &SourceKind::ALL)
                .unwrap_or(SourceKind::Judgement),
            seen_in_print: desk
                .choice(seen, &["in_print", "from_memory"], &[true, false])
                .unwrap_or(false),
            address: fields.optional("address").map(|address| desk.words_of(Some(address))),
        });
    }
    all
}

pub(super) fn kinds(desk: &mut Desk, doc: &Doc) -> Vec<PlaceKind> {
    let mut all = Vec::new();
    for (at, (id, item)) in doc.root().entries(&mut desk.problems).into_iter().enumerate() {
        if at == 0 && id != "house" {
            item.problem(
                &mut desk.problems,
                "the first kind of place must be `house`",
                Some("put `house` first".into()),
            );
        }
        let fields = item.fields(
            &mut desk.problems,
            &["title", "in", "touches", "usual", "drawn", "names"],
        );
        let title = fields.required(&mut desk.problems, "title");
        let usual = fields.required(&mut desk.problems, "usual");
        let within = desk
            .known(fields.optional("in"), "kind of place", |names| &mut names.kinds)
            .map(KindIx);
        let mut touches = Vec::new();
        if let Some(item) = fields.optional("touches") {
            for (kind, count) in item.entries(&mut desk.problems) {
                match desk.names.kinds.iter().position(|name| name == kind) {
                    Some(kind) => touches.push((KindIx(kind), desk.number_in(Some(count), 0.01, 1000.0))),
                    None => count.key_problem(
                        &mut desk.problems,
                        format!("this pack has no kind of place `{kind}`"),
                        Some(instead(kind, &desk.names.kinds)),
                    ),
                }
            }
        }
        all.push(PlaceKind {
            id: id.to_owned(),
            title: desk.words_of(title),
            within: within.or((at > 0).then_some(KindIx(0))),
            touches,
            usual: desk.number_in(usual, 1.0, 1000.0),
            drawn: fields
                .optional("drawn")
                .and_then(|drawn| desk.choice(Some(drawn), &Drawn::NAMES, &Drawn::ALL))
                .unwrap_or_default(),
            names: fields
                .optional("names")
                .map(|item| item.list(&mut desk.problems))
                .unwrap_or_default()
                .iter()
                .filter_map(|item| item.text(&mut desk.problems).map(str::to_owned))
                .collect(),
        });
    }
    within_without_loops(desk, doc, &all);
    all
}

fn within_without_loops(desk: &mut Desk, doc: &Doc, kinds: &[PlaceKind]) {
    for kind in kinds {
        let mut at = kind.within;
        for _ in 0..=kinds.len() {
            at = at.and_then(|KindIx(at)| kinds.get(at)).and_then(|outer| outer.within);
        }
        if at.is_some() {
            doc.root().problem(
                &mut desk.problems,
                format!("the kind of place `{}` lies in itself", kind.id),
                Some("mend its `in`".into()),
            );
        }
    }
}

pub(super) fn context(desk: &mut Desk, doc: &Doc) -> Context {
    let fields = doc.root().fields(
        &mut desk.problems,
        &[
            "id",
            "title",
            "ask",
            "share",
            "not_with",
            "basis",
            "source",
            "computed_from",
        ],
    );
    let [id, title, ask, share, source] =
        ["id", "title", "ask", "share", "source"].map(|key| fields.required(&mut desk.problems, key));
    let name = desk.id(id, doc);
    let not_with = fields
        .optional("not_with")
        .map(|item| item.list_or_one(&mut desk.problems))
        .unwrap_or_default()
        .into_iter()
        .filter_map(|row| {
            let at = desk.known(Some(row), "context", |names| &mut names.contexts)?;
            if desk.names.contexts.get(at) == Some(&name) {
                row.problem(
                    &mut desk.problems,
                    "this context is itself",
                    Some("name one that cannot hold beside it".into()),
                );
            }
            Some(ContextIx(at))
        })
        .collect();
    Context {
        id: name,
        not_with,
        title: desk.words_of(title),
        ask: desk.words_of(ask),
        share: share
            .and_then(|share| desk.chance(share))
            .map_or(0.5, |share| share.value),
        basis: desk.basis(fields.optional("basis")),
        sources: desk.sources(source),
        computed_from: fields
            .optional("computed_from")
            .map(|item| super::computed::context_from(desk, &item))
            .unwrap_or_default(),
    }
}

pub(super) fn wording(desk: &mut Desk, doc: &Doc) -> Wording {
    let fields = doc.root().fields(
        &mut desk.problems,
        &["cautions", "supports", "actions", "by_when", "client", "engineer"],
    );
    let [cautions, support_texts, action_texts] =
        ["cautions", "supports", "actions"].map(|key| fields.required(&mut desk.problems, key));
    let mut wording = Wording {
        cautions: desk.texts(cautions),
        supports: support_texts.map(|item| supports(desk, item)).unwrap_or_default(),
        actions: action_texts.map(|item| actions(desk, item)).unwrap_or_default(),
        by_when: fields
            .optional("by_when")
            .map(|item| actions(desk, item))
            .unwrap_or_default(),
        ..Wording::default()
    };
    if let Some(item) = fields.optional("client") {
        let fields = item.fields(&mut desk.problems, &["about", "supports", "words"]);
        wording.client_about = desk.texts(fields.optional("about"));
        let words = fields.optional("words");
        wording.client_words = words
            .map(|item| item.entries(&mut desk.problems))
            .unwrap_or_default()
            .into_iter()
            .map(|(word, means)| (word.to_owned(), desk.words_of(Some(means))))
            .collect();
        wording.client_supports = fields
            .optional("supports")
            .map(|item| supports(desk, item))
            .unwrap_or_default();
    }
    if let Some(item) = fields.optional("engineer") {
        let fields = item.fields(&mut desk.problems, &["about", "questions"]);
        wording.engineer_about = desk.texts(fields.optional("about"));
        wording.engineer_questions = desk.texts(fields.optional("questions"));
    }
    wording
}

/// A text per support.
fn supports(desk: &mut Desk, item: Item<'_>) -> Vec<(Support, String)> {
    let supports = desk.supports(item);
    supports
        .into_iter()
        .map(|(support, item)| (support, desk.words_of(Some(item))))
        .collect()
}

/// A text per action.
fn actions(desk: &mut Desk, item: Item<'_>) -> Vec<(Action, String)> {
    let mut sentences = Vec::new();
    for (key, item) in item.entries(&mut desk.problems) {
        match Action::NAMES
            .iter()
            .position(|name| *name == key)
            .and_then(|at| Action::ALL.get(at))
        {
            Some(action) => sentences.push((*action, desk.words_of(Some(item)))),
            None => item.key_problem(
                &mut desk.problems,
                format!("there is no action `{key}`"),
                Some(instead(key, &Action::NAMES)),
            ),
        }
    }
    sentences
}
