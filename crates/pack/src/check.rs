//! Checks of a pack as a whole: graph, reach, shortcuts, sentences.

mod contradictions;
mod moves;
mod reading_level;

pub(crate) use reading_level::reading_level;

use std::collections::BTreeMap;

use wythe_text::{Doc, Item, Problems, Tree};

use crate::guard::refused;
use crate::names::plain;
use crate::read::Places;
use crate::{ContextIx, Mechanism, Node, Pack, SuppressedBy, Template};

/// Refuses determinations in every string of every file, public addresses apart.
pub(crate) fn sentences(docs: &[(&str, Doc)], out: &mut Problems) {
    for (_, doc) in docs {
        walk(doc.root(), out);
    }
}

fn walk(item: Item<'_>, out: &mut Problems) {
    if let Tree::Text(text) = item.tree()
        && let Some(phrase) = refused(text)
    {
        item.problem(
            out,
            format!("this sentence makes a determination: \"{phrase}\""),
            Some("say what clues are consistent with, and leave the rest to a licensed professional engineer".into()),
        );
    }
    for (key, member) in item.members() {
        if key != Some("address") {
            walk(member, out);
        }
    }
}

/// Checks that need the whole pack.
pub(crate) fn whole(pack: &Pack, places: &Places, out: &mut Problems) {
    let template = pack.template();
    if let Some(cycle) = template.cycle() {
        let names: Vec<&str> = cycle.iter().map(|node| pack.name(*node)).collect();
        let first = cycle.first().copied();
        if let Some((_, place)) = places.heads.iter().find(|(node, _)| Some(*node) == first) {
            out.push(place.problem(
                format!("these links run in a circle: {}", names.join(", ")),
                Some("causes lead to effects, never back".into()),
            ));
        }
    }
    links(pack, template, places, out);
    for (node, place) in &places.heads {
        if pack.links(*node).is_empty() {
            out.push(place.problem(
                format!("`{}` leads to nothing", pack.name(*node)),
                Some("give it a link, or take it out".into()),
            ));
        }
        if matches!(node, Node::Response(_)) && template.into(*node).is_empty() {
            out.push(place.problem(
                format!("nothing leads to the response `{}`", pack.name(*node)),
                Some("link a mechanism to it, or take it out".into()),
            ));
        }
    }
}

/// What a pack can be weighed with, and still should not have.
pub(crate) fn thorough(pack: &Pack, places: &Places, out: &mut Problems) {
    contradictions::contradictions(pack, places, out);
    moves::moves(pack, places, out);
    unused(pack, places, out);
    names(pack, places, out);
}

/// Names that two clues, or two mechanisms, go by.
fn names(pack: &Pack, places: &Places, out: &mut Problems) {
    let clues = pack
        .clues
        .iter()
        .map(|one| ("clues", &one.id, &one.title, &one.also_called));
    let mechanisms = pack.mechanisms.iter();
    let mechanisms = mechanisms.map(|one| ("mechanisms", &one.id, &one.title, &one.also_called));
    let mut met: BTreeMap<(&str, String), &str> = BTreeMap::new();
    for (folder, id, title, others) in clues.chain(mechanisms) {
        for (name, key) in [(id, "id"), (title, "title")]
            .into_iter()
            .chain(others.iter().map(|one| (one, "also_called")))
        {
            let before = met.insert((folder, plain(name)), id);
            if let Some(before) = before.filter(|before| before != id || key == "also_called") {
                out.push(places.problem(
                    &format!("{folder}/{id}.yaml"),
                    key,
                    format!("`{before}` goes by the name \"{name}\" already"),
                    "give each a name that tells it from the others",
                ));
            }
        }
    }
}

fn links(pack: &Pack, template: &Template, places: &Places, out: &mut Problems) {
    let usual = |kind| pack.usual(kind);
    for (from, at, place) in &places.links {
        let Some(link) = pack.links(*from).get(*at) else {
            continue;
        };
        let (here, there) = (pack.at(*from), pack.at(link.effect));
        if pack.among(link.reach, here, there, &usual).is_none() {
            out.push(place.problem(
                format!(
                    "`{}` cannot be reached `{}` from a {}: it stands at a {}",
                    pack.name(link.effect),
                    link.reach.name(),
                    pack[here].title,
                    pack[there].title
                ),
                Some("choose another reach: here, inside, around, touching, anywhere or each".into()),
            ));
        }
        if let Node::Clue(clue) = link.effect {
            let between: Vec<String> = template
                .between(*from, link.effect)
                .into_iter()
                .map(|node| format!("`{}`", pack.name(node)))
                .collect();
            // In a circle everything stands beside everything.
            if !between.is_empty() && !template.order().is_empty() {
                out.push(place.problem(
                    format!(
                        "this direct link stands beside a path through {}: the same news would count twice",
                        between.join(", ")
                    ),
                    Some(format!(
                        "link `{}` to `{}` on one way only",
                        pack.name(*from),
                        pack[clue].id
                    )),
                ));
            }
        }
        let same = |other: &crate::Link| {
            let alike = other.when == link.when || other.when.is_none() || link.when.is_none();
            alike && (other.effect, other.direction) == (link.effect, link.direction)
        };
        if pack.links(*from).iter().take(*at).any(same) {
            out.push(place.problem(
                format!(
                    "a second link from `{}` to `{}`",
                    pack.name(*from),
                    pack.name(link.effect)
                ),
                Some("keep one, with the wider reach".into()),
            ));
        }
        if let Node::Mechanism(mechanism) = from
            && pack[*mechanism]
                .not_expected
                .iter()
                .any(|other| other.effect == link.effect)
        {
            out.push(place.problem(
                format!(
                    "`{}` is linked here and said not to be expected",
                    pack.name(link.effect)
                ),
                Some("keep the link or the `not_expected`, not both".into()),
            ));
        }
        if link.when == Some(0) {
            out.push(place.problem(
                "a response at rest makes nothing",
                Some("name a higher state in `when`".into()),
            ));
        }
    }
    for (at, clue) in pack.clues.iter().enumerate() {
        let node = Node::Clue(crate::ClueIx(at));
        let read_by_rule = pack
            .limits
            .iter()
            .any(|limit| limit.clue.0 == at || limit.also.iter().any(|clue| clue.0 == at))
            || pack.hazards.iter().any(|hazard| hazard.clue.0 == at)
            || pack.suppressions.iter().any(
                |rule| matches!(rule.by, SuppressedBy::Clue { clue, .. } | SuppressedBy::Test { clue } if clue.0 == at),
            );
        if template.into(node).is_empty() && !read_by_rule {
            out.push(places.problem(
                &format!("clues/{}.yaml", clue.id),
                "id",
                format!("nothing leads to the clue `{}`: it can move nothing", clue.id),
                "link a mechanism or a response to it, or take it out",
            ));
        }
    }
}

/// Contexts that no rule asks for.
fn unused(pack: &Pack, places: &Places, out: &mut Problems) {
    for (at, context) in pack.contexts.iter().enumerate() {
        let this = ContextIx(at);
        let asked = |one: &Mechanism| {
            one.applies_if.contains(&this) || one.contexts.iter().any(|effect| effect.context == this)
        };
        let responses = pack.responses.iter().flat_map(|one| &one.links);
        let mut links = pack.mechanisms.iter().flat_map(|one| &one.links).chain(responses);
        let hides = pack
            .suppressions
            .iter()
            .any(|one| one.by == SuppressedBy::Context(this));
        if !hides && !pack.mechanisms.iter().any(asked) && !links.any(|link| link.only_if == Some(this)) {
            out.push(places.problem(
                &format!("contexts/{}.yaml", context.id),
                "id",
                format!(
                    "no rule asks for the context `{}`: stating it moves nothing",
                    context.id
                ),
                "name it in a rule, or take it out",
            ));
        }
    }
}

/// The chance of each node that one makes, along the strongest path; an opposed response is passed only the way it is
/// pushed.
fn makes(pack: &Pack, from: Node, way: Option<usize>) -> BTreeMap<Node, f64> {
    let mut best = BTreeMap::from([((from, way), 1.0)]);
    for node in pack.template().order() {
        let here: Vec<(Option<usize>, f64)> = best
            .range((*node, None)..=(*node, Some(usize::MAX)))
            .map(|((_, way), chance)| (*way, *chance))
            .collect();
        for (way, chance) in here {
            for link in pack.links(*node) {
                if way.is_none() || link.when.is_none() || link.when == way {
                    let slot = best.entry((link.effect, link.direction)).or_insert(0.0_f64);
                    *slot = slot.max(chance * link.how_often.value);
                }
            }
        }
    }
    let mut all = BTreeMap::new();
    for ((node, _), chance) in best {
        let slot = all.entry(node).or_insert(0.0_f64);
        *slot = slot.max(chance);
    }
    all
}
