//! Tests of the page and its forms, on outcomes weighed by the built-in pack and on one written by hand.

mod first_things;
mod forms;
mod markdown;
mod matters;
mod numbers;
mod output;
mod plan;
mod trace;
mod walked;

use wythe_case::Case;
use wythe_engine::{Outcome, weigh};
use wythe_pack::{Pack, PackFile};

/// The built-in pack.
fn pack() -> Pack {
    let files = wythe_rules::structural();
    let files: Vec<PackFile<'_>> = files.iter().map(|(path, text)| PackFile { path, text }).collect();
    Pack::read(&files).unwrap()
}

/// A house with a crack, a gap, a look that was not to be had, and a note.
fn house(note: &str) -> Case {
    let text = format!(
        r#"
format: 1
id: test-house
title: A house for tests
visited: 2026-02-03
places:
  - {{id: south, kind: exterior_wall, label: south wall}}
  - {{id: west, kind: exterior_wall, label: west wall}}
  - {{id: entry, kind: opening, in: south, label: entry}}
  - {{id: corner, kind: outside_corner, label: south-west corner, touches: [south, west]}}
contexts: {{foundation_slab: yes, cladding_brick: yes, soil_plasticity_high: yes, recent_drought: yes}}
passes:
  - pass: one
    date: 2026-02-03
    sightings:
      - {{clue: step_crack_veneer, at: south, measured: 3 mm ± 0.5 mm, marks: {{path: mixed, taper: wide_at_top}}, photos: [P-1], note: {note:?}}}
      - {{clue: step_crack_veneer, at: west, measured: 1/8 in ± 1/64 in, marks: {{taper: wide_at_top}}}}
      - {{clue: frieze_gap, at: west, not_reached: locked gate, ask_access: yes}}
      - {{clue: corner_pop_wedge, at: corner, seen: none}}
  - pass: two
    date: 2026-02-04
    sightings:
      - {{clue: frieze_gap, at: south, measured: 8 mm ± 1 mm, marks: {{shape: tapers}}}}
      - {{clue: frieze_gap, at: west, measured: 6 mm ± 1 mm, marks: {{shape: tapers}}}}
      - {{clue: floor_corner_low, at: corner, measured: 12 mm ± 2 mm}}
"#
    );
    Case::read("test-house.yaml", &text).unwrap()
}

fn weighed(pack: &Pack, case: &Case) -> Outcome {
    weigh(pack, case).unwrap()
}
