//! The construction of a noisy-MAX table run backwards: derivatives of its rows.

use crate::noisy::{Grade, by_grade};

/// The derivatives of each grade's table, from those of a family whose own states are `within` apart, or of the weighted sum.
pub(crate) fn by_entry(k: &[[f64; 1]], grades: &[Grade], size: usize, within: Option<usize>) -> Vec<f64> {
    let n = grades.len();
    let entry = |g: usize, i: usize| match within {
        Some(within) => k[(i / within * n + g) * within + i % within][0],
        None => k[i][0] * grades[g].weight,
    };
    (0..n * size).map(|i| entry(i / size, i % size)).collect()
}

/// One parent of a table: where its rows start, and its number of states.
pub(crate) type Op = (usize, usize);

/// The construction of a noisy-MAX table, run backwards.
pub(crate) struct Backward<'a> {
    pub states: usize,
    pub grades: &'a [Grade],
    pub rows: &'a [f64],
    pub d_leak: Vec<f64>,
    pub d_rows: Vec<f64>,
}

impl<'a> Backward<'a> {
    /// Nothing added up yet.
    pub fn new(states: usize, grades: &'a [Grade], rows: &'a [f64]) -> Self {
        Self {
            states,
            grades,
            rows,
            d_leak: vec![0.0; states],
            d_rows: vec![0.0; rows.len()],
        }
    }

    /// `ops` are (row offset, states), first axis fastest; `d` the derivatives by grade.
    pub fn run(&mut self, leak: &[f64], ops: &[Op], d: &[f64]) {
        let n = self.grades.len();
        let mut p = Vec::new();
        // The tables before each step, forwards.
        by_grade(self.grades, leak, &mut p);
        let mut levels = vec![p.clone()];
        let mut len = 1;
        for &(at, states) in ops {
            let before = &levels[levels.len() - 1];
            let mut after = vec![0.0; n * len * states];
            for s in 0..states {
                by_grade(self.grades, &self.rows[at + s * self.states..][..self.states], &mut p);
                for i in 0..len {
                    let (mut below, mut upto) = (0.0, 0.0);
                    for g in 0..n {
                        upto += p[g];
                        let own = before[g * len + i];
                        after[g * len * states + s * len + i] = own * upto + below * p[g];
                        below += own;
                    }
                }
            }
            levels.push(after);
            len *= states;
        }
        let mut d = d.to_vec();
        for (level, &(at, states)) in ops.iter().enumerate().rev() {
            len /= states;
            let before = &levels[level];
            let mut d_before = vec![0.0; n * len];
            for s in 0..states {
                let row = at + s * self.states;
                by_grade(self.grades, &self.rows[row..row + self.states], &mut p);
                if let [p0, p1] = p[..] {
                    let (d_low, d_high) = d.split_at(len * states);
                    let (low, high) = before.split_at(len);
                    let (b_low, b_high) = d_before.split_at_mut(len);
                    let d_pairs = d_low[s * len..].iter().zip(&d_high[s * len..]);
                    let pairs = low.iter().zip(high);
                    let out = b_low.iter_mut().zip(b_high);
                    let mut d_p = [0.0; 2];
                    for (((d0, d1), (own0, own1)), (b0, b1)) in d_pairs.zip(pairs).zip(out) {
                        *b0 += d0 * p0 + d1 * p1;
                        *b1 += d1 * (p0 + p1);
                        d_p[0] += d0 * own0 + d1 * own1;
                        d_p[1] += d1 * (own0 + own1);
                    }
                    self.add_row(row, &d_p);
                    continue;
                }
                let mut d_p = vec![0.0; n];
                for i in 0..len {
                    let at = |g: usize| g * len * states + s * len + i;
                    let mut higher = 0.0;
                    for h in (0..n).rev() {
                        let upto: f64 = p[..=h].iter().sum();
                        let below: f64 = (0..h).map(|g| before[g * len + i]).sum();
                        // own_h enters its own grade, and every higher one from below.
                        d_before[h * len + i] += d[at(h)] * upto + higher;
                        higher += d[at(h)] * p[h];
                        let upper: f64 = (h..n).map(|g| d[at(g)] * before[g * len + i]).sum();
                        d_p[h] += upper + d[at(h)] * below;
                    }
                }
                self.add_row(row, &d_p);
            }
            d = d_before;
        }
        add_grades(self.grades, &d, &mut self.d_leak);
    }

    /// One step of a chain after the first: before fastest, then the parent, then after.
    pub fn step(&mut self, (at, states): Op, before: usize, after: usize, k: &[[f64; 1]]) {
        let n = self.grades.len();
        for s in 0..states {
            let mut d_p = vec![0.0; n];
            for b in 0..before.min(n) {
                for g in b..n {
                    let d = if after == 1 {
                        k[b + s * before][0] * self.grades[g].weight
                    } else {
                        k[b + s * before + g * before * states][0]
                    };
                    if g == b {
                        d_p[..=b].iter_mut().for_each(|x| *x += d);
                    } else {
                        d_p[g] += d;
                    }
                }
            }
            self.add_row(at + s * self.states, &d_p);
        }
    }

    /// The factor of one parent in each product of a mixture: the product fastest.
    pub fn factor(&mut self, (at, states): Op, k: &[[f64; 1]]) {
        let n = self.grades.len();
        for s in 0..states {
            let of_product: Vec<f64> = (0..n).map(|g| k[s * n + g][0]).collect();
            self.add_row(at + s * self.states, &from_here_on(&of_product));
        }
    }

    /// The weights of the products of a mixture, by the leak and by each known parent's row.
    pub fn mixture(&mut self, leak: &[f64], fixed: &[Op], k: &[[f64; 1]]) {
        let (grades, rows, states) = (self.grades, self.rows, self.states);
        let row = |i: usize| match i.checked_sub(1) {
            None => leak,
            Some(i) => &rows[fixed[i].0..][..states],
        };
        for own in 0..=fixed.len() {
            let weight = |(g, grade): (usize, &Grade)| {
                let next = grades.get(g + 1).map_or(0.0, |next| next.weight);
                let others = (0..=fixed.len()).filter(|i| *i != own);
                let others = others.map(|i| row(i)[..grade.end].iter().sum::<f64>());
                k[g][0] * (grade.weight - next) * others.product::<f64>()
            };
            let d: Vec<f64> = grades.iter().enumerate().map(weight).collect();
            let d = from_here_on(&d);
            match own.checked_sub(1) {
                Some(i) => self.add_row(fixed[i].0, &d),
                None => add_grades(grades, &d, &mut self.d_leak),
            }
        }
    }

    /// Adds derivatives of the grades to a row's.
    pub fn add_row(&mut self, row: usize, d_p: &[f64]) {
        add_grades(self.grades, d_p, &mut self.d_rows[row..]);
    }
}

/// Every entry of a row moves with its grade.
fn add_grades(grades: &[Grade], d: &[f64], out: &mut [f64]) {
    let mut start = 0;
    for (grade, d) in grades.iter().zip(d) {
        out[start..grade.end].iter_mut().for_each(|x| *x += d);
        start = grade.end;
    }
}

/// From derivatives by each cumulative to those by each grade, which is in its own and all after.
fn from_here_on(d: &[f64]) -> Vec<f64> {
    (0..d.len()).map(|g| d[g..].iter().sum()).collect()
}
