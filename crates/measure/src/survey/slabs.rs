//! Points in slabs, so that those near a chord are found without looking at
//! all of them.

/// Place and residual of a point, mm.
pub(super) type Spot = (f64, f64, f64);

/// Points in slabs across x and across y, each slab in order along the other
/// axis.
pub(super) struct Slabs {
    across_x: Cuts,
    across_y: Cuts,
}

/// A slab's points: place along the other axis, and index.
type Slab = Vec<(f64, usize)>;

struct Cuts {
    low: f64,
    width: f64,
    slabs: Vec<Slab>,
}

impl Slabs {
    pub fn of(spots: &[Spot]) -> Self {
        let along = |which: fn(&Spot) -> (f64, f64)| Cuts::of(&spots.iter().map(which).collect::<Vec<_>>());
        Self {
            across_x: along(|s| (s.0, s.1)),
            across_y: along(|s| (s.1, s.0)),
        }
    }

    /// Every point that may lie within `corridor` of the chord between two
    /// places, and some that do not; in a fixed order.
    pub fn near(&self, from: Spot, to: Spot, corridor: f64, mut each: impl FnMut(usize)) {
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let chord = libm::sqrt(dx * dx + dy * dy);
        if dx.abs() >= dy.abs() {
            let wide = corridor * chord / dx.abs();
            self.across_x.near((from.0, from.1), (to.0, to.1), wide, &mut each);
        } else {
            let wide = corridor * chord / dy.abs();
            self.across_y.near((from.1, from.0), (to.1, to.0), wide, &mut each);
        }
    }
}

impl Cuts {
    fn of(places: &[(f64, f64)]) -> Self {
        let (low, high) = places
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (l.min(p.0), h.max(p.0)));
        let count = (libm::sqrt(places.len() as f64) as usize).max(1);
        let mut cuts = Self {
            low,
            width: ((high - low) / count as f64).max(1e-9),
            slabs: vec![Slab::new(); count],
        };
        for (index, p) in places.iter().enumerate() {
            let at = cuts.slab(p.0);
            cuts.slabs[at].push((p.1, index));
        }
        for slab in &mut cuts.slabs {
            slab.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        }
        cuts
    }

    fn slab(&self, place: f64) -> usize {
        let at = (place - self.low) / self.width;
        (at.max(0.0) as usize).min(self.slabs.len() - 1)
    }

    fn near(&self, from: (f64, f64), to: (f64, f64), wide: f64, each: &mut impl FnMut(usize)) {
        let (from, to) = if from.0 <= to.0 { (from, to) } else { (to, from) };
        let slope = (to.1 - from.1) / (to.0 - from.0);
        let at = |x: f64| from.1 + slope * (x - from.0);
        // Beside an end a point may lie beyond it along this axis, by no more than the corridor.
        let (begin, end) = (from.0 - wide, to.0 + wide);
        let (first, last) = (self.slab(begin), self.slab(end));
        for number in first..=last {
            let left = (self.low + number as f64 * self.width).max(begin);
            let right = (self.low + (number as f64 + 1.0) * self.width).min(end);
            let (y0, y1) = (at(left), at(right));
            // A hair more, for points on the cut between two slabs.
            let (low, high) = (y0.min(y1) - wide - 1e-6, y0.max(y1) + wide + 1e-6);
            let slab = &self.slabs[number];
            let skip = slab.partition_point(|p| p.0 < low);
            for &(y, index) in &slab[skip..] {
                if y > high {
                    break;
                }
                each(index);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn none_within_the_corridor_is_missed(
            places in proptest::collection::vec((0.0..20_000.0f64, 0.0..9_000.0f64), 3..60),
            corridor in 0.0..900.0f64,
        ) {
            let spots: Vec<Spot> = places.iter().map(|&(x, y)| (x, y, 0.0)).collect();
            let slabs = Slabs::of(&spots);
            let (a, b) = (spots[0], spots[1]);
            let (dx, dy) = (b.0 - a.0, b.1 - a.1);
            let chord2 = dx * dx + dy * dy;
            prop_assume!(chord2 > 1.0);
            let mut found = Vec::new();
            slabs.near(a, b, corridor, |m| found.push(m));
            for (m, s) in spots.iter().enumerate() {
                let (ex, ey) = (s.0 - a.0, s.1 - a.1);
                let along = (ex * dx + ey * dy) / chord2;
                let off = (ex * dy - ey * dx).abs() / chord2.sqrt();
                if off <= corridor && along > 0.0 && along < 1.0 {
                    prop_assert!(found.contains(&m));
                }
            }
        }
    }
}
