//! What numbers were computed from, so that they are not computed again from the same.

use crate::Finding;

/// What a slot was computed from.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) enum Memo {
    #[default]
    Unknown,
    /// A slice of a given table, where it was last.
    Given,
    Family,
    Nothing,
    State(usize),
    Likelihood(Vec<f64>),
    OfKind(Box<Finding>),
}

impl Memo {
    /// Puts the same down in the room there is. Says whether it was that before.
    pub fn renew(&mut self, finding: Option<&Finding>, live: bool) -> bool {
        let now = match (finding, &mut *self) {
            (Some(Finding::Likelihood(l)), Self::Likelihood(old)) if !live => {
                let same = old == l;
                old.clone_from(l);
                return same;
            }
            (Some(finding), Self::OfKind(old)) if **old == *finding => return true,
            (Some(Finding::State(s)), _) => Self::State(*s),
            (Some(Finding::Likelihood(_)) | None, _) if live => Self::Family,
            (Some(Finding::Likelihood(l)), _) => Self::Likelihood(l.clone()),
            (None, _) => Self::Nothing,
            (Some(finding @ Finding::OfKind { .. }), _) => Self::OfKind(Box::new(finding.clone())),
        };
        let same = *self == now;
        *self = now;
        same
    }
}
