//! Tests that cross crates, and what they share.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "test code: a broken fixture should stop the test"
)]

pub mod same;

use std::path::{Path, PathBuf};

use wythe_case::{Case, Looked, Pass, Seen, Sighting, Sure};
use wythe_engine::{About, Conclusion, Outcome};
use wythe_pack::{Node, Pack, Reach};
use wythe_testing::{Dice, random_case, random_pack};

/// The example houses without sheets of readings.
pub const HOUSES: [&str; 4] = ["quiet-corner", "short-seat", "dropped-corner", "second-pass"];

/// The top of the repository.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("..")
        .canonicalize()
        .expect("the repository is there")
}

/// An example house.
pub fn house(name: &str) -> Case {
    let path = root().join(format!("examples/cases/{name}.yaml"));
    wythe::read_case(path).unwrap_or_else(|error| panic!("{error}"))
}

/// A random pack and a random case for it.
pub fn drawn(rolls: Vec<u16>) -> (Pack, Case) {
    let mut dice = Dice::new(rolls);
    let (pack, _) = random_pack(&mut dice);
    let case = random_case(&mut dice, &pack);
    (pack, case)
}

/// The conclusion about a mechanism at a place of the case, or about a family, by name.
pub fn concluded<'o>(pack: &Pack, case: &Case, outcome: &'o Outcome, name: &str, at: Option<&str>) -> &'o Conclusion {
    let about = match at {
        Some(at) => About::Mechanism {
            mechanism: pack.mechanism(name).expect("the pack has this mechanism"),
            at: case.place(at).expect("the case has this place"),
        },
        None => About::Family(pack.family(name).expect("the pack has this family")),
    };
    outcome
        .conclusions
        .iter()
        .find(|one| one.about == about)
        .unwrap_or_else(|| panic!("nothing about {name} {at:?}"))
}

/// A sighting of a clue at a place.
pub fn sighting(pack: &Pack, (clue, at): (usize, usize), seen: Seen) -> Sighting {
    Sighting {
        id: format!("extra.{clue}.{at}"),
        clue: pack.clues[clue].id.clone(),
        at,
        seen,
        marks: Vec::new(),
        sure: Sure::Sure,
        corrects: None,
        note: None,
        photos: Vec::new(),
        computed: None,
        locus: Default::default(),
    }
}

/// Looked at all of it, and none there.
pub fn none_there() -> Seen {
    Seen::NoneThere { looked: Looked::All }
}

/// The case with one more pass.
pub fn with_pass(case: &Case, sightings: Vec<Sighting>) -> Case {
    let mut case = case.clone();
    case.passes.push(Pass {
        id: "extra".into(),
        title: None,
        date: None,
        by: None,
        sightings,
        locus: Default::default(),
    });
    case
}

/// Every clue at every place of its kind, derived clues apart.
pub fn sites(pack: &Pack, case: &Case) -> Vec<(usize, usize)> {
    let of_kind = |at: &usize, kind| pack.kind(&case.places[*at].kind) == Some(kind);
    let clues = pack.clues.iter().enumerate().filter(|(_, clue)| clue.pattern.is_none());
    clues
        .flat_map(|(index, clue)| {
            (0..case.places.len())
                .filter(move |at| of_kind(at, clue.at))
                .map(move |at| (index, at))
        })
        .collect()
}

/// The mechanisms that can make a node show at a place, each with its place: found by walking the links backward.
///
/// A state of the effect may be asked for: then only pushes that way count.
pub fn causes(pack: &Pack, case: &Case, (node, at): (Node, usize), way: Option<usize>) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    for rule in pack.template().into(node) {
        let link = &pack.links(rule.from)[rule.link];
        if link.direction.is_some() && way.is_some() && link.direction != way {
            continue;
        }
        for from in 0..case.places.len() {
            let joined = match link.reach {
                Reach::Here => from == at,
                Reach::Inside => case.contains(from, at),
                Reach::Around => case.contains(at, from),
                Reach::Touching => case.touching(from, at),
                Reach::Anywhere | Reach::Each => true,
            };
            if joined && pack.kind(&case.places[from].kind) == Some(pack.at(rule.from)) {
                if let Node::Mechanism(mechanism) = rule.from {
                    found.push((mechanism.0, from));
                }
                found.extend(causes(pack, case, (rule.from, from), link.when));
            }
        }
    }
    found.sort_unstable();
    found.dedup();
    found
}
