//! Rule packs: rule files read, checked and kept as one template graph.
//!
//! A pack holds all the knowledge: mechanisms, hidden responses, clues, the links between them, contexts, limits,
//! hazards and the policy (support bounds, cost ratio). This crate reads it from text, reports every problem with its
//! place, and refuses a pack whose names dangle, whose graph has a cycle, or whose sentences make a determination.
//! It knows nothing of any particular case.
#![warn(clippy::indexing_slicing)]

mod check;
mod clue;
pub mod guard;
mod link;
mod mechanism;
mod names;
mod place;
mod policy;
mod read;
mod region;
mod response;
mod rule;
mod source;
mod template;
mod wording;

pub use clue::{Clue, ComputedFrom, Effort, Grade, Instrument, Mark, Pattern, PatternKind, Wait, Zone};
pub use link::{Chance, Link, Node, NotExpected, Reach};
pub use mechanism::{
    Advice, ContextEffect, Family, HarmIfWrong, Mechanism, MindChanger, MonitorPlan, Prevalence, Rival,
};
pub use place::{Context, ContextFrom, Drawn, PlaceKind};
pub use policy::{Action, Bounds, Consequence, Corroboration, Policy, Referral, Support, Unsure};
pub use read::PackFile;
pub use region::{Region, Retired};
pub use response::{Opposed, Response};
pub use rule::{Bound, Hazard, Limit, SuppressedBy, Suppression};
pub use source::{Basis, Source, SourceKind};
pub use template::{Rule, Template};
pub use wording::Wording;

use wythe_text::Problems;

/// The only pack format this crate reads.
pub const FORMAT: i64 = 1;

macro_rules! indices {
    ($($(#[$doc:meta])* $name:ident => $field:ident : $what:ty;)*) => {
        $(
            $(#[$doc])*
            #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
            pub struct $name(pub usize);
            impl std::ops::Index<$name> for Pack {
                type Output = $what;
                #[allow(clippy::indexing_slicing, reason = "indices are made only by the reader of the same pack")]
                fn index(&self, at: $name) -> &$what {
                    &self.$field[at.0]
                }
            }
        )*
    };
}

indices! {
    /// Index of a place kind in its pack.
    KindIx => kinds: PlaceKind;
    /// Index of a context in its pack.
    ContextIx => contexts: Context;
    /// Index of a clue in its pack.
    ClueIx => clues: Clue;
    /// Index of a response in its pack.
    ResponseIx => responses: Response;
    /// Index of a mechanism in its pack.
    MechanismIx => mechanisms: Mechanism;
    /// Index of a family in its pack.
    FamilyIx => families: Family;
    /// Index of a source in its pack.
    SourceIx => sources: Source;
}

/// One rule pack, read and checked.
#[derive(Clone, Debug)]
pub struct Pack {
    /// Short name, as in the folder.
    pub id: String,
    /// Name for people.
    pub title: String,
    /// Version of the knowledge: answers depend on it.
    pub version: String,
    /// Where the frequencies are meant for.
    pub region: String,
    /// The region of its list whose numbers it has, by its id; none with its own ([`Pack::in_region`]).
    pub stands_in: Option<String>,
    /// The houses that the prevalences count.
    pub reference_population: String,
    /// Bounds, cost ratio and tables: policy, not science.
    pub policy: Policy,
    /// Kinds of place; the first is always the house.
    pub kinds: Vec<PlaceKind>,
    /// Facts of house, site, weather or history.
    pub contexts: Vec<Context>,
    /// Kinds of sign.
    pub clues: Vec<Clue>,
    /// Hidden steps between mechanism and clue.
    pub responses: Vec<Response>,
    /// Things that could be going on.
    pub mechanisms: Vec<Mechanism>,
    /// Groups of mechanisms reported together.
    pub families: Vec<Family>,
    /// Published thresholds.
    pub limits: Vec<Limit>,
    /// Signs that call for a notice by themselves.
    pub hazards: Vec<Hazard>,
    /// What hides a clue.
    pub suppressions: Vec<Suppression>,
    /// Where the knowledge comes from.
    pub sources: Vec<Source>,
    /// Sentences.
    pub wording: Wording,
    /// Regions other than its own.
    pub regions: Vec<Region>,
    /// Names that are no longer used.
    pub retired: Vec<Retired>,
    template: Template,
}

impl Pack {
    /// Reads and checks a pack from its files.
    ///
    /// # Errors
    /// Every problem found in any file, each with file, line and column.
    pub fn read(files: &[PackFile<'_>]) -> Result<Pack, Problems> {
        read::pack(files, false)
    }

    /// Reads a pack and refuses also what makes it poor knowledge: client wording that is hard to read, rules that
    /// contradict each other, names that nothing uses, clues that move nothing, mechanisms that nothing seen can raise or
    /// speak against. For authors; to weigh by a pack, [`Pack::read`] is enough.
    ///
    /// # Errors
    /// As [`Pack::read`], and all of these.
    pub fn check(files: &[PackFile<'_>]) -> Result<Pack, Problems> {
        read::pack(files, true)
    }

    /// The graph of links over kinds of node.
    pub fn template(&self) -> &Template {
        &self.template
    }

    /// The index of the clue named `id`.
    pub fn clue(&self, id: &str) -> Option<ClueIx> {
        self.clues.iter().position(|clue| clue.id == id).map(ClueIx)
    }

    /// The index of the mechanism named `id`.
    pub fn mechanism(&self, id: &str) -> Option<MechanismIx> {
        self.mechanisms
            .iter()
            .position(|mechanism| mechanism.id == id)
            .map(MechanismIx)
    }

    /// The index of the family named `id`.
    pub fn family(&self, id: &str) -> Option<FamilyIx> {
        self.families.iter().position(|family| family.id == id).map(FamilyIx)
    }

    /// The index of the place kind named `id`.
    pub fn kind(&self, id: &str) -> Option<KindIx> {
        self.kinds.iter().position(|kind| kind.id == id).map(KindIx)
    }

    /// The index of the context named `id`.
    pub fn context(&self, id: &str) -> Option<ContextIx> {
        self.contexts.iter().position(|context| context.id == id).map(ContextIx)
    }

    /// The name of a node kind.
    pub fn name(&self, node: Node) -> &str {
        match node {
            Node::Clue(at) => &self[at].id,
            Node::Response(at) => &self[at].id,
            Node::Mechanism(at) => &self[at].id,
        }
    }

    /// The kind of place that a node lives at.
    pub fn at(&self, node: Node) -> KindIx {
        match node {
            Node::Clue(at) => self[at].at,
            Node::Response(at) => self[at].at,
            Node::Mechanism(at) => self[at].at,
        }
    }

    /// How many states a node has: 2 for a mechanism.
    pub fn states(&self, node: Node) -> usize {
        match node {
            Node::Clue(at) => self[at].grades.len(),
            Node::Response(at) => self[at].states.len(),
            Node::Mechanism(_) => 2,
        }
    }

    /// The links out of a mechanism or a response; none out of a clue.
    pub fn links(&self, from: Node) -> &[Link] {
        match from {
            Node::Clue(_) => &[],
            Node::Response(at) => &self[at].links,
            Node::Mechanism(at) => &self[at].links,
        }
    }

    /// How many places of `kind` a usual house has (the chance of at least one is shared over them).
    pub fn usual(&self, kind: KindIx) -> f64 {
        self[kind].usual
    }
}
