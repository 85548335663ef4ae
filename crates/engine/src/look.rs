//! What to look at next: what each look is worth, by itself and per minute.
//!
//! # The loss
//!
//! Every conclusion that the pack's table refers once it is likelier than not ("of concern") is one decision: refer it or
//! not. The pack states that a miss costs `k` needless referrals. With chance `p`, in units of one needless referral, to
//! refer costs `1 − p` on average and not to refer `k·p`; the least is
//!
//! ```text
//! L(p) = min(1 − p, k·p)          refer from p = 1/(1 + k) on        (Pauker & Kassirer 1980)
//! ```
//!
//! # The worth of a look
//!
//! A look at a clue finds grade `g` with chance `P(g | e)` and leaves the conclusion at `p_g = P(c | e, g)`, both exact. It
//! is worth the expected drop of the loss, summed over the decisions `c`:
//!
//! ```text
//! worth = Σ_c [ L(p_c) − Σ_g P(g | e) · L(p_cg) ]  ≥ 0          (value of information: Raiffa & Schlaifer 1961)
//! ```
//!
//! It is 0 where no grade would carry a conclusion over its referral bound. The second number is what the look tells about
//! the leading conclusions, those mechanisms that the clues moved or cannot tell, in bits: with `H(p) = −p log2 p − (1−p) log2 (1−p)`,
//!
//! ```text
//! bits = Σ_c [ H(p_c) − Σ_g P(g | e) · H(p_cg) ]  ≥ 0
//! ```
//!
//! Looks are in order of worth per minute, then of bits per minute; what a look takes is a guess that the pack states.
//!
//! # Limits
//!
//! One look at a time, found sharply; marks, and patterns or hidings that the finding would bring about, are not foreseen.

use wythe_infer::Var;
use wythe_pack::{ClueIx, Effort, Node, Support, Wait};

use crate::effort::in_reason;
use crate::joint::{Asking, Column, Further, Questions, Row};
use crate::{About, WeighError, Weighed};

/// What could be looked at, best first.
#[derive(Clone, Debug, PartialEq)]
pub struct Looks {
    /// The expected loss of the decisions as they stand, in needless referrals.
    pub loss: f64,
    /// Every look, best first.
    pub looks: Vec<Look>,
    /// The same by place: the walking list of another pass. The place of the best look comes first.
    pub places: Vec<PlaceLooks>,
}

/// A look at a clue at a place.
#[derive(Clone, Debug, PartialEq)]
pub struct Look {
    /// The clue.
    pub clue: ClueIx,
    /// Index of the place in the case.
    pub at: usize,
    /// What it takes.
    pub effort: Effort,
    /// The same in minutes, by the pack's guess.
    pub minutes: f64,
    /// How long other looks must wait after it, where it interferes with them.
    pub wait: Option<Wait>,
    /// The chance of finding each grade.
    pub chances: Vec<f64>,
    /// Expected drop of the loss, in needless referrals, 0 or more.
    pub worth: f64,
    /// Expected drop of the leading conclusions' entropy, in bits, 0 or more.
    pub bits: f64,
    /// What it would do to each decision and leading conclusion that it could change, in the order of the outcome.
    pub tells: Vec<Tells>,
}

/// What a look would do to one conclusion.
#[derive(Clone, Debug, PartialEq)]
pub struct Tells {
    /// The conclusion.
    pub about: About,
    /// Its chance after each grade; not a number where the grade can't be.
    pub given: Vec<f64>,
    /// Expected drop of its loss.
    pub worth: f64,
    /// Expected drop of its entropy, in bits.
    pub bits: f64,
}

/// The looks at one place.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaceLooks {
    /// Index of the place in the case.
    pub at: usize,
    /// Indices into [`Looks::looks`], best first.
    pub looks: Vec<usize>,
    /// Sum of their worths, each by itself.
    pub worth: f64,
    /// Sum of their bits, each by itself.
    pub bits: f64,
    /// What they all take, in minutes.
    pub minutes: f64,
}

/// The expected loss of the better of referring and not, in needless referrals; a miss costs `k` of them.
pub fn loss(k: f64, chance: f64) -> f64 {
    (1.0 - chance).min(k * chance)
}

/// The entropy of a chance, in bits.
pub fn entropy(chance: f64) -> f64 {
    let part = |p: f64| if p > 0.0 { -p * libm::log2(p) } else { 0.0 };
    part(chance) + part(1.0 - chance)
}

/// A conclusion that looks are judged by.
struct Judge {
    about: About,
    vars: Vec<Var>,
    /// It is a decision of its own.
    decides: bool,
    /// It is a leading conclusion.
    leads: bool,
    chance: f64,
    /// The entropy of that, in bits.
    entropy: f64,
}

impl Judge {
    /// Where it holds; of a family, where it does not: with every member away.
    fn row(&self, questions: &mut Questions) -> Row {
        match self.vars.as_slice() {
            [one] => questions.row(&[], &[(*one, 1)]),
            all => questions.row(all, &[]),
        }
    }
}

/// Every look that could still be made, best first.
///
/// # Errors
/// [`WeighError::TooTangled`] where what was not looked at hangs together too much; [`WeighError::TooMuch`] where the house is
/// too large.
pub fn looks(weighed: &Weighed<'_>) -> Result<Looks, WeighError> {
    every(weighed).map_err(|error| weighed.tied(error))
}

fn every(weighed: &Weighed<'_>) -> Result<Looks, WeighError> {
    let mut asking = Asking::default();
    let looking = Looking::ask(weighed, &mut asking)?;
    asking.answer(weighed)?;
    Ok(looking.finish(weighed, &asking))
}

/// What could be looked at and what it is judged by, once that is answered.
pub(crate) struct Looking {
    sites: Vec<Site>,
    free: Row,
    judges: Vec<(Judge, Row)>,
}

/// A clue at a place that could be looked at, and the columns of its grades.
struct Site {
    clue: ClueIx,
    at: usize,
    grades: Vec<Column>,
}

impl Looking {
    /// Asks of every look what each judge would be.
    pub fn ask(weighed: &Weighed<'_>, asking: &mut Asking) -> Result<Looking, WeighError> {
        let (wide, questions) = (weighed.wide()?, &mut asking.wide);
        let judges = judges(weighed, &wide.model);
        let mut vars: Vec<(ClueIx, usize, Var)> = Vec::new();
        for (clue, at) in weighed.unseen() {
            let var = wide.model.vars.get(&(Node::Clue(clue), at)).copied();
            // A clue that nothing modelled can make tells nothing.
            vars.extend(
                var.filter(|var| !wide.model.net.parents(*var).is_empty())
                    .map(|var| (clue, at, var)),
            );
        }
        let slow = vars.iter().filter(|(.., var)| !wide.solved.can_read(*var)).count();
        let sums = judges.len().saturating_add(slow).saturating_mul(wide.solved.entries());
        in_reason("work out every look", vars.len().saturating_mul(judges.len()), sums)?;
        let free = questions.row(&[], &[]);
        let judges: Vec<(Judge, Row)> = judges
            .into_iter()
            .map(|judge| {
                let row = judge.row(questions);
                (judge, row)
            })
            .collect();
        let mut sites = Vec::with_capacity(vars.len());
        for (clue, at, var) in vars {
            let grades = Further::up_to(var, wide.model.net.states(var));
            let grades: Vec<Column> = grades.map(|one| questions.column(one)).collect();
            for row in std::iter::once(free).chain(judges.iter().map(|(_, row)| *row)) {
                grades.iter().for_each(|column| questions.ask(row, *column));
            }
            sites.push(Site { clue, at, grades });
        }
        Ok(Looking { sites, free, judges })
    }

    /// Every look, best first.
    pub fn finish(&self, weighed: &Weighed<'_>, asking: &Asking) -> Looks {
        let questions = &asking.wide;
        let pack = weighed.pack();
        let k = pack.policy.referral.miss_costs;
        let free = questions.of_row(self.free);
        let look = |site: &Site| Look {
            clue: site.clue,
            at: site.at,
            effort: pack[site.clue].effort,
            minutes: pack.policy.minutes(pack[site.clue].effort),
            wait: pack[site.clue].wait.clone(),
            worth: 0.0,
            bits: 0.0,
            tells: Vec::new(),
            chances: just(site.grades.iter().map(|column| free(*column))).collect(),
        };
        let mut all: Vec<Look> = self.sites.iter().map(look).collect();
        let mut given = Vec::new();
        for (judge, row) in &self.judges {
            let (single, found) = (judge.vars.len() == 1, questions.of_row(*row));
            for (look, site) in all.iter_mut().zip(&self.sites) {
                // Its joint with the finding, or that of its absence.
                let found = just(site.grades.iter().map(|column| found(*column)));
                let joint = look.chances.iter().zip(found);
                given.clear();
                given.extend(joint.map(|(all, of)| (if single { of } else { all - of } / all).clamp(0.0, 1.0)));
                let (worth, bits) = drops(judge, k, &look.chances, &given);
                look.worth += worth;
                look.bits += bits;
                if worth > 0.0 || bits > 0.0 {
                    look.tells.push(Tells {
                        about: judge.about,
                        given: given.clone(),
                        worth,
                        bits,
                    });
                }
            }
        }
        order(&mut all);
        let decided = self.judges.iter().filter(|(judge, _)| judge.decides);
        Looks {
            loss: decided.map(|(judge, _)| loss(k, judge.chance)).sum(),
            places: by_place(&all),
            looks: all,
        }
    }
}

/// Best first.
fn order(looks: &mut [Look]) {
    let by = |look: &Look| (settled(look.worth / look.minutes), settled(look.bits / look.minutes));
    looks.sort_by(|a, b| {
        let ((a_worth, a_bits), (b_worth, b_bits)) = (by(a), by(b));
        b_worth
            .total_cmp(&a_worth)
            .then(b_bits.total_cmp(&a_bits))
            .then((a.clue, a.at).cmp(&(b.clue, b.at)))
    });
}

fn judges(weighed: &Weighed<'_>, model: &crate::network::Model) -> Vec<Judge> {
    let led = |support: Support| {
        matches!(
            support,
            Support::CannotTell | Support::Slight | Support::Some | Support::Fair | Support::Strong
        )
    };
    let of = |one: &crate::Conclusion| Judge {
        about: one.about,
        vars: crate::kept::vars(&weighed.weighing, model, one.about),
        decides: weighed.of_concern(one.about),
        // A family's members lead by themselves.
        leads: led(one.support) && matches!(one.about, About::Mechanism { .. }),
        chance: one.chance,
        entropy: entropy(one.chance),
    };
    weighed
        .outcome()
        .conclusions
        .iter()
        .map(of)
        .filter(|judge| judge.decides || judge.leads)
        .collect()
}

/// From "at most" to "just".
fn just(up_to: impl Iterator<Item = f64>) -> impl Iterator<Item = f64> {
    let mut before = 0.0;
    up_to.map(move |value| {
        let just = (value - before).max(0.0);
        before = value;
        just
    })
}

/// A number to some nine digits: what rounding did beyond them may not say which of two alike comes first.
pub(crate) fn settled(value: f64) -> f64 {
    const DROPPED: u32 = 22;
    f64::from_bits(value.to_bits().wrapping_add(1 << (DROPPED - 1)) >> DROPPED << DROPPED)
}

/// A drop by no more than this share is none.
const ROUNDING: f64 = 1e-9;

/// The expected drops of a judge's loss and of its entropy.
fn drops(judge: &Judge, k: f64, chances: &[f64], given: &[f64]) -> (f64, f64) {
    let after = |of: &dyn Fn(f64) -> f64| -> f64 {
        let pairs = chances.iter().zip(given).filter(|(chance, _)| **chance > 0.0);
        pairs.map(|(chance, after)| chance * of(*after)).sum()
    };
    let drop = |before: f64, of: &dyn Fn(f64) -> f64| {
        let after = after(of);
        // What is left over of rounding may not say which look comes first.
        if before - after > ROUNDING * before {
            before - after
        } else {
            0.0
        }
    };
    let worth = if judge.decides {
        drop(loss(k, judge.chance), &|p| loss(k, p))
    } else {
        0.0
    };
    // Its second derivative is −1/(p(1−p) ln 2): what moves a chance by no more than this drops it by less than rounding.
    let least = 1e-6 * judge.chance.min(1.0 - judge.chance);
    let mut possible = chances.iter().zip(given).filter(|(chance, _)| **chance > 0.0);
    let moved = possible.any(|(_, after)| (after - judge.chance).abs() > least);
    let bits = if judge.leads && moved {
        drop(judge.entropy, &entropy)
    } else {
        0.0
    };
    (worth, bits)
}

fn by_place(looks: &[Look]) -> Vec<PlaceLooks> {
    let mut places: Vec<PlaceLooks> = Vec::new();
    for (index, look) in looks.iter().enumerate() {
        let slot = match places.iter().position(|place| place.at == look.at) {
            Some(slot) => slot,
            None => {
                places.push(PlaceLooks {
                    at: look.at,
                    looks: Vec::new(),
                    worth: 0.0,
                    bits: 0.0,
                    minutes: 0.0,
                });
                places.len() - 1
            }
        };
        if let Some(place) = places.get_mut(slot) {
            place.looks.push(index);
            place.worth += look.worth;
            place.bits += look.bits;
            place.minutes += look.minutes;
        }
    }
    // In the order of their best looks, which is the order that they were met in.
    places
}
