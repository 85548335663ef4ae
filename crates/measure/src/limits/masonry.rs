//! Marks for lintels, masonry and carpentry. They are of calculated or
//! first-year work; a reading beyond one is a clue, not a code failure.

use super::{Limit, Provenance};
use crate::{Length, Slope};

const fn slope(
    n: f64,
    means: &'static str,
    purpose: &'static str,
    publisher: &'static str,
    provenance: Provenance,
) -> Limit<Slope> {
    Limit {
        value: Slope::raw(1.0 / n),
        means,
        purpose,
        publisher,
        provenance,
    }
}

/// Limits of the calculated dip of lintels over their span, strictest first.
/// They disagree; name the one used.
pub fn lintel_dip() -> [Limit<Slope>; 3] {
    let of = "calculated dip of a lintel under masonry";
    [
        slope(
            700.0,
            "limit of the calculated dip",
            of,
            "Ontario 9.20.5.2, table A",
            Provenance::Quoted,
        ),
        slope(
            600.0,
            "limit of the calculated dip, with 0.3 in",
            of,
            "ACI 530-88, MSJC 1999; IRC table R301.7",
            Provenance::Quoted,
        ),
        slope(
            360.0,
            "limit of the calculated dip",
            of,
            "older local codes and a textbook",
            Provenance::Quoted,
        ),
    ]
}

/// Least seats of a lintel on masonry, shortest first. A seat is usually
/// hidden: what was not seen stays unknown.
pub fn lintel_seat() -> [Limit<Length>; 2] {
    let least = |nm, publisher, provenance| Limit {
        value: Length::from_nm(nm),
        means: "least seat at each end",
        purpose: "lintels on masonry",
        publisher,
        provenance,
    };
    [
        least(101_600_000, "IRC R703.8.3; MSJC 2008", Provenance::Primary),
        least(150_000_000, "Ontario building code", Provenance::Quoted),
    ]
}

/// Share of a brick's bed that may overhang its support (IRC R703.8.2.2;
/// BIA 28B; Ontario): one third.
pub const OVERHANG_SHARE: f64 = 1.0 / 3.0;

/// Deflection limits of members under load (IRC table R301.7, seen in a
/// change proposal). Of members, not of levelness.
pub fn member_deflection() -> [Limit<Slope>; 4] {
    let by = "IRC table R301.7";
    let member = |n, of| {
        slope(
            n,
            "limit of deflection under the table's load",
            of,
            by,
            Provenance::Quoted,
        )
    };
    [
        member(600.0, "lintels supporting masonry veneer"),
        member(360.0, "floors"),
        member(240.0, "other structural members"),
        member(180.0, "interior walls, of their height"),
    ]
}

/// Plumb of walls, strictest first.
pub fn wall_plumb() -> [Limit<Slope>; 3] {
    [
        slope(
            480.0,
            "tolerance as built: 1/4 in in 10 ft",
            "brick walls, new",
            "TMS 602/ACI 530.1",
            Provenance::Quoted,
        ),
        slope(
            256.0 / 3.0,
            "repaired when beyond: 3/8 in in 32 in",
            "wood-framed walls, new home",
            "home builders' performance guidelines",
            Provenance::Quoted,
        ),
        slope(
            64.0,
            "repaired when beyond: 1.5 in in 8 ft",
            "concrete basement walls, new home",
            "home builders' performance guidelines",
            Provenance::Quoted,
        ),
    ]
}

/// Levelness of floors and foundations as built, strictest first.
pub fn floor_slope() -> [Limit<Slope>; 2] {
    [
        slope(
            480.0,
            "repaired when beyond: 1/2 in in 20 ft",
            "foundations and floors, new home",
            "home builders' performance guidelines",
            Provenance::Quoted,
        ),
        slope(
            200.0,
            "tolerance of the floor's plane",
            "floors, new building",
            "New Zealand tolerance guide (2015)",
            Provenance::Quoted,
        ),
    ]
}
