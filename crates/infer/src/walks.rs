//! Walks from trials: each trial is passed up and down, several side by side, and walks are followed from it.

use smallvec::SmallVec;

use crate::Solved;
use crate::below::{Room, Walk};
use crate::core::{LANES, Trial};
use crate::lanes::{Down, Lanes};
use crate::plan::NONE;
use crate::scaled::Scaled;

/// Trials, those that change the same branches best next to each other; walks; and which are followed from each trial.
pub(crate) struct Walks<'a> {
    pub trials: &'a [Trial],
    pub walks: &'a [Walk],
    pub wanted: &'a [Vec<usize>],
}

/// What is done with each trial and walk: the trial's number and total, the walk's number and factor.
pub(crate) type Each<'a> = dyn FnMut(usize, Scaled, usize, f64) + 'a;

impl Solved {
    /// Runs all, and hands out each trial's number and total, the number of the walk, and the factor by which it changes the
    /// total.
    pub(crate) fn run_walks(&self, all: &Walks<'_>, each: &mut Each<'_>) {
        let plan = &*self.core.plan;
        let few = all.trials.len();
        if !plan.dense.is_empty() || few == 1 && self.passes.get().is_none() {
            match few {
                0 => {}
                1 => self.whole::<1>(all, each),
                2 => self.whole::<2>(all, each),
                _ => self.whole::<4>(all, each),
            }
            return;
        }
        match few {
            0 => {}
            1 => self.beside::<1>(all, each),
            2 => self.beside::<2>(all, each),
            3..=4 => self.beside::<4>(all, each),
            _ if self.core.is_large() => self.beside::<4>(all, each),
            _ => self.beside::<LANES>(all, each),
        }
    }

    /// By whole passes.
    fn whole<const L: usize>(&self, all: &Walks<'_>, each: &mut Each<'_>) {
        let mut room = Room::default();
        let mut lanes_of = vec![SmallVec::new(); all.walks.len()];
        self.core.run_lanes::<L>(all.trials, true, |first, group, work| {
            all.lanes_of(first..first + group.len(), &mut lanes_of);
            for (at, lanes) in lanes_of.iter().enumerate().filter(|(_, lanes)| !lanes.is_empty()) {
                let factor = work.follow(&self.core.plan, &all.walks[at], None, &mut room);
                for lane in lanes {
                    each(first + lane, group[*lane].of(work.total[*lane]), at, factor[*lane]);
                }
            }
        });
    }

    /// Beside the solution.
    fn beside<const L: usize>(&self, all: &Walks<'_>, each: &mut Each<'_>) {
        let plan = &*self.core.plan;
        let mut lanes = Lanes::<L>::new(&self.core, self.passes());
        let mut room = Room::default();
        let mut lanes_of = vec![SmallVec::new(); all.walks.len()];
        let mut to = vec![false; plan.buckets.len()];
        for (n, group) in all.trials.chunks(L).enumerate() {
            let first = n * L;
            all.lanes_of(first..first + group.len(), &mut lanes_of);
            let followed = || lanes_of.iter().enumerate().filter(|(_, lanes)| !lanes.is_empty());
            to.fill(false);
            let read = followed().flat_map(|(at, _)| all.walks[at].buckets());
            read.for_each(|k| to[k] = true);
            for (k, b) in plan.buckets.iter().enumerate().filter(|(_, b)| b.parent != NONE) {
                to[b.parent as usize] |= to[k];
            }
            let of: SmallVec<[&Trial; LANES]> = group.iter().collect();
            let total = lanes.run(&of, Down::To(&to)).total;
            for (at, own) in followed() {
                let factor = lanes.follow(&all.walks[at], &mut room);
                for lane in own {
                    each(first + lane, total[*lane], at, factor[*lane]);
                }
            }
        }
    }
}

impl Walks<'_> {
    /// The lanes that want each walk.
    fn lanes_of(&self, trials: impl Iterator<Item = usize>, lanes: &mut [SmallVec<[usize; LANES]>]) {
        lanes.iter_mut().for_each(SmallVec::clear);
        for (lane, trial) in trials.enumerate() {
            self.wanted[trial].iter().for_each(|at| lanes[*at].push(lane));
        }
    }
}
