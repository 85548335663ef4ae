//! The plan: what the structure of a network and the pattern of its evidence decide.
//!
//! Which variables stay, how they are eliminated, and where every number goes. A plan holds no
//! probability, so it serves all evidence of the same pattern.

use smallvec::SmallVec;

use crate::aside::Times;
use crate::blocks::Blocks;
use crate::dense::Dense;
use crate::draft::Draft;
use crate::layout::Ordered;
use crate::relevance::{falls, grade_count, is_hard};
use crate::{Evidence, Finding, Limits, Network, SolveError, Var};

/// What becomes of a variable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Role {
    /// Neither observed nor above anything observed: sums to 1 and drops out.
    Barren,
    /// Its state is known: it drops out of every table.
    Fixed,
    /// An observed noisy-MAX that factorises over its parents.
    Product,
    /// An observed noisy-MAX with nothing live below it, whose finding ties its parents together.
    Seen,
    /// One whose likelihood never rises with the grade, laid out as a mixture of products.
    Mixed,
    /// Summed over in this bucket.
    Live(u32),
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Kind {
    /// A slice of the table of `var`.
    #[default]
    Table,
    /// A slice of the constraint of this number.
    Constraint(u32),
    /// The finding about noisy-MAX `var` as a function of its parents.
    Finding,
    /// The family of noisy-MAX `var`, the child's state slowest.
    Family,
    /// One step of the family or finding of noisy-MAX `var`, from `before` grades to `after`,
    /// by its `step`-th live parent: before fastest, then the parent, then after.
    Step { step: u16, before: u16, after: u16 },
    /// The weights of the products that the finding about noisy-MAX `var` is a mixture of.
    Mixture,
    /// What its `parent`-th live parent puts into each of them: the product fastest.
    Factor { parent: u16 },
}

/// A live variable of a table.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Along {
    pub bucket: u32,
    /// How far apart its states are.
    pub stride: u32,
    /// Of a parent of a noisy-MAX that is one table: where its rows start.
    pub rows: u32,
}

impl Along {
    pub fn new(bucket: u32, stride: u32) -> Self {
        Self {
            bucket,
            stride,
            rows: 0,
        }
    }
}

pub(crate) type Axes = SmallVec<[Along; 7]>;

/// A table that multiplies into one bucket.
#[derive(Clone, Debug, Default)]
pub(crate) struct Slot {
    pub var: u32,
    pub kind: Kind,
    pub bucket: u32,
    /// Live variables of the table in the order of elimination. That of a noisy-MAX as one table has the last fastest.
    pub axes: Axes,
    /// The place of the finding about `var` in the evidence planned for.
    pub met: u32,
    /// Entries, and where they are kept if they are computed.
    pub size: usize,
    pub store: usize,
    /// How the bucket's entries meet the table's.
    pub blocks: Blocks,
}

impl Slot {
    /// Whether it is a noisy-MAX as one table.
    pub fn is_whole(&self) -> bool {
        matches!(self.kind, Kind::Finding | Kind::Family)
    }

    /// How far apart the states of a live variable are; 1 where it is not live.
    pub fn stride_of(&self, role: Role) -> usize {
        let own = |along: &&Along| role == Role::Live(along.bucket);
        self.axes.iter().find(own).map_or(1, |along| along.stride as usize)
    }
}

/// A child bucket, and how its parent's entries meet those of its message.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Child {
    pub bucket: u32,
    pub blocks: Blocks,
}

pub(crate) const NONE: u32 = u32::MAX;

#[derive(Clone, Debug)]
pub(crate) struct Bucket {
    pub states: usize,
    /// Offsets: of the variable's unary weights, the table, the message.
    pub unary: usize,
    pub table: usize,
    /// Of its potential, if it has slots.
    pub potential: usize,
    pub message: usize,
    /// Entries of the table and of the message.
    pub size: usize,
    pub sep: usize,
    pub parent: u32,
    /// Summed over by a sweep instead.
    pub dense: bool,
    /// Ranges in `children` and `slots`.
    pub children: (u32, u32),
    pub slots: (u32, u32),
}

impl Bucket {
    /// Whether its variable is joined to no other.
    pub fn is_alone(&self) -> bool {
        self.size == self.states
            && self.parent == NONE
            && self.children.0 == self.children.1
            && self.slots.0 == self.slots.1
    }
}

#[derive(Clone, Debug)]
pub(crate) struct Plan {
    pub roles: Vec<Role>,
    /// The variable of each bucket; `None` for a helper.
    pub vars: Vec<Option<Var>>,
    pub buckets: Vec<Bucket>,
    pub children: Vec<Child>,
    /// Sorted by bucket; those of one variable or none come last, from `single` on.
    pub slots: Vec<Slot>,
    pub single: usize,
    pub maps: Vec<u32>,
    /// The buckets of the variables of each bucket's table, in order, so that its own is first; and where each starts.
    pub scopes: Vec<u32>,
    pub scope_starts: Vec<u32>,
    pub products: Vec<Var>,
    /// Variables whose state is known and matters to others.
    pub fixed: Vec<Var>,
    /// Parts that are swept.
    pub dense: Vec<Dense>,
    /// Grades tracked for each variable that is seen.
    pub grades: Vec<u16>,
    pub unary_len: usize,
    pub table_len: usize,
    pub potential_len: usize,
    pub message_len: usize,
    pub store_len: usize,
    /// Entries of the largest table.
    pub largest: usize,
    /// Binary logarithm of the largest table.
    pub width: usize,
}

/// How noisy-MAX tables are laid out.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Style<'a> {
    /// A noisy-MAX with more live parents than this is built step by step with helpers.
    pub chain_above: usize,
    /// A finding over more live parents than this is laid out as a mixture, if it can be.
    pub mix_above: usize,
    /// When each variable is likely to be eliminated: chains take their parents in this order.
    pub along: &'a [u32],
    /// Parts made of nothing but independent causes and findings are swept.
    pub sweep: bool,
}

impl Style<'_> {
    /// One table for every noisy-MAX, and no sweeps.
    pub const TABLES: Self = Self {
        chain_above: usize::MAX,
        mix_above: usize::MAX,
        along: &[],
        sweep: false,
    };
}

impl Plan {
    /// Plans for a pattern of evidence, keeping `extra` and what is above them live.
    pub fn new(
        net: &Network,
        evidence: &Evidence,
        extra: &[Var],
        style: Style<'_>,
        limits: &Limits,
    ) -> Result<Self, SolveError> {
        let draft = Draft::new(net, evidence, extra, style);
        let ordered = Ordered::new(draft, false).ok_or_else(|| too_tangled(limits.width, limits, Vec::new()))?;
        ordered.lay_out(limits)
    }

    /// What a pass costs, as entries of tables.
    pub fn cost(&self) -> usize {
        let sweeps = self.dense.iter().map(|d| d.cost);
        sweeps.fold(self.table_len, usize::saturating_add)
    }

    /// Multiplications and additions of one pass up and one down, and the bytes they read and
    /// write, caches apart.
    pub fn floor(&self) -> (usize, usize) {
        let (mut operations, mut bytes) = (0, 0);
        for b in &self.buckets {
            let children = (b.children.1 - b.children.0) as usize;
            // Up: potential by weight, each message, the sum. Down: the derivative, the
            // posterior's sum, each child's sum.
            operations += b.size * (2 + children) + b.size * (2 + children);
            // Potential in; table out; per message, table in and out, map and message; table in.
            bytes += b.size * (16 + children * 28 + 8);
            bytes += b.size * (24 + children * 20);
        }
        (operations, bytes)
    }

    /// Whether evidence of this pattern can be loaded.
    pub fn fits(&self, net: &Network, evidence: &Evidence) -> bool {
        let found = evidence.iter().all(|(var, finding)| {
            let Some(role) = self.roles.get(var.index()) else {
                return false;
            };
            match role {
                Role::Barren => false,
                Role::Live(_) => true,
                Role::Fixed if !net.is_noisy_max(var) => matches!(finding, Finding::State(_)),
                Role::Mixed if !falls(finding, net.states(var)) => false,
                Role::Fixed | Role::Product | Role::Seen | Role::Mixed => {
                    grade_count(finding, net.states(var)) <= usize::from(self.grades[var.index()])
                }
            }
        });
        let fixed = self.fixed.iter().all(|v| is_hard(evidence, *v));
        found && fixed && self.roles.len() == net.len()
    }

    /// What would have to be live as well for the posterior of a barren variable to follow from
    /// weights on single live variables.
    pub fn missing(&self, net: &Network, evidence: &Evidence, var: Var) -> Vec<Var> {
        if !net.is_noisy_max(var) {
            return vec![var];
        }
        let at_hand = |p: &&Var| self.bucket_of(**p).is_some() || is_hard(evidence, **p);
        net.parents(var).iter().filter(|p| !at_hand(p)).copied().collect()
    }

    pub fn bucket_of(&self, var: Var) -> Option<usize> {
        match self.roles.get(var.index()) {
            Some(Role::Live(k)) => Some(*k as usize),
            _ => None,
        }
    }

    /// The bucket whose unary weights these are among.
    pub fn bucket_at(&self, unary: usize) -> usize {
        self.buckets.partition_point(|b| b.unary <= unary) - 1
    }

    /// Weights on the states of variables, as unary weights; `None` if a variable has no bucket or another number of states.
    pub fn times(&self, weights: &[(Var, Vec<f64>)]) -> Option<Times> {
        let mut times = Vec::with_capacity(2 * weights.len());
        for (var, weights) in weights {
            let b = &self.buckets[self.bucket_of(*var)?];
            if weights.len() != b.states {
                return None;
            }
            times.extend((b.unary..b.unary + b.states).zip(weights.iter().copied()));
        }
        Some(times)
    }

    /// The buckets of the variables of a bucket's table, its own first.
    pub fn scope_of(&self, k: usize) -> &[u32] {
        &self.scopes[self.scope_starts[k] as usize..self.scope_starts[k + 1] as usize]
    }

    pub fn children_of(&self, k: usize) -> &[Child] {
        let (a, b) = self.buckets[k].children;
        &self.children[a as usize..b as usize]
    }
}

/// Binary logarithm of a product, rounded up.
pub(crate) fn bits(states: impl Iterator<Item = usize>) -> usize {
    let mut log = 0.0;
    for s in states {
        log += match s {
            0 | 1 => 0.0,
            2 => 1.0,
            s => libm::log2(s as f64),
        };
    }
    libm::ceil(log - 1e-9) as usize
}

pub(crate) fn too_tangled(width: usize, limits: &Limits, mut vars: Vec<Var>) -> SolveError {
    vars.sort_unstable();
    SolveError::TooTangled {
        width,
        limit: limits.width,
        vars,
    }
}
