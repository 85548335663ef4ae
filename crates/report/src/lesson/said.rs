//! How the page says things: what a sighting found, what carried it, why something is asked for.

use wythe_case::{Case, Sighting};
use wythe_engine::{About, Carried, Conclusion, Decided, Hop, Moved, Outcome, Reading, Used, WalkStep};
use wythe_pack::{Action, ClueIx, Node, Pack, Support};

use crate::build::{conclusions, sightings, source_title};
use crate::number::{odds_in_words, short_chance, two_chances};
use crate::phrase::{at_places, capital, listed, sentence, with_place};

pub(super) struct Said<'a> {
    pub pack: &'a Pack,
    pub case: &'a Case,
}

/// Words for where something stands, beside a column that says what one sighting moved: each support from the least, then
/// what is said of a conclusion that the signs lowered.
pub(super) fn all_words() -> Vec<&'static str> {
    let supports = Support::ALL.iter().map(|support| support_words(*support));
    supports.chain([0.0, 1.0].map(conclusions::less_likely)).collect()
}

/// Where a conclusion stands, as an index into those words; `moved` is false before any sighting.
pub(super) fn word_of(one: &Conclusion, moved: bool) -> usize {
    if !moved {
        return Support::NotMoved as usize;
    }
    if !conclusions::lowered(one) {
        return one.support as usize;
    }
    Support::ALL.len() + usize::from(one.chance >= 0.5)
}

fn support_words(support: Support) -> &'static str {
    match support {
        Support::NotMoved => "about where it began, by all that was seen so far",
        other => conclusions::support_words(other),
    }
}

/// Where a conclusion stands, in words and in a number.
pub(super) fn stands(pack: &Pack, one: &Conclusion) -> String {
    let words = match conclusions::lowered(one) {
        true => conclusions::less_likely(one.chance),
        false => support_words(one.support),
    };
    conclusions::in_numbers(pack, words, one.chance)
}

impl Said<'_> {
    /// What a sighting found, in a sentence. Its id stands apart.
    pub fn sighting(&self, step: &WalkStep, at: usize, sighting: &Sighting) -> String {
        if let Some(says) = sightings::not_seen(self.pack, self.case, sighting) {
            return sentence(&says);
        }
        let then = self.case.first(at.saturating_add(1));
        let all = sightings::sightings(self.pack, &then, &step.outcome.readings);
        let says = all
            .iter()
            .find(|one| one.id == step.sighting)
            .map(crate::plain::in_full)
            .unwrap_or_default();
        let says = says.trim_end_matches(&format!("[{}]", step.sighting)).trim_end();
        let before = then.passes.iter().flat_map(|pass| &pass.sightings).take(at);
        let same = |(_, other): &(usize, &Sighting)| (&other.clue, other.at) == (&sighting.clue, sighting.at);
        match (1..).zip(before).filter(same).last() {
            Some((turn, _)) => format!("{says} Looked at again: this takes the place of sighting {turn}."),
            None => says.into(),
        }
    }

    /// How a step moved a conclusion: the chain of rules from the sign up, one line a hop, or what accounts for it.
    pub fn by(&self, before: &Outcome, step: &WalkStep, one: &Moved) -> Vec<String> {
        match &one.by {
            Carried::Together if !self.set_aside(before, step).is_empty() => self.set_aside(before, step),
            Carried::Chain(hops) => {
                let own = step.outcome.readings.iter().find(|one| one.sighting == step.sighting);
                let there = own.is_none_or(|reading| reading.shows());
                hops.iter().rev().map(|hop| self.hop(hop, there)).collect()
            }
            Carried::Rival { rival, over } => {
                let rival = conclusions::title_and_place(self.pack, self.case, *rival);
                let over = step.outcome.readings.get(*over);
                let over = over.map(|over| sightings::in_one_phrase(self.pack, self.case, &[over]));
                let over = over.unwrap_or_else(|| "the same sign".into());
                vec![capital(&if one.weight < 0.0 {
                    format!("{rival} rose, and {over} goes with it as well: less is left for this to account for.")
                } else {
                    format!("{rival} fell, and {over} goes with it as well: more is left for this to account for.")
                })]
            }
            Carried::Together => vec![
                "No single rule carried this. It moved along with other causes of the same signs, or because several places together make a pattern.".into(),
            ],
        }
    }

    /// What a step sets aside: a reading that was weighed before it, and that another says from now on.
    fn set_aside(&self, before: &Outcome, step: &WalkStep) -> Vec<String> {
        let weighed = |id: &str| {
            before
                .readings
                .iter()
                .any(|one| one.sighting == id && one.used == Used::Weighed)
        };
        let says = |one: &Reading| match one.used {
            Used::SetAside { by } if weighed(&one.sighting) => Some(format!(
                "{}: from here on this is not weighed by itself, for other readings say it in more detail ({}). So what it had moved goes back to where it was; this sighting itself is no sign of that.",
                capital(&sightings::in_one_phrase(self.pack, self.case, &[one])),
                self.pack[by].title
            )),
            _ => None,
        };
        step.outcome.readings.iter().filter_map(says).collect()
    }

    /// A rule of a chain: what leaves the sign, how often, why, and by what source. Of a sign that was not there, what would
    /// have left it.
    fn hop(&self, hop: &Hop, there: bool) -> String {
        let (title, hidden) = match hop.rule.from {
            Node::Mechanism(at) => (&self.pack[at].title, ""),
            Node::Response(at) => (&self.pack[at].title, ", which is not seen itself,"),
            Node::Clue(at) => (&self.pack[at].title, ""),
        };
        let cause = capital(&with_place(title, self.case, &[hop.from_at]));
        let Some(link) = self.pack.links(hop.rule.from).get(hop.rule.link) else {
            return sentence(&cause);
        };
        let sign = matches!(link.effect, Node::Clue(_));
        let goes = match (link.effect, there) {
            (Node::Clue(_), true) => "goes with this sign".into(),
            (Node::Clue(clue), false) => format!("would go with {}", self.pack[clue].says),
            (_, true) => "leads to that".into(),
            (_, false) => "would lead to that".to_string(),
        };
        let none = if sign && !there { "; there was none" } else { "" };
        let otherwise = match link.effect {
            Node::Clue(clue) if there => format!(
                " Without any cause in these rules the sign is there {} times ({}).",
                odds_in_words(self.pack[clue].background.value),
                short_chance(self.pack[clue].background.value)
            ),
            _ => String::new(),
        };
        let often = odds_in_words(hop.chance);
        let sources: Vec<String> = link.sources.iter().map(|at| source_title(&self.pack[*at])).collect();
        let source = if sources.is_empty() {
            String::new()
        } else {
            format!(" Source: {}.", listed(&sources))
        };
        format!(
            "{cause}{hidden} {goes} {often} times ({}){none}.{otherwise} {}{source}",
            short_chance(hop.chance),
            sentence(&link.reason)
        )
    }

    /// Why a conclusion asks for what it asks for.
    pub fn why(&self, one: &Conclusion) -> String {
        match one.decided {
            Decided::Support if one.support == Support::NotMoved && one.action == Action::Record => {
                "all that was seen, taken together, leaves it about where it began, so it is only kept on record".into()
            }
            Decided::Support if conclusions::lowered(one) => format!(
                "that is what a chance of {} asks for here, though the signs made it {}",
                short_chance(one.chance),
                conclusions::less_likely(one.chance)
            ),
            Decided::Support => format!("that is what {} asks for here", support_noun(one.support)),
            Decided::CostRatio => self.bound(one),
            Decided::WantsLook => {
                let look = one.wants_look.map(|(clue, at)| {
                    let at = at_places(self.case, &[at]);
                    format!(": {} {at}", self.pack[clue].title)
                });
                format!(
                    "{}. But the signs come from too few separate kinds or parts of the house, and below strong support a look that can still be made comes first{}",
                    self.bound(one),
                    look.unwrap_or_default().trim_end()
                )
            }
            Decided::NoLookLeft => format!(
                "{}. The signs come from few kinds or parts of the house, but no look still open for {} would add much from another, so the visit does not wait for one",
                self.bound(one),
                match one.about {
                    About::Family(_) => "its likeliest cause",
                    About::Mechanism { .. } => "it",
                }
            ),
        }
    }

    /// The bound from which a visit is asked for, and the chance that is over it.
    fn bound(&self, one: &Conclusion) -> String {
        let policy = &self.pack.policy.referral;
        let (chance, bound) = two_chances(one.chance, policy.bound());
        format!(
            "its chance of {chance} is over {bound}, from where these rules ask for an engineer's visit: they take a missed case to cost as much as {} needless visits",
            policy.miss_costs
        )
    }

    /// A look that was not made, and what it is supposed to find.
    pub fn supposed(&self, clue: ClueIx, at: usize, grade: usize) -> String {
        let clue = &self.pack[clue];
        let says = with_place(&clue.says, self.case, &[at]);
        if let Some(id) = clue.grades.get(grade).filter(|_| grade > 0).map(|grade| &grade.id) {
            let size = sightings::grade_words(clue, id).map(|size| format!(": {size}"));
            return sentence(&format!(
                "Suppose someone looks, and finds {says}{}",
                size.unwrap_or_default()
            ));
        }
        match &clue.none_says {
            Some(none) => {
                let none = with_place(none, self.case, &[at]);
                sentence(&format!("Suppose someone looks, and finds {none}"))
            }
            None => sentence(&format!("Suppose someone looks for {says}, and finds none")),
        }
    }
}

fn support_noun(support: Support) -> &'static str {
    match support {
        Support::CannotTell => "a visit that cannot tell",
        Support::NotMoved => "a chance that nothing seen has moved much",
        Support::SpokenAgainst => "a cause that is spoken against",
        other => conclusions::support_words(other),
    }
}
