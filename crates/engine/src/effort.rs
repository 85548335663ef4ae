//! What is asked takes as much as the case is large: predicted from its size, and refused before it is begun where that would
//! be too much.

use crate::WeighError;

/// Most numbers kept at once, each in about 100 bytes: a few hundred megabytes.
const MOST_KEPT: usize = 3_000_000;
/// Most sums over tables: a few seconds of one core.
const MOST_SUMS: usize = 2_000_000_000;

/// Solutions that all that is asked of one conclusion takes, roughly: one for each number of the pack that may be near.
pub(crate) const ASKED: usize = 2_000;

/// Whether so many numbers may be kept, and so many sums over tables be made.
pub(crate) fn bearable(kept: usize, sums: usize) -> bool {
    kept <= MOST_KEPT && sums <= MOST_SUMS
}

/// Refuses what would be too large or take too long.
pub(crate) fn in_reason(doing: &'static str, kept: usize, sums: usize) -> Result<(), WeighError> {
    match bearable(kept, sums) {
        true => Ok(()),
        false => Err(WeighError::TooMuch { doing, kept, sums }),
    }
}
