//! How far a conclusion hangs on its own prevalence: its chance at the two ends of the pack's range.

use wythe_infer::Var;
use wythe_pack::{MechanismIx, Node};

use crate::About;
use crate::network::{End, prior};
use crate::weigh::{Chances, Weighing};

/// By how much a prevalence at one end of its range multiplies the chance that a mechanism is absent, or present, of its own
/// accord.
struct Factors {
    own: Var,
    absent: f64,
    present: f64,
}

impl Weighing<'_> {
    /// Each chance with its own prevalence at one end of its range and all else as it is, from the solution of all readings,
    /// which must be the last one made. Of a mechanism at one of several places it is its share there that moves; of a
    /// family, those of all its members.
    ///
    /// Let a mechanism be present of its own accord with chance p, and p′ at the end. P(readings and present so) is p′/p
    /// times what it was, P(readings and not so) is (1 − p′)/(1 − p) times that: no end is solved for. A family moves several
    /// of these at once, and takes P(readings) with all of them moved, a pass up.
    pub fn at_end(&mut self, end: End, chances: &Chances, ln: f64) -> Chances {
        let mut out = Vec::with_capacity(chances.len());
        let mut families: Vec<Vec<Factors>> = Vec::new();
        for (about, chance) in self.about.iter().zip(chances) {
            match *about {
                About::Mechanism { mechanism, at } => {
                    let moved = self.factors((mechanism, at), end).and_then(|factors| {
                        let own = self.solver.posterior(factors.own)?.nth(1)?;
                        let total = (1.0 - own) * factors.absent + own * factors.present;
                        Some(1.0 - (1.0 - chance) * factors.absent / total)
                    });
                    out.push(moved.unwrap_or(*chance));
                }
                About::Family(family) => {
                    let members = self.members(family).into_iter();
                    families.push(members.filter_map(|site| self.factors(site, end)).collect());
                }
            }
        }
        let weights: Vec<Vec<(Var, Vec<f64>)>> = families
            .iter()
            .map(|members| {
                members
                    .iter()
                    .map(|one| (one.own, vec![one.absent, one.present]))
                    .collect()
            })
            .collect();
        let totals = self.solver.ln_times(&weights).unwrap_or_default();
        let first = out.len();
        for (at, (members, chance)) in families.iter().zip(chances.iter().skip(first)).enumerate() {
            let absent: f64 = members.iter().map(|one| one.absent).product();
            let total = totals.get(at).map_or(1.0, |total| libm::exp(total - ln));
            out.push(1.0 - (1.0 - chance) * absent / total);
        }
        out
    }

    fn factors(&self, (mechanism, at): (MechanismIx, usize), end: End) -> Option<Factors> {
        let own = *self.model.own.get(&(Node::Mechanism(mechanism), at))?;
        let [now, then] = [End::Best, end].map(|end| prior(self.pack, &self.bound, mechanism, end));
        let factor = |now: f64, then: f64| if now > 0.0 { then / now } else { 1.0 };
        Some(Factors {
            own,
            absent: factor(1.0 - now, 1.0 - then),
            present: factor(now, then),
        })
    }
}

#[cfg(test)]
mod tests;
