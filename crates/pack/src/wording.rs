use crate::{Action, Support};

/// Sentences of a pack. `{title}`, `{picture}` and `{places}` are filled in.
#[derive(Clone, Debug, Default)]
pub struct Wording {
    /// Cautions printed on every output.
    pub cautions: Vec<String>,
    /// A sentence per support.
    pub supports: Vec<(Support, String)>,
    /// A sentence per action.
    pub actions: Vec<(Action, String)>,
}

impl Wording {
    /// The sentence for a support; empty when the pack gives none.
    pub fn support(&self, support: Support) -> &str {
        self.supports
            .iter()
            .find(|(key, _)| *key == support)
            .map_or("", |(_, text)| text)
    }

    /// The sentence for an action; empty when the pack gives none.
    pub fn action(&self, action: Action) -> &str {
        self.actions
            .iter()
            .find(|(key, _)| *key == action)
            .map_or("", |(_, text)| text)
    }
}
