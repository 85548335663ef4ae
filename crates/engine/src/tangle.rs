//! What ties a case together that is too tangled to weigh: which sightings, at which places.
//!
//! What was looked for all over a place and not found speaks against each cause by itself. What was looked for in part
//! only, and what was seen, speaks about all causes together that could have left it.

use std::collections::BTreeMap;

use wythe_pack::Node;

use crate::ground::{Grounded, Site};
use crate::weigh::{IN_PARTS, Weighing};
use crate::{Reading, Used};

/// Most lines, and most names in a row.
const LINES: usize = 12;
const NAMED: usize = 12;
/// Among more sightings than this it is not tried without how many of them the case can be weighed.
const TRIED: usize = 1000;

/// Sightings, each with how many causes it ties together, those with most first.
type Ties = Vec<(usize, usize)>;

/// Those of what was seen, and those of what was looked for in part.
fn ties(weighing: &Weighing<'_>) -> (Ties, Ties) {
    let mut counts = BTreeMap::new();
    let (mut ties, mut partly) = (Ties::new(), Ties::new());
    for (index, reading) in weighing.bound.readings.iter().enumerate() {
        if reading.used == Used::Weighed && might_show(reading) {
            let site = (Node::Clue(reading.clue), reading.at);
            let one = (count(&weighing.grounded, site, &mut counts), index);
            if reading.shows() { &mut ties } else { &mut partly }.push(one);
        }
    }
    for list in [&mut ties, &mut partly] {
        list.sort_by_key(|(count, index)| (std::cmp::Reverse(*count), *index));
    }
    (ties, partly)
}

/// What ties a case together that can be weighed, and of which more is asked than can be had: a line a place.
pub(crate) fn tied(weighing: &Weighing<'_>) -> Vec<String> {
    let (mut all, partly) = ties(weighing);
    all.extend(partly);
    all.sort_by_key(|(count, index)| (std::cmp::Reverse(*count), *index));
    places(weighing, &all)
}

/// What ties the case together, in words: a line a place, and what to do.
pub(crate) fn tangle(weighing: &Weighing<'_>) -> (Vec<String>, String) {
    let (_, mut partly) = ties(weighing);
    let all = partly.len();
    let enough = match all {
        0 => None,
        n if n > TRIED => Some(n),
        _ => least(all, |n| can_be_weighed(weighing, partly.get(..n).unwrap_or(&[]))),
    };
    let Some(enough) = enough else {
        return (tied(weighing), IN_PARTS.into());
    };
    partly.truncate(enough);
    let mut help = match (enough, all) {
        (1, _) => "look there again and say `looked: all`, or leave it out if it could hardly be seen".to_owned(),
        _ => "look there again and say `looked: all`, or leave out what could hardly be seen".to_owned(),
    };
    if all <= TRIED {
        let without = match enough {
            1 => "without this sighting".to_owned(),
            n if n == all => format!("without these {n} sightings"),
            n => format!("without these {n} of the {all} sightings of signs looked for in part"),
        };
        help = format!("{help}; {without} the case can be weighed");
    }
    (places(weighing, &partly), help)
}

/// Whether it might be there, as far as the sighting says.
fn might_show(reading: &Reading) -> bool {
    reading.likelihood.iter().skip(1).any(|value| *value > 0.0)
}

/// In how many ways mechanisms come to a site, through responses.
fn count(grounded: &Grounded, site: Site, counts: &mut BTreeMap<Site, usize>) -> usize {
    if let Some(found) = counts.get(&site) {
        return *found;
    }
    let causes = grounded.causes(site).into_iter();
    let found = causes
        .map(|(cause, _)| match cause.0 {
            Node::Mechanism(_) => 1,
            _ => count(grounded, cause, counts),
        })
        .fold(0, usize::saturating_add);
    counts.insert(site, found);
    found
}

/// The least number up to `most` that is enough, where all above one that is enough are; none if `most` is not.
fn least(most: usize, mut enough: impl FnMut(usize) -> bool) -> Option<usize> {
    if !enough(most) {
        return None;
    }
    let (mut low, mut high) = (0, most);
    while low + 1 < high {
        let middle = low.midpoint(high);
        if enough(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high)
}

/// Whether the case can be weighed without some readings.
fn can_be_weighed(weighing: &Weighing<'_>, without: &[(usize, usize)]) -> bool {
    let evidence = weighing.evidence(|index| without.iter().all(|(_, out)| *out != index));
    weighing.solver.can_solve(&evidence)
}

/// A line a place, or for several with the same clues: those with most to tie first.
fn places(weighing: &Weighing<'_>, ties: &[(usize, usize)]) -> Vec<String> {
    let mut by_place: BTreeMap<usize, (usize, Vec<&str>)> = BTreeMap::new();
    for (count, index) in ties {
        if let Some(reading) = weighing.bound.readings.get(*index) {
            let (sum, clues) = by_place.entry(reading.at).or_default();
            *sum += count;
            clues.push(&weighing.pack[reading.clue].id);
        }
    }
    let mut all: Vec<(usize, (usize, Vec<&str>))> = by_place.into_iter().collect();
    all.sort_by_key(|(at, (sum, _))| (std::cmp::Reverse(*sum), *at));
    let mut lines: Vec<(Vec<&str>, Vec<&str>)> = Vec::new();
    for (at, (_, clues)) in all {
        let Some(place) = weighing.case.places.get(at) else {
            continue;
        };
        match lines.iter_mut().find(|(_, others)| *others == clues) {
            Some((places, _)) => places.push(&place.id),
            None => lines.push((vec![&place.id], clues)),
        }
    }
    let more = lines.len().saturating_sub(LINES);
    let line = |(places, clues): &(Vec<&str>, Vec<&str>)| format!("{}: {}", listed(places), listed(clues));
    let mut said: Vec<String> = lines.iter().take(LINES).map(line).collect();
    if more > 0 {
        said.push(format!("and {more} more such lines"));
    }
    said
}

fn listed(names: &[&str]) -> String {
    let first = names.get(..NAMED.min(names.len())).unwrap_or(&[]).join(", ");
    match names.len().saturating_sub(NAMED) {
        0 => first,
        n => format!("{first} and {n} more"),
    }
}

#[cfg(test)]
mod tests {
    use crate::testing::{case, pack};
    use crate::{WeighError, Weighed};

    /// What is asked of a case that was weighed, and cannot be had, names the clue and the place.
    #[test]
    fn what_is_too_much_to_ask_names_clues_and_places() {
        let (pack, case) = (
            pack(),
            case("clay: yes, fill: no", &["clue: gap, at: corner, seen: open"]),
        );
        let weighed = Weighed::new(&pack, &case).unwrap_or_else(|error| panic!("{error}"));
        let refused = crate::kept::tangled(wythe_infer::SolveError::TooTangled {
            width: 40,
            limit: 24,
            vars: Vec::new(),
        });
        let said = weighed.tied(refused).to_string();
        assert!(said.contains("corner: gap"), "{said}");
        // Any other refusal stays as it is.
        assert!(matches!(weighed.tied(WeighError::Impossible), WeighError::Impossible));
    }
}
