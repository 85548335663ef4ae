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

use wythe_infer::{Supposed, Supposition, Var};
use wythe_pack::{ClueIx, Effort, Node, Support, Wait};

use crate::effort::in_reason;
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
    /// What it would do to each decision and leading conclusion, in the order of the outcome.
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
}

impl Judge {
    /// Where it holds; of a family, where it does not: with every member away.
    fn states(&self) -> Vec<(Var, usize)> {
        let state = usize::from(self.vars.len() == 1);
        self.vars.iter().map(|var| (*var, state)).collect()
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
    let pack = weighed.pack();
    let k = pack.policy.referral.miss_costs;
    let wide = weighed.wide()?;
    let judges = judges(weighed, &wide.model);
    let mut sites: Vec<Site> = Vec::new();
    for (clue, at) in weighed.unseen() {
        let var = wide.model.vars.get(&(Node::Clue(clue), at)).copied();
        // A clue that nothing modelled can make tells nothing.
        sites.extend(
            var.filter(|var| !wide.model.net.parents(*var).is_empty())
                .map(|var| (clue, at, var)),
        );
    }
    let slow = sites.iter().filter(|(.., var)| !wide.solved.can_read(*var)).count();
    let solutions = judges.len().saturating_add(slow);
    let sums = solutions.saturating_mul(wide.solved.entries());
    in_reason("work out every look", sites.len().saturating_mul(judges.len()), sums)?;
    let found = Found::of(wide, &judges, &sites)?;
    let mut all = Vec::with_capacity(sites.len());
    for ((clue, at, _), grades) in sites.into_iter().zip(&found.grades) {
        let chances: Vec<f64> = just(found.free.get(grades.clone()).unwrap_or_default()).collect();
        let mut look = Look {
            clue,
            at,
            effort: pack[clue].effort,
            minutes: pack.policy.minutes(pack[clue].effort),
            wait: pack[clue].wait.clone(),
            worth: 0.0,
            bits: 0.0,
            tells: Vec::with_capacity(judges.len()),
            chances,
        };
        for (judge, of) in judges.iter().zip(&found.judges) {
            let of = just(of.get(grades.clone()).unwrap_or_default());
            let single = judge.vars.len() == 1;
            // Its joint with the finding, or that of its absence.
            let given = look.chances.iter().zip(of);
            let given = given.map(|(all, of)| (if single { of } else { all - of } / all).clamp(0.0, 1.0));
            let tells = tells(judge, k, &look.chances, given.collect());
            look.worth += tells.worth;
            look.bits += tells.bits;
            look.tells.push(tells);
        }
        all.push(look);
    }
    let by = |look: &Look| (settled(look.worth / look.minutes), settled(look.bits / look.minutes));
    all.sort_by(|a, b| {
        let ((a_worth, a_bits), (b_worth, b_bits)) = (by(a), by(b));
        b_worth
            .total_cmp(&a_worth)
            .then(b_bits.total_cmp(&a_bits))
            .then((a.clue, a.at).cmp(&(b.clue, b.at)))
    });
    let loss = judges
        .iter()
        .filter(|judge| judge.decides)
        .map(|judge| loss(k, judge.chance))
        .sum();
    Ok(Looks {
        loss,
        places: by_place(&all),
        looks: all,
    })
}

/// A clue at a place that could be looked at, and its variable.
type Site = (ClueIx, usize, Var);

/// The chances that each look finds at most each grade.
struct Found {
    /// Where the grades of each site are in the lists.
    grades: Vec<std::ops::Range<usize>>,
    free: Vec<f64>,
    /// Of each judge: with the judge there, or with a family's members all away.
    judges: Vec<Vec<f64>>,
}

impl Found {
    fn of(wide: &crate::kept::Wide, judges: &[Judge], sites: &[Site]) -> Result<Found, WeighError> {
        let (mut grades, mut total) = (Vec::with_capacity(sites.len()), 0);
        for (.., var) in sites {
            let states = wide.model.net.states(*var);
            grades.push(total..total + states);
            total += states;
        }
        let mut found = Found {
            grades,
            free: vec![0.0; total],
            judges: vec![vec![0.0; total]; judges.len()],
        };
        let (read, slow): (Vec<usize>, Vec<usize>) = (0..sites.len()).partition(|site| {
            let var = sites.get(*site).map(|(.., var)| *var);
            var.is_some_and(|var| wide.solved.can_read(var))
        });
        found.read(wide, judges, sites, &read)?;
        found.run(wide, judges, sites, &slow)?;
        Ok(found)
    }

    /// Where the grades of some sites are, and what is supposed of each.
    fn asked(&self, sites: &[Site], some: &[usize]) -> (Vec<usize>, Vec<Supposition>) {
        let grades = some
            .iter()
            .filter_map(|site| Some((self.grades.get(*site)?, sites.get(*site)?)));
        let each = grades.flat_map(|(grades, (.., var))| {
            grades.clone().enumerate().map(|(state, at)| {
                let one = Supposition {
                    at_most: vec![(*var, state)],
                    ..Supposition::default()
                };
                (at, one)
            })
        });
        each.unzip()
    }

    /// Those that can be read off one solution for each judge.
    fn read(
        &mut self,
        wide: &crate::kept::Wide,
        judges: &[Judge],
        sites: &[Site],
        some: &[usize],
    ) -> Result<(), WeighError> {
        let (at, asked) = self.asked(sites, some);
        let states = judges.iter().map(Judge::states);
        let states: Vec<Vec<(Var, usize)>> = std::iter::once(Vec::new()).chain(states).collect();
        let rows = wide.solved.across(&states, &asked).map_err(crate::kept::tangled)?;
        for (out, row) in std::iter::once(&mut self.free).chain(&mut self.judges).zip(rows) {
            put(out, &at, row);
        }
        Ok(())
    }

    /// Those that need a solution each, which then has all judges that are one variable.
    fn run(
        &mut self,
        wide: &crate::kept::Wide,
        judges: &[Judge],
        sites: &[Site],
        some: &[usize],
    ) -> Result<(), WeighError> {
        let (at, asked) = self.asked(sites, some);
        let suppose =
            |all: &[Supposition], targets: &[Var]| wide.solved.suppose(all, targets).map_err(crate::kept::tangled);
        let singles = judges.iter().filter(|judge| judge.vars.len() == 1);
        let targets: Vec<Var> = singles.flat_map(|judge| judge.vars.clone()).collect();
        let total = wide.solved.ln_evidence();
        let chance = |one: &Supposed| libm::exp(one.ln() - total);
        let free = suppose(&asked, &targets)?;
        put(&mut self.free, &at, free.iter().map(chance));
        for (judge, out) in judges.iter().zip(&mut self.judges) {
            let own: Vec<f64> = match judge.vars.as_slice() {
                [var] => {
                    let there = |one: &Supposed| one.posterior(*var).get(1).map_or(0.0, |p| p * chance(one));
                    free.iter().map(there).collect()
                }
                _ => {
                    let with = |one: &Supposition| Supposition {
                        states: judge.states(),
                        ..one.clone()
                    };
                    let asked: Vec<Supposition> = asked.iter().map(with).collect();
                    suppose(&asked, &[])?.iter().map(chance).collect()
                }
            };
            put(out, &at, own);
        }
        Ok(())
    }
}

/// Puts values where they belong in a list.
fn put(out: &mut [f64], at: &[usize], values: impl IntoIterator<Item = f64>) {
    for (at, value) in at.iter().zip(values) {
        if let Some(slot) = out.get_mut(*at) {
            *slot = value;
        }
    }
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
fn just(up_to: &[f64]) -> impl Iterator<Item = f64> {
    let mut before = 0.0;
    up_to.iter().map(move |value| {
        let just = (value - before).max(0.0);
        before = *value;
        just
    })
}

/// A number to some nine digits: what rounding did beyond them may not say which of two alike looks comes first.
fn settled(value: f64) -> f64 {
    const DROPPED: u32 = 22;
    f64::from_bits(value.to_bits().wrapping_add(1 << (DROPPED - 1)) >> DROPPED << DROPPED)
}

/// A drop by no more than this share is none.
const ROUNDING: f64 = 1e-9;

fn tells(judge: &Judge, k: f64, chances: &[f64], given: Vec<f64>) -> Tells {
    let after = |of: &dyn Fn(f64) -> f64| -> f64 {
        let pairs = chances.iter().zip(&given).filter(|(chance, _)| **chance > 0.0);
        pairs.map(|(chance, after)| chance * of(*after)).sum()
    };
    let drop = |of: &dyn Fn(f64) -> f64| {
        let (before, after) = (of(judge.chance), after(of));
        // What is left over of rounding may not say which look comes first.
        if before - after > ROUNDING * before {
            before - after
        } else {
            0.0
        }
    };
    Tells {
        about: judge.about,
        worth: if judge.decides { drop(&|p| loss(k, p)) } else { 0.0 },
        bits: if judge.leads { drop(&entropy) } else { 0.0 },
        given,
    }
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
