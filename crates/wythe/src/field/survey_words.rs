//! Directions and shapes of a floor in words.

use wythe_case::Compass;
use wythe_measure::survey::{Axis, Corner, Edge, Shape};

use super::survey::SurveyReport;

impl SurveyReport {
    /// The way of an angle from the x axis toward the y axis.
    pub(super) fn toward(&self, rad: f64) -> String {
        match self.facing {
            Some((x, y)) => {
                let (east, north) = (rad.cos(), rad.sin());
                let (x, y) = (
                    if east < 0.0 { x.across() } else { x },
                    if north < 0.0 { y.across() } else { y },
                );
                // Within 22.5 degrees of a side, that side alone.
                match (east.abs() > 0.924, north.abs() > 0.924) {
                    (true, _) => format!("the {}", x.name()),
                    (_, true) => format!("the {}", y.name()),
                    _ if matches!(x, Compass::North | Compass::South) => format!("the {}-{}", x.name(), y.name()),
                    _ => format!("the {}-{}", y.name(), x.name()),
                }
            }
            None => {
                let part = |size: f64, axis: &str| {
                    if size.abs() < 0.383 {
                        None
                    } else {
                        Some(format!("{} {axis}", if size > 0.0 { "larger" } else { "smaller" }))
                    }
                };
                [part(rad.cos(), "x"), part(rad.sin(), "y")]
                    .into_iter()
                    .flatten()
                    .collect::<Vec<_>>()
                    .join(" and ")
            }
        }
    }

    /// A shape in words.
    pub(super) fn named(&self, shape: Shape) -> String {
        let quarter = core::f64::consts::FRAC_PI_4;
        let edge = |edge| {
            self.toward(match edge {
                Edge::XMax => 0.0,
                Edge::YMax => 2.0 * quarter,
                Edge::XMin => 4.0 * quarter,
                Edge::YMin => 6.0 * quarter,
            })
        };
        let corner = |corner| {
            self.toward(match corner {
                Corner::XMaxYMax => quarter,
                Corner::XMinYMax => 3.0 * quarter,
                Corner::XMinYMin => 5.0 * quarter,
                Corner::XMaxYMin => 7.0 * quarter,
            })
        };
        let axis = |axis| match axis {
            Axis::X => "x",
            Axis::Y => "y",
        };
        match shape {
            Shape::NoPattern => "no tilt and no bend above the noise".into(),
            Shape::PlainTilt => "plain tilt: no bend above the noise".into(),
            Shape::EdgeDown(at) => format!("one edge is down, toward {}", edge(at)),
            Shape::EdgeUp(at) => format!("one edge is up, toward {}", edge(at)),
            Shape::CornerDown(at) => format!("one corner is down, toward {}", corner(at)),
            Shape::CornerUp(at) => format!("one corner is up, toward {}", corner(at)),
            Shape::Dome => "a dome: high in the middle".into(),
            Shape::Dish => "a dish: low in the middle".into(),
            Shape::Ridge(at) => format!("a ridge: high along a line that runs with {}", axis(at)),
            Shape::Trough(at) => format!("a trough: low along a line that runs with {}", axis(at)),
            Shape::Saddle => "a saddle: opposite sides up, the others down".into(),
            Shape::Unclear => "a bend above the noise, whose form can't be told".into(),
        }
    }
}
