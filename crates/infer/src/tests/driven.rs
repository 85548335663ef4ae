//! One solver driven through a long random run of everything it offers, against a fresh solver at every answer.
//!
//! Whatever is kept from before (the plan, tables, weights, messages, watched passes, the room of another solver) must never
//! show in an answer.

mod abreast;

use std::sync::Arc;

use super::brute::Brute;
use super::random::{self, Random};
use crate::network::Family;
use crate::plan::{Plan, Style};
use crate::*;

const RUNS: u64 = 3000;
const STEPS: usize = 30;

type Assignment = Vec<(Var, usize)>;

/// A solver, and what it ought to answer for.
struct Driven {
    seed: u64,
    r: Random,
    net: Network,
    evidence: Evidence,
    kept: Vec<Var>,
    watched: Vec<Assignment>,
    /// What is read, if not everything.
    reads: Option<Vec<Var>>,
    /// The evidence that the solver was last given to solve by again.
    shared: Arc<Evidence>,
    solver: Solver,
    /// Whether the solver's last pass is of this network and this evidence.
    solved: bool,
    room: AbreastRoom,
    compared: [usize; 9],
}

fn same(found: f64, expected: f64) -> bool {
    found == expected || (found - expected).abs() < 1e-9
}

/// The same shape with other numbers in some families.
fn renumbered(r: &mut Random, net: &Network) -> Network {
    let mut net = net.clone();
    let model = Arc::make_mut(&mut net.model);
    for node in &mut model.nodes {
        if r.chance(0.5) {
            continue;
        }
        match &mut node.family {
            Family::Table(rows) => rows
                .chunks_exact_mut(node.states)
                .for_each(|row| row.copy_from_slice(&r.distribution(node.states))),
            Family::NoisyMax(noisy) => {
                noisy.leak = r.distribution(node.states);
                for row in noisy.causes.iter_mut().flat_map(|c| &mut c.rows) {
                    *row = r.distribution(node.states);
                }
                noisy.combine(&node.parents);
            }
        }
    }
    for constraint in &mut model.constraints {
        constraint.weights.iter_mut().for_each(|w| *w = r.unit());
    }
    net
}

impl Driven {
    /// In the room that another left.
    fn new(seed: u64, room: Room) -> Self {
        let mut r = Random(seed ^ 0x00d1_5ea5_e000);
        let net = match seed % 4 {
            0 => random::two_layers(&mut r),
            _ => random::network(&mut r),
        };
        let evidence = random::evidence(&mut r, &net);
        let solver = room.solver(&net, &Limits::default());
        let mut driven = Self {
            seed,
            r,
            net,
            evidence,
            kept: Vec::new(),
            watched: Vec::new(),
            reads: None,
            shared: Arc::default(),
            solver,
            solved: false,
            room: AbreastRoom::default(),
            compared: [0; 9],
        };
        driven.restart();
        driven
    }

    /// Another solver, which keeps and watches something, or begins with an unusual layout.
    fn restart(&mut self) {
        let limits = Limits::default();
        let style = match self.r.below(4) {
            0 => Some(Style {
                chain_above: 1,
                mix_above: 1,
                ..Style::TABLES
            }),
            1 => Some(Style {
                sweep: true,
                ..Style::TABLES
            }),
            _ => None,
        };
        let plan = style.map(|style| Plan::new(&self.net, &self.evidence, &[], style, &limits).unwrap());
        self.kept.clear();
        let nothing = Solver::new(&Network::new(), &limits);
        let room = std::mem::replace(&mut self.solver, nothing).into_room();
        let mut solver = room.solver(&self.net, &limits);
        solver.plan = plan.map(Arc::new);
        if style.is_none() && self.r.chance(0.5) {
            self.kept = self.net.vars().filter(|_| self.r.chance(0.4)).collect();
            solver = solver.keeping(&self.kept);
        }
        self.watched = (0..self.r.below(4)).map(|_| self.assignment()).collect();
        self.solver = solver.watching(&self.watched);
        self.reads = None;
        self.solved = false;
    }

    /// Reads some only, from the next solution on.
    fn read(&mut self) {
        let vars: Vec<Var> = self.net.vars().filter(|_| self.r.chance(0.3)).collect();
        self.solver.reading(&vars);
        self.reads = Some(vars);
        self.solved = false;
    }

    fn assignment(&mut self) -> Assignment {
        let mut vars: Vec<Var> = self.net.vars().collect();
        let n = self.r.below(3);
        let mut one = Vec::new();
        for _ in 0..n.min(vars.len()) {
            let var = vars.swap_remove(self.r.below(vars.len()));
            one.push((var, self.r.below(self.net.states(var))));
        }
        one
    }

    /// Evidence grows, shrinks, changes, vanishes or is drawn anew.
    fn turn(&mut self) {
        let seen: Vec<Var> = self.evidence.iter().map(|(v, _)| v).collect();
        match self.r.below(10) {
            0 => self.evidence = Evidence::new(),
            1 => self.evidence = random::evidence(&mut self.r, &self.net),
            2..5 if !seen.is_empty() => {
                self.evidence.remove(seen[self.r.below(seen.len())]);
            }
            5..8 if !seen.is_empty() => {
                let var = seen[self.r.below(seen.len())];
                let finding = random::finding(&mut self.r, &self.net, var);
                self.evidence.insert(var, finding);
            }
            _ => {
                let var = Var::from_index(self.r.below(self.net.len()));
                let finding = random::finding(&mut self.r, &self.net, var);
                self.evidence.insert(var, finding);
            }
        }
        self.solved = false;
    }

    /// Other numbers, row by row or all at once.
    fn change(&mut self) {
        let rows = self.rows();
        assert!(self.solver.change(&rows), "{}: {rows:?}", self.seed);
        self.net = self.solver.net.clone();
        self.solved = false;
    }

    fn rows(&mut self) -> Rows {
        let mut rows = Vec::new();
        for _ in 0..1 + self.r.below(3) {
            let var = Var::from_index(self.r.below(self.net.len()));
            let causes = self.net.causes(var);
            let row = match (self.net.is_noisy_max(var), causes.is_empty()) {
                (false, _) => Row::Prior(var),
                (true, false) if self.r.chance(0.7) => {
                    let cause = self.r.below(causes.len());
                    let state = self.r.below(causes[cause].rows.len());
                    Row::Cause { var, cause, state }
                }
                (true, _) => Row::Leak(var),
            };
            if self.net.row(row).is_some() {
                rows.push((row, self.r.distribution(self.net.states(var))));
            }
        }
        rows
    }

    fn renumber(&mut self) {
        if self.r.chance(0.3) {
            // Quite another network, mostly with as many variables.
            let n = self.net.len();
            for _ in 0..10 {
                self.net = random::network(&mut self.r);
                if self.net.len() == n {
                    break;
                }
            }
            self.evidence = random::evidence(&mut self.r, &self.net);
        } else {
            self.net = renumbered(&mut self.r, &self.net);
        }
        self.solver.renumber(&self.net);
        self.solved = false;
    }

    /// ln P(evidence and these states) by plans made for it alone.
    fn expected(&self, states: &[(Var, usize)]) -> f64 {
        queries::ln_with(&self.net, &self.evidence, states, &Limits::default()).unwrap()
    }

    fn solve(&mut self) {
        let what = |found: f64, expected: f64, of: &str| {
            assert!(same(found, expected), "{} {of}: {found} for {expected}", self.seed);
        };
        let expected = self.expected(&[]);
        if self.r.chance(0.2) {
            what(self.solver.ln_evidence(&self.evidence).unwrap(), expected, "ln P alone");
            self.compared[0] += 1;
        } else {
            let found = if self.r.chance(0.5) {
                // The same in memory, or only equal to it.
                if *self.shared != self.evidence || self.r.chance(0.2) {
                    self.shared = Arc::new(self.evidence.clone());
                } else {
                    self.compared[6] += 1;
                }
                self.solver.solve_again(&self.shared)
            } else {
                self.solver.solve(&self.evidence)
            };
            match found {
                Ok(ln) => what(ln, expected, "ln P"),
                Err(error) => {
                    assert_eq!(error, SolveError::Impossible, "{}", self.seed);
                    what(f64::NEG_INFINITY, expected, "impossible");
                }
            }
            if expected.is_finite() {
                self.posteriors();
            }
        }
        self.solved = true;
    }

    fn posteriors(&mut self) {
        let all: Vec<Var> = self.net.vars().collect();
        let mut fresh = Solver::new(&self.net, &Limits::default()).keeping(&all);
        let ln = fresh.solve(&self.evidence).unwrap();
        if self.r.chance(0.2) {
            let (found, expected) = [&mut self.solver, &mut fresh]
                .map(|one| one.conflict(&self.evidence, ln).unwrap())
                .into();
            assert!(same(found, expected), "{} conflict: {found} for {expected}", self.seed);
            self.compared[5] += 1;
        }
        let brute = self.r.chance(0.03).then(|| Brute::new(&self.net, &self.evidence));
        for var in self.net.vars() {
            let read = self.reads.as_ref().is_none_or(|reads| reads.contains(&var));
            let Some(found) = self.solver.posterior(var) else {
                let kept = self.kept.contains(&var) && self.evidence.get(var).is_none();
                assert!(!(read && kept), "{} {var:?} was to be kept", self.seed);
                continue;
            };
            assert!(read, "{} {var:?} is not read", self.seed);
            self.compared[7] += usize::from(self.reads.is_some());
            let found: Vec<f64> = found.collect();
            let expected = match fresh.posterior(var) {
                Some(expected) => expected.collect(),
                None => (0..found.len())
                    .map(|s| f64::from(u8::from(self.evidence.get(var) == Some(&Finding::State(s)))))
                    .collect::<Vec<f64>>(),
            };
            let brute = brute.as_ref().map(|brute| brute.posterior(var));
            for expected in [Some(expected), brute].into_iter().flatten() {
                let near = found.iter().zip(&expected).all(|(a, b)| same(*a, *b));
                assert!(near, "{} {var:?}: {found:?} for {expected:?}", self.seed);
                self.compared[1] += 1;
            }
        }
    }

    /// What is asked beside a solution.
    fn ask(&mut self) {
        let seed = self.seed;
        match self.r.below(3) {
            0 => {
                let all: Vec<Assignment> = (0..1 + self.r.below(6)).map(|_| self.assignment()).collect();
                let Some(found) = self.solver.ln_with(&all) else {
                    return;
                };
                for (one, found) in all.iter().zip(found) {
                    let expected = self.expected(one);
                    assert!(same(found, expected), "{seed} with {one:?}: {found} for {expected}");
                    self.compared[2] += 1;
                }
            }
            1 => {
                let all: Vec<Vec<(Var, Vec<f64>)>> = (0..1 + self.r.below(6))
                    .map(|_| {
                        let one = self.assignment();
                        let weights = |(var, _): &(Var, usize)| {
                            let states = 0..self.net.states(*var);
                            let weight = |_| if self.r.chance(0.2) { 0.0 } else { 2.0 * self.r.unit() };
                            (*var, states.map(weight).collect())
                        };
                        one.iter().map(weights).collect()
                    })
                    .collect();
                let Some(found) = self.solver.ln_times(&all) else {
                    return;
                };
                for (one, found) in all.iter().zip(found) {
                    let expected = self.weighted(one, &mut Vec::new()).ln();
                    assert!(same(found, expected), "{seed} times {one:?}: {found} for {expected}");
                    self.compared[3] += 1;
                }
            }
            _ => {
                let Some(found) = self.solver.ln_watched() else {
                    return;
                };
                for (one, found) in self.watched.iter().zip(found) {
                    let expected = self.expected(one);
                    assert!(same(found, expected), "{seed} watched {one:?}: {found} for {expected}");
                    self.compared[4] += 1;
                }
            }
        }
    }

    /// P(evidence) with the states of some variables weighted, state by state.
    fn weighted(&self, rest: &[(Var, Vec<f64>)], states: &mut Assignment) -> f64 {
        let Some(((var, weights), rest)) = rest.split_first() else {
            return self.expected(states).exp();
        };
        let mut sum = 0.0;
        for (state, weight) in weights.iter().enumerate().filter(|(_, w)| **w > 0.0) {
            states.push((*var, state));
            sum += weight * self.weighted(rest, states);
            states.pop();
        }
        sum
    }

    fn step(&mut self) {
        match self.r.below(20) {
            0 => self.restart(),
            1 => self.renumber(),
            2..5 => self.change(),
            5 => {
                // A finding that does not fit is refused, and what was solved stays.
                let bad = self.evidence.clone().with(Var(0), Finding::State(99));
                assert!(matches!(self.solver.solve(&bad), Err(SolveError::Mismatch { .. })));
            }
            6 => {
                self.solver = self.solver.anew();
                self.solved = false;
            }
            7..13 => self.turn(),
            13 => self.read(),
            14..16 => self.abreast(),
            _ => {}
        }
        if self.r.chance(0.8) {
            self.solve();
        }
        while self.solved && self.r.chance(0.5) {
            self.ask();
        }
    }
}

#[test]
fn a_driven_solver_answers_as_a_fresh_one() {
    let mut compared = [0; 9];
    let mut room = Room::default();
    for seed in 0..RUNS {
        let mut driven = Driven::new(seed, room);
        (0..STEPS).for_each(|_| driven.step());
        room = driven.solver.into_room();
        compared.iter_mut().zip(driven.compared).for_each(|(all, n)| *all += n);
    }
    assert!(compared.iter().all(|n| *n > 1_000), "{compared:?}");
}
