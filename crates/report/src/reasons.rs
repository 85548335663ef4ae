//! The reasons for one conclusion, as text.

use wythe_case::Case;
use wythe_engine::{Chain, Conclusion, Flag, Hop, Outcome, Reading, Reasons, SOME, Without};
use wythe_pack::{Node, Pack};

use crate::ReportError;
use crate::build::{conclusions, sightings, source_title};
use crate::number::{DECIBANS, short_chance};
use crate::phrase::{capital, listed, sentence, with_place};
use crate::plain::action_name;
use crate::reckoning;
use crate::wrap::{Form, Lines};

/// Most chains from signs that were looked for and not there.
const MOST_NONE: usize = 4;
/// The size of a weight for sorting: amounts that differ only in how they were rounded keep their order.
fn size(weight: f64) -> f64 {
    (weight.abs() * 1e6).round()
}

/// The reasons for one conclusion as plain text of at most 80 columns: the ledger, what each sighting adds, the chains
/// of reasoning with the rule and source of each hop, and what was explained away.
///
/// `reasons` must be of the same case and pack as `outcome`.
///
/// # Errors
/// A sentence that makes a determination.
pub fn reasons_text(pack: &Pack, case: &Case, outcome: &Outcome, reasons: &Reasons) -> Result<String, ReportError> {
    with(pack, case, outcome, reasons, Form::Text, |_| {})
}

/// The same in a form, with further sections put before the cautions.
pub(crate) fn with(
    pack: &Pack,
    case: &Case,
    outcome: &Outcome,
    reasons: &Reasons,
    form: Form,
    further: impl FnOnce(&mut Lines),
) -> Result<String, ReportError> {
    let case = &*wythe_engine::with_computed(pack, case);
    let telling = Telling { pack, case, outcome };
    let mut lines = Lines::default();
    telling.head(reasons, &mut lines);
    if let Some(one) = outcome.conclusions.iter().find(|one| one.about == reasons.about) {
        telling.ledger(one, &mut lines);
    }
    telling.without(&reasons.without, &mut lines);
    telling.chains(&reasons.chains, &mut lines);
    telling.explained_away(reasons, &mut lines);
    further(&mut lines);
    lines.heading("Please note");
    for caution in &pack.wording.cautions {
        lines.item(0, caution);
    }
    lines.written(form)
}

struct Telling<'a> {
    pack: &'a Pack,
    case: &'a Case,
    outcome: &'a Outcome,
}

impl Telling<'_> {
    fn head(&self, reasons: &Reasons, lines: &mut Lines) {
        lines.title(&format!(
            "Reasons for: {}",
            conclusions::title_and_place(self.pack, self.case, reasons.about)
        ));
        let as_of = self
            .outcome
            .as_of
            .as_ref()
            .map(|pass| format!(", as of the pass \"{pass}\""))
            .unwrap_or_default();
        lines.say(0, &format!("Case {}{as_of}.", self.outcome.case));
        if let Some(one) = self.outcome.conclusions.iter().find(|one| one.about == reasons.about) {
            let support = capital(&conclusions::firm(self.pack, one));
            lines.say(0, &format!("{support}. Asks for: {}.", action_name(one.action.name())));
        }
    }

    /// Steps that add up, in whole decibans.
    fn ledger(&self, one: &Conclusion, lines: &mut Lines) {
        lines.heading("Step by step");
        lines.say(
            0,
            &format!("Evidence is counted in decibans here: {DECIBANS}. The whole numbers add up."),
        );
        lines.gap();
        let Some(rows) = reckoning::rows(self.pack, self.case, self.outcome, one) else {
            lines.say(0, "A fact of this house settles it by itself, so there are no steps.");
            return;
        };
        let total = rows.iter().fold(0, |sum: i64, row| sum.saturating_add(row.whole));
        let mut told: Vec<(i64, String, String)> = rows
            .iter()
            .map(|row| {
                let ids = match row.sightings.as_slice() {
                    [] => String::new(),
                    some => format!(" [{}]", some.join(", ")),
                };
                (row.whole, short_chance(row.chance), format!("{}{ids}", row.says))
            })
            .collect();
        told.push((total, short_chance(one.chance), "all together".into()));
        let wide = told
            .iter()
            .map(|(_, chance, _)| chance.len())
            .max()
            .unwrap_or(0)
            .max("chance".len());
        lines.led(" Adds  Chance", 0, "");
        for (whole, chance, says) in &told {
            let whole = if *whole == 0 { "0".into() } else { format!("{whole:+}") };
            lines.led(&format!("{whole:>5}  {chance:<wide$}  "), wide + 9, says);
        }
    }

    /// Leave one out.
    fn without(&self, without: &[Without], lines: &mut Lines) {
        let mut order: Vec<&Without> = without
            .iter()
            .filter(|one| one.adds.abs() >= SOME || one.flag.is_some())
            .collect();
        if without.is_empty() {
            return;
        }
        order.sort_by(|a, b| size(b.adds).total_cmp(&size(a.adds)));
        lines.heading("Without it");
        lines.say(0, "The chance if that one sighting were taken away and all others kept. It is another question than the steps above, and does not add up.");
        lines.gap();
        for one in &order {
            let flag = match one.flag {
                Some(Flag::ExplainedElsewhere) => {
                    " By itself it speaks for this; beside the others, something else accounts for it."
                }
                Some(Flag::OnlyInCompany) => " By itself it does not speak for this; beside the others it does.",
                None => "",
            };
            lines.led(
                &format!("  {:<6}", short_chance(one.chance)),
                8,
                &format!("{}.{flag}", self.taken_away(one.reading)),
            );
        }
        let rest = without.len().saturating_sub(order.len());
        if rest > 0 {
            lines.say(
                2,
                &format!("{rest} other sightings change it by less than a deciban each."),
            );
        }
    }

    /// A reading taken away: what was not there is taken away by not having looked.
    fn taken_away(&self, at: usize) -> String {
        let says = self.reading(at);
        match says.strip_prefix("no ") {
            Some(rest) => format!("had nobody looked for any {rest}"),
            None => format!("without {says}"),
        }
    }

    /// What a reading says, where, and its id.
    fn reading(&self, at: usize) -> String {
        let Some(reading) = self.outcome.readings.get(at) else {
            return String::new();
        };
        format!(
            "{} [{}]",
            sightings::in_one_phrase(self.pack, self.case, &[reading]),
            reading.sighting
        )
    }

    fn chains(&self, chains: &[Chain], lines: &mut Lines) {
        let shows = |chain: &&Chain| self.outcome.readings.get(chain.reading).is_some_and(Reading::shows);
        let seen: Vec<&Chain> = chains.iter().filter(shows).collect();
        let mut none: Vec<&Chain> = chains.iter().filter(|chain| !shows(chain)).collect();
        none.sort_by(|a, b| size(b.alone).total_cmp(&size(a.alone)));
        let rest = none.len().saturating_sub(MOST_NONE);
        none.truncate(MOST_NONE);
        if seen.is_empty() && none.is_empty() {
            return;
        }
        lines.heading("Chains of reasoning");
        lines.say(0, "From each sign up to what could leave it. In brackets: how often the rule expects it at that place, on its own. Then why, and where the rule comes from.");
        let mut told: Vec<&Hop> = Vec::new();
        for chain in seen.into_iter().chain(none) {
            lines.gap();
            self.chain(chain, &mut told, lines);
        }
        if rest > 0 {
            lines.gap();
            lines.say(0, &format!("And {rest} more signs that were looked for and not there."));
        }
    }

    /// One chain. A hop that was told before is named only.
    fn chain<'c>(&self, chain: &'c Chain, told: &mut Vec<&'c Hop>, lines: &mut Lines) {
        let weight = chain.alone.round();
        let says = if weight > 0.0 {
            format!("Alone it speaks for this: +{weight:.0}.")
        } else if weight < 0.0 {
            format!("Alone it speaks against this: {weight:.0}.")
        } else {
            "Alone it hardly moves this.".into()
        };
        lines.item(0, &format!("{}. {says}", capital(&self.reading(chain.reading))));
        for hop in chain.hops.iter().rev() {
            if told.contains(&hop) {
                let cause = cause(self.pack, self.case, hop);
                lines.led("  from ", 7, &format!("{cause}, as above."));
                continue;
            }
            told.push(hop);
            lines.led("  from ", 7, &hop_says(self.pack, self.case, hop));
        }
    }

    fn explained_away(&self, reasons: &Reasons, lines: &mut Lines) {
        if reasons.explained_away.is_empty() {
            return;
        }
        lines.heading("Accounted for by something else");
        for one in &reasons.explained_away {
            let by = conclusions::title_and_place(self.pack, self.case, one.by);
            let reading = capital(&self.reading(one.reading));
            lines.item(
                0,
                &format!(
                    "{reading}: {} by itself, {} beside the others; {by} accounts for it.",
                    signed(one.alone),
                    signed(one.in_company)
                ),
            );
        }
    }
}

/// The cause of a hop, its place, and how often the rule expects the effect there.
fn cause(pack: &Pack, case: &Case, hop: &Hop) -> String {
    let title = match hop.rule.from {
        Node::Mechanism(at) => &pack[at].title,
        Node::Response(at) => &pack[at].title,
        Node::Clue(at) => &pack[at].title,
    };
    format!(
        "{} ({})",
        with_place(title, case, &[hop.from_at]),
        short_chance(hop.chance)
    )
}

/// A hop in words: the cause, how often the rule expects its effect there, the rule's reason and source.
pub(crate) fn hop_says(pack: &Pack, case: &Case, hop: &Hop) -> String {
    let cause = cause(pack, case, hop);
    let Some(link) = pack.links(hop.rule.from).get(hop.rule.link) else {
        return cause;
    };
    let sources: Vec<String> = link.sources.iter().map(|at| source_title(&pack[*at])).collect();
    let source = if sources.is_empty() {
        String::new()
    } else {
        format!(" Source: {}.", listed(&sources))
    };
    format!("{cause}. {}{source}", sentence(&link.reason))
}

/// A whole number with its sign, and no sign on 0.
fn signed(value: f64) -> String {
    let whole = value.round();
    if whole == 0.0 {
        "0".into()
    } else {
        format!("{whole:+.0}")
    }
}
