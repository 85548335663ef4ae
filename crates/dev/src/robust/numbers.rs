//! Every number of a pack that is knowledge, in one order.

use wythe::Pack;

/// A number, by the name of its rule.
#[derive(Debug)]
pub(super) struct Number {
    pub name: String,
}

/// How a number is scaled.
enum Slot<'a> {
    /// A chance: its odds.
    Chance(&'a mut f64),
    /// Chances that move together.
    Together([&'a mut f64; 3]),
    /// A factor on odds: itself.
    Times(&'a mut f64),
    /// Shares of one whole: each scaled, then made to add up again.
    Shares(&'a mut [f64]),
}

/// The numbers of a pack.
pub(super) fn numbers(pack: &Pack) -> Vec<Number> {
    let mut all = Vec::new();
    visit(&mut pack.clone(), &mut |name, slot| {
        let count = match &slot {
            Slot::Shares(shares) => shares.len(),
            _ => 1,
        };
        for part in 0..count {
            let name = if count > 1 {
                format!("{name} {}", part + 1)
            } else {
                name.to_owned()
            };
            all.push(Number { name });
        }
    });
    all
}

/// The pack with each number scaled by so many decibels.
pub(super) fn scaled(pack: &Pack, decibels: &[f64]) -> Pack {
    let mut pack = pack.clone();
    let mut factors = decibels.iter().map(|one| 10.0_f64.powf(one / 10.0));
    let mut next = move || factors.next().unwrap_or(1.0);
    visit(&mut pack, &mut |_, slot| match slot {
        Slot::Chance(chance) => *chance = by_odds(*chance, next()),
        Slot::Together(chances) => {
            let factor = next();
            for chance in chances {
                *chance = by_odds(*chance, factor);
            }
        }
        Slot::Times(times) => *times *= next(),
        Slot::Shares(shares) => {
            for share in shares.iter_mut() {
                *share *= next();
            }
            let sum: f64 = shares.iter().sum();
            for share in shares {
                *share /= sum;
            }
        }
    });
    pack
}

fn by_odds(chance: f64, factor: f64) -> f64 {
    let odds = chance / (1.0 - chance) * factor;
    odds / (1.0 + odds)
}

fn visit(pack: &mut Pack, each: &mut dyn FnMut(&str, Slot<'_>)) {
    let contexts: Vec<String> = pack.contexts.iter().map(|context| context.id.clone()).collect();
    for context in &mut pack.contexts {
        each(
            &format!("{}: share of houses", context.id),
            Slot::Chance(&mut context.share),
        );
    }
    for clue in &mut pack.clues {
        let id = clue.id.clone();
        each(&format!("{id}: background"), Slot::Chance(&mut clue.background.value));
        each(
            &format!("{id}: grades of the background"),
            Slot::Shares(&mut clue.background_grades),
        );
        for mark in &mut clue.marks {
            each(
                &format!("{id}: {} of the background", mark.id),
                Slot::Shares(&mut mark.background),
            );
        }
    }
    for response in &mut pack.responses {
        let id = response.id.clone();
        match &mut response.opposed {
            Some(opposed) => {
                let [one, other] = &mut opposed.background;
                each(&format!("{id}: background, one way"), Slot::Chance(&mut one.value));
                each(
                    &format!("{id}: background, the other way"),
                    Slot::Chance(&mut other.value),
                );
            }
            None => {
                each(
                    &format!("{id}: background"),
                    Slot::Chance(&mut response.background.value),
                );
                each(
                    &format!("{id}: grades of the background"),
                    Slot::Shares(&mut response.background_grades),
                );
            }
        }
    }
    let mechanisms = pack.mechanisms.iter_mut();
    let mut links = Vec::new();
    for mechanism in mechanisms {
        let id = mechanism.id.clone();
        let prevalence = &mut mechanism.prevalence;
        let together = [&mut prevalence.chance, &mut prevalence.from, &mut prevalence.to];
        each(&format!("{id}: prevalence"), Slot::Together(together));
        for effect in &mut mechanism.contexts {
            let context = contexts.get(effect.context.0).map_or("", String::as_str);
            let name = format!("{id}: effect of {context}");
            each(&name, Slot::Times(&mut effect.times));
        }
        links.extend(&mut mechanism.links);
    }
    links.extend(pack.responses.iter_mut().flat_map(|response| &mut response.links));
    for link in links {
        let id = link.id.clone();
        each(&format!("{id}: how often"), Slot::Chance(&mut link.how_often.value));
        each(&format!("{id}: grades"), Slot::Shares(&mut link.grades));
        for (shares, stated) in link.marks.iter_mut().zip(&link.states_marks) {
            if *stated {
                each(&format!("{id}: marks"), Slot::Shares(shares));
            }
        }
    }
}
