//! A pass up and down again, where only a few weights or potentials changed.

use crate::numbers::Numbers;
use crate::pass::{Work, believe};
use crate::plan::{NONE, Plan};

impl<const L: usize> Work<L> {
    /// [`Work::up`] where all but the changed buckets' weights and potentials are what they were for the messages at
    /// hand: these and what is above them are formed anew. Marks what it forms. Without sweeps.
    pub fn up_again(&mut self, plan: &Plan, n: &Numbers, changed: &mut [bool]) {
        self.total = [n.start(); L];
        for (k, b) in plan.buckets.iter().enumerate() {
            if b.is_alone() {
                self.alone(b);
                continue;
            }
            if changed[k] {
                self.join(plan, b, k, n, &[]);
                if b.parent != NONE {
                    changed[b.parent as usize] = true;
                }
            }
            self.count(b, k);
        }
    }

    /// A pass down where something is due: to what is wanted, or with sweeps all the way.
    pub fn fall(&mut self, plan: &Plan, n: &Numbers, due: &mut [bool], wanted: Option<&[bool]>) {
        if plan.dense.is_empty() {
            self.down_again(plan, due, wanted);
        } else {
            self.down(plan, n, false, &[]);
            due.fill(false);
        }
    }

    /// [`Work::down`] to those buckets only that are wanted, all of them if there is no list, and in those trees only where
    /// something was formed anew since: there buckets are due, and those that are left out stay so. Without sweeps.
    pub fn down_again(&mut self, plan: &Plan, due: &mut [bool], wanted: Option<&[bool]>) {
        for (k, b) in plan.buckets.iter().enumerate().rev() {
            due[k] |= b.parent != NONE && due[b.parent as usize];
        }
        let goes = |k: usize, due: &[bool]| due[k] && wanted.is_none_or(|wanted| wanted[k]);
        if !(0..due.len()).any(|k| goes(k, due)) {
            return;
        }
        for (k, b) in plan.buckets.iter().enumerate().rev() {
            let own = goes(k, due);
            let below = plan.children_of(k).iter().any(|child| goes(child.bucket as usize, due));
            if own && b.is_alone() {
                self.share(b);
            } else if own || below {
                if own && b.parent == NONE {
                    self.start_down(b, k);
                }
                // A bucket that is no longer due is believed again for those below it.
                let table = &self.table[b.table..b.table + b.size];
                let down = &self.down[b.message..b.message + b.sep];
                let posterior = &mut self.posterior[b.unary..b.unary + b.states];
                believe(table, down, posterior, &mut self.belief, !below);
                for child in plan.children_of(k) {
                    if goes(child.bucket as usize, due) {
                        self.derive(plan, b, child);
                    }
                }
            }
            due[k] &= !own;
        }
    }
}
