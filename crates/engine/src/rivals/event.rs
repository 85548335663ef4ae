//! What a rival is told apart by: "the one and not the other".

use wythe_infer::Var;

use super::Instead;
use crate::joint::{Column, Questions, Row};

/// An event, as a sum of rows with signs.
#[derive(Clone, Debug)]
pub(super) struct Event(Vec<(f64, Row)>);

impl Event {
    /// At least one of `own` is there, and these are in states.
    fn any(questions: &mut Questions, own: &[Var], states: &[(Var, usize)]) -> Event {
        let with = |one: &Var| [&[(*one, 1)], states].concat();
        match own {
            [one] => Event(vec![(1.0, questions.row(&[], &with(one)))]),
            all => Event(vec![
                (1.0, questions.row(&[], states)),
                (-1.0, questions.row(all, states)),
            ]),
        }
    }

    /// Asks for what is supposed beside.
    pub fn ask(&self, questions: &mut Questions, columns: &[Column]) {
        for (_, row) in &self.0 {
            columns.iter().for_each(|column| questions.ask(*row, *column));
        }
    }

    /// Its joint chance with what is supposed beside.
    pub fn chance(&self, questions: &Questions, column: Column) -> f64 {
        let terms = self.0.iter().map(|(sign, row)| sign * questions.found(*row, column));
        terms.sum::<f64>().max(0.0)
    }
}

/// "The conclusion and not the rival", "the rival and not the conclusion"; or "the conclusion", "none that could".
pub(super) fn events(questions: &mut Questions, instead: Instead, own: &[Var], other: &[Var]) -> (Event, Event) {
    match (instead, other) {
        (Instead::Mechanism { .. }, [rival]) => (
            Event::any(questions, own, &[(*rival, 0)]),
            Event(vec![(1.0, questions.row(own, &[(*rival, 1)]))]),
        ),
        _ => (
            Event::any(questions, own, &[]),
            Event(vec![(1.0, questions.row(&[own, other].concat(), &[]))]),
        ),
    }
}
