//! Mechanism files, and the families they belong to.

use wythe_text::{Doc, Item, Tree};

use super::desk::{Desk, instead};
use super::{Places, Shelf, links};
use crate::{
    Advice, Clue, ClueIx, ContextEffect, ContextIx, Family, FamilyIx, HarmIfWrong, KindIx, Mechanism, MechanismIx,
    MindChanger, MonitorPlan, Node, Prevalence, Rival,
};

const KEYS: [&str; 23] = [
    "id",
    "title",
    "also_called",
    "since",
    "at",
    "families",
    "ordinary",
    "what",
    "picture",
    "prevalence",
    "applies_if",
    "contexts",
    "consequence",
    "actions",
    "trade",
    "advice",
    "harm_if_wrong",
    "mind_changers",
    "links",
    "not_expected",
    "source",
    "basis",
    "note",
];

pub(super) fn head(desk: &mut Desk, doc: &Doc) -> Mechanism {
    let fields = doc.root().fields(&mut desk.problems, &KEYS);
    let need = |desk: &mut Desk, key| fields.required(&mut desk.problems, key);
    let [id, title, since, at, what, picture] =
        ["id", "title", "since", "at", "what", "picture"].map(|key| need(desk, key));
    let [prevalence, consequence, mind, source] =
        ["prevalence", "consequence", "mind_changers", "source"].map(|key| need(desk, key));
    let families = indices(desk, fields.optional("families"), "family", |names| &mut names.families);
    let applies = indices(desk, fields.optional("applies_if"), "context", |names| {
        &mut names.contexts
    });
    let mut actions = Vec::new();
    for (support, item) in fields
        .optional("actions")
        .map(|item| desk.supports(item))
        .unwrap_or_default()
    {
        let action = desk.action(Some(item));
        actions.push((support, action));
    }
    Mechanism {
        id: desk.id(id, doc),
        title: desk.words_of(title),
        also_called: desk.other_names(fields.optional("also_called")),
        since: since
            .and_then(|item| item.text_or_number(&mut desk.problems))
            .unwrap_or_default(),
        at: desk
            .known(at, "kind of place", |names| &mut names.kinds)
            .map_or(KindIx(0), KindIx),
        families: families.into_iter().map(FamilyIx).collect(),
        ordinary: fields
            .optional("ordinary")
            .and_then(|item| item.flag(&mut desk.problems))
            .unwrap_or(false),
        what: desk.words_of(what),
        picture: desk.words_of(picture),
        prevalence: prevalence_of(desk, prevalence),
        applies_if: applies.into_iter().map(ContextIx).collect(),
        contexts: fields
            .optional("contexts")
            .map(|item| effects(desk, item))
            .unwrap_or_default(),
        consequence: desk
            .known(consequence, "row of consequences", |names| &mut names.consequences)
            .unwrap_or(0),
        actions,
        trade: fields.optional("trade").map(|item| desk.words_of(Some(item))),
        advice: fields
            .optional("advice")
            .map(|item| advice(desk, item))
            .unwrap_or_default(),
        harm_if_wrong: fields.optional("harm_if_wrong").and_then(|item| harm(desk, item)),
        mind_changers: mind.map(|item| mind_changers(desk, item)).unwrap_or_default(),
        links: Vec::new(),
        not_expected: Vec::new(),
        sources: desk.sources(source),
    }
}

fn indices(
    desk: &mut Desk,
    item: Option<Item<'_>>,
    what: &str,
    list: fn(&mut super::desk::Names) -> &mut Vec<String>,
) -> Vec<usize> {
    let rows = item
        .map(|item| item.list_or_one(&mut desk.problems))
        .unwrap_or_default();
    rows.into_iter()
        .filter_map(|row| desk.known(Some(row), what, list))
        .collect()
}

pub(super) fn prevalence_of(desk: &mut Desk, item: Option<Item<'_>>) -> Prevalence {
    let mut prevalence = Prevalence {
        chance: 0.01,
        from: 0.01,
        to: 0.01,
        basis: Default::default(),
        sources: Vec::new(),
    };
    let Some(item) = item else { return prevalence };
    let fields = item.fields(&mut desk.problems, &["chance", "from", "to", "basis", "source"]);
    let mut values = [0.01; 3];
    for (slot, key) in values.iter_mut().zip(["from", "chance", "to"]) {
        if let Some(found) = fields
            .required(&mut desk.problems, key)
            .and_then(|item| desk.chance(item))
        {
            *slot = found.value;
        }
    }
    let [from, chance, to] = values;
    if !(from <= chance && chance <= to) {
        item.problem(
            &mut desk.problems,
            "this prevalence lies outside its own range",
            Some("order them: from, chance, to".into()),
        );
    }
    let source = fields.required(&mut desk.problems, "source");
    prevalence = Prevalence {
        chance,
        from,
        to,
        basis: desk.basis(fields.optional("basis")),
        sources: desk.sources(source),
    };
    prevalence
}

fn effects(desk: &mut Desk, item: Item<'_>) -> Vec<ContextEffect> {
    let mut all: Vec<ContextEffect> = Vec::new();
    for row in item.list(&mut desk.problems) {
        let fields = row.fields(&mut desk.problems, &["context", "effect", "reason", "source", "basis"]);
        let [context, effect, source] =
            ["context", "effect", "source"].map(|key| fields.required(&mut desk.problems, key));
        let context = desk.known(context, "context", |names| &mut names.contexts);
        let sources = desk.sources(source);
        let times = effect.and_then(|item| times(desk, item));
        if let (Some(context), Some((times, word))) = (context, times) {
            if all.iter().any(|other| other.context.0 == context) {
                row.problem(
                    &mut desk.problems,
                    "this context stands twice: its effect would count twice",
                    Some("keep one".into()),
                );
            }
            all.push(ContextEffect {
                context: ContextIx(context),
                times,
                word,
                sources,
            });
        }
    }
    all
}

fn times(desk: &mut Desk, item: Item<'_>) -> Option<(f64, Option<String>)> {
    if let wythe_text::Tree::Text(word) = item.tree() {
        let found = desk.words.effects.iter().find(|(known, _)| known == word);
        if let Some((word, times)) = found {
            return Some((*times, Some(word.clone())));
        }
        let known: Vec<String> = desk.words.effects.iter().map(|(known, _)| known.clone()).collect();
        item.problem(
            &mut desk.problems,
            format!("`{word}` is not an effect word"),
            Some(instead(word, &known)),
        );
        return None;
    }
    let value = desk.number_in(Some(item), 0.0, 1000.0);
    Some((value, None))
}

fn advice(desk: &mut Desk, item: Item<'_>) -> Advice {
    let fields = item.fields(&mut desk.problems, &["upkeep", "trade", "monitor", "refer"]);
    let mut text = |key: &str| fields.optional(key).map(|item| desk.words_of(Some(item)));
    let (upkeep, trade, refer) = (text("upkeep"), text("trade"), text("refer"));
    let monitor = fields.optional("monitor").map(|item| {
        let fields = item.fields(&mut desk.problems, &["points", "method", "call_if"]);
        let [points, method, call_if] =
            ["points", "method", "call_if"].map(|key| fields.required(&mut desk.problems, key));
        MonitorPlan {
            points: desk.words_of(points),
            method: desk.words_of(method),
            call_if: desk.words_of(call_if),
        }
    });
    Advice {
        upkeep,
        trade,
        monitor,
        refer,
    }
}

fn harm(desk: &mut Desk, item: Item<'_>) -> Option<HarmIfWrong> {
    let fields = item.fields(&mut desk.problems, &["what", "hides", "rival", "over", "check_first"]);
    let [what, hides, rival, over, check] =
        ["what", "hides", "rival", "over", "check_first"].map(|key| fields.required(&mut desk.problems, key));
    let check_first = desk.known(check, "clue", |names| &mut names.clues).map(ClueIx);
    let rival_item = rival?;
    let name = rival_item.text(&mut desk.problems)?;
    let find = |names: &[String]| names.iter().position(|known| known == name);
    let rival = find(&desk.names.families)
        .map(|at| Rival::Family(FamilyIx(at)))
        .or_else(|| find(&desk.names.mechanisms).map(|at| Rival::Mechanism(MechanismIx(at))));
    if rival.is_none() {
        let known: Vec<&String> = desk.names.families.iter().chain(&desk.names.mechanisms).collect();
        rival_item.problem(
            &mut desk.problems,
            format!("this pack has no family or mechanism `{name}`"),
            Some(instead(name, &known)),
        );
    }
    Some(HarmIfWrong {
        what: desk.words_of(what),
        hides: desk.words_of(hides),
        rival: rival?,
        over: desk.number_in(over, 0.001, 0.999),
        check_first: check_first?,
    })
}

pub(super) fn links(
    desk: &mut Desk,
    shelf: &Shelf<'_>,
    mechanisms: &mut [Mechanism],
    clues: &[Clue],
    places: &mut Places,
) {
    for (at, doc) in shelf.folder("mechanisms").enumerate() {
        let Some(mechanism) = mechanisms.get_mut(at) else {
            continue;
        };
        let node = Node::Mechanism(MechanismIx(at));
        let fields = doc.root().fields(&mut Default::default(), &KEYS);
        mechanism.links = links::of_file(desk, doc, &fields, node, &mechanism.id, clues, places);
        let none = fields.optional("not_expected");
        mechanism.not_expected = links::not_expected(desk, doc, none, MechanismIx(at), places);
    }
}

fn mind_changers(desk: &mut Desk, item: Item<'_>) -> Vec<MindChanger> {
    let rows = item.list_or_one(&mut desk.problems);
    rows.into_iter().map(|row| mind_changer(desk, row)).collect()
}

/// Words by themselves, or with the clue that says so: `{says: a level floor, clue: floor_dome, seen: none}`.
fn mind_changer(desk: &mut Desk, row: Item<'_>) -> MindChanger {
    if !matches!(row.tree(), Tree::Map(_)) {
        let says = desk.words_of(Some(row));
        return MindChanger { says, clue: None };
    }
    let fields = row.fields(&mut desk.problems, &["says", "clue", "seen"]);
    let [says, clue, seen] = ["says", "clue", "seen"].map(|key| fields.required(&mut desk.problems, key));
    let clue = desk.known(clue, "clue", |names| &mut names.clues).map(ClueIx);
    let seen = seen.and_then(|item| item.one_of(&mut desk.problems, &["some", "none"]));
    MindChanger {
        says: desk.words_of(says),
        clue: clue.zip(seen.map(|which| which == 0)),
    }
}

pub(super) fn families(desk: &mut Desk, doc: &Doc, mechanisms: &[Mechanism]) -> Vec<Family> {
    let mut all = Vec::new();
    for (at, (id, item)) in doc.root().entries(&mut desk.problems).into_iter().enumerate() {
        let fields = item.fields(&mut desk.problems, &["title", "what", "consequence", "note"]);
        let title = fields.required(&mut desk.problems, "title");
        let members: Vec<MechanismIx> = mechanisms
            .iter()
            .enumerate()
            .filter(|(_, mechanism)| mechanism.families.contains(&FamilyIx(at)))
            .map(|(member, _)| MechanismIx(member))
            .collect();
        if members.is_empty() {
            item.problem(
                &mut desk.problems,
                format!("no mechanism belongs to the family `{id}`"),
                Some("name it under a mechanism's `families`, or take it out".into()),
            );
        }
        all.push(Family {
            id: id.to_owned(),
            title: desk.words_of(title),
            what: fields
                .optional("what")
                .map(|item| desk.words_of(Some(item)))
                .unwrap_or_default(),
            consequence: desk.known(fields.optional("consequence"), "row of consequences", |names| {
                &mut names.consequences
            }),
            members,
        });
    }
    all
}
