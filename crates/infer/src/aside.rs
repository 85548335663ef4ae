//! Passes up beside a solution, with some weights multiplied. Only what lies above a change is formed anew, and only up to
//! where all changes of a tree have met: from there the pass down says what becomes of the total. Several passes go at once
//! where they change the same buckets, and watched ones follow the solution from evidence to evidence.

use crate::Var;
use crate::blocks::dot;
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
    /// For plans with swept parts, which go by passes of their own.
    whole: Work<1>,
}

impl Asides {
    /// P(evidence) with the weights of a solution, passed up and down, multiplied by those of each set.
    pub fn run(&mut self, plan: &Plan, n: &Numbers, from: &Work<1>, sets: &[Times]) -> Vec<Scaled> {
        if !plan.dense.is_empty() {
            let total = |set| whole(&mut self.whole, plan, n, from, set);
            return sets.iter().map(total).collect();
        }
        let mut left: Vec<Wanted<'_>> = sets
            .iter()
            .enumerate()
            .map(|(at, set)| Wanted {
                at,
                set,
                region: Region::of(plan, set),
            })
            .collect();
        left.sort_by(|a, b| b.region.entries.cmp(&a.region.entries).then(a.at.cmp(&b.at)));
        let mut out = vec![Scaled::ONE; sets.len()];
        while !left.is_empty() {
            let mut lanes = vec![left.remove(0)];
            // Beside it, what lies within the same buckets and would take at least half as much by itself.
            let mut i = 0;
            while i < left.len() && lanes.len() < 4 && 2 * left[i].region.entries >= lanes[0].region.entries {
                if left[i].region.within(&lanes[0].region) {
                    lanes.push(left.remove(i));
                } else {
                    i += 1;
                }
            }
            match lanes.len() {
                1 => self.one.beside(plan, n, from, &lanes, &mut out),
                2 => self.two.beside(plan, n, from, &lanes, &mut out),
                _ => self.four.beside(plan, n, from, &lanes, &mut out),
            }
        }
        out
    }
}

/// A set of weights, and the buckets that it changes.
struct Wanted<'a> {
    at: usize,
    set: &'a Times,
    region: Region,
}

/// The same by a pass of its own, where parts are swept.
fn whole(work: &mut Work<1>, plan: &Plan, n: &Numbers, from: &Work<1>, set: &Times) -> Scaled {
    work.fit(plan);
    work.unary.copy_from_slice(&from.unary);
    set.iter().for_each(|(at, x)| work.unary[*at][0] *= x);
    work.up(plan, n, &[], &[]);
    work.total[0]
}

/// The buckets whose messages change with some weights, up to those where all changes of a tree have met.
#[derive(Clone, Debug)]
struct Region {
    /// Whether each bucket is one of them.
    own: Vec<bool>,
    /// Where changes meet, one a tree.
    meets: Vec<u32>,
    /// Entries of their tables.
    entries: usize,
}

impl Region {
    fn of(plan: &Plan, weights: &Times) -> Self {
        // By how many ways changes come into each bucket. A weight of its own counts for two: they have met there.
        let mut ways = vec![0u32; plan.buckets.len()];
        let changes = weights.iter().filter(|(_, x)| *x != 1.0);
        changes.for_each(|(at, _)| ways[plan.bucket_at(*at)] = 2);
        for (k, b) in plan.buckets.iter().enumerate() {
            if ways[k] > 0 && b.parent != NONE {
                ways[b.parent as usize] += 1;
            }
        }
        let mut region = Self {
            own: vec![false; ways.len()],
            meets: Vec::new(),
            entries: 0,
        };
        for (k, b) in plan.buckets.iter().enumerate().rev() {
            let below = b.parent != NONE && region.own[b.parent as usize];
            // What comes in one way only, and has nothing above to meet, has met further down.
            if ways[k] > 1 || below && ways[k] > 0 {
                region.own[k] = true;
                region.entries += b.size;
                if !below {
                    region.meets.push(k as u32);
                }
            }
        }
        region
    }

    fn within(&self, other: &Self) -> bool {
        self.own.iter().zip(&other.own).all(|(a, b)| *b || !a)
    }
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
    fn weigh<'a>(&mut self, from: &Work<1>, sets: impl Iterator<Item = &'a Times>) {
        self.unary.clear();
        self.unary.extend(from.unary.iter().map(|u| [u[0]; L]));
        for (lane, set) in sets.enumerate() {
            set.iter().for_each(|(at, x)| self.unary[*at][lane] *= x);
        }
    }

    /// Runs a few sets, of which the first changes what any of them does.
    fn beside(&mut self, plan: &Plan, n: &Numbers, from: &Work<1>, lanes: &[Wanted<'_>], out: &mut [Scaled]) {
        let own = &lanes[0].region.own;
        self.fit(plan, own);
        self.weigh(from, lanes.iter().map(|one| one.set));
        self.up(plan, n, from, own, own);
        for (lane, one) in lanes.iter().enumerate() {
            out[one.at] = self.total(plan, from, &one.region, lane);
        }
    }

    /// Forms those buckets of its `own` anew that are due.
    fn up(&mut self, plan: &Plan, n: &Numbers, from: &Work<1>, own: &[bool], due: &[bool]) {
        for (k, b) in plan.buckets.iter().enumerate() {
            if own[k] && due[k] {
                self.join(plan, n, from, own, (k, b));
            }
        }
    }

    /// The total of a lane: that of the solution, times what the messages where its changes meet change it by.
    fn total(&self, plan: &Plan, from: &Work<1>, region: &Region, lane: usize) -> Scaled {
        let mut total = from.total[0];
        for k in &region.meets {
            let (k, b) = (*k as usize, &plan.buckets[*k as usize]);
            let message = &self.message[self.start[k]..][..b.sep];
            let sum = dot(&from.down[b.message..b.message + b.sep], message);
            // The derivative is by the message before its scaling, but with those below it scaled as they were.
            total = total.times(sum[lane]).shift(from.exponent[k][0].into());
        }
        let taken = |k: usize| i64::from(self.exponent[k][lane]) - i64::from(from.exponent[k][0]);
        let own = (0..region.own.len()).filter(|k| region.own[*k]);
        total.shift(own.map(taken).sum())
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
    /// Room for the runs.
    sides: Vec<Side<1>>,
    /// What was formed anew since the passes were last brought up to the solution.
    since: Vec<bool>,
    /// Whether each bucket is on the way down to where the changes of a pass have met; empty until it is asked for.
    wanted: Vec<bool>,
    whole: Work<1>,
}

#[derive(Clone, Debug)]
struct Watched {
    times: Times,
    /// The buckets that these weights change.
    region: Region,
}

impl Watch {
    /// Watches P(evidence) with each of these sets of weights from now on.
    pub fn over(&mut self, sets: Vec<Vec<(Var, Vec<f64>)>>) {
        self.sets = sets;
        self.forget();
    }

    pub fn sets(&self) -> &[Vec<(Var, Vec<f64>)>] {
        &self.sets
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
        self.wanted.clear();
    }

    /// The buckets that a solution has to be passed down to. `None` where a variable is not in the plan.
    pub fn wanted(&mut self, plan: &Plan) -> Option<&[bool]> {
        if self.wanted.is_empty() {
            self.runs.clear();
            self.sides
                .resize_with(self.sides.len().max(self.sets.len()), Side::default);
            for (set, side) in self.sets.iter().zip(&mut self.sides) {
                let times = plan.times(set)?;
                let region = Region::of(plan, &times);
                side.fit(plan, &region.own);
                self.runs.push(Watched { times, region });
            }
            self.since.clear();
            self.since.resize(plan.buckets.len(), true);
            self.wanted.clear();
            self.wanted.resize(plan.buckets.len(), false);
            for k in self.runs.iter().flat_map(|run| &run.region.meets) {
                let mut k = *k as usize;
                while !std::mem::replace(&mut self.wanted[k], true) && plan.buckets[k].parent != NONE {
                    k = plan.buckets[k].parent as usize;
                }
            }
        }
        Some(&self.wanted)
    }

    /// P(evidence) with each set of weights, from a solution passed up, and down to what is wanted. `None` where a variable
    /// is not in the plan.
    pub fn totals(&mut self, plan: &Plan, n: &Numbers, from: &Work<1>) -> Option<Vec<Scaled>> {
        self.wanted(plan)?;
        let (since, work) = (&self.since, &mut self.whole);
        let total = |(run, side): (&Watched, &mut Side<1>)| {
            if !plan.dense.is_empty() {
                return whole(work, plan, n, from, &run.times);
            }
            side.weigh(from, std::iter::once(&run.times));
            side.up(plan, n, from, &run.region.own, since);
            side.total(plan, from, &run.region, 0)
        };
        let totals = self.runs.iter().zip(&mut self.sides).map(total).collect();
        self.since.fill(false);
        Some(totals)
    }
}
