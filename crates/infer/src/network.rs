//! The network: variables, their families, and constraints.

use std::sync::Arc;

use thiserror::Error;

use crate::noisy;

/// A variable of a [`Network`]. Variables are numbered from 0 in the order they were added.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Var(pub(crate) u32);

impl Var {
    /// The variable that was, or will be, the one at this position in the order of adding.
    pub fn from_index(index: usize) -> Self {
        Self(u32::try_from(index).unwrap_or(u32::MAX))
    }

    /// The position of the variable in the order of adding, from 0.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// One cause of a noisy-MAX variable.
///
/// `rows[s]` is the distribution over the child's states that this cause alone would produce
/// while its parent is in state `s`. The usual first row is `[1, 0, …]`: an absent cause
/// produces nothing. That is not required.
#[derive(Clone, Debug, PartialEq)]
pub struct Cause {
    /// The variable that acts.
    pub parent: Var,
    /// One distribution over the child's states for each state of the parent.
    pub rows: Vec<Vec<f64>>,
}

impl Cause {
    /// A boolean cause of a boolean effect: absent it does nothing, present it produces the
    /// effect with probability `strength` (0 to 1).
    pub fn boolean(parent: Var, strength: f64) -> Self {
        let rows = vec![vec![1.0, 0.0], vec![1.0 - strength, strength]];
        Self { parent, rows }
    }
}

/// Why something could not be added to a [`Network`].
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum NetworkError {
    /// A parent (or a constrained variable) is not in the network.
    #[error("variable {0} is not in this network")]
    Unknown(usize),
    /// A variable is named twice where it may be named once.
    #[error("variable {0} is named twice")]
    Repeated(usize),
    /// A variable needs at least one state, and a table a size that fits in memory.
    #[error("a variable needs 1 to {MAX_STATES} states and a table at most {MAX_TABLE} entries")]
    Size,
    /// A table has the wrong number of entries.
    #[error("expected {expected} entries, found {found}")]
    Shape {
        /// Entries the states and parents call for.
        expected: usize,
        /// Entries given.
        found: usize,
    },
    /// A row is not a distribution: negative, not finite, or its sum is not 1 to within 1e-9.
    #[error("row {0} is not a probability distribution")]
    NotADistribution(usize),
    /// A constraint's weight is negative or not finite.
    #[error("weight {0} is negative or not a number")]
    BadWeight(usize),
}

/// Most states a variable may have.
pub const MAX_STATES: usize = 256;
/// Most entries a given table may have.
pub const MAX_TABLE: usize = 1 << 24;

/// How far a row's sum may be from 1.
const SUM_TOLERANCE: f64 = 1e-9;

#[derive(Clone, Debug)]
pub(crate) enum Family {
    /// Row-major over the parents, last parent fastest, then the child's states.
    Table(Vec<f64>),
    NoisyMax(NoisyMax),
}

#[derive(Clone, Debug)]
pub(crate) struct NoisyMax {
    pub leak: Vec<f64>,
    pub causes: Vec<Cause>,
    /// For each distinct parent in turn, for each of its states, the distribution of the largest
    /// of what its causes produce.
    pub rows: Vec<f64>,
}

impl NoisyMax {
    /// Brings the combined rows in line with the causes.
    pub fn combine(&mut self, parents: &[Var]) {
        let plain = |_, row: &[f64], rows: &mut Vec<f64>| rows.extend_from_slice(row);
        self.rows.clear();
        noisy::combined_rows(self.leak.len(), parents, &self.causes, &mut self.rows, plain);
    }
}

#[derive(Clone, Debug)]
pub(crate) struct Node {
    pub states: usize,
    /// Without repeats, in the order first named.
    pub parents: Vec<Var>,
    pub family: Family,
}

#[derive(Clone, Debug)]
pub(crate) struct Constraint {
    pub over: Vec<Var>,
    /// Row-major, last variable fastest.
    pub weights: Vec<f64>,
}

#[derive(Clone, Debug, Default)]
pub(crate) struct Model {
    pub nodes: Vec<Node>,
    pub constraints: Vec<Constraint>,
}

/// A directed acyclic network of discrete variables.
///
/// It grows by adding. A parent must be in the network before its child, so a cycle cannot be
/// written down. Cloning is cheap: clones share their contents until one of them grows.
#[derive(Clone, Debug, Default)]
pub struct Network {
    pub(crate) model: Arc<Model>,
}

impl Network {
    /// An empty network.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a variable given by a general conditional table.
    ///
    /// `rows` has one distribution over `states` for each configuration of the parents, in
    /// row-major order: the last parent's state changes fastest. A root has one row, its prior.
    ///
    /// # Errors
    /// [`NetworkError`] if a parent is unknown or repeated, the length is wrong, or a row is not
    /// a distribution.
    pub fn table(&mut self, states: usize, parents: &[Var], rows: Vec<f64>) -> Result<Var, NetworkError> {
        check_states(states)?;
        let configurations = self.configurations(parents)?;
        let expected = configurations.saturating_mul(states);
        if expected > MAX_TABLE {
            return Err(NetworkError::Size);
        }
        check_shape(expected, rows.len())?;
        for (i, row) in rows.chunks_exact(states).enumerate() {
            check_distribution(i, row)?;
        }
        Ok(self.push(Node {
            states,
            parents: parents.to_vec(),
            family: Family::Table(rows),
        }))
    }

    /// Adds a noisy-MAX variable (Pearl's noisy-OR when it has two states; Díez 1993 for more).
    ///
    /// The state is the largest of what the leak and every cause produce, each independently
    /// given its parent. `leak` is a distribution over the child's states. A parent may appear
    /// in several causes.
    ///
    /// # Errors
    /// [`NetworkError`] if a parent is unknown, a cause has a row too few or too many, or a row
    /// is not a distribution over the child's states.
    pub fn noisy_max(&mut self, leak: Vec<f64>, causes: Vec<Cause>) -> Result<Var, NetworkError> {
        let states = leak.len();
        check_states(states)?;
        check_distribution(0, &leak)?;
        let mut parents = Vec::new();
        let mut row_number = 0;
        for cause in &causes {
            let parent = self.node(cause.parent)?;
            check_shape(parent.states, cause.rows.len())?;
            for row in &cause.rows {
                row_number += 1;
                check_shape(states, row.len())?;
                check_distribution(row_number, row)?;
            }
            if !parents.contains(&cause.parent) {
                parents.push(cause.parent);
            }
        }
        let mut noisy = NoisyMax {
            rows: Vec::new(),
            leak,
            causes,
        };
        noisy.combine(&parents);
        Ok(self.push(Node {
            states,
            family: Family::NoisyMax(noisy),
            parents,
        }))
    }

    /// Adds a factor over variables that is always in force: each configuration's probability is
    /// multiplied by its weight, and the whole is normalised again. Weight 0 forbids.
    ///
    /// `weights` is row-major over `over`, the last variable fastest.
    ///
    /// ```
    /// use wythe_infer::{Evidence, Limits, Network, solve};
    ///
    /// let mut net = Network::new();
    /// let a = net.table(2, &[], vec![0.8, 0.2])?;
    /// let b = net.table(2, &[], vec![0.6, 0.4])?;
    /// // One of them, and not both.
    /// net.constraint(&[a, b], vec![0.0, 1.0, 1.0, 0.0])?;
    /// let solved = solve(&net, &Evidence::new(), &Limits::default())?;
    /// assert!((solved.posterior(a)[1] - 0.2 * 0.6 / (0.2 * 0.6 + 0.8 * 0.4)).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// [`NetworkError`] if a variable is unknown or repeated, the length is wrong, or a weight is
    /// negative or not finite.
    pub fn constraint(&mut self, over: &[Var], weights: Vec<f64>) -> Result<(), NetworkError> {
        check_shape(self.configurations(over)?, weights.len())?;
        if let Some(i) = weights.iter().position(|w| !(w.is_finite() && *w >= 0.0)) {
            return Err(NetworkError::BadWeight(i));
        }
        Arc::make_mut(&mut self.model).constraints.push(Constraint {
            over: over.to_vec(),
            weights,
        });
        Ok(())
    }

    /// How many variables there are.
    pub fn len(&self) -> usize {
        self.model.nodes.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.model.nodes.is_empty()
    }

    /// All variables, in the order of adding.
    pub fn vars(&self) -> impl Iterator<Item = Var> + use<> {
        (0..self.len() as u32).map(Var)
    }

    /// The number of states of a variable; 0 if it is not in this network.
    pub fn states(&self, var: Var) -> usize {
        self.model.nodes.get(var.index()).map_or(0, |n| n.states)
    }

    /// The parents of a variable, without repeats; none if it is not in this network.
    pub fn parents(&self, var: Var) -> &[Var] {
        let node = self.model.nodes.get(var.index());
        node.map_or(&[], |n| n.parents.as_slice())
    }

    /// The causes of a noisy-MAX variable in the order given; none for a table.
    pub fn causes(&self, var: Var) -> &[Cause] {
        match self.model.nodes.get(var.index()).map(|n| &n.family) {
            Some(Family::NoisyMax(n)) => &n.causes,
            _ => &[],
        }
    }

    /// Whether the variable is a noisy-MAX.
    pub fn is_noisy_max(&self, var: Var) -> bool {
        let node = self.model.nodes.get(var.index());
        matches!(node.map(|n| &n.family), Some(Family::NoisyMax(_)))
    }

    /// Whether another has the same variables with the same parents and kinds of family, and constraints over the same: a
    /// plan for one is a plan for the other.
    pub(crate) fn has_shape_of(&self, other: &Network) -> bool {
        let (a, b) = (&*self.model, &*other.model);
        let nodes = |(a, b): (&Node, &Node)| {
            let kinds = std::mem::discriminant(&a.family) == std::mem::discriminant(&b.family);
            kinds && a.states == b.states && a.parents == b.parents
        };
        let constraints = a.constraints.iter().map(|c| &c.over);
        Arc::ptr_eq(&self.model, &other.model)
            || a.nodes.len() == b.nodes.len()
                && a.nodes.iter().zip(&b.nodes).all(nodes)
                && constraints.eq(b.constraints.iter().map(|c| &c.over))
    }

    fn node(&self, var: Var) -> Result<&Node, NetworkError> {
        let node = self.model.nodes.get(var.index());
        node.ok_or(NetworkError::Unknown(var.index()))
    }

    fn configurations(&self, over: &[Var]) -> Result<usize, NetworkError> {
        let mut size = 1usize;
        for (i, &var) in over.iter().enumerate() {
            size = size.saturating_mul(self.node(var)?.states);
            if over[..i].contains(&var) {
                return Err(NetworkError::Repeated(var.index()));
            }
        }
        if size > MAX_TABLE {
            return Err(NetworkError::Size);
        }
        Ok(size)
    }

    fn push(&mut self, node: Node) -> Var {
        let model = Arc::make_mut(&mut self.model);
        model.nodes.push(node);
        Var(model.nodes.len() as u32 - 1)
    }
}

fn check_states(states: usize) -> Result<(), NetworkError> {
    if (1..=MAX_STATES).contains(&states) {
        Ok(())
    } else {
        Err(NetworkError::Size)
    }
}

fn check_shape(expected: usize, found: usize) -> Result<(), NetworkError> {
    if expected == found {
        Ok(())
    } else {
        Err(NetworkError::Shape { expected, found })
    }
}

pub(crate) fn is_distribution(row: &[f64]) -> bool {
    let sum: f64 = row.iter().sum();
    row.iter().all(|p| p.is_finite() && *p >= 0.0) && (sum - 1.0).abs() <= SUM_TOLERANCE
}

fn check_distribution(i: usize, row: &[f64]) -> Result<(), NetworkError> {
    if is_distribution(row) {
        Ok(())
    } else {
        Err(NetworkError::NotADistribution(i))
    }
}
