//! Checks of a pack as a whole: graph, reach, shortcuts, sentences.

use wythe_text::{Doc, Item, Problems, Tree};

use crate::guard::refused;
use crate::read::Places;
use crate::{Node, Pack, Template};

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
            (other.effect, other.when, other.direction) == (link.effect, link.when, link.direction)
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
        let read_by_rule = pack.limits.iter().any(|limit| limit.clue.0 == at)
            || pack.hazards.iter().any(|hazard| hazard.clue.0 == at)
            || pack
                .suppressions
                .iter()
                .any(|rule| matches!(rule.by, crate::SuppressedBy::Clue { clue, .. } if clue.0 == at));
        if template.into(node).is_empty() && !read_by_rule {
            out.push(wythe_text::Problem::new(
                &format!("clues/{}.yaml", clue.id),
                format!("nothing leads to the clue `{}`: it can move nothing", clue.id),
                Some("link a mechanism or a response to it, or take it out".into()),
            ));
        }
    }
}
