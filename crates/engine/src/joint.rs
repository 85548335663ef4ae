//! Joint chances with the evidence, asked for together: what several questions have in common is worked out once.
//!
//! A row is what is supposed of mechanisms, a column what is supposed beside: a look that finds at most a grade, or a
//! reading left out. Whoever asks names rows and columns, asks for pairs, and reads them once all is answered.

use std::collections::BTreeMap;

use wythe_infer::{SolveError, Solved, Supposition, Var};

use crate::kept::tangled;
use crate::{WeighError, Weighed};

/// What is supposed beside: nothing, a finding left out, or a look that finds at most a state.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Further {
    Nothing,
    Without(Var),
    AtMost(Var, usize),
}

impl Further {
    fn supposition(self) -> Supposition {
        let mut one = Supposition::default();
        match self {
            Further::Nothing => {}
            Further::Without(var) => one.without = Some(var),
            Further::AtMost(var, state) => one.at_most.push((var, state)),
        }
        one
    }
}

/// The number of a row: its group, and its place there.
pub(crate) type Row = (usize, usize);
/// The number of a column.
pub(crate) type Column = usize;

/// All that is asked of a case, until it is answered together.
#[derive(Debug, Default)]
pub(crate) struct Asking {
    /// By what was seen.
    pub seen: Questions,
    /// By the same, with every clue that could still be looked at.
    pub wide: Questions,
    /// Before any sighting.
    pub before: Questions,
}

impl Asking {
    pub fn answer(&mut self, weighed: &Weighed<'_>) -> Result<(), WeighError> {
        self.seen.answer(&weighed.solved)?;
        if !self.wide.groups.is_empty() {
            self.wide.answer(&weighed.wide()?.solved)?;
        }
        if !self.before.groups.is_empty() {
            self.before.answer(weighed.before()?)?;
        }
        Ok(())
    }
}

/// Pairs to be answered together.
#[derive(Debug, Default)]
pub(crate) struct Questions {
    groups: Vec<Group>,
    by_away: BTreeMap<Vec<Var>, usize>,
    columns: Vec<Further>,
    by_further: BTreeMap<Further, usize>,
}

/// Rows in which the same many variables are at rest.
#[derive(Debug, Default)]
struct Group {
    away: Vec<Var>,
    rows: Vec<Vec<(Var, usize)>>,
    by_states: BTreeMap<Vec<(Var, usize)>, usize>,
    /// Of each row, the columns that it asks for.
    asked: Vec<Vec<usize>>,
    /// Where each column is in `found`.
    places: Vec<usize>,
    found: Vec<Vec<f64>>,
}

/// So many pairs with many variables at rest are worth a solution in which that is known.
const WORTH: usize = 12;

impl Questions {
    /// That these are at rest, and others in states. Where more than one is at rest, that had better be what several rows
    /// have in common.
    pub fn row(&mut self, away: &[Var], states: &[(Var, usize)]) -> Row {
        let (mut away, mut states) = (away.to_vec(), states.to_vec());
        if let [one] = away[..] {
            states.push((one, 0));
            away.clear();
        }
        away.sort_unstable();
        away.dedup();
        states.sort_unstable();
        states.dedup();
        let groups = &mut self.groups;
        let group = *self.by_away.entry(away).or_insert_with_key(|away| {
            groups.push(Group {
                away: away.clone(),
                ..Group::default()
            });
            groups.len() - 1
        });
        let Some(own) = groups.get_mut(group) else {
            return (group, 0);
        };
        let (rows, asked) = (&mut own.rows, &mut own.asked);
        let row = own.by_states.entry(states).or_insert_with_key(|states| {
            rows.push(states.clone());
            asked.push(Vec::new());
            rows.len() - 1
        });
        (group, *row)
    }

    /// What is supposed beside.
    pub fn column(&mut self, further: Further) -> Column {
        let columns = &mut self.columns;
        *self.by_further.entry(further).or_insert_with(|| {
            columns.push(further);
            columns.len() - 1
        })
    }

    /// Asks for a pair.
    pub fn ask(&mut self, (group, row): Row, column: Column) {
        let asked = self.groups.get_mut(group).and_then(|group| group.asked.get_mut(row));
        asked.into_iter().for_each(|asked| asked.push(column));
    }

    /// Answers all that was asked.
    fn answer(&mut self, solved: &Solved) -> Result<(), WeighError> {
        for group in &mut self.groups {
            group.answer(solved, &self.columns)?;
        }
        Ok(())
    }

    /// P(row, column, evidence) over P(evidence), once answered; not a number for what was not asked.
    pub fn found(&self, (group, row): Row, column: Column) -> f64 {
        let value = || {
            let group = self.groups.get(group)?;
            group.found.get(row)?.get(*group.places.get(column)?).copied()
        };
        value().unwrap_or(f64::NAN)
    }
}

impl Group {
    fn answer(&mut self, solved: &Solved, columns: &[Further]) -> Result<(), WeighError> {
        self.places = vec![usize::MAX; columns.len()];
        let mut beside = Vec::new();
        for asked in &mut self.asked {
            asked.sort_unstable();
            asked.dedup();
            for column in asked {
                if let (Some(place), Some(further)) = (self.places.get_mut(*column), columns.get(*column)) {
                    if *place == usize::MAX {
                        *place = beside.len();
                        beside.push(further.supposition());
                    }
                    *column = *place;
                }
            }
        }
        let away: Vec<(Var, usize)> = self.away.iter().map(|var| (*var, 0)).collect();
        let many = self.asked.iter().map(Vec::len).sum::<usize>() >= WORTH;
        let known = match (!away.is_empty() && many).then(|| solved.given(&away)) {
            Some(Err(SolveError::Impossible)) => {
                self.found = vec![vec![0.0; beside.len()]; self.rows.len()];
                return Ok(());
            }
            known => known.transpose().map_err(tangled)?,
        };
        if known.is_none() {
            self.rows.iter_mut().for_each(|row| row.extend(&away));
        }
        let own = known.as_ref().unwrap_or(solved);
        let share = libm::exp(own.ln_evidence() - solved.ln_evidence());
        self.found = own.across(&self.rows, &beside, &self.asked).map_err(tangled)?;
        if known.is_some() {
            self.found.iter_mut().flatten().for_each(|value| *value *= share);
        }
        Ok(())
    }
}
