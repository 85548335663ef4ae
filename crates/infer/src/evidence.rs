//! What was found out about the variables.

use crate::{Cause, Network, SolveError, Var};

/// One finding about one variable.
#[derive(Clone, Debug, PartialEq)]
pub enum Finding {
    /// The variable is in this state (hard evidence).
    State(usize),
    /// A likelihood for each state, not negative, of any scale (soft evidence).
    Likelihood(Vec<f64>),
    /// On a noisy-MAX variable only: what is seen is graded by `likelihood`, and everything that
    /// is seen here is of one kind. See the [crate documentation](crate#findings-of-one-kind).
    ///
    /// ```
    /// use wythe_infer::{Cause, Evidence, Finding, Limits, Network, solve};
    ///
    /// let mut net = Network::new();
    /// let moved = net.table(2, &[], vec![0.9, 0.1])?;
    /// let crack = net.noisy_max(vec![0.8, 0.2], vec![Cause::boolean(moved, 0.5)])?;
    /// // Tapered: 1 in 10 of the cracks that come by themselves, 3 in 4 of those by the ground.
    /// let tapered = Finding::OfKind {
    ///     likelihood: vec![0.0, 1.0],
    ///     leak_share: 0.1,
    ///     shares: vec![vec![0.0, 0.75]],
    /// };
    /// let solved = solve(&net, &Evidence::new().with(crack, tapered), &Limits::default())?;
    /// // A crack, and nothing seen that is not tapered: all by either, less nothing by both.
    /// let still = 0.8 + 0.2 * 0.1 - 0.8;
    /// let moves = (0.8 + 0.2 * 0.1) * (0.5 + 0.5 * 0.75) - 0.8 * 0.5;
    /// assert!((solved.posterior(moved)[1] - 0.1 * moves / (0.1 * moves + 0.9 * still)).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    OfKind {
        /// A likelihood for each state.
        likelihood: Vec<f64>,
        /// The share of this kind among what the leak produces, 0 to 1.
        leak_share: f64,
        /// `shares[i][s]`: the share of this kind among what cause `i` produces while its parent
        /// is in state `s`, 0 to 1.
        shares: Vec<Vec<f64>>,
    },
}

/// Findings, at most one a variable, in the order of the variables.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Evidence {
    /// Sorted by variable.
    findings: Vec<(Var, Finding)>,
}

impl Evidence {
    /// No findings.
    pub fn new() -> Self {
        Self::default()
    }

    /// The same findings and one more; it replaces an earlier finding about the same variable.
    #[must_use]
    pub fn with(mut self, var: Var, finding: Finding) -> Self {
        self.insert(var, finding);
        self
    }

    /// Adds a finding and returns the one it replaces, if any.
    pub fn insert(&mut self, var: Var, finding: Finding) -> Option<Finding> {
        match self.find(var) {
            Ok(at) => Some(std::mem::replace(&mut self.findings[at].1, finding)),
            Err(at) => {
                self.findings.insert(at, (var, finding));
                None
            }
        }
    }

    /// Takes a finding away and returns it.
    pub fn remove(&mut self, var: Var) -> Option<Finding> {
        let at = self.find(var).ok()?;
        Some(self.findings.remove(at).1)
    }

    /// The finding about a variable.
    pub fn get(&self, var: Var) -> Option<&Finding> {
        self.find(var).ok().map(|at| &self.findings[at].1)
    }

    /// As [`Evidence::get`], first looking where a variable was, or would have been, the last time.
    pub(crate) fn get_near(&self, var: Var, place: &mut usize) -> Option<&Finding> {
        let before = *place == 0 || self.findings.get(*place - 1).is_some_and(|(v, _)| *v < var);
        match self.findings.get(*place) {
            Some((v, finding)) if *v == var => return Some(finding),
            Some((v, _)) if before && *v > var => return None,
            None if before && *place == self.findings.len() => return None,
            _ => {}
        }
        let found = self.find(var);
        *place = found.unwrap_or_else(|place| place);
        found.ok().map(|at| &self.findings[at].1)
    }

    /// The findings in the order of their variables.
    pub fn iter(&self) -> impl Iterator<Item = (Var, &Finding)> {
        self.findings.iter().map(|(v, f)| (*v, f))
    }

    /// Where a variable's finding is, for variables asked in rising order.
    pub(crate) fn walk(&self) -> Walk<'_> {
        Walk {
            all: &self.findings,
            place: 0,
        }
    }

    /// How many findings there are.
    pub fn len(&self) -> usize {
        self.findings.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.findings.is_empty()
    }

    fn find(&self, var: Var) -> Result<usize, usize> {
        self.findings.binary_search_by_key(&var, |(v, _)| *v)
    }
}

/// A walk along the findings.
pub(crate) struct Walk<'a> {
    all: &'a [(Var, Finding)],
    /// The place of the finding returned last, or where it would have been.
    pub place: usize,
}

impl<'a> Walk<'a> {
    /// The finding about a variable after those asked for before.
    pub fn get(&mut self, var: Var) -> Option<&'a Finding> {
        while self.all.get(self.place).is_some_and(|(v, _)| *v < var) {
            self.place += 1;
        }
        let (v, finding) = self.all.get(self.place)?;
        (*v == var).then_some(finding)
    }
}

impl FromIterator<(Var, Finding)> for Evidence {
    /// A later finding about the same variable replaces an earlier one.
    fn from_iter<I: IntoIterator<Item = (Var, Finding)>>(iter: I) -> Self {
        let mut evidence = Self::new();
        for (var, finding) in iter {
            evidence.insert(var, finding);
        }
        evidence
    }
}

/// Checks that every finding fits its variable.
pub(crate) fn check(net: &Network, evidence: &Evidence) -> Result<(), SolveError> {
    for (var, finding) in evidence.iter() {
        check_one(net, var, finding)?;
    }
    Ok(())
}

pub(crate) fn check_one(net: &Network, var: Var, finding: &Finding) -> Result<(), SolveError> {
    let mismatch = |what| Err(SolveError::Mismatch { var, what });
    let states = net.states(var);
    if states == 0 {
        return mismatch("the variable is not in this network");
    }
    let likelihood_fits = |l: &[f64]| l.len() == states && l.iter().all(|x| x.is_finite() && *x >= 0.0);
    match finding {
        Finding::State(s) if *s < states => Ok(()),
        Finding::State(_) => mismatch("the variable has no such state"),
        Finding::Likelihood(l) if likelihood_fits(l) => Ok(()),
        Finding::Likelihood(_) => mismatch("a likelihood is one non-negative number a state"),
        Finding::OfKind {
            likelihood,
            leak_share,
            shares,
        } => {
            let causes = net.causes(var);
            if !net.is_noisy_max(var) {
                mismatch("only what a noisy-MAX variable shows can be of a kind")
            } else if !likelihood_fits(likelihood) {
                mismatch("a likelihood is one non-negative number a state")
            } else if !shares_fit(*leak_share, shares, causes) {
                mismatch("shares are one number from 0 to 1 for each state of each cause")
            } else {
                Ok(())
            }
        }
    }
}

fn shares_fit(leak_share: f64, shares: &[Vec<f64>], causes: &[Cause]) -> bool {
    let unit = |q: &f64| (0.0..=1.0).contains(q);
    unit(&leak_share)
        && shares.len() == causes.len()
        && shares
            .iter()
            .zip(causes)
            .all(|(q, c)| q.len() == c.rows.len() && q.iter().all(unit))
}
