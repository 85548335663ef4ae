//! Links out of mechanisms and responses.

use wythe_text::{Doc, Fields, Item};

use super::desk::{Desk, instead};
use super::{Place, Places};
use crate::{Clue, ClueIx, ContextIx, Link, MechanismIx, Node, NotExpected, Reach};

const KEYS: [&str; 12] = [
    "effect",
    "state",
    "when",
    "reach",
    "how_often",
    "grades",
    "marks",
    "only_if",
    "reason",
    "source",
    "basis",
    "note",
];

/// Reads the links of a rule file, and notes where its head stands.
pub(super) fn of_file(
    desk: &mut Desk,
    doc: &Doc,
    fields: &Fields<'_>,
    from: Node,
    name: &str,
    clues: &[Clue],
    places: &mut Places,
) -> Vec<Link> {
    places.heads.push((
        from,
        Place {
            doc: doc.clone(),
            locus: doc.root().locus(),
        },
    ));
    match fields.required(&mut desk.problems, "links") {
        Some(item) => links(desk, doc, item, from, name, clues, places),
        None => Vec::new(),
    }
}

/// Reads the list of links out of `from`.
fn links(
    desk: &mut Desk,
    doc: &Doc,
    item: Item<'_>,
    from: Node,
    name: &str,
    clues: &[Clue],
    places: &mut Places,
) -> Vec<Link> {
    let mut all: Vec<Link> = Vec::new();
    for row in item.list(&mut desk.problems) {
        let Some(mut link) = link(desk, row, from, name, clues) else {
            continue;
        };
        let twins = all
            .iter()
            .filter(|other| other.id == link.id || other.id.starts_with(&format!("{}#", link.id)))
            .count();
        if twins > 0 {
            link.id = format!("{}#{}", link.id, twins + 1);
        }
        places.links.push((
            from,
            all.len(),
            Place {
                doc: doc.clone(),
                locus: row.locus(),
            },
        ));
        all.push(link);
    }
    all
}

fn link(desk: &mut Desk, row: Item<'_>, from: Node, name: &str, clues: &[Clue]) -> Option<Link> {
    let fields = row.fields(&mut desk.problems, &KEYS);
    let [effect, reach, how_often, reason, source] =
        ["effect", "reach", "how_often", "reason", "source"].map(|key| fields.required(&mut desk.problems, key));
    let reach = desk.choice(reach, &Reach::NAMES, &Reach::ALL);
    let how_often = how_often.and_then(|item| desk.chance(item));
    let reason = desk.words_of(reason);
    let sources = desk.sources(source);
    let effect_item = effect?;
    let effect_name = effect_item.text(&mut desk.problems)?.to_owned();
    let effect = desk.node(effect_item)?;
    let states = desk.names.states_of(effect);
    let opposed = desk.names.opposed(effect);
    let direction = direction(desk, effect_item, fields.optional("state"), &states, opposed);
    let when = when(desk, row, fields.optional("when"), from);
    let above: Vec<String> = states.iter().skip(1).cloned().collect();
    let grades = grades(desk, fields.optional("grades"), effect, &above, opposed, clues);
    let (marks, states_marks) = marks(desk, fields.optional("marks"), effect, clues);
    Some(Link {
        id: format!("{name} -> {effect_name}"),
        effect,
        direction,
        when,
        reach: reach?,
        how_often: how_often?,
        grades,
        marks,
        states_marks,
        only_if: desk
            .known(fields.optional("only_if"), "context", |names| &mut names.contexts)
            .map(ContextIx),
        reason,
        sources,
        basis: desk.basis(fields.optional("basis")),
    })
}

fn direction(
    desk: &mut Desk,
    effect: Item<'_>,
    item: Option<Item<'_>>,
    states: &[String],
    opposed: bool,
) -> Option<usize> {
    match (item, opposed) {
        (Some(item), true) => {
            let found = desk.name(item, "that response has no direction", states)?;
            if found == 0 {
                item.problem(
                    &mut desk.problems,
                    "a link cannot push toward rest",
                    Some(format!(
                        "name one of {}",
                        states.get(1..).unwrap_or_default().join(", ")
                    )),
                );
            }
            Some(found)
        }
        (Some(item), false) => {
            item.problem(
                &mut desk.problems,
                "`state` belongs to links into an opposed response",
                Some("give `grades` for a graded effect, or leave it out".into()),
            );
            None
        }
        (None, true) => {
            effect.problem(
                &mut desk.problems,
                "this response moves in opposed directions and the link does not say which",
                Some(format!(
                    "add `state:` with one of {}",
                    states.get(1..).unwrap_or_default().join(", ")
                )),
            );
            None
        }
        (None, false) => None,
    }
}

fn when(desk: &mut Desk, row: Item<'_>, item: Option<Item<'_>>, from: Node) -> Option<usize> {
    let Node::Response(_) = from else {
        if let Some(item) = item {
            item.problem(
                &mut desk.problems,
                "`when` belongs to links out of a response",
                Some("a mechanism is there or not; leave it out".into()),
            );
        }
        return None;
    };
    match item {
        Some(item) => {
            let states = desk.names.states_of(from);
            desk.name(item, "this response has no state", &states)
        }
        None => {
            if desk.names.opposed(from) {
                let states = desk.names.states_of(from);
                let help = format!(
                    "add `when:` with one of {}",
                    states.get(1..).unwrap_or_default().join(", ")
                );
                row.problem(
                    &mut desk.problems,
                    "this response moves in opposed directions and the link does not say for which",
                    Some(help),
                );
            }
            None
        }
    }
}

fn grades(
    desk: &mut Desk,
    item: Option<Item<'_>>,
    effect: Node,
    above: &[String],
    opposed: bool,
    clues: &[Clue],
) -> Vec<f64> {
    if opposed {
        return vec![1.0];
    }
    if let Some(item) = item {
        return desk.shares(item, above, false);
    }
    match effect {
        Node::Clue(ClueIx(at)) => clues.get(at).map(|clue| clue.usual_grades.clone()).unwrap_or_default(),
        _ if above.len() == 1 => vec![1.0],
        _ => vec![1.0 / above.len().max(1) as f64; above.len()],
    }
}

fn marks(desk: &mut Desk, item: Option<Item<'_>>, effect: Node, clues: &[Clue]) -> (Vec<Vec<f64>>, Vec<bool>) {
    let clue = match effect {
        Node::Clue(ClueIx(at)) => clues.get(at),
        _ => None,
    };
    let Some(clue) = clue else {
        if let Some(item) = item {
            item.problem(
                &mut desk.problems,
                "only clues have marks",
                Some("leave `marks` out".into()),
            );
        }
        return (Vec::new(), Vec::new());
    };
    let mut shares: Vec<Vec<f64>> = clue.marks.iter().map(|mark| mark.background.clone()).collect();
    let mut stated = vec![false; shares.len()];
    let names: Vec<String> = clue.marks.iter().map(|mark| mark.id.clone()).collect();
    for (key, value) in item.map(|item| item.entries(&mut desk.problems)).unwrap_or_default() {
        let Some((at, mark)) = clue.marks.iter().enumerate().find(|(_, mark)| mark.id == key) else {
            value.key_problem(
                &mut desk.problems,
                format!("the clue `{}` has no mark `{key}`", clue.id),
                Some(instead(key, &names)),
            );
            continue;
        };
        let found = desk.shares(value, &mark.kinds, true);
        if let (Some(slot), Some(flag)) = (shares.get_mut(at), stated.get_mut(at)) {
            *slot = found;
            *flag = true;
        }
    }
    (shares, stated)
}

/// Effects that a mechanism is not expected to have.
pub(super) fn not_expected(
    desk: &mut Desk,
    doc: &Doc,
    item: Option<Item<'_>>,
    of: MechanismIx,
    places: &mut Places,
) -> Vec<NotExpected> {
    let mut all: Vec<NotExpected> = Vec::new();
    for row in item.map(|item| item.list(&mut desk.problems)).unwrap_or_default() {
        let fields = row.fields(&mut desk.problems, &["effect", "reason", "source"]);
        let [effect, reason, source] =
            ["effect", "reason", "source"].map(|key| fields.required(&mut desk.problems, key));
        let reason = desk.words_of(reason);
        let sources = desk.sources(source);
        if let Some(effect) = effect.and_then(|item| desk.node(item)) {
            if all.iter().any(|other| other.effect == effect) {
                row.problem(
                    &mut desk.problems,
                    "this effect stands twice among those not expected",
                    Some("keep one".into()),
                );
            }
            let place = Place {
                doc: doc.clone(),
                locus: row.locus(),
            };
            places.not_expected.push((of, all.len(), place));
            all.push(NotExpected {
                effect,
                reason,
                sources,
            });
        }
    }
    all
}
