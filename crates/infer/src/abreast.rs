//! The same evidence solved with other rows of numbers, several sets of them side by side, beside the solution with a
//! solver's own. Only what lies above a changed number is passed up, and down only to what is read.

use std::sync::Arc;

use crate::blocks::{pieces, pieces_mut};
use crate::numbers::Numbers;
use crate::pass::{Work, believe, fill, potential, reciprocal, send};
use crate::plan::{Bucket, Child, NONE, Plan};
use crate::scaled::{Scaled, power};
use crate::spare;
use crate::{Evidence, Network, Row, SolveError, Solver, Var};

/// Numbers for some rows of a network.
pub type Rows = Vec<(Row, Vec<f64>)>;

/// What came of one set of rows.
#[derive(Clone, Debug, PartialEq)]
pub struct Abreast {
    /// ln P(evidence); minus infinity if it is impossible.
    pub ln: f64,
    /// The distribution of each variable that was to be read, in their order; `None` as [`Solver::posterior`], and where the
    /// evidence is impossible.
    pub posteriors: Vec<Option<Vec<f64>>>,
}

/// The memory of solutions side by side, for the next ones; nothing else is kept of them.
#[derive(Debug)]
pub struct AbreastRoom {
    sides: Box<Sides>,
    net: Option<Own>,
}

/// A network, and a copy of it in which rows are moved and set back.
#[derive(Debug)]
struct Own {
    of: Network,
    copy: Network,
}

impl Own {
    fn new(net: &Network) -> Self {
        let copy = Network {
            model: Arc::new((*net.model).clone()),
        };
        Own { of: net.clone(), copy }
    }
}

#[derive(Debug, Default)]
struct Sides {
    one: Side<1>,
    two: Side<2>,
    four: Side<4>,
}

impl Default for AbreastRoom {
    fn default() -> Self {
        AbreastRoom {
            sides: spare::take(),
            net: None,
        }
    }
}

impl Drop for AbreastRoom {
    fn drop(&mut self) {
        let sides = std::mem::take(&mut self.sides);
        let bytes = sides.one.bytes() + sides.two.bytes() + sides.four.bytes();
        spare::put(sides, bytes);
    }
}

impl Solver {
    /// Solves for this evidence with each of these sets of rows in the place of the solver's own, which stay what they are.
    /// Of each the posteriors of some variables are read, and of this solver's next solutions as well.
    ///
    /// ```
    /// use std::sync::Arc;
    ///
    /// use wythe_infer::{AbreastRoom, Cause, Evidence, Finding, Limits, Network, Row, Solver};
    ///
    /// let mut net = Network::new();
    /// let moved = net.table(2, &[], vec![0.9, 0.1])?;
    /// let crack = net.noisy_max(vec![0.8, 0.2], vec![Cause::boolean(moved, 0.5)])?;
    /// let mut solver = Solver::new(&net, &Limits::default());
    /// let seen = Arc::new(Evidence::new().with(crack, Finding::State(1)));
    /// let prior = |p: f64| vec![(Row::Prior(moved), vec![1.0 - p, p])];
    /// let found = solver.solve_abreast(&seen, &[prior(0.2), prior(0.4)], &[moved], &mut AbreastRoom::default())?;
    /// let chance = |at: usize| found[at].posteriors[0].as_ref().map(|states| states[1]);
    /// assert!((found[1].ln.exp() - (0.6 * 0.2 + 0.4 * 0.6)).abs() < 1e-12);
    /// assert!(chance(0).is_some_and(|p| (p - 0.12 / 0.28).abs() < 1e-12));
    /// assert!((solver.solve(&seen)?.exp() - (0.9 * 0.2 + 0.1 * 0.6)).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// As [`Solver::solve`], with the solver's own rows; and [`SolveError::Mismatch`] for a row that there is not, or that is
    /// no distribution of the same length.
    pub fn solve_abreast(
        &mut self,
        evidence: &Arc<Evidence>,
        sets: &[Rows],
        read: &[Var],
        room: &mut AbreastRoom,
    ) -> Result<Vec<Abreast>, SolveError> {
        self.reading(read);
        self.solve_again(evidence)?;
        let Some(plan) = self.plan.clone() else {
            return Ok(Vec::new());
        };
        let kept = room
            .net
            .take()
            .filter(|kept| Arc::ptr_eq(&kept.of.model, &self.net.model));
        let kept = kept.unwrap_or_else(|| Own::new(&self.net));
        self.net = kept.copy;
        let found = self.moved(&plan, evidence, sets, read, &mut room.sides);
        let copy = std::mem::replace(&mut self.net, kept.of.clone());
        room.net = Some(Own { of: kept.of, copy });
        found
    }

    fn moved(
        &mut self,
        plan: &Plan,
        evidence: &Arc<Evidence>,
        sets: &[Rows],
        read: &[Var],
        room: &mut Sides,
    ) -> Result<Vec<Abreast>, SolveError> {
        let mut own = Rows::new();
        for (row, _) in sets.iter().flatten() {
            let numbers = self.net.row(*row).ok_or_else(|| no_such(*row))?;
            own.push((*row, numbers.to_vec()));
        }
        // Where all have the same rows, one set takes the place of another.
        let first = sets.first().map_or(&[][..], Vec::as_slice);
        let as_first = |set: &Rows| set.iter().map(|(row, _)| row).eq(first.iter().map(|(row, _)| row));
        let back = match sets.iter().all(as_first) {
            true => &[],
            false => own.as_slice(),
        };
        let mut out = Vec::with_capacity(sets.len());
        let swept = !plan.dense.is_empty();
        let solved = sets.chunks(4).try_for_each(|sets| match sets.len() {
            _ if swept => self.one_by_one(evidence, (sets, back), read, &mut out),
            1 => self.side_by_side(plan, evidence, (sets, back), read, &mut room.one, &mut out),
            2 => self.side_by_side(plan, evidence, (sets, back), read, &mut room.two, &mut out),
            _ => self.side_by_side(plan, evidence, (sets, back), read, &mut room.four, &mut out),
        });
        // Its own numbers again, by which its own passes were.
        self.change(&own);
        if swept {
            self.solve_again(evidence)?;
        } else {
            self.numbers.load_changed(plan, &self.net, evidence);
        }
        solved.map(|()| out)
    }

    /// Puts a set of rows in the place of the last.
    fn take(&mut self, set: &Rows, back: &[(Row, Vec<f64>)]) -> Result<(), SolveError> {
        self.change(back);
        match self.change(set) {
            true => Ok(()),
            false => Err(set.first().map_or(SolveError::Impossible, |(row, _)| no_such(*row))),
        }
    }

    fn one_by_one(
        &mut self,
        evidence: &Arc<Evidence>,
        (sets, back): (&[Rows], &[(Row, Vec<f64>)]),
        read: &[Var],
        out: &mut Vec<Abreast>,
    ) -> Result<(), SolveError> {
        for set in sets {
            self.take(set, back)?;
            let ln = match self.solve_again(evidence) {
                Err(SolveError::Impossible) => f64::NEG_INFINITY,
                ln => ln?,
            };
            let posterior = |var: &Var| self.posterior(*var).map(Iterator::collect);
            let posteriors = read.iter().map(posterior).collect();
            out.push(Abreast { ln, posteriors });
        }
        Ok(())
    }

    /// As many sets as there are lanes, or fewer.
    fn side_by_side<const L: usize>(
        &mut self,
        plan: &Plan,
        evidence: &Evidence,
        (sets, back): (&[Rows], &[(Row, Vec<f64>)]),
        read: &[Var],
        side: &mut Side<L>,
        out: &mut Vec<Abreast>,
    ) -> Result<(), SolveError> {
        side.fit(plan);
        for lane in 0..L {
            // Lanes left over are as the last.
            if let Some(set) = sets.get(lane) {
                self.take(set, back)?;
                self.numbers.load_changed(plan, &self.net, evidence);
            }
            side.load(plan, &self.numbers, lane);
        }
        side.up(plan, &self.numbers, &self.work);
        side.down(plan, &self.work, self.reading.wanted(plan));
        for (lane, total) in side.work.total.iter().enumerate().take(sets.len()) {
            let shares = |var: &Var| {
                let b = &plan.buckets[plan.bucket_of(*var)?];
                let p = side.work.posterior[b.unary..b.unary + b.states].iter().map(|p| p[lane]);
                let sum: f64 = p.clone().sum();
                (total.mantissa > 0.0).then(|| p.map(|p| p / sum).collect())
            };
            out.push(Abreast {
                ln: total.ln(),
                posteriors: read.iter().map(shares).collect(),
            });
        }
        Ok(())
    }
}

fn no_such(row: Row) -> SolveError {
    SolveError::Mismatch {
        var: row.var(),
        what: "there is no such row of numbers, or it is no distribution of that length",
    }
}

/// Passes in `L` lanes. What no lane changes is read from the solution beside.
#[derive(Clone, Debug, Default)]
struct Side<const L: usize> {
    work: Work<L>,
    potential: Vec<[f64; L]>,
    /// Whether each bucket has a potential here.
    own: Vec<bool>,
    /// Whether each bucket is formed here.
    changed: Vec<bool>,
    touched: Vec<bool>,
}

impl<const L: usize> Side<L> {
    /// What most of it takes.
    fn bytes(&self) -> usize {
        self.work.bytes() + size_of_val(self.potential.as_slice())
    }

    fn fit(&mut self, plan: &Plan) {
        let work = &mut self.work;
        for (entries, n) in [
            (&mut work.unary, plan.unary_len),
            (&mut work.posterior, plan.unary_len),
            (&mut work.table, plan.table_len),
            (&mut work.message, plan.message_len),
            (&mut work.down, plan.message_len),
            (&mut work.belief, plan.largest),
            (&mut self.potential, plan.potential_len),
        ] {
            // All of it is formed before it is read.
            if entries.len() < n {
                *entries = vec![[0.0; L]; n];
            }
        }
        let n = plan.buckets.len();
        work.exponent.resize(n, [0; L]);
        for marks in [&mut self.own, &mut self.changed, &mut self.touched] {
            marks.clear();
            marks.resize(n, false);
        }
    }

    /// Takes numbers just loaded into a lane; each lane's must have been renewed in the same buckets.
    fn load(&mut self, plan: &Plan, n: &Numbers, lane: usize) {
        for (u, x) in self.work.unary.iter_mut().zip(&n.unary) {
            u[lane] = *x;
        }
        for (k, b) in plan.buckets.iter().enumerate().filter(|(k, _)| n.renewed[*k]) {
            if let Some(potential) = potential(plan, n, k) {
                self.own[k] = true;
                let own = &mut self.potential[b.potential..b.potential + b.size];
                own.iter_mut().zip(potential).for_each(|(own, p)| own[lane] = *p);
            }
        }
        self.work.total[lane] = n.start();
    }

    fn up(&mut self, plan: &Plan, n: &Numbers, base: &Work<1>) {
        // What all lanes have alike.
        let mut rest = Scaled::ONE;
        for (k, b) in plan.buckets.iter().enumerate() {
            let weights = b.unary..b.unary + b.states;
            let mut both = self.work.unary[weights.clone()]
                .iter()
                .zip(&base.unary[weights.clone()]);
            if self.own[k] || self.changed[k] || both.any(|(u, [x])| u.iter().any(|u| u != x)) {
                self.changed[k] = true;
                if b.is_alone() {
                    self.work.alone(b);
                    continue;
                }
                self.join(plan, n, base, (k, b));
                self.work.count(b, k);
                if b.parent != NONE {
                    self.changed[b.parent as usize] = true;
                }
            } else if b.is_alone() {
                rest = rest.times(base.unary[weights].iter().map(|u| u[0]).sum());
            } else {
                rest = rest.shift(base.exponent[k][0].into());
                if b.parent == NONE {
                    rest = rest.times(base.message[b.message][0]);
                }
            }
        }
        for total in &mut self.work.total {
            *total = total.times(rest.mantissa).shift(rest.exponent);
        }
    }

    /// A bucket's product and message.
    fn join(&mut self, plan: &Plan, n: &Numbers, base: &Work<1>, (k, b): (usize, &Bucket)) {
        let Work {
            unary,
            table,
            message,
            exponent,
            ..
        } = &mut self.work;
        let table = &mut table[b.table..b.table + b.size];
        let unary = &unary[b.unary..b.unary + b.states];
        if self.own[k] {
            let own = pieces(&self.potential[b.potential..b.potential + b.size], b.sep);
            for ((block, u), p) in pieces_mut(table, b.sep).zip(unary).zip(own) {
                for (t, p) in block.iter_mut().zip(p) {
                    *t = std::array::from_fn(|l| u[l] * p[l]);
                }
            }
        } else {
            fill(table, unary, potential(plan, n, k), b.sep);
        }
        for child in plan.children_of(k) {
            let c = &plan.buckets[child.bucket as usize];
            let from = c.message..c.message + c.sep;
            match self.changed[child.bucket as usize] {
                true => child.blocks.multiply(&plan.maps, table, &message[from]),
                false => child.blocks.multiply(&plan.maps, table, &base.message[from]),
            }
        }
        exponent[k] = send(table, &mut message[b.message..b.message + b.sep]);
    }

    /// To the buckets that are wanted, all of them if there is no list.
    fn down(&mut self, plan: &Plan, base: &Work<1>, wanted: Option<&[bool]>) {
        let goes = |k: usize| wanted.is_none_or(|wanted| wanted[k]);
        for (k, b) in plan.buckets.iter().enumerate().rev().filter(|(k, _)| goes(*k)) {
            self.touched[k] = match b.parent {
                NONE => self.changed[k],
                parent => self.touched[parent as usize],
            };
            if !self.touched[k] {
                let own = b.unary..b.unary + b.states;
                let all = self.work.posterior[own.clone()].iter_mut().zip(&base.posterior[own]);
                all.for_each(|(p, [x])| *p = [*x; L]);
                continue;
            }
            if b.is_alone() {
                self.work.share(b);
                continue;
            }
            if b.parent == NONE {
                self.work.start_down(b, k);
            }
            let below = plan.children_of(k).iter().any(|child| goes(child.bucket as usize));
            let Work {
                table,
                down,
                posterior,
                belief,
                ..
            } = &mut self.work;
            let down = &down[b.message..b.message + b.sep];
            let posterior = &mut posterior[b.unary..b.unary + b.states];
            let own = b.table..b.table + b.size;
            match self.changed[k] {
                true => believe(&table[own], down, posterior, belief, !below),
                false => believe(&base.table[own], down, posterior, belief, !below),
            }
            for child in plan.children_of(k).iter().filter(|child| goes(child.bucket as usize)) {
                match self.changed[child.bucket as usize] {
                    true => self.work.derive(plan, b, child),
                    false => self.derive(plan, base, b, child),
                }
            }
        }
    }

    /// The derivative of ln P by the message of a child that no lane changes.
    fn derive(&mut self, plan: &Plan, base: &Work<1>, b: &Bucket, child: &Child) {
        let c = &plan.buckets[child.bucket as usize];
        let Work { down, belief, .. } = &mut self.work;
        let out = &mut down[c.message..c.message + c.sep];
        child.blocks.gather(&plan.maps, out, &belief[..b.size]);
        let scale = power(-base.exponent[child.bucket as usize][0]);
        for (o, [m]) in out.iter_mut().zip(&base.message[c.message..c.message + c.sep]) {
            let by = reciprocal(*m) * scale;
            o.iter_mut().for_each(|o| *o *= by);
        }
    }
}
