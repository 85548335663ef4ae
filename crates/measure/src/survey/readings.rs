//! What a survey says, as readings to be weighed.

use crate::estimate::COVER_90;
use crate::{Estimate, Length, Quantity, Reading};

use super::shape::part_heights;
use super::{Analysis, Change, Part, WorstLine};

const PLANE: &str = "slope of the least-squares plane";
const LINE: &str =
    "largest offset from a line between two readings, over its length; the search over many lines is allowed for";

/// Why more can be left from high to low once the tilt is out than there was
/// with it. The plane then rises from the point that lies lowest off it to the
/// one that lies highest, or the two could not differ by less with it in.
pub const TILT_HIDES: &str = "That is more than with the tilt in: the floor as a whole tilts up toward the part that dips, which hides some of the dip.";

impl Analysis {
    /// The results as readings, each naming the points it was computed from:
    /// `tilt`, `bend` (the worse of `hogging` and `sagging`), `high-low`,
    /// `off-plane` (high to low once the tilt is out) and
    /// `angular-distortion`.
    ///
    /// The worst lines allow for the search over many lines
    /// ([`WorstLine::allowing_for_search`]). `sd` is the error of the
    /// measurement alone; taken as movement since construction, the as-built
    /// spread joins it.
    pub fn readings(&self) -> Vec<Reading> {
        let all: Vec<usize> = (0..self.levels.points().len()).collect();
        let built = &self.as_built;
        let t = &self.tilt.slope;
        let mut list = vec![self.reading(
            "tilt",
            PLANE,
            Quantity::Ratio,
            (t.value.value(), t.sd, built.slope_sd(t.sd, self.extent_mm())),
            &all,
        )];
        if let Some(tilt) = list.first_mut() {
            tilt.notes.extend(self.way_down());
        }
        for (name, line) in [
            ("bend", self.lines.worst()),
            ("hogging", self.lines.hogging.as_ref()),
            ("sagging", self.lines.sagging.as_ref()),
        ] {
            list.extend(line.map(|line| self.bend(name, line)));
        }
        if let Some(d) = &self.distortion {
            let (value, sd) = (d.distortion.value.value(), d.distortion.sd);
            list.push(self.reading(
                "angular-distortion",
                "worst between neighbours, tilt taken out",
                Quantity::Ratio,
                (value, sd, built.slope_sd(sd, d.apart_mm)),
                &[d.between.0, d.between.1],
            ));
        }
        let (high_low, off) = (self.high_low, self.off_plane());
        for (name, method, e) in [
            ("high-low", "highest less lowest", high_low),
            ("off-plane", "highest less lowest, tilt taken out", off),
        ] {
            let errors = (e.value, e.sd, built.difference_sd(e.sd));
            list.push(self.reading(name, method, Quantity::Length, errors, &all));
            if let (Some(last), "high-low") = (list.last_mut(), name) {
                let left = Length::mm(off.value).map_or_else(|_| String::new(), Length::to_sixteenths);
                last.notes = vec![format!(
                    "It mixes tilt with bend and grows with the number of readings; with the tilt taken out, {left} is left."
                )];
                last.notes.extend(self.tilt_hides().then(|| TILT_HIDES.to_owned()));
            }
        }
        list
    }

    /// How each edge, each corner and the middle stand off the rest once the
    /// tilt is out: `edge-fall` and `edge-rise`, `corner-fall`, `dome`, in
    /// mm. Below 0 it goes the other way. None where no pattern is named, or
    /// one that has no one place.
    ///
    /// Edges and corners are measured from where the flat part ends, some 10
    /// to 18 ft in, to the end.
    ///
    /// All are computed from the same points, and edges share points with
    /// corners, so their errors hang together. Weighed one by one they would
    /// count for too much; so as a sign of movement each error is widened
    /// until all of them count as the number of independent ones that they
    /// amount to (about 1.4 times on a grid of 6 by 7). The tilt shares
    /// nothing with them: it is taken out before.
    pub fn local_readings(&self) -> Vec<(Part, Reading)> {
        let Some(fit) = &self.shape else {
            return Vec::new();
        };
        let all: Vec<usize> = (0..self.levels.points().len()).collect();
        let mut list = Vec::new();
        let (heights, overlap) = part_heights(&self.levels, &self.plane, fit);
        for (part, up) in heights {
            let names: &[(&str, f64)] = match part {
                Part::Edge(_) => &[("edge-fall", -1.0), ("edge-rise", 1.0)],
                Part::Corner(_) => &[("corner-fall", -1.0)],
                Part::Middle => &[("dome", 1.0)],
            };
            for &(name, sign) in names {
                let errors = (sign * up.value, up.sd, overlap * self.as_built.difference_sd(up.sd));
                let method = "plane and bent forms by least squares; the form by model comparison";
                list.push((part, self.reading(name, method, Quantity::Length, errors, &all)));
            }
        }
        list
    }

    /// Which way the floor falls, in words; none where the tilt is too small to tell.
    fn way_down(&self) -> Option<String> {
        let points = self.levels.points();
        let high = points.iter().reduce(|a, b| if b.z > a.z { b } else { a })?;
        let low = points.iter().reduce(|a, b| if b.z < a.z { b } else { a })?;
        let turned = self.tilt.down.rad().to_degrees();
        self.tilt.down_sd.is_finite().then(|| {
            format!(
                "Down lies {:.0}° from the way x grows, turned toward the way y grows; the highest point is {}, the lowest {}.",
                if turned < 0.0 { turned + 360.0 } else { turned },
                high.name,
                low.name
            )
        })
    }

    /// High to low once the tilt is taken out, mm.
    fn off_plane(&self) -> Estimate<f64> {
        let residuals = self.plane.residuals(&self.levels);
        let ends = |better: fn(f64, f64) -> bool| {
            (0..residuals.len()).reduce(|a, b| if better(residuals[b], residuals[a]) { b } else { a })
        };
        match (ends(|a, b| a > b), ends(|a, b| a < b)) {
            (Some(high), Some(low)) if high != low => Estimate {
                value: residuals[high] - residuals[low],
                sd: self.levels.variance(&[(high, 1.0), (low, -1.0)]).sqrt(),
            },
            _ => Estimate { value: 0.0, sd: 0.0 },
        }
    }

    /// Whether more is left from high to low once the tilt is out, on a tape,
    /// than there was with it: [`TILT_HIDES`] then says why.
    pub fn tilt_hides(&self) -> bool {
        self.off_plane().value - self.high_low.value > 25.4 / 16.0
    }

    fn bend(&self, name: &'static str, line: &WorstLine) -> Reading {
        let ratio = line.allowing_for_search();
        let size = ratio.value.value() * line.ratio.value.value().signum();
        let moved = self.as_built.deflection_sd(ratio.sd, line.chord_mm);
        self.reading(name, LINE, Quantity::Ratio, (size, ratio.sd, moved), &line.line)
    }

    /// A reading: value, error of the measurement, error as movement.
    fn reading(
        &self,
        name: &'static str,
        method: &'static str,
        quantity: Quantity,
        (value, sd, moved): (f64, f64, f64),
        of: &[usize],
    ) -> Reading {
        let points = self.levels.points();
        let from = of.iter().map(|&i| points[i].name.clone()).collect();
        Reading {
            sd_as_movement: Some(moved),
            ..Reading::new((name, method), quantity, Estimate { value, sd }, from)
        }
    }
}

impl Change {
    /// The largest change as a reading, `change`, mm without its sign. How
    /// the floor was built does not enter. The largest of many is largest
    /// partly by noise: its error reaches down to the largest that noise
    /// would leave, and the value is the middle.
    pub fn reading(&self) -> Option<Reading> {
        let points = self.levels.points();
        let at = (0..points.len()).reduce(|a, b| if points[b].z.abs() > points[a].z.abs() { b } else { a })?;
        let (size, sd) = (points[at].z.abs(), self.levels.point_sd(at));
        let reach = crate::normal_upper_tail_point(0.05 / (2.0 * points.len() as f64)) * sd;
        let least = (size - reach).max(0.0);
        let method = "largest change at one point; the search over all of them is allowed for";
        let change = Estimate {
            value: 0.5 * (size + least),
            sd: (0.5 * (size - least) / COVER_90).max(sd),
        };
        let from = vec![points[at].name.clone()];
        Some(Reading {
            notes: self.notes.clone(),
            ..Reading::new(("change", method), Quantity::Length, change, from)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::{Level, Levels, Options, analyse};

    /// A floor of 20 by 20 ft that rises 1 in 240 toward a corner (2 in over the two sides) and dips there by 2 in:
    /// the dip only brings it to the level of the far corner, and the tilt taken out leaves more.
    #[test]
    fn a_tilt_that_hides_a_dip_is_told() {
        let floor = |tilt: f64| {
            let points = (0..36)
                .map(|i| {
                    let (x, y) = (f64::from(i % 6) * 1219.2, f64::from(i / 6) * 1219.2);
                    let dip = if i == 0 { 50.8 } else { 0.0 };
                    let z = -tilt * (x + y) - dip;
                    Level {
                        name: format!("P{i}"),
                        x,
                        y,
                        z,
                        readings: 1,
                    }
                })
                .collect();
            analyse(&Levels::new(points, 0.8).unwrap(), &Options::default()).unwrap()
        };
        let note = |floor: &Analysis| {
            let all = floor.readings();
            all.into_iter()
                .find(|one| one.name == "high-low")
                .unwrap()
                .notes
                .join(" ")
        };
        let hidden = floor(1.0 / 240.0);
        assert!(hidden.high_low.value < hidden.off_plane().value);
        assert!(note(&hidden).ends_with(TILT_HIDES), "{}", note(&hidden));
        let along = floor(-1.0 / 240.0);
        assert!(!note(&along).contains(TILT_HIDES), "{}", note(&along));
        // No finer than a tape: a house inspector reads 1/16 in.
        for floor in [hidden, along] {
            assert!(
                !note(&floor).contains("/64 in") && !note(&floor).contains("/32 in"),
                "{}",
                note(&floor)
            );
        }
    }
}
