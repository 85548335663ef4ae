//! Pairs of what is supposed: rows, each some variables in states, and columns, each something left out or found beside.
//!
//! A pass up and down for a row answers its columns by walks ([`crate::below`]), and one for a column its rows, for a
//! variable in a state is a change of weights as well. A column whose variables lie far apart in the tree is a long walk
//! from every row, and a row is most often a short one from it: then the column gets the pass.
//!
//! The passes are independent of each other, and put together in parts that can be worked out in any order.

use std::ops::Range;

use crate::Solved;
use crate::below::Walk;
use crate::core::Trial;
use crate::lanes;
use crate::walks::Walks;

/// What is supposed, as a sum of changes to the weights; none where it can't be had so.
pub(crate) type Terms = Vec<(f64, Trial)>;

/// A pass up and down, in entries of the plan's tables.
const PASS: usize = 2;

/// Passes of a part.
const TRIALS: usize = 32;

/// A column as walks: which, and the entries of them all.
struct Column {
    walks: Range<usize>,
    entries: usize,
}

/// Pairs, and how each is answered.
pub(crate) struct Grid<'s> {
    solved: &'s Solved,
    /// Every column's terms, as walks, and of which column each is, and how many times.
    walks: Vec<Walk>,
    column_of: Vec<(usize, f64)>,
    /// None where a term is none.
    columns: Vec<Option<Column>>,
    /// Of each row, where any column is walked from.
    rows: Vec<Walk>,
    /// Of each column, the rows that are walked from it, in order.
    turned: Vec<Vec<usize>>,
    parts: Vec<Part>,
}

/// Some passes, and the walks that are followed from each.
struct Part {
    trials: Vec<Trial>,
    wanted: Vec<Vec<usize>>,
    of: Of,
}

/// What passes are for: rows, or columns, each so many times.
enum Of {
    Rows(Vec<usize>),
    Columns(Vec<(usize, f64)>),
}

/// A pair, and what a pass adds to it.
pub(crate) type Added = (u32, u32, f64);

impl<'s> Grid<'s> {
    /// The columns that each row asks for.
    pub fn new(solved: &'s Solved, rows: &[Trial], columns: &[Option<Terms>], asked: &[Vec<usize>]) -> Self {
        Self::by(PASS * solved.core.plan.cost(), solved, rows, columns, asked)
    }

    /// The same where a pass costs as much as so many entries of walks.
    pub fn by(
        pass: usize,
        solved: &'s Solved,
        rows: &[Trial],
        columns: &[Option<Terms>],
        asked: &[Vec<usize>],
    ) -> Self {
        let mut grid = Grid {
            solved,
            walks: Vec::new(),
            column_of: Vec::new(),
            columns: Vec::with_capacity(columns.len()),
            rows: Vec::new(),
            turned: vec![Vec::new(); columns.len()],
            parts: Vec::new(),
        };
        grid.walk(columns);
        grid.turn(pass, rows, columns, asked);
        grid.straight(rows, asked);
        grid.around(columns);
        grid
    }

    /// The walks of columns.
    fn walk(&mut self, columns: &[Option<Terms>]) {
        let core = &self.solved.core;
        let all = columns.iter().flatten().map(Vec::len).sum();
        self.walks.reserve_exact(all);
        self.column_of.reserve_exact(all);
        for (column, terms) in columns.iter().enumerate() {
            let first = self.walks.len();
            let mut add = |(by, trial): &(f64, Trial)| {
                self.walks.push(core.walk(trial)?);
                self.column_of.push((column, *by));
                Some(())
            };
            let found = terms.as_ref().and_then(|terms| terms.iter().try_for_each(&mut add));
            if found.is_none() {
                self.walks.truncate(first);
                self.column_of.truncate(first);
            }
            let entries = self.walks[first..].iter().map(|walk| walk.entries(&core.plan)).sum();
            let walks = first..self.walks.len();
            self.columns.push(found.map(|()| Column { walks, entries }));
        }
    }

    /// Which columns had better get the pass.
    fn turn(&mut self, pass: usize, rows: &[Trial], columns: &[Option<Terms>], asked: &[Vec<usize>]) {
        let core = &self.solved.core;
        let mut askers = vec![0_usize; columns.len()];
        asked.iter().flatten().for_each(|column| askers[*column] += 1);
        // Only where a column could be worth a pass of its own are the rows looked at.
        let terms = |column: usize| columns[column].as_ref().map_or(0, Vec::len);
        let pass = |column: usize| pass.saturating_mul(terms(column));
        let long = |column: usize| self.columns[column].as_ref().map_or(usize::MAX, |one| one.entries);
        let worth = |column: &usize| long(*column).saturating_mul(askers[*column]) > pass(*column);
        let worth: Vec<usize> = (0..columns.len())
            .filter(|column| terms(*column) > 0 && worth(column))
            .collect();
        if worth.is_empty() {
            return;
        }
        let walks: Vec<Option<Walk>> = rows.iter().map(|row| core.walk(&row.as_weights())).collect();
        let entries = |walk: &Option<Walk>| walk.as_ref().map_or(usize::MAX, |walk| walk.entries(&core.plan));
        let short: Vec<usize> = walks.iter().map(entries).collect();
        let mut near: Vec<Vec<usize>> = vec![Vec::new(); worth.len()];
        let mut place = vec![usize::MAX; columns.len()];
        worth.iter().enumerate().for_each(|(at, column)| place[*column] = at);
        for (row, asked) in asked.iter().enumerate() {
            for column in asked.iter().filter(|column| short[row] < long(**column)) {
                if let Some(near) = near.get_mut(place[*column]) {
                    near.push(row);
                }
            }
        }
        for (column, near) in worth.into_iter().zip(near) {
            let saved = |row: &usize| long(column) - short[*row];
            let saved = near.iter().fold(0, |sum: usize, row| sum.saturating_add(saved(row)));
            if saved > pass(column) {
                self.turned[column] = near;
            }
        }
        // Rows that no column is walked to may have no walk.
        self.rows = walks.into_iter().map(Option::unwrap_or_default).collect();
    }

    fn is_turned(&self, row: usize, column: usize) -> bool {
        self.turned[column].binary_search(&row).is_ok()
    }

    /// A pass for each row, and walks for its columns.
    fn straight(&mut self, rows: &[Trial], asked: &[Vec<usize>]) {
        let (mut trials, mut wanted, mut of) = (Vec::new(), Vec::new(), Vec::new());
        for (row, asked) in asked.iter().enumerate() {
            let own = asked.iter().filter(|column| !self.is_turned(row, **column));
            let terms = own.filter_map(|column| self.columns[*column].as_ref());
            let own: Vec<usize> = terms.flat_map(|one| one.walks.clone()).collect();
            if !own.is_empty() {
                trials.push(rows[row].clone());
                wanted.push(own);
                of.push(row);
            }
        }
        self.part(trials, wanted, &of, Of::Rows);
    }

    /// A pass for each term of a column, and walks for its rows.
    fn around(&mut self, columns: &[Option<Terms>]) {
        let (mut trials, mut wanted, mut of) = (Vec::new(), Vec::new(), Vec::new());
        for (column, near) in self.turned.iter().enumerate().filter(|(_, near)| !near.is_empty()) {
            for (by, trial) in columns[column].iter().flatten() {
                trials.push(trial.clone());
                wanted.push(near.clone());
                of.push((column, *by));
            }
        }
        self.part(trials, wanted, &of, Of::Columns);
    }

    /// Parts of those passes, each with some that change the same branches.
    fn part<T: Clone>(
        &mut self,
        mut trials: Vec<Trial>,
        mut wanted: Vec<Vec<usize>>,
        of: &[T],
        what: impl Fn(Vec<T>) -> Of,
    ) {
        let order = lanes::order(&self.solved.core.plan, &trials);
        for own in order.chunks(TRIALS) {
            self.parts.push(Part {
                trials: own.iter().map(|at| std::mem::take(&mut trials[*at])).collect(),
                wanted: own.iter().map(|at| std::mem::take(&mut wanted[*at])).collect(),
                of: what(own.iter().map(|at| of[*at].clone()).collect()),
            });
        }
    }

    /// The solution that all is beside.
    pub fn solved(&self) -> &'s Solved {
        self.solved
    }

    /// How many parts there are.
    pub fn parts(&self) -> usize {
        self.parts.len()
    }

    /// What a part adds to each pair, in shares of P(evidence).
    pub fn found(&self, part: usize) -> Vec<Added> {
        let total = self.solved.total;
        let Part { trials, wanted, of } = &self.parts[part];
        let mut out = Vec::with_capacity(wanted.iter().map(Vec::len).sum());
        let walks = match of {
            Of::Rows(_) => &self.walks,
            Of::Columns(_) => &self.rows,
        };
        let all = Walks { trials, walks, wanted };
        self.solved.run_walks(&all, &mut |trial, of_trial, walk, factor| {
            let (row, column, by) = match of {
                Of::Rows(rows) => {
                    let (column, by) = self.column_of[walk];
                    (rows[trial], column, by)
                }
                Of::Columns(columns) => {
                    let (column, by) = columns[trial];
                    (walk, column, by)
                }
            };
            let share = if of_trial.mantissa > 0.0 {
                factor * of_trial.over(total)
            } else {
                0.0
            };
            out.push((row as u32, column as u32, by * share));
        });
        out
    }

    /// Whether a pair that is asked for is answered by the parts: not where neither is a walk from the other.
    pub fn answers(&self, row: usize, column: usize) -> bool {
        self.columns[column].is_some() || self.is_turned(row, column)
    }

    /// The sums of what the parts add, in their order; what no part adds to is 0.
    pub fn sums(&self, rows: usize, parts: impl IntoIterator<Item = Vec<Added>>) -> Vec<Vec<f64>> {
        let mut out = vec![vec![0.0; self.columns.len()]; rows];
        for (row, column, share) in parts.into_iter().flatten() {
            out[row as usize][column as usize] += share;
        }
        out
    }
}
