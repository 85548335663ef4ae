//! Which variables are read after a solution, and the buckets on the way down to them.

use crate::Var;
use crate::plan::{NONE, Plan};

/// The variables whose posteriors are read; all if nothing was said.
#[derive(Clone, Debug, Default)]
pub(crate) struct Reading {
    /// In order.
    vars: Option<Vec<Var>>,
    /// Whether each bucket of the present plan is on the way; empty until it is asked for.
    wanted: Vec<bool>,
}

impl Reading {
    /// These from now on.
    pub fn only(&mut self, vars: &[Var]) {
        let mut vars = vars.to_vec();
        vars.sort_unstable();
        if self.vars.as_ref() != Some(&vars) {
            self.vars = Some(vars);
            self.forget();
        }
    }

    /// Another plan: nothing is where it was.
    pub fn forget(&mut self) {
        self.wanted.clear();
    }

    /// Whether a variable is read.
    pub fn has(&self, var: Var) -> bool {
        self.vars.as_ref().is_none_or(|vars| vars.binary_search(&var).is_ok())
    }

    /// The buckets on the way; none where all are.
    pub fn wanted(&mut self, plan: &Plan) -> Option<&[bool]> {
        let vars = self.vars.as_ref()?;
        if self.wanted.is_empty() {
            self.wanted.resize(plan.buckets.len(), false);
            for mut k in vars.iter().filter_map(|var| plan.bucket_of(*var)) {
                while !std::mem::replace(&mut self.wanted[k], true) && plan.buckets[k].parent != NONE {
                    k = plan.buckets[k].parent as usize;
                }
            }
        }
        Some(&self.wanted)
    }
}
