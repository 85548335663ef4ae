//! Exact inference over discrete cause-effect networks with noisy-MAX.
//!
//! A [`Network`] is a directed acyclic graph of discrete variables. A variable's family is a
//! general table or a noisy-MAX; further factors may be put over any variables as constraints.
//! [`Evidence`] may be hard, soft, or "everything seen here is of one kind". Every answer is
//! exact: nothing is sampled, nothing is iterated to convergence. What is too tangled to be done
//! exactly within stated [`Limits`] is refused with a typed error.
//!
//! The crate knows nothing of any subject. It uses no clock, thread, file, randomness or C library,
//! and takes logarithms from `libm`: it can be built for a browser, and gives the same bits there
//! (checked by a scan of its sources; building for `wasm32-unknown-unknown` is no part of the tests).
//!
//! # A worked example
//!
//! Two causes of a crack. A door sticks with the first only.
//!
//! ```
//! use wythe_infer::{Cause, Evidence, Finding, Limits, Network, solve};
//!
//! let mut net = Network::new();
//! let moved = net.table(2, &[], vec![0.9, 0.1])?; // the ground moved: 1 in 10
//! let dried = net.table(2, &[], vec![0.7, 0.3])?; // the wall dried out: 3 in 10
//! // No crack, a fine one, a wide one; by itself, by the ground, by drying.
//! let by_ground = vec![vec![1.0, 0.0, 0.0], vec![0.2, 0.3, 0.5]];
//! let by_drying = vec![vec![1.0, 0.0, 0.0], vec![0.5, 0.4, 0.1]];
//! let crack = net.noisy_max(
//!     vec![0.95, 0.04, 0.01],
//!     vec![
//!         Cause { parent: moved, rows: by_ground },
//!         Cause { parent: dried, rows: by_drying },
//!     ],
//! )?;
//! let door = net.noisy_max(vec![0.9, 0.1], vec![Cause::boolean(moved, 0.6)])?;
//!
//! // A wide crack: P(crack = 2 | causes) is 1 − .99·(.5 if moved)·(.9 if dried).
//! let seen = Evidence::new().with(crack, Finding::State(2));
//! let solved = solve(&net, &seen, &Limits::default())?;
//! let (neither, ground, drying, both) = (0.01, 0.505, 0.109, 0.5545);
//! let total = 0.9 * 0.7 * neither + 0.1 * 0.7 * ground + 0.9 * 0.3 * drying + 0.1 * 0.3 * both;
//! assert!((solved.ln_evidence() - f64::ln(total)).abs() < 1e-12);
//! let moves = (0.1 * 0.7 * ground + 0.1 * 0.3 * both) / total;
//! assert!((solved.posterior(moved)[1] - moves).abs() < 1e-12);
//!
//! // Would the door tell? What would the ground's chance be, given either answer?
//! let look = &solved.looks(&[door], &[moved])?[0];
//! let sticks = look.given(1, moved).unwrap_or(&[])[1];
//! let swings = look.given(0, moved).unwrap_or(&[])[1];
//! assert!(swings < moves && moves < sticks);
//! let average = look.chances()[0] * swings + look.chances()[1] * sticks;
//! assert!((average - moves).abs() < 1e-12);
//!
//! // How would it change if the ground's prior were 1 in 5?
//! let functions = solved.sensitivities(moved, 1)?;
//! let prior = wythe_infer::Parameter::Table { var: moved, row: 0, state: 1 };
//! let odds = moves / (1.0 - moves) * (0.2 / 0.8) / (0.1 / 0.9);
//! let at = functions.of(prior).map_or(0.0, |f| f.at(0.2));
//! assert!((at - odds / (1.0 + odds)).abs() < 1e-12);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # The method
//!
//! ## Noisy-MAX
//!
//! Every cause *i* produces a grade *Z_i* by itself, with distribution *p_i* given its parent; the
//! leak is one of the causes. The child is the largest:
//!
//! > P(X ≤ x | parents) = Π_i F_i(x), F_i(x) = p_i(0) + … + p_i(x)
//!
//! (Pearl 1988 for two grades, the noisy-OR; Díez 1993 for more.) Three consequences carry the
//! whole crate:
//!
//! 1. *The lowest grade is a product.* P(X = 0 | parents) = Π_i p_i(0): each factor belongs to one
//!    parent. Such a finding multiplies into its parents' own weights and ties nothing together.
//!    The same holds for any likelihood that is level up to some grade and 0 above.
//! 2. *Any other finding is one table over its parents,* whatever the number of its states. States
//!    that the likelihood does not tell apart count as one grade, so a hard finding has two.
//! 3. *"At most x", for a variable not looked at, is a product too,* so every look reuses the plan
//!    with other weights.
//!
//! Tables are built by adding one cause after the other to the distribution *a* of the largest so
//! far,
//!
//! > P(max = g) = a(g)·F_i(g) + (a(0) + … + a(g−1))·p_i(g)
//!
//! which is a sum of non-negative terms. No difference of products is ever formed, so nothing
//! cancels; this is what `expm1` would otherwise be wanted for. With a likelihood w over the
//! grades the last cause goes straight into the weighted sum, again of non-negative terms:
//!
//! > Σ_g w(g)·P(max = g) = Σ_h a(h)·[w(h)·F(h) + Σ_(g > h) w(g)·p(g)].
//!
//! ## Findings of one kind
//!
//! What a cause produces may be of a kind *t* with share *q_i* (given its parent's state, and
//! whatever the grade, if it is not 0). "What is seen has grade g, and everything seen is of kind
//! t" means: every cause has produced either nothing or something of kind t no larger than g, and
//! not all of them something smaller than g. The causes are independent, so
//!
//! > D_g = Π_i [F_i(0) + (F_i(g) − F_i(0))·q_i], P(grade g, all of kind t) = D_g − D_(g−1),
//!
//! with D_(−1) = 0: for g = 0 it is Π F_i(0), since nothing is of every kind. With a likelihood l
//! over the grades it is Σ_g l(g)·(D_g − D_(g−1)). The bracket is the cumulative of the row
//! p_i(0), q_i·p_i(1), q_i·p_i(2), …: [`Finding::OfKind`] therefore *thins* every row above its
//! first entry and goes on as with any other noisy-MAX. Thinned rows need not sum to 1; the
//! recurrence above does not ask them to.
//!
//! ## Buckets
//!
//! What is neither observed nor above anything observed sums to 1 and drops out. What is known for
//! certain is sliced out of every table. The rest is eliminated variable by variable, each time
//! the one that joins the fewest neighbours anew (least fill-in; those that join none first, in
//! their order, then ties to the smaller table and to the lower number). The bucket of variable *k* holds the product *B_k* of its tables, of its
//! weights and of its children's messages; its own message is
//!
//! > m_k = Σ_(x_k) B_k, passed to the bucket of the first of its variables to be eliminated next.
//!
//! At the roots the product of what is left is P(e). On the way down every bucket gets the
//! derivative of ln P(e) by its message,
//!
//! > g_c = (Σ B_k·g_k) / m_c over the variables not in m_c, for a child c of k,
//!
//! so that B_k·g_k is the belief of the bucket, and its margins are the posteriors. Where a
//! message has zeros and derivatives are wanted, the product of everything but the message is
//! formed instead of dividing.
//!
//! Once both passes are made, P(e) with other weights on some variables takes a pass up only as far as the bucket c where all
//! changes of a tree have met, with m' the message there:
//!
//! > P(e with them) = P(e)·Σ m'_c·g_c, a factor for each tree that changes.
//!
//! ## Wide families
//!
//! One table over all parents is 2^parents. Where the tables are not cheap anyway, two other ways
//! to lay them out are tried, with helper variables that no answer shows:
//!
//! - A noisy-MAX over many parents as a *chain*: y_1 is the largest of the leak and the first
//!   contribution, y_k = max(y_(k−1), contribution k), the last y is the child. Each link is a table
//!   over y_(k−1), one parent and y_k. The parents come in the order in which they would be
//!   eliminated otherwise, last first, so that chains over the same parents run side by side.
//! - A soft finding whose likelihood w never rises with the grade (looked for in part and not seen)
//!   as a *mixture of products*,
//!
//!   > Σ_x w(x)·P(X = x) = Σ_g (w(g) − w(g+1))·Π_i F_i(g), w = 0 beyond the last grade,
//!
//!   with no weight negative. One helper says which product; given it the parents are apart, so
//!   any of them may be eliminated before the others are joined.
//!
//! Kinds (thinned rows) and soft findings go through both: neither asks that rows sum to 1. Both
//! are ordered twice, by the pairs newly joined and by the products of their states, and of all
//! layouts, sweeps too, the one with the fewest entries within the limits is taken.
//!
//! All answers are further runs of these two passes with other weights: see the table below. They
//! go eight at a time side by side, those that change the same branches together. A message below
//! which nothing changed is not formed again; and where a bucket's product is the same in all eight,
//! one product, and one reciprocal of its message, serve all on the way down.
//!
//! ## Below all evidence
//!
//! What is below all evidence drops out, yet can be asked about. For a noisy-MAX v of live parents
//! "at most x" is a product of weights, one run more. Where a parent u of v is itself below all
//! evidence, with f(s) = F_u(x | s) its factor in state s, it is summed out by parts,
//!
//! > E f(u) = f(last) + Σ_(s < last) (f(s) − f(s+1))·P(u ≤ s),
//!
//! and so is a table over such parents. What comes out is a short polynomial in "at most"s of noisy-MAXes
//! whose parents are live: a run for each term, instead of a wider plan. It holds while no variable
//! is met twice on the way up; otherwise [`Solved::keeping`] brings it into the plan.
//!
//! ## The sweep
//!
//! Where many causes are tied together by few positive findings, no order of elimination is any
//! good: the table is 2^causes. There the causes are taken one by one instead, and the state is
//! how far every open finding has got: one of its grades. A cause in state s moves finding j by
//!
//! > a(g) → a(g)·F(g) + (a(0) + … + a(g−1))·p(g)
//!
//! again non-negative throughout. A finding opens at its first cause and closes at its last. Hard
//! positive findings have two grades, soft ones at most as many as they have states, negative
//! ones are products and do not count: the cost is links · 2^(hard positives) · grades^(soft). A
//! second sweep backwards gives the posteriors; and the derivative by p(g) of a link, which is the
//! sum over all other findings of
//!
//! > Σ_(t ≥ g) a(t)·d(t) + (a(0) + … + a(g−1))·d(g)
//!
//! with a the state before it and d the derivatives by the state after it. (Signed inclusion-exclusion has the same cost, but
//! loses all digits to cancellation with a dozen findings.) Where the sweep is far cheaper than
//! tables nothing else is tried; the choice is made by predicted cost, before any number is computed.
//!
//! ## Numbers
//!
//! Plain `f64`. Every message is scaled by a power of two, which is exact, and the exponents are
//! summed as integers, so probabilities far below 1e-308 are no matter. Within one table entries
//! more than some 1e290 times smaller than the largest count as 0. Sums over long tables are
//! taken in strands and halves. Every loop has one fixed order, whatever was kept from before and
//! whatever is run beside it: the same input gives the same bits.
//!
//! # Answers and their cost
//!
//! N is the number of entries of all tables ([`Solved::entries`]): a pass up multiplies about as
//! many numbers as N times the messages a bucket receives, a pass down twice that.
//!
//! | answer | how | cost |
//! | --- | --- | --- |
//! | [`solve`], [`Solver`]: all posteriors, ln P(e) | up and down | plan + 2 passes |
//! | [`Solver`] again, its plan kept | up where something changed, and down | less than 2 passes |
//! | [`Solver::ln_with`], [`Solver::ln_times`]: with states, or weights on states | up where they change something, up to four side by side | part of a pass each |
//! | [`Solver::ln_watched`]: the same at every step | up where both it and the evidence changed something | less |
//! | [`Solver::change`]: other numbers in some rows | what hangs on them is computed anew by the next solution | nothing by itself |
//! | [`probability_of`] | up, the states entered as findings | plan + 1 pass, twice |
//! | [`joint`] | the same for every configuration | that each |
//! | [`Solved::leave_one_out`] | up and down without one table or product | 2 passes a finding |
//! | [`Solved::sequence`] | up where a group changed something, and down, in the plan of the whole | at most 2 passes a group |
//! | [`Solved::looks`] | up and down under "at most x" | 2 passes a grade but the last |
//! | [`Solved::suppose`]: states, "at most x", a finding left out, all together | up, and down if posteriors are asked for | a pass or 2 a term; those alike in their states, 2 passes together |
//! | [`Solved::across`]: many of these for many sets of states | up and down for each set of states, then along the tree between the variables that change; or up and down for the change, then along the tree to the states, where that is shorter | 2 passes a set, part of one a change |
//! | [`Solved::given`]: states known for certain | a plan in which they are sliced out, for many suppositions that have them in common | a plan and 2 passes |
//! | [`Solved::ln_joint`]: sets of states | along the tree between the variables | 2 passes, once; part of one a set |
//! | [`Solved::uses`]: what each leak and cause did | one derivative pass | about 3 passes; a sweep, half as often again as a cause has links |
//! | [`Solved::sensitivities`] | derivative passes, with the target free and fixed | twice that |
//! | [`Solved::with_rows`] | one derivative pass | as [`Solved::uses`] |
//! | [`Solved::most_probable_causes`], [`most_probable_explanation`] | up with max for sum, then back | 1 pass |
//! | [`Solved::conflict`] | up with a finding's rows as weights, where they change anything, in a plan without evidence | a plan, and a pass up a finding, and a grade that is seen; alike ones side by side |
//!
//! A posterior as a function of one number t of the network is (a + b·t)/(c + d·t), because
//! P(e) and P(h, e) are linear in t; b and d are sums of the derivatives ∂P/∂(entry) over the
//! entries of t's row, weighted by how they move with t. The derivatives by all entries at once
//! are what the passes with derivatives give (Darwiche 2003; Kjærulff & van der Gaag 2000).
//!
//! # Limits
//!
//! - Exact inference is NP-hard in general. A part that is neither narrow nor made of independent
//!   causes of few findings is refused: [`SolveError::TooTangled`].
//! - The sweep covers parts in which the causes are independent given what is known. A dense part
//!   whose causes share unknown parents goes by tables or chains, or is refused.
//! - [`most_probable_explanation`] never sweeps, since the largest of sums is not a sum of
//!   largests.
//! - An explanation needs the tables whole: with chains, mixtures or sweeps it is planned again
//!   without, and may be refused where posteriors are not.
//! - Looks and information are about one target at a time, not about several jointly.
//!
//! # Verified properties
//!
//! Random networks have tables, noisy-MAX of 1 to 4 states with repeated parents, zero and certain
//! entries, constraints, and evidence of every form on any variable. Tolerance 1e-9 where none is
//! given.
//!
//! | property | test |
//! | --- | --- |
//! | Posteriors, ln P(e), chances of chosen states and joints equal enumeration on 5,000 random networks, half of them under tight limits | `tests/enumeration.rs`, `posteriors` |
//! | So do leaving out any one finding, entering them in groups, and a plan kept for fewer findings | `tests/enumeration.rs`, `part_of_the_evidence` |
//! | What a target would be after each look, and the information in it, equal enumeration | `tests/enumeration.rs`, `looks` |
//! | A sensitivity function, moved anywhere in 0.1 to 0.9, equals the network moved there | `tests/enumeration.rs`, `sensitivities` |
//! | No configuration is more probable than the explanation found; conflict equals its definition | `tests/enumeration.rs`, `explanation_and_conflict` |
//! | A finding of one kind has the likelihood D_g − D_(g−1), computed there by differences | all of these, through `tests/support/described.rs` |
//! | Tables, chains, mixtures and sweeps, each forced, give the posteriors of enumeration | `tests::agreement::posteriors_agree_with_enumeration` |
//! | Leaving out any one finding, under each layout, gives ln P of enumeration without it | the same, and `leave_one_out_agrees_with_enumeration` |
//! | Sensitivities by chains and mixtures equal those of the network moved | `tests::further::sensitivity_functions_agree_with_moved_networks` |
//! | Sweeps give the same posteriors, leave-one-out, looks and sensitivities as enumeration | `tests::agreement::sweeps_agree_with_enumeration` |
//! | States, "at most"s below all evidence and a finding left out, supposed together, have the chance and the posteriors of enumeration | `tests::supposed::suppositions_agree_with_enumeration` |
//! | Many asked at once, read off few solutions, are as each asked alone | `tests::supposed::many_at_once_are_as_each_alone` |
//! | A pass for each column comes to the same as one for each row; a solution given states, and a walk to them, to what is supposed | `tests::supposed::rows_and_columns_are_as_each_alone` |
//! | What a leak or a cause did equals the posterior of its contribution as a variable of its own | `tests::supposed::uses_agree_with_contributions_as_variables` |
//! | A solver that keeps its plan answers as a fresh one, to the last bit where that plans alike | `tests::agreement::a_kept_plan_gives_the_same_answers`; `tests/numerics.rs`, `a_kept_plan_answers_to_the_last_bit` |
//! | A solver driven through evidence that grows, shrinks and vanishes, changed rows, other networks and everything asked beside answers as a fresh one at every step | `tests::driven::a_driven_solver_answers_as_a_fresh_one` |
//! | A table replaced whole gives the posterior of the network so replaced | `tests::further::replaced_rows_agree_with_enumeration` |
//! | Posteriors and ln P(e) equal those of two general-purpose libraries on 68 seeded networks of four kinds | `tests/reference.rs`, `posteriors_agree_with_general_purpose_libraries` |
//! | Dense cases beyond those libraries equal inclusion-exclusion in 60 digits to 1e-14 | `tests/reference.rs`, `dense_posteriors_agree_with_sixty_digits` |
//! | Answers in print come out as printed | `tests/published.rs` |
//! | The same input gives the same bits, in every answer | `tests/numerics.rs`, `answers_are_the_same_to_the_last_bit` |
//! | With a kept plan, hard and soft evidence allocate nothing | `tests/numerics.rs`, `a_kept_plan_allocates_nothing` |
//! | Probabilities of 1e-12000 do not underflow | `tests/numerics.rs`, `very_small_probabilities_do_not_underflow` |
//! | Impossible evidence, tangles and misfits are typed answers | `tests/numerics.rs` |
//! | Dense cases with soft findings are answered at a bounded cost or refused | `tests/numerics.rs`, `dense_and_soft_cases_are_answered_within_the_limit_or_refused` |
//! | The sources name no clock, thread, file, environment, chance or foreign library | `tests/portable.rs` |

mod abreast;
mod across;
mod again;
mod aside;
mod backward;
mod below;
mod blocks;
mod change;
mod core;
mod dense;
mod dense_numbers;
mod draft;
mod evidence;
mod expand;
mod explain;
mod given;
mod gradient;
mod grid;
mod lanes;
mod layout;
mod limits;
mod looks;
mod memo;
mod mover;
mod network;
mod noisy;
mod numbers;
mod order;
mod pass;
mod plan;
mod queries;
mod reading;
mod relevance;
mod scaled;
mod sensitivity;
mod separate;
mod solve;
mod solver;
mod spare;
mod split;
mod suppose;
mod sweep;
mod sweep_gradient;
mod thin;
mod trials;
mod uses;
mod variant;
mod walks;
mod weights;

pub use abreast::{Abreast, AbreastRoom, Rows};
pub use across::{Across, AcrossPart};
pub use change::Row;
pub use evidence::{Evidence, Finding};
pub use explain::{Explanation, most_probable_causes, most_probable_explanation};
pub use limits::{Limits, SolveError};
pub use looks::Look;
pub use network::{Cause, MAX_STATES, MAX_TABLE, Network, NetworkError, Var};
pub use queries::{joint, probability_of};
pub use sensitivity::{Parameter, Sensitivities, SensitivityFunction};
pub use solve::{Solved, solve};
pub use solver::{Room, Solver};
pub use suppose::{Supposed, Supposition, solve_seen};
pub use uses::{Use, Uses};
pub use variant::{Variant, leave_one_out, sequence};

#[cfg(test)]
mod tests;
