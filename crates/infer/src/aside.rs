//! Passes up beside a solution, with some weights multiplied. Only what lies above a change is formed anew: several
//! passes at once where they change the same buckets, and watched ones that follow the solution from evidence to evidence.

use crate::Var;
use crate::numbers::Numbers;
use crate::pass::{Work, fill, potential, send};
use crate::plan::{Bucket, NONE, Plan};
use crate::scaled::Scaled;

/// Unary weights to multiply, by their place.
pub(crate) type Times = Vec<(usize, f64)>;

/// Room for such passes.
#[derive(Clone, Debug, Default)]
pub(crate) struct Asides {
    one: Side<1>,
    two: Side<2>,
    four: Side<4>,
}

impl Asides {
    /// P(evidence) with the weights of a pass up multiplied by those of each set.
    pub fn run(&mut self, plan: &Plan, n: &Numbers, from: &Work<1>, sets: &[Times]) -> Vec<Scaled> {
        if !plan.dense.is_empty() {
            return sets.iter().map(|set| whole(plan, n, from, set)).collect();
        }
        let mut left: Vec<Wanted<'_>> = sets
            .iter()
            .enumerate()
            .map(|(at, set)| Wanted::new(plan, from, at, set))
            .collect();
        left.sort_by(|a, b| b.entries.cmp(&a.entries).then(a.at.cmp(&b.at)));
        let mut out = vec![Scaled::ONE; sets.len()];
        while let Some(first) = left.first() {
            let own = first.own.clone();
            let mut lanes = vec![left.remove(0)];
            // Beside it, what lies within the same buckets and would take at least half as much by itself.
            let mut i = 0;
            while i < left.len() && lanes.len() < 4 && 2 * left[i].entries >= lanes[0].entries {
                if left[i].within(&own) {
                    lanes.push(left.remove(i));
                } else {
                    i += 1;
                }
            }
            let sets: Vec<&Times> = lanes.iter().map(|one| one.set).collect();
            let totals: &[Scaled] = match lanes.len() {
                1 => &self.one.beside(plan, n, from, &sets, &own),
                2 => &self.two.beside(plan, n, from, &sets, &own),
                _ => &self.four.beside(plan, n, from, &sets, &own),
            };
            for (one, total) in lanes.iter().zip(totals) {
                out[one.at] = *total;
            }
        }
        out
    }
}

/// A set of weights, the buckets that it changes, and their entries.
struct Wanted<'a> {
    at: usize,
    set: &'a Times,
    own: Vec<bool>,
    entries: usize,
}

impl<'a> Wanted<'a> {
    fn new(plan: &Plan, from: &Work<1>, at: usize, set: &'a Times) -> Self {
        let changes = set
            .iter()
            .filter(|(at, x)| from.unary[*at][0] * x != from.unary[*at][0]);
        let own = above(plan, changes);
        let of = |(b, own): (&Bucket, &bool)| if *own { b.size } else { 0 };
        let entries = plan.buckets.iter().zip(&own).map(of).sum();
        Self { at, set, own, entries }
    }

    fn within(&self, other: &[bool]) -> bool {
        self.own.iter().zip(other).all(|(a, b)| *b || !a)
    }
}

/// The same by a pass of its own, where parts are swept.
fn whole(plan: &Plan, n: &Numbers, from: &Work<1>, set: &Times) -> Scaled {
    let mut work = Work::<1>::default();
    work.fit(plan);
    work.unary.copy_from_slice(&from.unary);
    set.iter().for_each(|(at, x)| work.unary[*at][0] *= x);
    work.up(plan, n, &[], &[]);
    work.total[0]
}

/// The buckets of these weights, and all above them.
fn above<'a>(plan: &Plan, weights: impl Iterator<Item = &'a (usize, f64)>) -> Vec<bool> {
    let mut marked = vec![false; plan.buckets.len()];
    weights.for_each(|(at, _)| marked[plan.bucket_at(*at)] = true);
    for (k, b) in plan.buckets.iter().enumerate() {
        if marked[k] && b.parent != NONE {
            marked[b.parent as usize] = true;
        }
    }
    marked
}

/// Passes up in `L` lanes: weights of their own, and the messages of the buckets that these change. The rest is read from
/// the solution beside.
#[derive(Clone, Debug)]
struct Side<const L: usize> {
    unary: Vec<[f64; L]>,
    /// The product of the bucket at hand.
    table: Vec<[f64; L]>,
    message: Vec<[f64; L]>,
    /// Where the message of each of its own buckets starts.
    start: Vec<usize>,
    exponent: Vec<[i32; L]>,
}

impl<const L: usize> Default for Side<L> {
    fn default() -> Self {
        Self {
            unary: Vec::new(),
            table: Vec::new(),
            message: Vec::new(),
            start: Vec::new(),
            exponent: Vec::new(),
        }
    }
}

impl<const L: usize> Side<L> {
    /// Makes room for its own buckets.
    fn fit(&mut self, plan: &Plan, own: &[bool]) {
        let mut end = 0;
        self.start.clear();
        for (b, own) in plan.buckets.iter().zip(own) {
            self.start.push(end);
            end += if *own { b.sep } else { 0 };
        }
        self.message.resize(self.message.len().max(end), [0.0; L]);
        self.exponent.resize(plan.buckets.len(), [0; L]);
    }

    /// The weights of the solution, times those of each set in a lane of its own.
    fn weigh(&mut self, from: &Work<1>, sets: &[&Times]) {
        self.unary.clear();
        self.unary.extend(from.unary.iter().map(|u| [u[0]; L]));
        for (lane, set) in sets.iter().enumerate() {
            set.iter().for_each(|(at, x)| self.unary[*at][lane] *= x);
        }
    }

    fn beside(&mut self, plan: &Plan, n: &Numbers, from: &Work<1>, sets: &[&Times], own: &[bool]) -> [Scaled; L] {
        self.fit(plan, own);
        self.weigh(from, sets);
        self.up(plan, n, from, own, own)
    }

    /// Forms those buckets of its `own` anew that are due, and multiplies the total.
    fn up(&mut self, plan: &Plan, n: &Numbers, from: &Work<1>, own: &[bool], due: &[bool]) -> [Scaled; L] {
        let mut total = [n.start(); L];
        for (k, b) in plan.buckets.iter().enumerate() {
            if b.is_alone() {
                for (l, total) in total.iter_mut().enumerate() {
                    let sum: f64 = self.unary[b.unary..b.unary + b.states].iter().map(|u| u[l]).sum();
                    if sum != 1.0 {
                        *total = total.times(sum);
                    }
                }
                continue;
            }
            if own[k] && due[k] {
                self.join(plan, n, from, own, (k, b));
            }
            for (l, total) in total.iter_mut().enumerate() {
                let (exponent, message) = match own[k] {
                    true => (self.exponent[k][l], self.message[self.start[k]][l]),
                    false => (from.exponent[k][0], from.message[b.message][0]),
                };
                *total = total.shift(exponent.into());
                if b.parent == NONE {
                    *total = total.times(message);
                }
            }
        }
        total
    }

    /// A bucket's product and message.
    fn join(&mut self, plan: &Plan, n: &Numbers, from: &Work<1>, own: &[bool], (k, b): (usize, &Bucket)) {
        self.table.resize(self.table.len().max(b.size), [0.0; L]);
        let table = &mut self.table[..b.size];
        fill(
            table,
            &self.unary[b.unary..b.unary + b.states],
            potential(plan, n, k),
            b.sep,
        );
        for child in plan.children_of(k) {
            let c = &plan.buckets[child.bucket as usize];
            match own[child.bucket as usize] {
                true => {
                    let start = self.start[child.bucket as usize];
                    let message = &self.message[start..start + c.sep];
                    child.blocks.multiply(&plan.maps, table, message);
                }
                false => {
                    let message = &from.message[c.message..c.message + c.sep];
                    child.blocks.multiply(&plan.maps, table, message);
                }
            }
        }
        let start = self.start[k];
        self.exponent[k] = send(table, &mut self.message[start..start + b.sep]);
    }
}

/// Passes up that follow a solver from evidence to evidence, each with its own weights multiplied.
#[derive(Clone, Debug, Default)]
pub(crate) struct Watch {
    /// The weights of the states of variables, a list a pass.
    sets: Vec<Vec<(Var, Vec<f64>)>>,
    runs: Vec<Watched>,
    /// What was formed anew since the passes were last brought up to the solution.
    since: Vec<bool>,
}

#[derive(Clone, Debug)]
struct Watched {
    times: Times,
    /// The buckets that these weights change.
    own: Vec<bool>,
    side: Side<1>,
}

impl Watch {
    /// Watches P(evidence) with each of these sets of weights.
    pub fn over(sets: Vec<Vec<(Var, Vec<f64>)>>) -> Self {
        Self {
            sets,
            ..Self::default()
        }
    }

    /// The same sets, watched from the start.
    pub fn anew(&self) -> Self {
        Self::over(self.sets.clone())
    }

    /// After a pass up: these buckets were formed anew; all of them if there is no list.
    pub fn note(&mut self, renewed: Option<&[bool]>) {
        match renewed {
            Some(renewed) => self.since.iter_mut().zip(renewed).for_each(|(s, r)| *s |= r),
            None => self.since.fill(true),
        }
    }

    /// Another plan: nothing is where it was.
    pub fn forget(&mut self) {
        self.runs.clear();
    }

    /// P(evidence) with each set of weights. `None` where a variable is not in the plan.
    pub fn totals(&mut self, plan: &Plan, n: &Numbers, from: &Work<1>) -> Option<Vec<Scaled>> {
        if self.runs.len() != self.sets.len() {
            self.runs.clear();
            for set in &self.sets {
                let times = plan.times(set)?;
                let own = above(plan, times.iter());
                let mut side = Side::default();
                side.fit(plan, &own);
                self.runs.push(Watched { times, own, side });
            }
            self.since.clear();
            self.since.resize(plan.buckets.len(), true);
        }
        let since = &self.since;
        let total = |run: &mut Watched| {
            if !plan.dense.is_empty() {
                return whole(plan, n, from, &run.times);
            }
            run.side.weigh(from, &[&run.times]);
            run.side.up(plan, n, from, &run.own, since)[0]
        };
        let totals = self.runs.iter_mut().map(total).collect();
        self.since.fill(false);
        Some(totals)
    }
}
