//! Regions, and names that are no longer used.

use wythe_text::Doc;

use super::desk::{Desk, instead};
use super::mechanisms::prevalence_of;
use crate::{ContextIx, MechanismIx, Region, Retired};

pub(super) fn region(desk: &mut Desk, doc: &Doc) -> Region {
    let fields = doc.root().fields(
        &mut desk.problems,
        &[
            "id",
            "title",
            "reference_population",
            "shares",
            "prevalences",
            "source",
            "note",
        ],
    );
    let [id, title, population, source] =
        ["id", "title", "reference_population", "source"].map(|key| fields.required(&mut desk.problems, key));
    let mut shares = Vec::new();
    for (name, item) in fields
        .optional("shares")
        .map(|item| item.entries(&mut desk.problems))
        .unwrap_or_default()
    {
        match desk.names.contexts.iter().position(|known| known == name) {
            Some(at) => shares.extend(desk.chance(item).map(|share| (ContextIx(at), share.value))),
            None => item.key_problem(
                &mut desk.problems,
                format!("this pack has no context `{name}`"),
                Some(instead(name, &desk.names.contexts)),
            ),
        }
    }
    let mut prevalences = Vec::new();
    for (name, item) in fields
        .optional("prevalences")
        .map(|item| item.entries(&mut desk.problems))
        .unwrap_or_default()
    {
        match desk.names.mechanisms.iter().position(|known| known == name) {
            Some(at) => prevalences.push((MechanismIx(at), prevalence_of(desk, Some(item)))),
            None => item.key_problem(
                &mut desk.problems,
                format!("this pack has no mechanism `{name}`"),
                Some(instead(name, &desk.names.mechanisms)),
            ),
        }
    }
    Region {
        id: desk.id(id, doc),
        title: desk.words_of(title),
        reference_population: desk.words_of(population),
        shares,
        prevalences,
        sources: desk.sources(source),
    }
}

/// `old_name: {now: new_name, since: 0.2.0, why: …}`; `now` may be left out.
pub(super) fn retired(desk: &mut Desk, doc: &Doc) -> Vec<Retired> {
    let mut all = Vec::new();
    for (id, item) in doc.root().entries(&mut desk.problems) {
        let fields = item.fields(&mut desk.problems, &["now", "since", "why"]);
        let [since, why] = ["since", "why"].map(|key| fields.required(&mut desk.problems, key));
        let now = fields.optional("now").map(|item| (item, desk.words_of(Some(item))));
        let names = &desk.names;
        let known = |name: &String| {
            [&names.clues, &names.mechanisms, &names.contexts]
                .iter()
                .any(|list| list.contains(name))
        };
        if known(&id.to_owned()) {
            item.key_problem(
                &mut desk.problems,
                format!("`{id}` is in use"),
                Some("a retired name is not used again".into()),
            );
        }
        if let Some((item, name)) = now.as_ref().filter(|(_, name)| !known(name)) {
            item.problem(
                &mut desk.problems,
                format!("the pack has no `{name}`"),
                Some("name a clue, mechanism or context, or leave `now` out".into()),
            );
        }
        all.push(Retired {
            id: id.to_owned(),
            now: now.map(|(_, name)| name),
            since: since
                .and_then(|item| item.text_or_number(&mut desk.problems))
                .unwrap_or_default(),
            why: desk.words_of(why),
        });
    }
    all
}
