//! Tests of the whole crate.

mod add;
mod bounds;
mod places;
mod reading;
mod round_trip;
mod sheets;
mod standing;

use crate::*;

/// Two walls and the corner between them, a window, two rooms; what follows the places is given.
fn house(rest: &str) -> Case {
    let text = format!(
        "format: 1
id: corner
places:
  - {{id: south, kind: exterior_wall, label: south wall}}
  - {{id: west, kind: exterior_wall}}
  - {{id: south-west, kind: outside_corner, touches: [south, west]}}
  - {{id: window, kind: opening, in: south}}
  - {{id: kitchen, kind: room, touches: south}}
  - {{id: back-door, kind: door, in: kitchen}}
{rest}"
    );
    Case::read("corner.yaml", &text).unwrap_or_else(|problems| panic!("{problems}"))
}

/// The case without where its parts stood in a file.
fn plain(case: &Case) -> Case {
    let mut case = case.clone();
    case.doc = None;
    let Case {
        places,
        contexts,
        passes,
        repairs,
        ..
    } = &mut case;
    places.iter_mut().for_each(|place| place.locus = Locus::default());
    contexts.iter_mut().for_each(|fact| fact.locus = Locus::default());
    repairs.iter_mut().for_each(|repair| repair.locus = Locus::default());
    for pass in passes {
        pass.locus = Locus::default();
        pass.sightings
            .iter_mut()
            .for_each(|sighting| sighting.locus = Locus::default());
    }
    case
}
