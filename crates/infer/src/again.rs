//! A pass up again, where only a few weights or potentials changed.

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
}
