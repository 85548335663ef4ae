//! Pairs of what is supposed: rows, each some variables in states, and columns, each something left out or found beside.
//!
//! A pass up and down for a row answers its columns by walks ([`crate::below`]), and one for a column its rows, for a
//! variable in a state is a change of weights as well. A column whose variables lie far apart in the tree is a long walk
//! from every row, and a row is most often a short one from it: then the column gets the pass.

use crate::Solved;
use crate::below::Walk;
use crate::core::Trial;
use crate::walks::Walks;

/// What is supposed, as a sum of changes to the weights; none where it can't be had so.
pub(crate) type Terms = Vec<(f64, Trial)>;

/// A pass up and down, in entries of the plan's tables.
const PASS: usize = 3;

/// A column as walks: how many times which, and the entries of them all.
struct Column {
    terms: Vec<(f64, usize)>,
    entries: usize,
}

/// How each pair is answered.
struct Ways {
    /// Every column's terms, as walks.
    walks: Vec<Walk>,
    /// None where a term is none.
    columns: Vec<Option<Column>>,
    /// Of each row, where any column is walked from.
    rows: Vec<Option<Walk>>,
    /// Of each column, the rows that are walked from it.
    turned: Vec<Vec<usize>>,
}

impl Solved {
    /// P(row, column, evidence) over P(evidence), row by row, for the columns that each row asks for; not a number for any
    /// other, and where neither is a walk from the other.
    pub(crate) fn grid(&self, rows: &[Trial], columns: &[Option<Terms>], asked: &[Vec<usize>]) -> Vec<Vec<f64>> {
        self.grid_by(PASS * self.core.plan.cost(), rows, columns, asked)
    }

    /// The same where a pass costs as much as so many entries of walks.
    pub(crate) fn grid_by(
        &self,
        pass: usize,
        rows: &[Trial],
        columns: &[Option<Terms>],
        asked: &[Vec<usize>],
    ) -> Vec<Vec<f64>> {
        let ways = self.ways(pass, rows, columns, asked);
        let mut out = vec![vec![f64::NAN; columns.len()]; rows.len()];
        self.straight(rows, asked, &ways, &mut out);
        self.turned(columns, &ways, &mut out);
        out
    }

    fn ways(&self, pass: usize, rows: &[Trial], columns: &[Option<Terms>], asked: &[Vec<usize>]) -> Ways {
        let plan = &*self.core.plan;
        let mut ways = Ways {
            walks: Vec::new(),
            columns: Vec::with_capacity(columns.len()),
            rows: vec![None; rows.len()],
            turned: vec![Vec::new(); columns.len()],
        };
        for terms in columns {
            let walk = |(by, trial): &(f64, Trial)| Some((*by, self.core.walk(trial)?));
            let terms = terms.as_ref().map(|terms| terms.iter().map(walk));
            let found: Option<Vec<(f64, Walk)>> = terms.and_then(Iterator::collect);
            let column = found.map(|found| {
                let entries = found.iter().map(|(_, walk)| walk.entries(plan)).sum();
                let (by, new): (Vec<f64>, Vec<Walk>) = found.into_iter().unzip();
                let first = ways.walks.len();
                ways.walks.extend(new);
                Column {
                    terms: by.into_iter().zip(first..).collect(),
                    entries,
                }
            });
            ways.columns.push(column);
        }
        let mut askers: Vec<Vec<usize>> = vec![Vec::new(); columns.len()];
        for (row, asked) in asked.iter().enumerate() {
            asked.iter().for_each(|column| askers[*column].push(row));
        }
        // Only where a column could be worth a pass of its own are the rows looked at.
        let terms = |column: usize| columns[column].as_ref().map_or(0, Vec::len);
        let pass = |column: usize| pass.saturating_mul(terms(column));
        let long = |column: usize| ways.columns[column].as_ref().map_or(usize::MAX, |one| one.entries);
        let worth = |column: &usize| long(*column).saturating_mul(askers[*column].len()) > pass(*column);
        let worth: Vec<usize> = (0..columns.len())
            .filter(|column| terms(*column) > 0 && worth(column))
            .collect();
        let mut short = vec![usize::MAX; rows.len()];
        if !worth.is_empty() {
            ways.rows = rows.iter().map(|row| self.core.walk(&row.as_weights())).collect();
            let entries = ways
                .rows
                .iter()
                .map(|walk| walk.as_ref().map_or(usize::MAX, |walk| walk.entries(plan)));
            short = entries.collect();
        }
        for column in worth {
            let long = long(column);
            let near: Vec<usize> = askers[column]
                .iter()
                .copied()
                .filter(|row| short[*row] < long)
                .collect();
            let saved = near
                .iter()
                .fold(0, |sum: usize, row| sum.saturating_add(long - short[*row]));
            if saved > pass(column) {
                ways.turned[column] = near;
            }
        }
        ways
    }

    /// A pass for each row, and walks for its columns.
    fn straight(&self, rows: &[Trial], asked: &[Vec<usize>], ways: &Ways, out: &mut [Vec<f64>]) {
        let (mut trials, mut wanted, mut of) = (Vec::new(), Vec::new(), Vec::new());
        for (row, asked) in asked.iter().enumerate() {
            let mut own = Vec::new();
            for column in asked.iter().filter(|column| !ways.turned[**column].contains(&row)) {
                if let Some(Column { terms, .. }) = &ways.columns[*column] {
                    out[row][*column] = 0.0;
                    own.extend(terms.iter().map(|(_, walk)| *walk));
                }
            }
            if !own.is_empty() {
                trials.push(rows[row].clone());
                wanted.push(own);
                of.push(row);
            }
        }
        let mut column_of = vec![(0, 0.0); ways.walks.len()];
        for (column, found) in ways.columns.iter().enumerate() {
            let terms = found.iter().flat_map(|one| &one.terms);
            terms.for_each(|(by, walk)| column_of[*walk] = (column, *by));
        }
        let all = Walks {
            trials: &trials,
            walks: &ways.walks,
            wanted: &wanted,
        };
        self.run_walks(&all, &mut |trial, total, walk, factor| {
            if total.mantissa > 0.0 {
                let (column, by) = column_of[walk];
                out[of[trial]][column] += by * factor * total.over(self.total);
            }
        });
    }

    /// A pass for each term of a column, and walks for its rows.
    fn turned(&self, columns: &[Option<Terms>], ways: &Ways, out: &mut [Vec<f64>]) {
        let (mut trials, mut wanted, mut of) = (Vec::new(), Vec::new(), Vec::new());
        for (column, near) in ways.turned.iter().enumerate().filter(|(_, near)| !near.is_empty()) {
            near.iter().for_each(|row| out[*row][column] = 0.0);
            for (by, trial) in columns[column].iter().flatten() {
                trials.push(trial.clone());
                wanted.push(near.clone());
                of.push((column, *by));
            }
        }
        // Rows that no column is walked to have no walk.
        let walks: Vec<Walk> = ways.rows.iter().map(|walk| walk.clone().unwrap_or_default()).collect();
        let all = Walks {
            trials: &trials,
            walks: &walks,
            wanted: &wanted,
        };
        self.run_walks(&all, &mut |trial, total, row, factor| {
            if total.mantissa > 0.0 {
                let (column, by) = of[trial];
                out[row][column] += by * factor * total.over(self.total);
            }
        });
    }
}
