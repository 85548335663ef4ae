//! Pack and case in; weighed conclusions, support, action and reasons out.

mod bind;
mod conclude;
mod grade;
mod ground;
mod network;
mod outcome;
mod paths;
mod reasons;
mod weigh;

pub use outcome::{
    About, Conclusion, Corroborated, Decided, HeldBack, Misfit, Notice, NoticeKind, Outcome, Reading, Step, StepKind,
    Used, decibans,
};
pub use paths::Hop;
pub use reasons::{Chain, ChainError, ExplainedAway, Flag, Reasons, Without, reasons};
pub use weigh::{Options, WeighError, weigh, weigh_with};
