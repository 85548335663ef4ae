//! Rules that contradict each other.

use wythe_text::Problems;

use super::makes;
use crate::read::Places;
use crate::{Bound, Link, Node, Pack};

pub(crate) fn contradictions(pack: &Pack, places: &Places, out: &mut Problems) {
    both_ways(pack, places, out);
    never(pack, places, out);
    made_all_the_same(pack, places, out);
    limits(pack, places, out);
}

/// One cause that pushes an opposed response both ways at once.
fn both_ways(pack: &Pack, places: &Places, out: &mut Problems) {
    for (from, at, place) in &places.links {
        let (links, Some(link)) = (pack.links(*from), pack.links(*from).get(*at)) else {
            continue;
        };
        let against = |other: &Link| {
            other.effect == link.effect
                && other.direction != link.direction
                && other.reach == link.reach
                && meet(other, link)
        };
        if link.direction.is_some() && links.iter().take(*at).any(against) {
            out.push(place.problem(
                format!(
                    "`{}` pushes `{}` this way and the other way too",
                    pack.name(*from),
                    pack.name(link.effect)
                ),
                Some("keep one direction, or tell them apart by `when` or `only_if`".into()),
            ));
        }
    }
}

/// Whether two links out of one cause can hold together.
fn meet(one: &Link, other: &Link) -> bool {
    let alike = one.when == other.when || one.when.is_none() || other.when.is_none();
    alike && (one.only_if == other.only_if || one.only_if.is_none() || other.only_if.is_none())
}

/// Links that hold only where a context rules their cause out.
fn never(pack: &Pack, places: &Places, out: &mut Problems) {
    for (from, at, place) in &places.links {
        let (Node::Mechanism(mechanism), Some(link)) = (from, pack.links(*from).get(*at)) else {
            continue;
        };
        let ruled_out = |context| {
            pack[*mechanism]
                .contexts
                .iter()
                .any(|effect| effect.context == context && effect.times == 0.0)
        };
        if let Some(context) = link.only_if.filter(|context| ruled_out(*context)) {
            out.push(place.problem(
                format!(
                    "this link never holds: it asks for `{}`, which rules `{}` out",
                    pack[context].id,
                    pack.name(*from)
                ),
                Some("mend its `only_if`, or take the link out".into()),
            ));
        }
    }
}

/// Effects said not to be expected, and made all the same by way of a response.
fn made_all_the_same(pack: &Pack, places: &Places, out: &mut Problems) {
    for (mechanism, at, place) in &places.not_expected {
        let Some(other) = pack[*mechanism].not_expected.get(*at) else {
            continue;
        };
        let from = Node::Mechanism(*mechanism);
        let made = makes(pack, from, None);
        let between = pack.template().between(from, other.effect);
        let direct = pack[*mechanism].links.iter().any(|link| link.effect == other.effect);
        if made.contains_key(&other.effect)
            && !direct
            && let Some(by) = between.iter().find(|node| made.contains_key(node))
        {
            out.push(place.problem(
                format!(
                    "`{}` is said not to be expected, and `{}` makes it by way of `{}`",
                    pack.name(other.effect),
                    pack[*mechanism].id,
                    pack.name(*by)
                ),
                Some("take it out here, or a link on the way".into()),
            ));
        }
    }
}

/// A limit that asks for less than a lower one on the same clue.
fn limits(pack: &Pack, places: &Places, out: &mut Problems) {
    for limit in &pack.limits {
        let more = |other: &&crate::Limit| {
            let over = match (&other.bound, &limit.bound) {
                (Bound::Over { value: low, .. }, Bound::Over { value: high, .. }) => low < high,
                (Bound::Under { value: low, .. }, Bound::Under { value: high, .. }) => low > high,
                (Bound::From(low), Bound::From(high)) => low < high,
                _ => false,
            };
            other.clue == limit.clue && other.marks == limit.marks && over && other.at_least > limit.at_least
        };
        if let Some(lower) = pack.limits.iter().find(more) {
            out.push(places.problem(
                &format!("limits/{}.yaml", limit.id),
                "at_least",
                format!("this limit asks for less than `{}`, which lies below it", lower.id),
                "a limit further on asks for as much or more",
            ));
        }
    }
}
