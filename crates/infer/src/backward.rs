//! The construction of a noisy-MAX table run backwards: derivatives of its rows.

use crate::noisy::{Grade, by_grade};

/// One parent of a table: where its rows start, and its number of states.
pub(crate) type Op = (usize, usize);

/// The construction of a noisy-MAX table, run backwards. Its memory is kept from one table to the next.
#[derive(Debug, Default)]
pub(crate) struct Backward {
    pub states: usize,
    pub grades: Vec<Grade>,
    pub d_leak: Vec<f64>,
    pub d_rows: Vec<f64>,
    /// The derivatives of each grade's table that [`Self::run`] starts from.
    pub d: Vec<f64>,
    d_before: Vec<f64>,
    p: Vec<f64>,
    d_p: Vec<f64>,
    /// The tables before each step, one after the other.
    levels: Vec<f64>,
}

impl Backward {
    /// Nothing added up yet, for the grades at hand and so many entries of rows.
    pub fn start(&mut self, states: usize, rows: usize) {
        self.states = states;
        for (sums, n) in [(&mut self.d_leak, states), (&mut self.d_rows, rows)] {
            sums.clear();
            sums.resize(n, 0.0);
        }
    }

    /// Takes the derivatives of each grade's table from those of a family whose own states are `within` apart, or of the
    /// weighted sum.
    pub fn by_entry(&mut self, k: &[[f64; 1]], size: usize, within: Option<usize>) {
        self.d.clear();
        let n = self.grades.len();
        for (g, grade) in self.grades.iter().enumerate() {
            match within {
                Some(1) => self.d.extend((0..size).map(|i| k[i * n + g][0])),
                Some(within) => {
                    let entry = |i: usize| k[(i / within * n + g) * within + i % within][0];
                    self.d.extend((0..size).map(entry));
                }
                None => self.d.extend(k[..size].iter().map(|[k]| k * grade.weight)),
            }
        }
    }

    /// From the derivatives at hand. `ops` are (row offset, states), first axis fastest.
    pub fn run(&mut self, (leak, rows): (&[f64], &[f64]), ops: &[Op]) {
        let n = self.grades.len();
        // The tables before each step, forwards.
        by_grade(&self.grades, leak, &mut self.p);
        self.levels.clear();
        self.levels.extend_from_slice(&self.p);
        let (mut len, mut start) = (1, 0);
        for &(at, states) in ops {
            let end = self.levels.len();
            self.levels.resize(end + n * len * states, 0.0);
            let (before, after) = self.levels[start..].split_at_mut(n * len);
            for s in 0..states {
                by_grade(&self.grades, &rows[at + s * self.states..][..self.states], &mut self.p);
                forwards(before, after, (len, states, s), &self.p);
            }
            start = end;
            len *= states;
        }
        for &(at, states) in ops.iter().rev() {
            len /= states;
            start -= n * len;
            let before = &self.levels[start..start + n * len];
            self.d_before.clear();
            self.d_before.resize(n * len, 0.0);
            for s in 0..states {
                let row = at + s * self.states;
                by_grade(&self.grades, &rows[row..row + self.states], &mut self.p);
                self.d_p.clear();
                self.d_p.resize(n, 0.0);
                let into = (self.d_before.as_mut_slice(), self.d_p.as_mut_slice());
                backwards(before, &self.d, (len, states, s), &self.p, into);
                add_grades(&self.grades, &self.d_p, &mut self.d_rows[row..]);
            }
            std::mem::swap(&mut self.d, &mut self.d_before);
        }
        add_grades(&self.grades, &self.d, &mut self.d_leak);
    }

    /// One step of a chain after the first: before fastest, then the parent, then after.
    pub fn step(&mut self, (at, states): Op, before: usize, after: usize, k: &[[f64; 1]]) {
        let n = self.grades.len();
        for s in 0..states {
            self.d_p.clear();
            self.d_p.resize(n, 0.0);
            for b in 0..before.min(n) {
                for g in b..n {
                    let d = if after == 1 {
                        k[b + s * before][0] * self.grades[g].weight
                    } else {
                        k[b + s * before + g * before * states][0]
                    };
                    if g == b {
                        self.d_p[..=b].iter_mut().for_each(|x| *x += d);
                    } else {
                        self.d_p[g] += d;
                    }
                }
            }
            add_grades(&self.grades, &self.d_p, &mut self.d_rows[at + s * self.states..]);
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
    pub fn mixture(&mut self, (leak, rows): (&[f64], &[f64]), fixed: &[Op], k: &[[f64; 1]]) {
        let (grades, states) = (&self.grades, self.states);
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
                Some(i) => add_grades(grades, &d, &mut self.d_rows[fixed[i].0..]),
                None => add_grades(grades, &d, &mut self.d_leak),
            }
        }
    }

    /// Adds derivatives of the grades to a row's.
    pub fn add_row(&mut self, row: usize, d_p: &[f64]) {
        add_grades(&self.grades, d_p, &mut self.d_rows[row..]);
    }
}

/// The entries of a table at state `s` of one more parent, from the table before it.
fn forwards(before: &[f64], after: &mut [f64], (len, states, s): (usize, usize, usize), p: &[f64]) {
    if let [p0, p1] = *p {
        let (low, high) = before.split_at(len);
        let (to_low, to_high) = after.split_at_mut(len * states);
        let into = to_low[s * len..].iter_mut().zip(&mut to_high[s * len..]);
        for ((low, high), (to_low, to_high)) in low.iter().zip(high).zip(into) {
            *to_low = low * p0;
            *to_high = high * (p0 + p1) + low * p1;
        }
        return;
    }
    for i in 0..len {
        let (mut below, mut upto) = (0.0, 0.0);
        for (g, p) in p.iter().enumerate() {
            upto += p;
            let own = before[g * len + i];
            after[g * len * states + s * len + i] = own * upto + below * p;
            below += own;
        }
    }
}

/// Adds to the derivatives of the table before, and to those of the grades of a row, what state `s` of the parent gives.
fn backwards(
    before: &[f64],
    d: &[f64],
    (len, states, s): (usize, usize, usize),
    p: &[f64],
    (d_before, d_p): (&mut [f64], &mut [f64]),
) {
    if let ([p0, p1], [d_p0, d_p1]) = (p, &mut *d_p) {
        let (d_low, d_high) = d.split_at(len * states);
        let (low, high) = before.split_at(len);
        let (b_low, b_high) = d_before.split_at_mut(len);
        let d_pairs = d_low[s * len..].iter().zip(&d_high[s * len..]);
        let pairs = low.iter().zip(high);
        let out = b_low.iter_mut().zip(b_high);
        for (((d0, d1), (own0, own1)), (b0, b1)) in d_pairs.zip(pairs).zip(out) {
            *b0 += d0 * p0 + d1 * p1;
            *b1 += d1 * (p0 + p1);
            *d_p0 += d0 * own0 + d1 * own1;
            *d_p1 += d1 * (own0 + own1);
        }
        return;
    }
    let n = p.len();
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
