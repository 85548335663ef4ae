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
    /// Each chance with its own prevalence at either end of its range and all else as it is, from the solution of all
    /// readings, which must be the last one made: the lower end, then the upper. Of a mechanism at one of several places it
    /// is its share there that moves; of a family, those of all its members.
    ///
    /// Let a mechanism be present of its own accord with chance p, and p′ at the end. P(readings and present so) is p′/p
    /// times what it was, P(readings and not so) is (1 − p′)/(1 − p) times that: no end is solved for. A family moves several
    /// of these at once, and takes P(readings) with all of them moved, a pass up.
    pub fn at_ends(&mut self, chances: &Chances, ln: f64) -> [Chances; 2] {
        let ends = [End::Low, End::High];
        let families: Vec<[Vec<Factors>; 2]> = self
            .about
            .iter()
            .filter_map(|about| match *about {
                About::Family(family) => Some(self.members(family)),
                About::Mechanism { .. } => None,
            })
            .map(|members| {
                ends.map(|end| {
                    let moved = members.iter().filter_map(|site| self.factors(*site, end));
                    moved.collect()
                })
            })
            .collect();
        let own = |one: &Factors| (one.own, vec![one.absent, one.present]);
        let weights: Vec<Vec<(Var, Vec<f64>)>> = families
            .iter()
            .flatten()
            .map(|members| members.iter().map(own).collect())
            .collect();
        let totals = self.solver.ln_times(&weights).unwrap_or_default();
        let of_mechanism = |site, end, chance: f64| {
            let factors = self.factors(site, end)?;
            let own = self.solver.posterior(factors.own)?.nth(1)?;
            let total = (1.0 - own) * factors.absent + own * factors.present;
            Some(1.0 - (1.0 - chance) * factors.absent / total)
        };
        let mut out = ends.map(|_| Vec::with_capacity(chances.len()));
        let mut number = 0;
        for (about, chance) in self.about.iter().zip(chances) {
            for (side, end) in ends.into_iter().enumerate() {
                out[side].push(match *about {
                    About::Mechanism { mechanism, at } => {
                        of_mechanism((mechanism, at), end, *chance).unwrap_or(*chance)
                    }
                    About::Family(_) => {
                        let members = families.get(number / 2).map_or(&[][..], |both| &both[side]);
                        let absent: f64 = members.iter().map(|one| one.absent).product();
                        let total = totals.get(number).map_or(1.0, |total| libm::exp(total - ln));
                        number += 1;
                        1.0 - (1.0 - chance) * absent / total
                    }
                });
            }
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
