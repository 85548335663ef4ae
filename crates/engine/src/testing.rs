//! A tiny pack with numbers that are easy to work by hand, and cases for it.

use wythe_case::Case;
use wythe_pack::{Pack, PackFile};

use crate::bind::{Bound, bind};

const FILES: &[(&str, &str)] = &[
    (
        "pack.yaml",
        "format: 1
id: tiny
title: tiny
version: 0.1.0
region: nowhere
reference_population: none
support: {spoken_against: 0.05, weakly: 0.2, share_of_prior: 0.3333, halved: 0.5, not_moved: 2, some: 0.2, fair: 0.5, strong: 0.85, cannot_tell: 0.25}
referral: {miss_costs: 2, reason: a test, corroborate: {groups: 2, zones: 2, at_least: 1}}
context_cap: 3
part_looked: 0.6
unsure: {fairly: 0.1, unsure: 0.3}
photo_error: 2
misfit: 20
monitor: {months: 12, reason: a test}
consequences:
  light: {some: upkeep, fair: upkeep, strong: upkeep}
  grave: {some: monitor, fair: refer, strong: refer}
",
    ),
    ("words.yaml", "frequencies: {often: 0.6}\neffects: {doubles: 2, halves: 0.5, rules_out: 0}\n"),
    ("sources.yaml", "test: {title: a test, kind: judgement}\n"),
    (
        "places.yaml",
        "house: {title: the house, usual: 1}\nwall: {title: wall, usual: 4}\nopening: {title: opening, in: wall, usual: 8}\ncorner: {title: corner, usual: 4, touches: {wall: 2}}\n",
    ),
    ("families.yaml", "ground: {title: any ground movement, consequence: grave}\n"),
    ("wording.yaml", "cautions: [a test]\nsupports: {strong: many}\nactions: {refer: ask}\n"),
    ("contexts/clay.yaml", "id: clay\ntitle: clay\nask: look\nshare: 0.5\nsource: test\n"),
    ("contexts/fill.yaml", "id: fill\ntitle: fill\nask: look\nshare: 0.25\nsource: test\n"),
    (
        "clues/crack.yaml",
        "id: crack
title: crack
since: 0.1.0
at: wall
zone: outside
measured_by: {quantity: length, error: 1.95996398454 mm, how: rule, source: test}
grades: [{id: none}, {id: fine, up_to: 1 mm}, {id: slight, up_to: 5 mm}, {id: wide}]
usual_grades: {fine: 0.5, slight: 0.5}
background: {how_often: 0.1}
marks:
  path: {title: path, of: {joints: 0.8, units: 0.2}}
ordinary_causes: [a test]
look_for: look
effort: glance
says: a crack
source: test
",
    ),
    (
        "clues/gap.yaml",
        "id: gap
title: gap
since: 0.1.0
at: corner
zone: inside
grades: [{id: none}, {id: open}, {id: gaping}]
usual_grades: {open: 0.5, gaping: 0.5}
background: {how_often: 0.2}
ordinary_causes: [a test]
look_for: look
effort: glance
says: a gap
source: test
",
    ),
    (
        "clues/dip.yaml",
        "id: dip
title: dip
since: 0.1.0
at: opening
zone: outside
grades: [{id: none}, {id: seen}]
usual_grades: {seen: 1}
background: {how_often: 0.25}
ordinary_causes: [a test]
look_for: look
effort: glance
says: a dip
source: test
",
    ),
    (
        "responses/moved.yaml",
        "id: moved
title: moved
at: wall
opposed: {still: still, one: down, other: up}
background: {down: 0.1, up: 0.2}
source: test
links:
- {effect: crack, when: down, reach: here, how_often: 0.5, marks: {path: {joints: 0.5, units: 0.5}}, reason: a test, source: test}
",
    ),
    (
        "mechanisms/drop.yaml",
        "id: drop
title: drop
since: 0.1.0
at: wall
families: [ground]
what: a test
picture: a test
prevalence: {chance: 0.9375, from: 0.5, to: 0.99, source: test}
consequence: grave
mind_changers: []
source: test
links:
- {effect: moved, state: down, reach: here, how_often: 0.5, reason: a test, source: test}
- {effect: gap, reach: touching, how_often: 0.75, reason: a test, source: test}
",
    ),
    (
        "mechanisms/grow.yaml",
        "id: grow
title: grow
since: 0.1.0
at: house
what: a test
picture: a test
prevalence: {chance: 0.5, from: 0.4, to: 0.6, source: test}
contexts: [{context: clay, effect: doubles, source: test}, {context: fill, effect: doubles, source: test}]
consequence: light
harm_if_wrong: {what: filling, hides: the gap, rival: ground, over: 0.2, check_first: crack}
mind_changers: []
source: test
links:
- {effect: gap, reach: each, how_often: 0.25, reason: a test, source: test}
",
    ),
    (
        "mechanisms/lift.yaml",
        "id: lift
title: lift
since: 0.1.0
at: wall
what: a test
picture: a test
prevalence: {chance: 0.9375, from: 0.5, to: 0.99, source: test}
consequence: grave
mind_changers: []
source: test
links:
- {effect: moved, state: up, reach: here, how_often: 0.4, reason: a test, source: test}
",
    ),
    (
        "mechanisms/sag.yaml",
        "id: sag
title: sag
since: 0.1.0
at: house
what: a test
picture: a test
prevalence: {chance: 0.5, from: 0.4, to: 0.6, source: test}
applies_if: [fill]
consequence: light
mind_changers: []
source: test
links:
- {effect: dip, reach: anywhere, how_often: 0.99609375, only_if: clay, reason: a test, source: test}
",
    ),
];

/// The tiny pack, with edits: file, what is taken out, what is put in. A file that is not there is added.
pub(crate) fn pack_with(edits: &[(&str, &str, &str)]) -> Pack {
    let mut files: Vec<(&str, String)> = FILES.iter().map(|(path, text)| (*path, (*text).to_owned())).collect();
    for (path, from, to) in edits {
        match files.iter_mut().find(|(name, _)| name == path) {
            Some((_, text)) => {
                assert!(text.contains(from), "{path} has no `{from}`");
                *text = text.replacen(from, to, 1);
            }
            None => files.push((path, (*to).to_owned())),
        }
    }
    let read: Vec<PackFile<'_>> = files.iter().map(|(path, text)| PackFile { path, text }).collect();
    Pack::read(&read).unwrap_or_else(|problems| panic!("{problems}"))
}

/// The tiny pack.
pub(crate) fn pack() -> Pack {
    pack_with(&[])
}

/// One wall with a door and a window in it, another wall, and the corner where they meet; with contexts and sightings.
pub(crate) fn case(contexts: &str, sightings: &[&str]) -> Case {
    let lines: String = sightings.iter().map(|line| format!("\n      - {{{line}}}")).collect();
    let lines = if lines.is_empty() { " []".to_owned() } else { lines };
    let text = format!(
        "format: 1
id: tiny
places:
  - {{id: south, kind: wall}}
  - {{id: west, kind: wall}}
  - {{id: door, kind: opening, in: south}}
  - {{id: window, kind: opening, in: south}}
  - {{id: corner, kind: corner, touches: [south]}}
contexts: {{{contexts}}}
passes:
  - pass: first
    sightings:{lines}
"
    );
    Case::read("tiny.yaml", &text).unwrap_or_else(|problems| panic!("{problems}"))
}

/// A case bound to the pack.
pub(crate) fn bound(pack: &Pack, case: &Case) -> Bound {
    bind(pack, case).unwrap_or_else(|problems| panic!("{problems}"))
}

/// Asserts that two numbers differ by less than 1e-9.
#[track_caller]
pub(crate) fn close(one: f64, other: f64) {
    assert!((one - other).abs() < 1e-9, "{one} is not {other}");
}
