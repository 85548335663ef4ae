//! What is changed about a case, one thing at a time.

use wythe_infer::{Row, Rows};
use wythe_pack::Node;

use crate::network::{End, prior};
use crate::{Number, Weighed};

/// A case as it would be with one thing changed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Change {
    /// As it is.
    #[default]
    Nothing,
    /// A reading taken away.
    Without(usize),
    /// A reading moved by one class, up or down.
    Moved(usize, bool),
    /// Every prevalence at the low end of its range.
    Low,
    /// Every prevalence at the high end of its range.
    High,
    /// A number of the pack, at a point of its curve as it rises or falls.
    Number(Number, bool, usize),
}

/// The rows of a number at a point of its curve, worked out where they are needed.
pub(super) type MovedTo<'r> = &'r dyn Fn(usize) -> Rows;

impl Change {
    /// Whether it is one of the network's rows, and not of the readings.
    pub fn moves_rows(self) -> bool {
        matches!(self, Change::Low | Change::High | Change::Number(..))
    }

    /// The rows that it moves, to what.
    pub fn rows(self, weighed: &Weighed<'_>, moved: MovedTo<'_>) -> Rows {
        match self {
            Change::Low => prevalences(weighed, End::Low),
            Change::High => prevalences(weighed, End::High),
            Change::Number(_, _, point) => moved(point),
            _ => Rows::new(),
        }
    }
}

/// Every prevalence at one end of its range, in the rows of the network.
fn prevalences(weighed: &Weighed<'_>, end: End) -> Rows {
    let weighing = &weighed.weighing;
    let own = weighing.model.own.iter();
    own.filter_map(|((node, _), var)| match node {
        Node::Mechanism(at) => {
            let p = prior(weighed.pack(), &weighing.bound, *at, end);
            Some((Row::Prior(*var), vec![1.0 - p, p]))
        }
        _ => None,
    })
    .collect()
}
