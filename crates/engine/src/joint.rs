//! Joint chances with the evidence, asked for together: what several questions have in common is worked out once.
//!
//! A row is what is supposed of mechanisms, a column what is supposed beside: a look that finds at most a grade, or a
//! reading left out. Whoever asks names rows and columns, asks for pairs, and reads them once all is answered.

mod open;

use std::collections::BTreeMap;

use wythe_infer::{Solved, Supposition, Var};

use crate::kept::tangled;
use crate::{WeighError, Weighed};
pub(crate) use open::Open;
use open::{Known, Way};

/// What is supposed beside: nothing, a finding left out, or a look that finds at most a state.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Further {
    Nothing,
    Without(Var),
    AtMost(Var, usize),
}

impl Further {
    /// Looks that find at most each of a variable's states in turn. At most the last is anything.
    pub fn up_to(var: Var, states: usize) -> impl Iterator<Item = Further> {
        let below = (0..states.saturating_sub(1)).map(move |state| Further::AtMost(var, state));
        below.chain((states > 0).then_some(Further::Nothing))
    }

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
    /// Answers all that was asked.
    pub fn answer(&mut self, weighed: &Weighed<'_>) -> Result<(), WeighError> {
        let open = self.open(weighed)?;
        self.close(open)
    }

    /// What there is to work out: of what could still be looked at, of what was seen, and of before.
    pub fn open<'w>(&mut self, weighed: &'w Weighed<'_>) -> Result<[Open<'w>; 3], WeighError> {
        let (mut wide, mut before) = (Open::default(), Open::default());
        if !self.wide.groups.is_empty() {
            wide = self.wide.open(&weighed.wide()?.solved)?;
        }
        if !self.before.groups.is_empty() {
            before = self.before.open(weighed.before()?)?;
        }
        Ok([wide, self.seen.open(&weighed.solved)?, before])
    }

    /// Takes in what was worked out, and works out what was not.
    pub fn close(&mut self, [wide, seen, before]: [Open<'_>; 3]) -> Result<(), WeighError> {
        self.wide.close(wide)?;
        self.seen.close(seen)?;
        self.before.close(before)
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

    fn open<'w>(&mut self, solved: &'w Solved) -> Result<Open<'w>, WeighError> {
        let columns = &self.columns;
        let ways = self.groups.iter_mut().map(|group| group.way(solved, columns));
        Ok(Open::new(ways.collect::<Result<_, WeighError>>()?))
    }

    fn close(&mut self, open: Open<'_>) -> Result<(), WeighError> {
        for (group, found) in self.groups.iter_mut().zip(open.close()?) {
            group.found = found;
        }
        Ok(())
    }

    /// P(row, column, evidence) over P(evidence), once answered; not a number for what was not asked.
    pub fn found(&self, row: Row, column: Column) -> f64 {
        self.of_row(row)(column)
    }

    /// The same for any column.
    pub fn of_row(&self, (group, row): Row) -> impl Fn(Column) -> f64 {
        let group = self.groups.get(group);
        let places = group.map_or(&[][..], |group| &group.places);
        let found = group
            .and_then(|group| group.found.get(row))
            .map_or(&[][..], Vec::as_slice);
        move |column| {
            let place = places.get(column).copied().unwrap_or(usize::MAX);
            found.get(place).copied().unwrap_or(f64::NAN)
        }
    }
}

impl Group {
    /// How its pairs are answered.
    fn way<'w>(&mut self, solved: &'w Solved, columns: &[Further]) -> Result<Way<'w>, WeighError> {
        let beside = self.gather(columns);
        let (mut rows, asked) = (std::mem::take(&mut self.rows), std::mem::take(&mut self.asked));
        let away: Vec<(Var, usize)> = self.away.iter().map(|var| (*var, 0)).collect();
        let pairs = asked.iter().map(Vec::len).sum::<usize>();
        if !away.is_empty() && pairs >= WORTH {
            return Ok(Way::Known(Known {
                solved,
                away,
                rows,
                beside,
                asked,
            }));
        }
        rows.iter_mut().for_each(|row| row.extend(&away));
        let across = solved.across_in_parts(rows, beside, asked).map_err(tangled)?;
        Ok(Way::Across(across))
    }

    /// The columns that any of its rows asks for, and from now on each by its place among them.
    fn gather(&mut self, columns: &[Further]) -> Vec<Supposition> {
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
        beside
    }
}
