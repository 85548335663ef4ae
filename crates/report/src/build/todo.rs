//! What to do about a matter, in sentences.

use wythe_case::Case;
use wythe_engine::{About, Conclusion, Decided};
use wythe_pack::{Action, Mechanism, Pack};

use crate::number::{odds_in_words, short_chance};
use crate::phrase::{month_after, sentence, the_place};
use crate::units::with_both_units;

/// Most pieces of advice of one kind.
const MOST: usize = 2;

/// What to do: for each action of the members, the pack's sentence and their advice; then looks and what is held back.
/// A matter of one family asks for its highest action only.
pub(crate) fn todo(pack: &Pack, case: &Case, members: &[&Conclusion], highest_only: bool) -> Vec<String> {
    let mut lines = Lines::default();
    let highest = members.iter().map(|one| one.action).max().unwrap_or(Action::Record);
    for action in Action::ALL.into_iter().rev().filter(|action| *action > Action::Record) {
        if action < highest && highest_only {
            break;
        }
        let asking: Vec<&&Conclusion> = members.iter().filter(|one| one.action == action).collect();
        if asking.is_empty() {
            continue;
        }
        if matches!(action, Action::Upkeep | Action::Trade) && highest >= Action::Refer {
            lines.put(
                "Nothing is to be repaired, filled or covered there before the engineer has seen it. Then:".into(),
            );
        }
        lines.put(sentence(pack.wording.action(action)));
        let mut given = 0;
        for one in members.iter().filter(|one| one.action == action || highest_only) {
            let About::Mechanism { mechanism, .. } = one.about else {
                continue;
            };
            if given < MOST && one.held_back.is_none() {
                given += usize::from(advice(pack, case, &pack[mechanism], action, &mut lines));
            }
        }
    }
    for one in members {
        look_first(pack, case, one, highest >= Action::Refer, &mut lines);
        hold_off(pack, one, &mut lines);
    }
    lines.0
}

/// Sentences, none twice.
#[derive(Default)]
struct Lines(Vec<String>);

impl Lines {
    fn put(&mut self, line: String) -> bool {
        let line = with_both_units(&line);
        let new = !line.is_empty() && !self.0.contains(&line);
        if new {
            self.0.push(line);
        }
        new
    }
}

fn advice(pack: &Pack, case: &Case, mechanism: &Mechanism, action: Action, lines: &mut Lines) -> bool {
    let advice = &mechanism.advice;
    match action {
        Action::Record => false,
        Action::Upkeep => advice.upkeep.as_ref().is_some_and(|text| lines.put(sentence(text))),
        Action::Trade => {
            let who = mechanism
                .trade
                .as_ref()
                .is_some_and(|trade| lines.put(format!("Trade: {trade}.")));
            advice.trade.as_ref().is_some_and(|text| lines.put(sentence(text))) || who
        }
        Action::Monitor => {
            let Some(plan) = &advice.monitor else { return false };
            let months = pack.policy.monitor_months;
            let until = case
                .visited
                .map(|day| format!(", to {}", month_after(day, months as u32)))
                .unwrap_or_default();
            let new = lines.put(format!("Points: {}.", plan.points));
            lines.put(format!("Method: {}.", plan.method));
            lines.put(format!(
                "For how long: {months} months{until}, so that it takes in a full cycle of seasons."
            ));
            lines.put(format!("Call a licensed professional engineer if: {}.", plan.call_if));
            new
        }
        Action::Refer | Action::Promptly => advice
            .refer
            .as_ref()
            .is_some_and(|text| lines.put(format!("Point out: {}.", text.trim_end_matches('.')))),
    }
}

/// The look that a referral wants: before it, or beside it where the matter is referred already.
fn look_first(pack: &Pack, case: &Case, one: &Conclusion, referred: bool, lines: &mut Lines) {
    if let Some((clue, at)) = one.wants_look {
        let place = case.places.get(at).map(the_place).unwrap_or_default();
        let clue = &pack[clue];
        let (when, why) = if referred {
            (
                "as well",
                "The signs so far come from few separate kinds or parts of the house; the referral does not wait for it.",
            )
        } else {
            (
                "first",
                "The signs so far come from too few separate kinds or parts of the house for a referral.",
            )
        };
        lines.put(format!(
            "Look {when}: {} at {place}. {why} {}",
            clue.title,
            sentence(&clue.look_for)
        ));
    }
    match one.decided {
        Decided::NoLookLeft => {
            let whose = match one.about {
                About::Family(_) => " for its likeliest cause",
                About::Mechanism { .. } => "",
            };
            lines.put(format!("The signs are all of one kind or from one part of the house. No look still open on this visit{whose} would add one of another kind or part, so the engineer is asked for without it."));
        }
        Decided::CostRatio => {
            let policy = &pack.policy.referral;
            lines.put(format!(
                "Why a visit at this chance: a miss is taken to cost {} times a needless visit, so it is asked for from {} on.",
                policy.miss_costs,
                short_chance(policy.bound())
            ));
        }
        Decided::Support | Decided::WantsLook => {}
    }
}

fn hold_off(pack: &Pack, one: &Conclusion, lines: &mut Lines) {
    let (Some(held), About::Mechanism { mechanism, .. }) = (&one.held_back, one.about) else {
        return;
    };
    let Some(harm) = &pack[mechanism].harm_if_wrong else {
        return;
    };
    let rival = match held.rival {
        wythe_pack::Rival::Family(family) => &pack[family].title,
        wythe_pack::Rival::Mechanism(mechanism) => &pack[mechanism].title,
    };
    let clue = &pack[held.check_first];
    lines.put(format!(
        "Hold off {} for now: it would hide {} if this were {rival} ({}). Check first: {}.",
        harm.what,
        harm.hides,
        odds_in_words(held.chance),
        clue.title
    ));
}
