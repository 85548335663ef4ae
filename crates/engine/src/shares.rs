//! What a pack says of ordinary houses: how many would show each clue, and how many have each mechanism.

use wythe_case::Case;
use wythe_infer::{Evidence, Finding, Limits, SolveError, Solver};
use wythe_pack::{ClueIx, FamilyIx, MechanismIx, Node, Pack};

use crate::WeighError;
use crate::bind::bind;
use crate::ground::ground;
use crate::network::{End, Model};

/// The share of houses like one house, before anything is seen; exact.
#[derive(Clone, Debug, PartialEq)]
pub struct Shares {
    /// Each clue that the house has places for, in the order of the pack.
    pub clues: Vec<ClueShare>,
    /// Each mechanism that the house has places for, 0–1: at one place or more.
    pub mechanisms: Vec<(MechanismIx, f64)>,
    /// Each family with a member there, 0–1: one member or more, anywhere.
    pub families: Vec<(FamilyIx, f64)>,
}

/// How many houses would show a clue if every place were looked at.
#[derive(Clone, Debug, PartialEq)]
pub struct ClueShare {
    /// The clue.
    pub clue: ClueIx,
    /// At how many places it was reckoned.
    pub places: usize,
    /// Per grade above the lowest: the share with this grade or more at one place or more, 0–1.
    pub at_least: Vec<f64>,
}

/// The shares of the houses that a case stands for: its places and facts. Its sightings are left aside; facts that it does
/// not state are taken at their share of the reference population.
///
/// # Errors
/// As [`weigh`](crate::weigh).
pub fn shares(pack: &Pack, case: &Case) -> Result<Shares, WeighError> {
    let bound = bind(pack, case).map_err(WeighError::Mismatch)?;
    let grounded = ground(pack, case, &bound, false);
    let model = Model::bare(pack, &bound, &grounded, End::Best)?;
    let mut solver = Solver::new(&model.net, &Limits::default());
    let places = |node: Node| -> Vec<_> {
        let of_kind = bound.places(pack.at(node));
        of_kind.filter_map(|at| model.vars.get(&(node, at)).copied()).collect()
    };
    let mut share = |of: &str, evidence: Evidence| match solver.ln_evidence(&evidence) {
        Ok(ln) => Ok(-libm::expm1(ln.min(0.0))),
        Err(SolveError::TooTangled { width, limit, .. }) => Err(WeighError::TooTangled {
            width,
            limit,
            places: vec![of.to_owned()],
            help: crate::weigh::IN_PARTS.into(),
        }),
        Err(_) => Err(WeighError::Impossible),
    };
    let mut all = Shares {
        clues: Vec::new(),
        mechanisms: Vec::new(),
        families: Vec::new(),
    };
    for (at, clue) in pack.clues.iter().enumerate() {
        let vars = places(Node::Clue(ClueIx(at)));
        if vars.is_empty() {
            continue;
        }
        let mut at_least = Vec::with_capacity(clue.grades.len());
        for grade in 1..clue.grades.len() {
            let below: Vec<f64> = (0..clue.grades.len())
                .map(|one| if one < grade { 1.0 } else { 0.0 })
                .collect();
            let mut evidence = Evidence::new();
            for var in &vars {
                evidence.insert(*var, Finding::Likelihood(below.clone()));
            }
            at_least.push(share(&clue.id, evidence)?);
        }
        all.clues.push(ClueShare {
            clue: ClueIx(at),
            places: vars.len(),
            at_least,
        });
    }
    let mut absent = |of: &str, members: &[MechanismIx]| {
        let mut evidence = Evidence::new();
        let vars = members.iter().flat_map(|one| places(Node::Mechanism(*one)));
        let found = vars.fold(false, |_, var| {
            evidence.insert(var, Finding::State(0));
            true
        });
        found.then(|| share(of, evidence)).transpose()
    };
    for (at, mechanism) in pack.mechanisms.iter().enumerate() {
        if let Some(found) = absent(&mechanism.id, &[MechanismIx(at)])? {
            all.mechanisms.push((MechanismIx(at), found));
        }
    }
    for (at, family) in pack.families.iter().enumerate() {
        if let Some(found) = absent(&family.id, &family.members)? {
            all.families.push((FamilyIx(at), found));
        }
    }
    Ok(all)
}
