//! A reading that was chosen because it was the largest of many: what it says
//! of its own truth.
//!
//! Given that it was chosen, such a reading is a normal cut off where another
//! would have been chosen instead. The interval turns that distribution
//! around, so it holds the truth as often as it says, whatever the shape and
//! however many others there were (Lee, Sun, Sun and Taylor 2016, exact
//! post-selection inference). It is kept within a band that holds for all
//! lines at once (Andrews, Kitagawa and McCloskey 2024, inference on winners,
//! their hybrid), which costs half a point of the ten.

use crate::mass::normal_mass;
use crate::normal_upper_tail_point;

/// Chance spent on the band for all lines at once.
const BAND: f64 = 0.005;
/// Tail on either side of a 90 % interval, within the band.
const TAIL: f64 = 0.5 * (0.1 - BAND) / (1.0 - BAND);

/// Where the choice cuts the reading off, and how wide the band is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Chosen {
    /// Below this another line would have been chosen.
    pub from: f64,
    /// Above this another line would have been chosen.
    pub to: f64,
    /// Half-width of the band, in standard deviations.
    pub band: f64,
}

impl Chosen {
    /// Cut nowhere yet, among so many.
    pub fn among(lines: f64) -> Self {
        Self {
            from: f64::NEG_INFINITY,
            to: f64::INFINITY,
            band: normal_upper_tail_point(0.5 * BAND / lines.max(1.0)),
        }
    }

    /// Takes in another reading that was not chosen: `value` as read, and
    /// `share`, its covariance with `chosen` over the variance of `chosen`.
    pub fn over(&mut self, chosen: f64, value: f64, share: f64) {
        let gap = 1.0 - share;
        if gap.abs() < 1e-9 {
            return;
        }
        let cut = (value - share * chosen) / gap;
        if gap > 0.0 {
            self.from = self.from.max(cut.min(chosen));
        } else {
            self.to = self.to.min(cut.max(chosen));
        }
    }

    /// The ends of the 90 % interval of the truth of a reading with that
    /// standard deviation.
    pub fn interval_90(&self, value: f64, sd: f64) -> (f64, f64) {
        if sd <= 0.0 {
            return (value, value);
        }
        let (read, from, to) = (value / sd, self.from / sd, self.to / sd);
        let below = |truth: f64| {
            let from = from.max(truth - self.band) - truth;
            let to = to.min(truth + self.band) - truth;
            let all = normal_mass(0.0, 1.0, from, to);
            if all > 0.0 {
                normal_mass(0.0, 1.0, from, read - truth) / all
            } else {
                0.5
            }
        };
        // The chance of reading less falls as the truth rises.
        let at = |chance: f64| {
            let (mut low, mut high) = (read - self.band, read + self.band);
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                if below(middle) > chance {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            0.5 * (low + high) * sd
        };
        (at(1.0 - TAIL), at(TAIL))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chosen_from_one_it_is_a_plain_interval() {
        let (low, high) = Chosen::among(1.0).interval_90(3.0, 2.0);
        // Symmetric, and 1.645 standard deviations to either side.
        assert!((low + high - 6.0).abs() < 1e-9);
        assert!((1.64..1.69).contains(&((high - low) / 4.0)), "{low} {high}");
    }

    #[test]
    fn a_near_tie_reaches_down_and_a_clear_winner_does_not() {
        let interval = |second: f64| {
            let mut chosen = Chosen::among(1000.0);
            chosen.over(4.0, second, 0.0);
            chosen.interval_90(4.0, 1.0)
        };
        let (tie, clear) = (interval(3.95), interval(-3.0));
        assert!(tie.0 < 0.0 && tie.1 < clear.1, "{tie:?} {clear:?}");
        assert!((clear.0 - (4.0 - 1.67)).abs() < 0.02, "{clear:?}");
        assert!(tie.0 >= 4.0 - Chosen::among(1000.0).band, "within the band");
    }

    /// The largest of ten equal truths, by simulation: 90 % of intervals hold it.
    #[test]
    fn it_holds_the_truth_of_the_largest_of_ten() {
        let mut state = 7_u64;
        let mut even = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1_u64 << 53) as f64
        };
        let mut normal = || (0..12).map(|_| even()).sum::<f64>() - 6.0;
        for spread in [0.0, 0.5, 4.0] {
            let mut held = 0;
            for _ in 0..4000 {
                let read: Vec<f64> = (0..10).map(|k| spread * f64::from(k) + normal()).collect();
                let best = (0..10).reduce(|a, b| if read[b] > read[a] { b } else { a }).unwrap();
                let mut chosen = Chosen::among(10.0);
                for k in (0..10).filter(|&k| k != best) {
                    chosen.over(read[best], read[k], 0.0);
                }
                let (low, high) = chosen.interval_90(read[best], 1.0);
                let truth = spread * best as f64;
                held += usize::from(low <= truth && truth <= high);
            }
            let share = held as f64 / 4000.0;
            assert!((0.885..0.92).contains(&share), "{spread}: {share}");
        }
    }
}
