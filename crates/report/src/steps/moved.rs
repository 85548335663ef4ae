//! What a sighting moved, in words: by how much, and what carried it.

use wythe_engine::{About, Carried, Hop, Moved, Outcome};
use wythe_pack::Node;

use super::{Telling, decibans_in_words};
use crate::build::sightings;
use crate::number::{odds_in_words, short_chance, times};
use crate::phrase::{capital, sentence, with_place};

impl Telling<'_> {
    /// What moved, and by how much.
    pub(super) fn moved_briefly(&self, one: &Moved) -> String {
        let (before, after) = one.chance;
        format!(
            "{}: {} (from {} to {}).",
            capital(&self.title(one.about)),
            decibans_in_words(one.weight),
            short_chance(before),
            short_chance(after),
        )
    }

    /// What moved, by how much, and what carried it.
    pub(super) fn moved(&mut self, one: &Moved, outcome: &Outcome) -> String {
        let (before, after) = one.chance;
        let by = match &one.by {
            Carried::Chain(hops) => self.chain(hops),
            Carried::Rival { rival, over } => self.rival(one, *rival, *over, outcome),
            Carried::Together => "By several small ways together.".into(),
        };
        format!(
            "{}: {}, {} (from {} to {}; {}). {by}",
            capital(&self.title(one.about)),
            decibans_in_words(one.weight),
            times(one.weight),
            short_chance(before),
            short_chance(after),
            odds_in_words(after)
        )
    }

    /// The rules from the cause down to the sign, each with how often and why.
    fn chain(&mut self, hops: &[Hop]) -> String {
        let mut said = Vec::new();
        for hop in hops {
            let Some(link) = self.pack.links(hop.rule.from).get(hop.rule.link) else {
                continue;
            };
            let node = match link.effect {
                Node::Clue(at) => &self.pack[at].title,
                Node::Response(at) => &self.pack[at].title,
                Node::Mechanism(at) => &self.pack[at].title,
            };
            let to = with_place(node, self.case, &[hop.to_at]);
            let often = format!("{}; {}", odds_in_words(hop.chance), short_chance(hop.chance));
            if self.told.insert(hop.rule) {
                said.push(format!("to {to} ({often}): {}", sentence(&link.reason)));
            } else {
                said.push(format!("to {to} ({often}), as before."));
            }
        }
        format!("The chain leads {}", said.join(" Then "))
    }

    /// What another conclusion accounts for, or no longer does.
    fn rival(&self, one: &Moved, rival: About, over: usize, outcome: &Outcome) -> String {
        let sign = outcome.readings.get(over).map_or_else(String::new, |reading| {
            format!(
                "{} [{}]",
                sightings::in_one_phrase(self.pack, self.case, &[reading]),
                reading.sighting
            )
        });
        let rival = self.title(rival);
        if one.weight < 0.0 {
            format!("Explained away: {rival} became likelier, and could have left {sign} by itself.")
        } else {
            format!("Left to this: {rival} became less likely, and {sign} needs a reason.")
        }
    }
}
