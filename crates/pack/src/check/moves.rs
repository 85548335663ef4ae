//! Numbers that do nothing: clues that move nothing, mechanisms that nothing seen can raise or speak against.

use std::collections::BTreeMap;

use wythe_text::Problems;

use super::makes;
use crate::read::Places;
use crate::{Clue, ClueIx, Node, Pack};

/// Least factor on the odds for a sign to say anything: one deciban.
const SAYS: f64 = 1.258_925_411_794_167_3;
/// Least factor on the odds that a mechanism can be raised or lowered by: as far as "halved".
const TURNS: f64 = 2.0;

pub(crate) fn moves(pack: &Pack, places: &Places, out: &mut Problems) {
    for (at, clue) in pack.clues.iter().enumerate() {
        let causes = pack.template().into(Node::Clue(ClueIx(at)));
        if causes.is_empty() {
            continue;
        }
        clue_moves(pack, ClueIx(at), clue, places, out);
        for (mark, name) in clue.marks.iter().enumerate() {
            let stated = |rule: &crate::Rule| {
                let link = pack.links(rule.from).get(rule.link);
                link.is_some_and(|link| link.states_marks.get(mark) == Some(&true))
            };
            if !causes.iter().any(stated) {
                out.push(places.problem(
                    &file(clue),
                    "marks",
                    format!(
                        "no link into `{}` states the mark `{}`: noting it moves nothing",
                        clue.id, name.id
                    ),
                    "state it under `marks` of a link, or take it out",
                ));
            }
        }
    }
    for (node, place) in &places.heads {
        if !matches!(node, Node::Mechanism(_)) || pack.template().order().is_empty() {
            continue;
        }
        let best = makes(pack, *node, None);
        let raises = |(node, chance): (&Node, &f64)| match node {
            Node::Clue(at) => factor(pack[*at].background.value, *chance) >= TURNS,
            _ => false,
        };
        let name = pack.name(*node);
        if !best.iter().any(raises) {
            out.push(place.problem(
                format!("nothing that can be seen raises `{name}`: each of its signs is as common without it"),
                Some("link it to a sign that is rarer without it".into()),
            ));
        }
        if against(pack, *node) < TURNS {
            out.push(place.problem(
                format!(
                    "nothing can speak against `{name}`: it seldom leaves a sign, so finding none says next to nothing"
                ),
                Some("link it to a sign that it often leaves".into()),
            ));
        }
    }
}

fn file(clue: &Clue) -> String {
    format!("clues/{}.yaml", clue.id)
}

/// The factor on a cause's odds when its effect is seen: chance with it over chance without.
fn factor(background: f64, chance: f64) -> f64 {
    (1.0 - (1.0 - background) * (1.0 - chance)) / background
}

fn clue_moves(pack: &Pack, at: ClueIx, clue: &Clue, places: &Places, out: &mut Problems) {
    let says = pack.template().into(Node::Clue(at)).iter().any(|rule| {
        let Some(link) = pack.links(rule.from).get(rule.link) else {
            return false;
        };
        let among = pack.among(link.reach, pack.at(rule.from), clue.at, &|kind| pack.usual(kind));
        let cause = link.row(among.unwrap_or(1.0));
        // Some grade is likelier with the cause than without it.
        clue.leak()
            .iter()
            .zip(&cause)
            .skip(1)
            .any(|(leak, row)| factor(leak.max(1e-12), *row) >= SAYS)
    });
    if !says {
        out.push(places.problem(
            &file(clue),
            "background",
            format!(
                "seeing `{}` moves nothing: its background is as common as what any cause adds",
                clue.id
            ),
            "lower the background to what is left after the causes named here, or take the clue out",
        ));
    }
}

/// By what factor the odds of a mechanism fall when every sign of it was looked for and none was found.
///
/// Signs behind one effect count once, by the strongest of them.
fn against(pack: &Pack, mechanism: Node) -> f64 {
    let mut first: BTreeMap<Node, f64> = BTreeMap::new();
    for link in pack.links(mechanism) {
        let signs = makes(pack, link.effect, link.direction);
        let clues = signs.iter().filter(|(node, _)| matches!(node, Node::Clue(_)));
        let shows = link.how_often.value * clues.map(|(_, chance)| *chance).fold(0.0, f64::max);
        let slot = first.entry(link.effect).or_insert(0.0);
        *slot = slot.max(shows);
    }
    let none: f64 = first.values().map(|shows| 1.0 - shows).product();
    1.0 / none.max(1e-12)
}
