//! A conclusion at one stage: its log odds, and what each number did there, with it and without it.

use std::sync::Arc;

use wythe_infer::{Network, Use, Uses, Var};
use wythe_pack::Pack;

use super::ledger::Ledger;
use super::means::Means;
use super::place::Placed;
use crate::kept::tangled;
use crate::{StepKind, WeighError};

/// A conclusion's log odds at one stage, and what each number did, by itself and given the conclusion or given not.
pub(super) struct Stage {
    pub at: usize,
    pub kind: StepKind,
    pub group: Vec<usize>,
    pub ln_odds: f64,
    chance: f64,
    all: Arc<Uses>,
    part: Uses,
    /// `part` is given the conclusion.
    with: bool,
    /// Before any sighting, which variables have a say in the conclusion: its own, and those above them.
    above: Option<Vec<bool>>,
}

impl Stage {
    /// A conclusion's stage, by its place among the stages.
    pub fn of(ledger: &mut Ledger<'_, '_>, at: usize) -> Result<Stage, WeighError> {
        let doings = ledger.anew.doings(ledger.weighed, at)?;
        let vars = ledger.weighed.vars(ledger.about);
        // The rarer side is asked for by itself, and not had by a difference.
        let with = match vars.as_slice() {
            [one] => doings.solved.posterior(*one).get(1).is_some_and(|p| *p < 0.5),
            _ => false,
        };
        let states: Vec<_> = vars.iter().map(|var| (*var, usize::from(with))).collect();
        let part = doings.solved.uses(&states).map_err(tangled)?;
        let share = (part.ln() - doings.uses.ln()).min(0.0);
        let rest = -libm::expm1(share);
        let (chance, ln_odds) = if with {
            (libm::exp(share), share - libm::log(rest))
        } else {
            (rest, libm::log(rest) - share)
        };
        let (kind, group) = ledger
            .anew
            .stages()
            .get(at)
            .cloned()
            .unwrap_or((StepKind::Context, Vec::new()));
        Ok(Stage {
            at,
            kind,
            group,
            ln_odds,
            chance,
            all: doings.uses,
            part,
            with,
            above: (at == 0).then(|| above(&ledger.weighed.weighing.model.net, &vars)),
        })
    }

    /// What a number did; none where that is not known.
    pub fn means(&self, pack: &Pack, placed: &Placed) -> Option<Means> {
        let (all, mut places) = placed.did(pack, &self.all)?;
        // With nothing seen, what is not above the conclusion has no say.
        if let Some(above) = &self.above
            && !placed.vars().any(|var| above.get(var.index()).copied().unwrap_or(true))
        {
            places = 0;
        }
        let mut means = Means {
            with: Use::default(),
            without: Use::default(),
            chance: self.chance,
            places: places as f64,
        };
        if places == 0 {
            return Some(means);
        }
        let (part, _) = placed.did(pack, &self.part)?;
        let share = if self.with { self.chance } else { 1.0 - self.chance };
        let rest = |all: f64, part: f64| ((all - share * part) / (1.0 - share)).max(0.0);
        let other = Use {
            acted: rest(all.acted, part.acted),
            idle: rest(all.idle, part.idle),
        };
        (means.with, means.without) = if self.with { (part, other) } else { (other, part) };
        Some(means)
    }
}

/// Some variables and all that is above them.
fn above(net: &Network, vars: &[Var]) -> Vec<bool> {
    let mut all = vec![false; net.len()];
    let mut next = vars.to_vec();
    while let Some(var) = next.pop() {
        if let Some(met) = all.get_mut(var.index()).filter(|met| !**met) {
            *met = true;
            next.extend(net.parents(var));
        }
    }
    all
}
