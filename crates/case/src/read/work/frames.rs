//! Walls and openings.

use wythe_measure::{Quantity, Reading, openings, walls};
use wythe_text::{Item, Problems};

use super::{at_item, one};
use crate::sheets::{Opening, Wall};
use crate::{Computed, Readings};

/// Offsets from plumb, and from a string.
pub(in crate::read) fn wall(blank: Readings, read: &Wall, at: usize, item: &Item<'_>) -> Result<Readings, Problems> {
    let refused = |error: wythe_measure::MeasureError| at_item(item, error.to_string());
    let (mut found, mut count) = (Vec::new(), 0_usize);
    if !read.offsets.is_empty() || read.string.is_none() {
        let plumb = walls::plumb(&read.offsets, read.sd_mm).map_err(refused)?;
        let from: Vec<String> = read.offsets.iter().map(|one| format!("at {}", one.height)).collect();
        count = read.offsets.len();
        found = walls::plumb_readings(&plumb, &from);
        if let Some(thickness) = read.thickness {
            let third = walls::middle_third(plumb.lean_mm, thickness).map_err(refused)?;
            found.push(walls::middle_third_reading(&third, &from));
        }
    }
    if let Some((first, middle, last, along)) = read.string {
        count = count.saturating_add(3);
        let bow = walls::string_line_bow(first, middle, last, along, read.sd_mm).map_err(refused)?;
        // One bow of a wall is weighed: the larger of that from plumb and that from the string.
        found.retain(|one| one.name != "wall-bow" || one.value > bow.value.abs());
        if !found.iter().any(|one| one.name == "wall-bow") {
            found.push(Reading {
                name: "wall-bow",
                method: "offset from a string between two ends",
                quantity: Quantity::Length,
                value: bow.value.abs(),
                sd: bow.sd,
                sd_as_movement: None,
                from: ["one end", "the worst place", "the other end"]
                    .map(String::from)
                    .to_vec(),
                notes: vec!["A wall may have been built with a bow.".into()],
            });
        }
    }
    Ok(Readings {
        taken: (count, "offsets"),
        sd_mm: read.sd_mm,
        computed: found.into_iter().map(|reading| one(reading, &[at])).collect(),
        notes: read.notes.clone(),
        ..blank
    })
}

/// Gaps and diagonals.
pub(in crate::read) fn opening(
    blank: Readings,
    read: &Opening,
    at: usize,
    item: &Item<'_>,
) -> Result<Readings, Problems> {
    let refused = |error: wythe_measure::MeasureError| at_item(item, error.to_string());
    let (mut found, mut notes, mut count) = (Vec::new(), read.notes.clone(), 0_usize);
    let mut against = None;
    if let Some(head) = read.head {
        count = count.saturating_add(2);
        let from = ["left of the head".to_owned(), "right of the head".to_owned()];
        found.push(openings::head_gap_reading(head, read.sd_mm, &from).map_err(refused)?);
        match (read.floor, read.size) {
            (Some(floor), Some((width, _))) => {
                count = count.saturating_add(2);
                let slope = |(left, right)| openings::slope_between(left, right, width, read.sd_mm).map_err(refused);
                let from = ["two gaps of the head", "two heights of the floor"].map(String::from);
                against = Some(openings::head_against_floor_reading(slope(head)?, slope(floor)?, &from));
            }
            (Some(_), None) => notes.push("The floor is not compared with the head without the width.".into()),
            _ => {}
        }
    }
    let mut square = |racked: openings::OutOfSquare, from: &[&str]| {
        let from: Vec<String> = from.iter().map(|&name| name.to_owned()).collect();
        found.push(openings::out_of_square_reading(&racked, &from));
    };
    match (read.size, read.diagonals, read.head.zip(read.side)) {
        (Some((width, height)), Some((right, left)), _) => {
            count = count.saturating_add(2);
            let racked = openings::from_diagonals(width, height, right, left, read.sd_mm).map_err(refused)?;
            square(racked, &["both diagonals"]);
        }
        (Some((width, height)), None, Some((head, side))) => {
            count = count.saturating_add(2);
            let racked = openings::from_gaps(width, height, head, side, read.sd_mm).map_err(refused)?;
            square(racked, &["two gaps of the head", "two gaps of the side"]);
        }
        (None, Some(_), _) => notes.push("The diagonals say nothing without the width and the height.".into()),
        _ => {}
    }
    let mut computed: Vec<Computed> = found.into_iter().map(|reading| one(reading, &[at])).collect();
    if let Some((reading, finding)) = against {
        // What the gap of the head shows beside its size.
        if let Some(head) = computed.first_mut() {
            head.findings.extend(finding);
        }
        notes.extend(finding.map(|finding| match finding {
            "with_floor" => "The head slopes with the floor below it.".to_owned(),
            _ => {
                "The head slopes otherwise than the floor below it, as a leaf does that sags on its hinges.".to_owned()
            }
        }));
        computed.push(one(reading, &[at]));
    }
    Ok(Readings {
        taken: (count, "lengths"),
        sd_mm: read.sd_mm,
        computed,
        notes,
        ..blank
    })
}
