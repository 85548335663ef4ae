//! A plan with its numbers loaded: what every answer is computed from.

use std::sync::Arc;

use smallvec::SmallVec;

use crate::draft::Draft;
use crate::lanes::{Down, Lane, Lanes, order};
use crate::layout::Ordered;
use crate::numbers::Numbers;
use crate::pass::{LeftOut, Other, Work};
use crate::plan::{Plan, Style, too_tangled};
use crate::scaled::Scaled;
use crate::spare;
use crate::{Evidence, Limits, Network, SolveError, Var};

/// Plans up to this many entries are taken as they come; above, others are tried.
const CHEAP: usize = 1 << 12;

/// A noisy-MAX with more live parents than this is then made a chain.
const CHAIN: usize = 5;

/// A finding over more live parents than this is made a mixture, if it can be.
const MIX: usize = 2;

/// Tables of more entries than this are no longer near at hand in all lanes: half of them are taken.
const LARGE: usize = 1 << 13;

/// Lanes of the passes that are run side by side.
pub(crate) const LANES: usize = 8;

#[derive(Clone, Debug)]
pub(crate) struct Core {
    pub net: Network,
    pub plan: Arc<Plan>,
    pub numbers: Numbers,
}

/// The cheapest plan found that keeps `extra` live.
///
/// One table a noisy-MAX, unless that is not cheap: then parts are swept, or else wide ones split
/// into mixtures and chains, whose parents come in the order in which they would be eliminated
/// otherwise.
pub(crate) fn best_plan(
    net: &Network,
    evidence: &Evidence,
    extra: &[Var],
    limits: &Limits,
) -> Result<Plan, SolveError> {
    let limits = limits.capped();
    let order =
        |draft: Draft, heavy| Ordered::new(draft, heavy).ok_or_else(|| too_tangled(limits.width, &limits, Vec::new()));
    let ordered = |style: Style<'_>, heavy| order(Draft::new(net, evidence, extra, style), heavy);
    let mut best = ordered(Style::TABLES, false)?;
    if (best.cost <= CHEAP || best.narrow()) && best.fits(&limits) {
        return best.lay_out(&limits);
    }
    let sweep = Style {
        sweep: true,
        ..Style::TABLES
    };
    let mut swept = None;
    let draft = Draft::new(net, evidence, extra, sweep);
    if !draft.sweeps.is_empty() {
        let found = order(draft, false)?;
        if found.cost < best.cost / 16 && found.fits(&limits) {
            return found.lay_out(&limits);
        }
        swept = Some(found);
    }
    let split = |along: &[u32], heavy| {
        let style = Style {
            chain_above: CHAIN,
            mix_above: MIX,
            along,
            sweep: false,
        };
        ordered(style, heavy)
    };
    let light = split(&best.order(), false)?;
    let heavy = split(&light.order(), true)?;
    for other in swept.into_iter().chain([light, heavy]) {
        let key = |of: &Ordered| (!of.fits(&limits), of.cost);
        if key(&other) < key(&best) {
            best = other;
        }
    }
    best.lay_out(&limits)
}

impl Core {
    pub fn new(net: &Network, evidence: &Evidence, plan: Arc<Plan>) -> Self {
        let mut numbers = Numbers::default();
        numbers.load(&plan, net, evidence);
        Self {
            net: net.clone(),
            plan,
            numbers,
        }
    }

    /// One upward pass.
    pub fn up(&self, work: &mut Work<1>) -> Scaled {
        work.fit(&self.plan);
        work.set_unary(&self.numbers.unary);
        work.up(&self.plan, &self.numbers, &[], &[]);
        work.total[0]
    }

    /// A pass up and down.
    pub fn passes(&self) -> Work<1> {
        let mut work = Work::<1>::default();
        self.up(&mut work);
        work.down(&self.plan, &self.numbers, false, &[]);
        work
    }

    /// Runs trials, several side by side, and hands each one's total and posteriors
    /// (where the unary weights are; empty unless `down`) to `each`.
    pub fn run_trials(&self, trials: &[Trial], down: bool, each: impl FnMut(usize, Scaled, Lane<'_>)) {
        let few = if down { LANES / 2 } else { LANES };
        if !self.plan.dense.is_empty() || trials.len() <= few {
            match trials.len() {
                0 => {}
                1 => self.run_whole::<1>(trials, down, each),
                2 => self.run_whole::<2>(trials, down, each),
                3..=4 => self.run_whole::<4>(trials, down, each),
                _ if self.is_large() => self.run_whole::<4>(trials, down, each),
                _ => self.run_whole::<LANES>(trials, down, each),
            }
        } else if self.is_large() {
            self.run_beside::<4>(trials, down, each);
        } else {
            self.run_beside::<LANES>(trials, down, each);
        }
    }

    /// Whether the plan's tables in all lanes are too large to be near at hand.
    pub fn is_large(&self) -> bool {
        self.plan.cost() > LARGE
    }

    fn run_beside<const L: usize>(&self, trials: &[Trial], down: bool, mut each: impl FnMut(usize, Scaled, Lane<'_>)) {
        let base = self.passes();
        let mut lanes = Lanes::<L>::new(self, &base);
        let order = order(&self.plan, trials);
        for group in order.chunks(L) {
            let of: SmallVec<[&Trial; LANES]> = group.iter().map(|i| &trials[*i]).collect();
            let work = lanes.run(&of, if down { Down::All } else { Down::No });
            for (lane, i) in group.iter().enumerate() {
                each(*i, work.total[lane], Lane::side(&work.posterior, lane));
            }
        }
    }

    fn run_whole<const L: usize>(&self, trials: &[Trial], down: bool, mut each: impl FnMut(usize, Scaled, Lane<'_>)) {
        self.run_lanes::<L>(trials, down, |first, group, work| {
            for (lane, trial) in group.iter().enumerate() {
                let posterior = |at: usize| work.posterior[at][lane];
                each(first + lane, trial.of(work.total[lane]), Lane::Whole(&posterior));
            }
        });
    }

    /// Runs trials by whole passes, several side by side, and hands out each group's first number, its trials and its tables.
    pub fn run_lanes<const L: usize>(
        &self,
        trials: &[Trial],
        down: bool,
        mut then: impl FnMut(usize, &[Trial], &Work<L>),
    ) {
        let plan = &*self.plan;
        let mut work = spare::take::<Work<L>>();
        work.fit(plan);
        for (n, group) in trials.chunks(L).enumerate() {
            work.set_unary(&self.numbers.unary);
            let mut others = Vec::new();
            let mut left = Vec::new();
            for (lane, trial) in group.iter().enumerate() {
                for (at, x) in &trial.times {
                    work.unary[*at][lane] *= x;
                }
                for (at, x) in &trial.set {
                    work.unary[*at][lane] = *x;
                }
                if let Some((part, finding)) = trial.left_out {
                    left.push(LeftOut { lane, part, finding });
                }
                if let Some((bucket, potential, exponent)) = &trial.potential {
                    others.push(Other {
                        lane,
                        bucket: *bucket,
                        potential,
                        exponent: exponent - self.numbers.potential_exponent[*bucket],
                    });
                }
            }
            work.up(plan, &self.numbers, &others, &left);
            if down {
                work.down(plan, &self.numbers, false, &left);
            }
            then(n * L, group, &work);
        }
        let bytes = work.bytes();
        spare::put(work, bytes);
    }
}

/// The same evidence with some weights changed.
#[derive(Clone, Debug)]
pub(crate) struct Trial {
    /// Unary weights to multiply.
    pub times: SmallVec<[(usize, f64); 12]>,
    /// Unary weights to replace.
    pub set: Vec<(usize, f64)>,
    /// Another potential for one bucket, and the power of two taken out of it.
    pub potential: Option<(usize, Vec<f64>, i32)>,
    /// A finding of a sweep to leave out: the sweep and the finding in it.
    pub left_out: Option<(usize, u16)>,
    pub constant: Scaled,
}

impl Default for Trial {
    fn default() -> Self {
        Self {
            times: SmallVec::new(),
            set: Vec::new(),
            potential: None,
            left_out: None,
            constant: Scaled::ONE,
        }
    }
}

impl Trial {
    /// The same with weights multiplied by what they are set to; for a trial that sets them to 0.
    pub fn as_weights(&self) -> Trial {
        let mut trial = self.clone();
        trial.times.extend(trial.set.drain(..));
        trial
    }

    /// The total that a run gives, with what multiplies everything.
    pub fn of(&self, total: Scaled) -> Scaled {
        total.times(self.constant.mantissa).shift(self.constant.exponent)
    }
}

pub(crate) use crate::relevance::deep;
