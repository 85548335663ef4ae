//! What a mean over unknown shares can be, of which some other means are known.
//!
//! Shares of columns, 0 or more, of which some sums are known: how large can another sum be? The simplex method goes from
//! corner to corner of what is possible (Dantzig 1951). What it tells is a bound wherever it stops: for any multipliers `y`
//! of the known sums, a sum of `c` is `y·known + (c − y·A)·shares`, and is no more than with the largest of those rests for
//! all shares. Columns are scaled to sum to 1, so that all shares together are the sum of what is known.

/// Columns with shares of which some sums are known.
#[derive(Clone, Debug)]
pub(super) struct Mixture {
    columns: usize,
    /// A row for each known sum, solved for one column each: its entry of every column, and its value.
    rows: Vec<f64>,
    /// The column that each row is solved for; none where none could be.
    solved: Vec<Option<usize>>,
    /// What each column is multiplied by.
    scale: Vec<f64>,
    /// All shares together.
    all: f64,
    /// What each column has over what the rows give it.
    rests: Vec<f64>,
    pivot: Vec<f64>,
}

/// More steps than any case takes.
const STEPS: usize = 64;
/// Smaller than what counts.
const SMALL: f64 = 1e-13;

impl Mixture {
    /// Columns by the entries of each known sum, none under 0, and its value; none where they say nothing.
    pub fn of(known: &[(&[f64], f64)]) -> Option<Self> {
        let columns = known.first()?.0.len();
        let mut scale = vec![0.0; columns];
        for (row, _) in known {
            scale.iter_mut().zip(*row).for_each(|(scale, x)| *scale += x);
        }
        scale.iter_mut().for_each(|scale| *scale = 1.0 / *scale);
        let mut rows = Vec::with_capacity(known.len() * (columns + 1));
        for (row, value) in known {
            rows.extend(row.iter().zip(&scale).map(|(x, scale)| x * scale));
            rows.push(*value);
        }
        let finite = rows.iter().all(|x| x.is_finite());
        let mut mixture = Mixture {
            columns,
            rows,
            solved: vec![None; known.len()],
            scale,
            all: known.iter().map(|(_, value)| value).sum(),
            rests: vec![0.0; columns],
            pivot: Vec::new(),
        };
        mixture.start();
        finite.then_some(mixture)
    }

    /// Solves as many rows as can be.
    fn start(&mut self) {
        for _ in 0..STEPS {
            self.rests.fill(0.0);
            for (row, solved) in self.rows.chunks_exact(self.columns + 1).zip(&self.solved) {
                if solved.is_none() {
                    self.rests.iter_mut().zip(row).for_each(|(rest, x)| *rest += x);
                }
            }
            if !self.turn() {
                break;
            }
        }
    }

    /// The most that the sum of these can be; a little more where rounding leaves room.
    pub fn most(&mut self, of: &[f64]) -> f64 {
        self.most_of(of, 1.0)
    }

    /// The least that the sum of these can be.
    pub fn least(&mut self, of: &[f64]) -> f64 {
        -self.most_of(of, -1.0)
    }

    /// The most of so many times the sum.
    fn most_of(&mut self, of: &[f64], times: f64) -> f64 {
        let mut sum = self.set_rests(of, times);
        for _ in 0..STEPS {
            if !self.turn() {
                break;
            }
            sum = self.set_rests(of, times);
        }
        sum + self.all
            * self
                .rests
                .iter()
                .fold(0.0, |most: f64, rest| if *rest > most { *rest } else { most })
    }

    /// Sets what each column has over what the rows give it, and returns what they give.
    fn set_rests(&mut self, of: &[f64], times: f64) -> f64 {
        let each = self.rests.iter_mut().zip(of).zip(&self.scale);
        each.for_each(|((rest, of), scale)| *rest = times * of * scale);
        let mut sum = 0.0;
        for (row, solved) in self.rows.chunks_exact(self.columns + 1).zip(&self.solved) {
            let Some(at) = *solved else { continue };
            let own = times * by(of, at) * by(&self.scale, at);
            self.rests.iter_mut().zip(row).for_each(|(rest, x)| *rest -= own * x);
            sum += own * by(row, self.columns);
        }
        sum
    }

    /// One step: solves a row for the column with the largest rest; false where none would gain.
    fn turn(&mut self) -> bool {
        let (mut column, mut most, mut size) = (0, 0.0, 1.0);
        for (at, rest) in self.rests.iter().enumerate() {
            if *rest > most {
                (column, most) = (at, *rest);
            }
            size = if rest.abs() > size { rest.abs() } else { size };
        }
        if most <= SMALL * size {
            return false;
        }
        let mut best: Option<(usize, f64)> = None;
        let width = self.columns + 1;
        for (at, (row, solved)) in self.rows.chunks_exact(width).zip(&self.solved).enumerate() {
            let (mut entry, value) = (by(row, column), by(row, self.columns));
            // A row that nothing was needed for is the first to be solved.
            if solved.is_none() && value.abs() <= SMALL {
                entry = entry.abs();
            }
            if entry > SMALL && best.is_none_or(|(_, least)| value / entry < least) {
                best = Some((at, value / entry));
            }
        }
        let Some((at, _)) = best else {
            return false;
        };
        let mut pivot = std::mem::take(&mut self.pivot);
        pivot.clear();
        pivot.extend(self.rows.chunks_exact(width).nth(at).into_iter().flatten());
        let entry = by(&pivot, column);
        pivot.iter_mut().for_each(|x| *x /= entry);
        for (other, row) in self.rows.chunks_exact_mut(width).enumerate() {
            if other == at {
                row.copy_from_slice(&pivot);
                continue;
            }
            let times = by(row, column);
            row.iter_mut().zip(&pivot).for_each(|(x, pivot)| *x -= times * pivot);
        }
        self.pivot = pivot;
        if let Some(solved) = self.solved.get_mut(at) {
            *solved = Some(column);
        }
        true
    }
}

fn by(list: &[f64], at: usize) -> f64 {
    list.get(at).copied().unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Shares on 0, 1, 2 whose mean is known: their mean square lies between the square of the mean and twice it (Jensen; a
    /// chord).
    #[test]
    fn what_is_known_bounds_the_rest() {
        for mean in [0.0, 0.3, 1.0, 1.7, 2.0] {
            let mut mixture = Mixture::of(&[(&[1.0; 3], 1.0), (&[0.0, 1.0, 2.0], mean)]).unwrap();
            let square = [0.0, 1.0, 4.0];
            assert!((mixture.most(&square) - 2.0 * mean).abs() < 1e-9, "{mean}");
            // On whole numbers the least is the chord below.
            let below = if mean < 1.0 { mean } else { 3.0 * mean - 2.0 };
            assert!((mixture.least(&square) - below).abs() < 1e-9, "{mean}");
        }
    }

    /// What is known of a sum is all that it can be.
    #[test]
    fn what_is_known_is_known() {
        let column = |a: i32, b: i32| 3.0_f64.powi(a) * 0.6_f64.powi(b);
        let states: Vec<(i32, i32)> = (0..=4).flat_map(|a| (0..=4 - a).map(move |b| (a, b))).collect();
        let shares = |at: usize| 1.0 + (at * 7 % 5) as f64;
        let total: f64 = (0..states.len()).map(shares).sum();
        let sum = |of: &dyn Fn(i32, i32) -> f64| -> (Vec<f64>, f64) {
            let row: Vec<f64> = states.iter().map(|(a, b)| of(*a, *b)).collect();
            let value = row.iter().enumerate().map(|(at, x)| x * shares(at) / total).sum();
            (row, value)
        };
        let known = [
            sum(&|_, _| 1.0),
            sum(&|a, _| f64::from(a)),
            sum(&|_, b| f64::from(b)),
            sum(&column),
        ];
        let all: Vec<(&[f64], f64)> = known.iter().map(|(row, value)| (row.as_slice(), *value)).collect();
        let mut mixture = Mixture::of(&all).unwrap();
        for (row, value) in &known {
            assert!((mixture.most(row) - value).abs() < 1e-9);
            assert!((mixture.least(row) - value).abs() < 1e-9);
        }
        let (row, value) = sum(&|a, b| 2.0_f64.powi(a) * 0.8_f64.powi(b));
        let (low, high) = (mixture.least(&row), mixture.most(&row));
        assert!(low < value && value < high && high - low < 1.0, "{low} {value} {high}");
    }
}
