//! The result as Markdown and as text.

use std::fmt::Write;

use super::{DECIBELS, House, Robust};

impl Robust {
    /// The tables for the pack's README.
    pub fn markdown(&self) -> String {
        let mut text = format!(
            "All {} numbers scaled at random within {DECIBELS} decibels of odds (a factor of two either way), {} times, over the {} \
             example and published houses (seed {}). The action changed in {} of 100 runs: lower in {}, higher in {}. In {} houses it never \
             changed, and in {} of 100 it changed in fewer than one run in ten.\n",
            self.numbers,
            self.runs,
            self.houses.len(),
            self.seed,
            hundred(self.changed()),
            hundred(self.share(|house| house.lower)),
            hundred(self.share(|house| house.higher)),
            self.houses
                .iter()
                .filter(|house| house.lower + house.higher == 0)
                .count(),
            hundred(
                self.houses
                    .iter()
                    .filter(|house| 10 * (house.lower + house.higher) < self.runs)
                    .count() as f64
                    / self.houses.len().max(1) as f64
            )
        );
        text.push_str("\nHouses whose action changed in one run of ten or more:\n\n| house | action | lower, of 100 runs | higher, of 100 runs |\n| --- | --- | --- | --- |\n");
        let mut loose: Vec<&House> = self
            .houses
            .iter()
            .filter(|house| 10 * (house.lower + house.higher) >= self.runs)
            .collect();
        loose.sort_by_key(|house| std::cmp::Reverse(house.lower + house.higher));
        for house in loose {
            let part = |count: usize| hundred(count as f64 / self.runs.max(1) as f64);
            let _ = writeln!(
                text,
                "| {} | {} | {} | {} |",
                house.name,
                house.action.name(),
                part(house.lower),
                part(house.higher)
            );
        }
        text.push_str("\nThe ten numbers that the deciding conclusions rest on most, and the houses whose action each changes by itself:\n\n| number | moves them, decibans for 3 dB | changes the action of |\n| --- | --- | --- |\n");
        for top in &self.top {
            let changes = if top.changes.is_empty() {
                "none".to_owned()
            } else {
                top.changes.join(", ")
            };
            let _ = writeln!(text, "| `{}` | {:.2} | {changes} |", top.name, top.moves);
        }
        text
    }

    fn share(&self, of: impl Fn(&House) -> usize) -> f64 {
        let sum: usize = self.houses.iter().map(of).sum();
        sum as f64 / (self.runs * self.houses.len()).max(1) as f64
    }
}

fn hundred(share: f64) -> String {
    format!("{:.0}", 100.0 * share)
}
