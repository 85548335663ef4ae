//! A pass up and down again, where only a few weights or potentials changed.

use crate::numbers::Numbers;
use crate::pass::Work;
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

    /// [`Work::down`] in those trees only where something was formed anew since it was last done. Without sweeps.
    pub fn down_again(&mut self, plan: &Plan, renewed: &mut [bool]) {
        for (k, b) in plan.buckets.iter().enumerate().rev() {
            if b.parent != NONE {
                renewed[k] = renewed[b.parent as usize];
            }
            if !renewed[k] {
                continue;
            }
            if b.is_alone() {
                self.share(b);
                continue;
            }
            if b.parent == NONE {
                self.start_down(b, k);
            }
            self.believe(b);
            for child in plan.children_of(k) {
                self.derive(plan, b, child);
            }
        }
    }
}
