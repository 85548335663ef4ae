//! Response files.

use wythe_text::Doc;

use super::desk::Desk;
use super::{Places, Shelf, links};
use crate::{Chance, Clue, KindIx, Node, Opposed, Response, ResponseIx};

const KEYS: [&str; 11] = [
    "id",
    "title",
    "since",
    "at",
    "states",
    "opposed",
    "background",
    "links",
    "source",
    "basis",
    "note",
];

pub(super) fn head(desk: &mut Desk, doc: &Doc) -> Response {
    let fields = doc.root().fields(&mut desk.problems, &KEYS);
    let [id, title, at, background, source] =
        ["id", "title", "at", "background", "source"].map(|key| fields.required(&mut desk.problems, key));
    let never = Chance {
        value: 0.001,
        word: None,
    };
    let mut response = Response {
        id: desk.id(id, doc),
        title: desk.words_of(title),
        at: desk
            .known(at, "kind of place", |names| &mut names.kinds)
            .map_or(KindIx(0), KindIx),
        states: desk.texts(fields.optional("states")),
        opposed: None,
        background: never.clone(),
        background_grades: Vec::new(),
        links: Vec::new(),
        sources: desk.sources(source),
        basis: desk.basis(fields.optional("basis")),
    };
    match (fields.optional("opposed"), fields.optional("states")) {
        (Some(item), None) => {
            let parts = item.fields(&mut desk.problems, &["still", "one", "other"]);
            for key in ["still", "one", "other"] {
                let part = parts.required(&mut desk.problems, key);
                response.states.push(desk.words_of(part));
            }
            let mut both = [never.clone(), never];
            if let Some(item) = background {
                let parts = item.fields(
                    &mut desk.problems,
                    &[
                        response.states.get(1).map_or("", String::as_str),
                        response.states.get(2).map_or("", String::as_str),
                        "basis",
                        "source",
                    ],
                );
                for (slot, state) in both.iter_mut().zip(response.states.iter().skip(1)) {
                    if let Some(found) = parts
                        .required(&mut desk.problems, state)
                        .and_then(|item| desk.chance_or_zero(item))
                    {
                        *slot = found;
                    }
                }
            }
            response.opposed = Some(Opposed { background: both });
        }
        (None, Some(states)) => {
            if response.states.len() < 2 {
                states.problem(
                    &mut desk.problems,
                    "a response has at least two states",
                    Some("the first means at rest".into()),
                );
            }
            let above: Vec<String> = response.states.iter().skip(1).cloned().collect();
            response.background_grades = vec![1.0 / above.len().max(1) as f64; above.len()];
            if let Some(item) = background {
                let parts = item.fields(&mut desk.problems, &["how_often", "grades", "basis", "source"]);
                if let Some(found) = parts
                    .required(&mut desk.problems, "how_often")
                    .and_then(|item| desk.chance_or_zero(item))
                {
                    response.background = found;
                }
                if let Some(item) = parts.optional("grades") {
                    response.background_grades = desk.shares(item, &above, false);
                }
            }
        }
        _ => doc.root().problem(
            &mut desk.problems,
            "a response has either `states` or `opposed`",
            Some("`states: [no, yes]`, or `opposed: {still: still, one: down, other: up}`".into()),
        ),
    }
    response
}

pub(super) fn links(
    desk: &mut Desk,
    shelf: &Shelf<'_>,
    responses: &mut [Response],
    clues: &[Clue],
    places: &mut Places,
) {
    for (at, doc) in shelf.folder("responses").enumerate() {
        let Some(response) = responses.get_mut(at) else {
            continue;
        };
        let node = Node::Response(ResponseIx(at));
        let fields = doc.root().fields(&mut Default::default(), &KEYS);
        response.links = links::of_file(desk, doc, &fields, node, &response.id, clues, places);
    }
}
