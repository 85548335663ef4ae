//! Which signs a mechanism leaves, and by which way.

use std::collections::BTreeMap;

use wythe_pack::{Chance, Clue, ClueIx, Link, MechanismIx, Node, Pack, Reach};

use super::sheet::{a, in_100, number_in_100, words};

/// The chance that a mechanism shows each clue somewhere, along the strongest way: a rough guide, for it leaves other ways
/// aside.
pub(super) fn shown(pack: &Pack, mechanism: MechanismIx) -> BTreeMap<ClueIx, f64> {
    let mut best: BTreeMap<(Node, Option<usize>), f64> = BTreeMap::from([((Node::Mechanism(mechanism), None), 1.0)]);
    for node in pack.template().order() {
        let here: Vec<(Option<usize>, f64)> = best
            .range((*node, None)..=(*node, Some(usize::MAX)))
            .map(|((_, way), chance)| (*way, *chance))
            .collect();
        for (way, chance) in here {
            for link in passed(pack, *node, way) {
                let slot = best.entry((link.effect, link.direction)).or_insert(0.0);
                *slot = slot.max(chance * link.how_often.value);
            }
        }
    }
    let mut clues = BTreeMap::new();
    for ((node, _), chance) in best {
        if let Node::Clue(at) = node {
            clues.insert(at, chance);
        }
    }
    clues
}

/// The links out of a node that is there, or that is pushed one way.
pub(super) fn passed(pack: &Pack, node: Node, way: Option<usize>) -> impl Iterator<Item = &Link> {
    let links = pack.links(node).iter();
    links.filter(move |link| way.is_none() || link.when.is_none() || link.when == way)
}

/// How often, in words and numbers.
pub(super) fn often(chance: &Chance) -> String {
    match &chance.word {
        Some(word) => format!("{} ({})", words(word), in_100(chance.value)),
        None => in_100(chance.value),
    }
}

/// Where a link leads, in words.
pub(super) fn whither(pack: &Pack, link: &Link) -> String {
    let there = &pack[pack.at(link.effect)].title;
    let (one, only) = (a(there), there.starts_with("the "));
    match link.reach {
        Reach::Here => "at the same place".into(),
        Reach::Inside => format!("at {one} in it"),
        Reach::Around if only => format!("at {there}"),
        Reach::Around => format!("at the {there} around it"),
        Reach::Touching => format!("at {one} that touches it"),
        Reach::Anywhere | Reach::Each if only => format!("at {there}"),
        Reach::Anywhere => format!("at any {there}"),
        Reach::Each => format!("at each {there}"),
    }
}

/// How a cause splits a clue, where it departs from the usual: grades and marks.
pub(super) fn leaning(clue: &Clue, link: &Link) -> String {
    let mut parts = Vec::new();
    if link.grades != clue.usual_grades && link.grades.len() > 1 {
        let grades = clue.grades.iter().skip(1).zip(&link.grades);
        let grades: Vec<String> = grades
            .map(|(grade, share)| format!("{} {}", words(&grade.id), number_in_100(*share)))
            .collect();
        parts.push(grades.join(", "));
    }
    for ((mark, shares), stated) in clue.marks.iter().zip(&link.marks).zip(&link.states_marks) {
        if !stated {
            continue;
        }
        let kinds = mark.kinds.iter().zip(shares).filter(|(_, share)| **share >= 0.005);
        let kinds: Vec<String> = kinds
            .map(|(kind, share)| format!("{} {}", words(kind), number_in_100(*share)))
            .collect();
        parts.push(format!("{}: {}", mark.title, kinds.join(", ")));
    }
    if parts.is_empty() {
        String::new()
    } else {
        format!(" In 100 of them: {}.", parts.join("; "))
    }
}
