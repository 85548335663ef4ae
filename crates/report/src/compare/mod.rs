//! What differs between two visits, two passes or two inspectors on one house, sign by sign, and what it did.

mod page;
mod signs;

use std::collections::{BTreeMap, BTreeSet};

use wythe_case::Case;
use wythe_engine::{About, Conclusion, Outcome, decibans};
use wythe_pack::{Action, Pack};

use crate::ReportError;
use crate::build::conclusions;
use crate::number::{DECIBANS, times, whole_parts};
use crate::phrase::{capital, clean, listed};
use crate::plain::action_name;
use crate::steps::signed;
use crate::wrap::{Form, Lines};

pub use page::{ComparePage, FoundSays, PairSays, PartSays, SignSays, compare_page};
use signs::{Sign, Stand, in_short, in_words, signs, stand};

/// Least movement of a conclusion that is told, in decibans, where neither support nor action changed.
const MOVED: f64 = 3.0;
/// Least chance on either side of a conclusion that is told and asks for nothing.
const LEAST: f64 = 0.2;

/// Two outcomes of one house, and the way from the one to the other.
#[derive(Clone, Debug)]
pub struct Comparison {
    /// What the two are called: a pass, a visit, an inspector.
    pub names: [String; 2],
    /// The two cases. Their places go by the same ids.
    pub cases: [Case; 2],
    /// Their outcomes.
    pub outcomes: [Outcome; 2],
    /// Each difference in turn, with the outcome after it; the last is the second outcome.
    pub legs: Vec<Leg>,
}

/// A difference, and the outcome once it is taken over.
#[derive(Clone, Debug)]
pub struct Leg {
    /// What is taken over.
    pub what: Difference,
    /// The outcome with it.
    pub outcome: Outcome,
}

/// What differs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Difference {
    /// Places that only one of the two names.
    Places,
    /// Facts of the house.
    Facts,
    /// A clue at a place.
    Sign {
        /// Id of the clue.
        clue: String,
        /// Id of the place.
        place: String,
    },
    /// What is left: how passes and repairs are taken together.
    Rest,
}

/// The comparison as text.
///
/// # Errors
/// A sentence that makes a determination.
pub fn compared(pack: &Pack, comparison: &Comparison, form: Form) -> Result<String, ReportError> {
    let telling = Telling {
        pack,
        it: comparison,
        signs: signs(pack, comparison),
    };
    let mut lines = Lines::default();
    telling.head(&mut lines);
    telling.differences(
        &[
            (Stand::Contrary, "Seen by one, and not there for the other"),
            (Stand::Grade, "Seen by both, in another grade"),
        ],
        &mut lines,
    );
    telling.facts(&mut lines);
    telling.conclusions(&mut lines);
    telling.differences(
        &[
            (Stand::Detail, "The same grade, with other particulars"),
            (Stand::OneLooked, "Looked for by one only"),
        ],
        &mut lines,
    );
    lines.heading("Please note");
    for caution in &pack.wording.cautions {
        lines.item(0, caution);
    }
    lines.written(form)
}

struct Telling<'c> {
    pack: &'c Pack,
    it: &'c Comparison,
    signs: Vec<Sign>,
}

/// A conclusion by ids, so that it is the same in both cases.
fn key(pack: &Pack, case: &Case, about: About) -> String {
    conclusions::id(pack, case, about)
}

impl Telling<'_> {
    fn head(&self, lines: &mut Lines) {
        let [one, other] = &self.it.names.each_ref().map(|name| clean(name));
        lines.title(&format!("Compared: {one} and {other}"));
        let [first, second] = &self.it.cases;
        let titles = if first.title == second.title {
            clean(&first.title)
        } else {
            format!("{}; {}", clean(&first.title), clean(&second.title))
        };
        lines.say(0, &format!("{titles}."));
        lines.gap();
        let count = |wanted: &[Stand]| self.signs.iter().filter(|sign| wanted.contains(&stand(sign))).count();
        let both = count(&[Stand::Contrary, Stand::Grade, Stand::Detail, Stand::Same]);
        lines.say(
            0,
            &format!(
                "Of {both} signs that both looked for, {} came out the same; {} in the same grade with other particulars; {} in another grade; and {} were seen by one and not there for the other. {} more were looked for by one only.",
                count(&[Stand::Same]),
                count(&[Stand::Detail]),
                count(&[Stand::Grade]),
                count(&[Stand::Contrary]),
                count(&[Stand::OneLooked])
            ),
        );
        lines.gap();
        let actions = self
            .it
            .outcomes
            .each_ref()
            .map(|outcome| action_name(outcome.action.name()));
        lines.say(
            0,
            &format!(
                "The most that anything asks for: {} ({one}); {} ({other}).",
                actions[0], actions[1]
            ),
        );
    }

    /// Conclusions of both, by their ids.
    fn pairs(&self) -> Vec<(String, Option<&Conclusion>, Option<&Conclusion>)> {
        let sides = [0, 1].map(|side: usize| {
            let (case, outcome) = match side {
                0 => (&self.it.cases[0], &self.it.outcomes[0]),
                _ => (&self.it.cases[1], &self.it.outcomes[1]),
            };
            outcome
                .conclusions
                .iter()
                .map(|one| (key(self.pack, case, one.about), one))
                .collect::<BTreeMap<String, &Conclusion>>()
        });
        let mut order: Vec<String> = Vec::new();
        let mut known = BTreeSet::new();
        for (case, outcome) in self.it.cases.iter().zip(&self.it.outcomes) {
            for one in &outcome.conclusions {
                let id = key(self.pack, case, one.about);
                if known.insert(id.clone()) {
                    order.push(id);
                }
            }
        }
        order
            .into_iter()
            .map(|id| {
                let [one, other] = [sides[0].get(&id).copied(), sides[1].get(&id).copied()];
                (id, one, other)
            })
            .collect()
    }

    fn conclusions(&self, lines: &mut Lines) {
        lines.heading("What it did");
        let mut told: Vec<(Action, f64, String, &Conclusion, &Conclusion)> = Vec::new();
        for (id, one, other) in self.pairs() {
            let (Some(one), Some(other)) = (one, other) else {
                continue;
            };
            let moved = decibans(other.chance) - decibans(one.chance);
            let asks = one.action.max(other.action) > Action::Record;
            let changed = one.action != other.action || one.support != other.support;
            // A family that asks for nothing by itself speaks through its members.
            let speaks = !matches!(one.about, About::Family(family) if self.pack[family].consequence.is_none());
            let counts = asks || one.chance.max(other.chance) >= LEAST;
            if speaks && counts && moved.abs() >= 0.5 && (changed || moved.abs() >= MOVED) {
                told.push((one.action.max(other.action), moved.abs(), id, one, other));
            }
        }
        told.sort_by(|a, b| b.0.cmp(&a.0).then(b.1.total_cmp(&a.1)));
        if told.is_empty() {
            lines.say(
                0,
                "No conclusion moved by 3 decibans (its odds doubled or halved), nor to another support or action.",
            );
            return;
        }
        lines.say(0, &format!("Each difference is taken over in turn, in the order listed, and its part told in decibans: {DECIBANS}. The parts add up."));
        for (number, (_, _, id, one, other)) in (1..).zip(told) {
            lines.gap();
            let title = capital(&conclusions::title_and_place(self.pack, &self.it.cases[0], one.about));
            lines.led(&format!("{number}. "), 3, &title);
            for (name, one) in self.it.names.iter().map(|name| clean(name)).zip([one, other]) {
                lines.item(
                    3,
                    &format!(
                        "{}: {}. Asks for: {}.",
                        capital(&name),
                        conclusions::firm(self.pack, one),
                        action_name(one.action.name())
                    ),
                );
            }
            self.parts(&id, one, other, lines);
        }
    }

    /// The parts of a movement, largest whole ones said.
    fn parts(&self, id: &str, one: &Conclusion, other: &Conclusion, lines: &mut Lines) {
        let mut before = decibans(one.chance);
        let mut parts: Vec<(f64, String)> = Vec::new();
        let mut rest = 0.0;
        for (number, leg) in self.it.legs.iter().enumerate() {
            let last = number + 1 == self.it.legs.len();
            let case = if last { &self.it.cases[1] } else { &self.it.cases[0] };
            // On the way the places of the first come first, so that their indices hold.
            let found = leg.outcome.conclusions.iter().find(|now| {
                if last {
                    key(self.pack, case, now.about) == *id
                } else {
                    now.about == one.about
                }
            });
            let Some(now) = found.map(|now| decibans(now.chance)) else {
                continue;
            };
            let weight = now - before;
            before = now;
            if weight.abs() >= 1.0 {
                parts.push((weight, self.difference(&leg.what)));
            } else {
                rest += weight;
            }
        }
        let total = decibans(other.chance) - decibans(one.chance);
        if !total.is_finite() {
            lines.item(3, "A fact of the house settles it by itself in one of the two.");
            return;
        }
        parts.push((rest, "all other differences together".into()));
        let whole = whole_parts(&parts.iter().map(|part| part.0).collect::<Vec<f64>>());
        lines.item(
            3,
            &format!(
                "From the one to the other: {} decibans, {}.",
                signed(total),
                times(total)
            ),
        );
        for ((_, says), whole) in parts.iter().zip(whole) {
            if whole != 0 {
                lines.led(&format!("     {whole:>+4}  "), 11, says);
            }
        }
    }

    fn difference(&self, what: &Difference) -> String {
        match what {
            Difference::Places => "places that only one of them names".into(),
            Difference::Facts => "facts of the house".into(),
            Difference::Rest => "how passes and repairs are taken together".into(),
            Difference::Sign { clue, place } => self
                .signs
                .iter()
                .find(|sign| sign.clue == *clue && sign.place == *place)
                .map(|sign| {
                    let [first, second] = sign.found.each_ref().map(Option::as_ref);
                    // Of the same grade, it is the particulars that moved something.
                    let others = match stand(sign) {
                        Stand::Detail => ", with other particulars",
                        _ => "",
                    };
                    format!("{}: {} to {}{others}", sign.says, in_short(first), in_short(second))
                })
                .unwrap_or_default(),
        }
    }

    fn facts(&self, lines: &mut Lines) {
        let holds = |outcome: &Outcome| outcome.contexts.iter().copied().collect::<BTreeMap<_, _>>();
        let [one, other] = self.it.outcomes.each_ref().map(holds);
        let word = |holds: Option<&bool>| match holds {
            Some(true) => "so",
            Some(false) => "not so",
            None => "not known",
        };
        let mut differ = Vec::new();
        for at in one.keys().chain(other.keys()).collect::<BTreeSet<_>>() {
            if one.get(at) != other.get(at) {
                differ.push(format!(
                    "{}: {} to {}",
                    capital(&self.pack[*at].title),
                    word(one.get(at)),
                    word(other.get(at))
                ));
            }
        }
        let names = |side: usize| -> BTreeSet<&str> {
            let case = if side == 0 {
                &self.it.cases[0]
            } else {
                &self.it.cases[1]
            };
            case.places.iter().map(|place| place.id.as_str()).collect()
        };
        let only: Vec<String> = names(0)
            .symmetric_difference(&names(1))
            .map(|id| (*id).to_owned())
            .collect();
        if differ.is_empty() && only.is_empty() {
            return;
        }
        lines.heading("Facts and places that differ");
        for line in differ {
            lines.item(0, &format!("{line}."));
        }
        if !only.is_empty() {
            lines.item(0, &format!("Places that only one of the two names: {}.", listed(&only)));
        }
    }

    fn differences(&self, wanted: &[(Stand, &str)], lines: &mut Lines) {
        let [one, other] = &self.it.names.each_ref().map(|name| clean(name));
        for (wanted, head) in wanted {
            let mine: Vec<&Sign> = self.signs.iter().filter(|sign| stand(sign) == *wanted).collect();
            if mine.is_empty() {
                continue;
            }
            lines.heading(head);
            lines.say(0, &format!("First {one}, then {other}."));
            lines.gap();
            for sign in mine {
                let [first, second] = sign.found.each_ref().map(|found| in_words(found.as_ref()));
                lines.item(0, &format!("{}: {first}; {second}.", sign.says));
            }
        }
    }
}
