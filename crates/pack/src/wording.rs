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
    /// By when, per action.
    pub by_when: Vec<(Action, String)>,
    /// For the client: what this is.
    pub client_about: Vec<String>,
    /// For the client: words of the trade and what each means, told where a text uses them.
    pub client_words: Vec<(String, String)>,
    /// For the client: a plain sentence per support.
    pub client_supports: Vec<(Support, String)>,
    /// For an engineer: what the packet is, and what it is not.
    pub engineer_about: Vec<String>,
    /// For an engineer: what is asked. `{places}` is filled in.
    pub engineer_questions: Vec<String>,
}

impl Wording {
    /// The sentence for a support; empty when the pack gives none.
    pub fn support(&self, support: Support) -> &str {
        self.supports
            .iter()
            .find(|(key, _)| *key == support)
            .map_or("", |(_, text)| text)
    }

    /// The plain sentence for a support; empty when the pack gives none.
    pub fn client_support(&self, support: Support) -> &str {
        self.client_supports
            .iter()
            .find(|(key, _)| *key == support)
            .map_or("", |(_, text)| text)
    }

    /// By when an action is asked for; empty when the pack gives none.
    pub fn by_when(&self, action: Action) -> &str {
        self.by_when
            .iter()
            .find(|(key, _)| *key == action)
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
