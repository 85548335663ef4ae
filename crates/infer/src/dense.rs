//! The second exact method, for many causes of few positive findings: a sweep over the causes.
//!
//! The state of the sweep is, for every finding that is open, the largest grade reached so far.
//! A cause in some state moves each of its findings by `P(max = g) = a_g·P(p ≤ g) + P(a < g)·p_g`,
//! so every number is a sum of non-negative ones. A finding opens at its first cause and closes,
//! weighted by its likelihood, at its last. The cost is the number of links times the product of
//! the grades of the open findings: 2 for a hard positive finding whatever its grade, none for a
//! negative one, and at most the number of states for a soft one. The number of causes enters only
//! linearly.

use crate::Limits;
use crate::plan::NONE;

/// One finding of a sweep.
#[derive(Clone, Debug)]
pub(crate) struct Finding {
    pub var: u32,
    pub grades: usize,
}

/// One cause: which findings open, move and close with it.
#[derive(Clone, Debug)]
pub(crate) struct Step {
    pub var: u32,
    pub bucket: u32,
    pub states: usize,
    pub unary: usize,
    pub opens: Vec<u16>,
    /// Finding, and the link's number.
    pub links: Vec<(u16, u32)>,
    pub closes: Vec<u16>,
}

/// A cause to be swept: its variable, its states, and the findings it is linked to.
#[derive(Clone, Debug)]
pub(crate) struct Swept {
    pub var: u32,
    pub states: usize,
    pub findings: Vec<u16>,
}

/// A connected part that is swept.
#[derive(Clone, Debug)]
pub(crate) struct Dense {
    pub findings: Vec<Finding>,
    pub steps: Vec<Step>,
    /// Largest state, and all states kept for the way back.
    pub largest: usize,
    pub entries: usize,
    /// Multiplications of one forward sweep, roughly.
    pub cost: usize,
}

impl Dense {
    /// Orders the causes so that few findings are open at a time. Each cause is its variable, its
    /// states and its findings. Where their buckets are is filled in later.
    pub fn new(causes: &[Swept], findings: Vec<Finding>) -> Self {
        let mut left = vec![0u32; findings.len()];
        causes
            .iter()
            .flat_map(|c| &c.findings)
            .for_each(|f| left[*f as usize] += 1);
        let mut open = vec![false; findings.len()];
        let mut todo: Vec<usize> = (0..causes.len()).collect();
        let mut dense = Self {
            findings,
            steps: Vec::with_capacity(causes.len()),
            largest: 1,
            entries: 0,
            cost: 0,
        };
        let mut size = 1usize;
        let mut next_link = 0;
        while !todo.is_empty() {
            // The cause after which the state is smallest; ties to the one that opens least.
            let key = |c: &usize| {
                let (mut opened, mut closed) = (1.0, 1.0);
                for f in &causes[*c].findings {
                    let g = dense.findings[*f as usize].grades as f64;
                    opened *= if open[*f as usize] { 1.0 } else { g };
                    closed *= if left[*f as usize] == 1 { g } else { 1.0 };
                }
                (opened / closed, opened)
            };
            let best = todo.iter().enumerate().map(|(i, c)| (key(c), i));
            let best = best.min_by(|a, b| {
                a.0.0
                    .total_cmp(&b.0.0)
                    .then(a.0.1.total_cmp(&b.0.1))
                    .then(a.1.cmp(&b.1))
            });
            let c = todo.remove(best.map_or(0, |b| b.1));
            let Swept {
                var,
                states,
                ref findings,
            } = causes[c];
            let mut step = Step {
                var,
                bucket: NONE,
                states,
                unary: 0,
                opens: Vec::new(),
                links: Vec::new(),
                closes: Vec::new(),
            };
            for &f in findings {
                if !open[f as usize] {
                    open[f as usize] = true;
                    step.opens.push(f);
                    size = size.saturating_mul(dense.findings[f as usize].grades);
                }
                step.links.push((f, next_link));
                next_link += 1;
                left[f as usize] -= 1;
                if left[f as usize] == 0 {
                    step.closes.push(f);
                }
            }
            dense.largest = dense.largest.max(size);
            dense.entries = dense.entries.saturating_add(size);
            dense.cost = dense.cost.saturating_add(size.saturating_mul(findings.len() * states));
            for f in &step.closes {
                size /= dense.findings[*f as usize].grades;
            }
            dense.steps.push(step);
        }
        dense
    }

    /// Whether its states are within the limits.
    pub fn fits(&self, limits: &Limits) -> bool {
        self.largest <= 1 << limits.width && self.entries <= limits.entries()
    }
}
