//! Pack and case in; weighed conclusions, support, action and reasons out.
//!
//! [`weigh`] answers; [`reasons`] says why. This page is what the numbers mean, so that two people could build it twice
//! and get the same ones.
//!
//! # The graph
//!
//! A pack is a template over kinds of node: mechanisms, hidden responses, clues. A case grounds it: each kind of node at
//! each place of its kind, joined where a link's reach allows (here, inside, around, touching, anywhere, each). The
//! grounded graph has no cycles. What has no bearing on the answers is left out; the answers are the same.
//!
//! A chance `p` of *at least one* among `n` places is shared out: each has `q = 1 − (1 − p)^(1/n)`, so that
//! `1 − (1 − q)^n = p`. `n` is the usual number of such places on a house, or the case's own. So is a prevalence, which
//! counts houses.
//!
//! # Mechanisms and contexts
//!
//! A mechanism is there or not. With base chance `q` at a place and contexts that hold, its odds are
//! `q/(1−q) · clamp(Π f, 1/c, c)`, where `f` are the effects of the contexts and `c` the pack's cap: contexts go together,
//! and each on its own would count the same news again. A context that rules it out makes the chance 0.
//!
//! A context that the case does not state is summed out at its share of the reference population, for each mechanism by
//! itself: `P(m) = Σ P(contexts) · P(m | contexts)`. It carries no news from one mechanism to another. A link that asks
//! for such a context has its chance times the share.
//!
//! # Responses and clues: noisy-MAX
//!
//! Each active cause `i` makes its effect at some grade, none included, by itself; the highest shows. With `F_i(x)` the
//! chance that cause `i` makes at most grade `x`, and `B(x)` the background's,
//!
//! ```text
//! P(X ≤ x | causes) = B(x) · Π F_i(x)
//! ```
//!
//! (noisy-OR for two grades: Pearl 1988; graded: Díez 1993). A response that moves in opposed directions is one node of
//! three states: two pushes, each a noisy-OR of the links that way; neither gives rest, one gives its way, both give either
//! way as likely.
//!
//! ## Marks thin the cause
//!
//! A cause makes cracks of kind `t` with share `q_i`. What is seen is "grade `g`, and every crack here is of kind `t`". For
//! that each maker made nothing, or at most `g` and of kind `t`, and not all of them stayed below `g`:
//!
//! ```text
//! P = Π [F_i(0) + (F_i(g) − F_i(0)) q_i] − Π [F_i(0) + (F_i(g−1) − F_i(0)) q_i]        (g ≥ 1; background as one of the i)
//! ```
//!
//! For two grades that is `Π (1 − p_i (1 − q_i)) − Π (1 − p_i)`. A mark not noted has `q = 1`; several marks multiply.
//!
//! # What a sighting says
//!
//! A likelihood per grade. A grade seen: 1 there, 0 elsewhere. None after looking: 1 at none; where part was looked at,
//! `1 − d` elsewhere, with `d` the chance of having noticed. A measurement: the mass of its error in each class, so that a
//! reading on an edge is shared, smoothly. A number computed from a sheet of readings is a measurement like any other
//! ([`with_computed`]). Not sure: `x^k` for a grade `k` steps away. Not reached, hidden by paint or
//! repair, or set aside for a pattern that stands for it: nothing. One clue at one place seen twice: the later stands.
//!
//! # Answers
//!
//! Exact posteriors ([`wythe_infer`]); a family is at least one member, anywhere. Weight of evidence in decibans,
//! `10 log10` of the factor on the odds (Good 1950). The steps of a [`Conclusion`] enter contexts, then all that was not
//! there, then what was seen by shared response or place, in the pack's order: they add up exactly. What a conclusion
//! would be without one reading is another question, and is kept apart ([`Without`]).
//!
//! Support follows the pack's bounds on the chance and on how far the odds moved. The action is a table of support by
//! consequence; a referral bound of `1/(1+k)` (threshold approach, Pauker & Kassirer 1980); for a referral by pattern, two
//! independent groups of evidence from two zones, or the look that would supply them. Limits, hazards and misfit add
//! notices of their own; nothing lowers an action.
//!
//! Coverage is the share of what a mechanism's signs would tell that was looked at, by expected weight of evidence.
//!
//! # Limits of the method
//!
//! Numbers are judgements. An absent effect leaves its causes independent (no shift between rivals). Independent makers of
//! one crack are a model, not mechanics.

mod ask;
mod bind;
mod computed;
mod conclude;
mod counted;
mod derive;
mod effort;
mod ends;
mod grade;
mod ground;
mod joint;
mod kept;
pub mod look;
pub mod margin;
mod network;
mod number;
mod outcome;
mod paths;
mod reasons;
pub mod rivals;
mod shares;
mod soft;
mod steps;
pub mod story;
mod tangle;
#[cfg(test)]
mod testing;
pub mod unsupported;
mod walk;
mod weigh;

pub use ask::{Asked, Besides, BesidesInParts, WorkedOut, ask, besides_in_parts, besides_margins, margins_of};
pub use computed::with_computed;
pub use counted::{Absent, Counted, SaidBefore, counted};
pub use kept::Weighed;
pub use look::{Look, Looks, PlaceLooks, Tells, looks};
pub use margin::{Graded, Margin, Margins, Regraded, margins};
pub use number::Number;
pub use outcome::{
    About, Conclusion, Corroborated, Decided, HeldBack, Misfit, Notice, NoticeKind, Outcome, Reading, SOME, Step,
    StepKind, Used, decibans,
};
pub use paths::Hop;
pub use reasons::{Chain, ChainError, ExplainedAway, Flag, Reasons, Without, reasons};
pub use rivals::{Contender, Instead, Rivals, Separates, rivals, rivals_of};
pub use shares::{ClueShare, Shares, shares};
pub use story::{Combination, Story, story};
pub use unsupported::{Missing, Unsupported, unsupported, unsupported_of};
pub use walk::{Carried, Moved, Walk, WalkStep, found, walk, without};
pub use weigh::{Options, WeighError, weigh, weigh_with};
