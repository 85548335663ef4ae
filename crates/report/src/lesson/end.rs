//! What a lesson came to: each conclusion told as the reasons for it tell it, with what carried it, what spoke against it,
//! its rivals and what would change it; then what to do, what was not seen, and what the last pass changed.

use std::collections::BTreeMap;

use wythe_case::Case;
use wythe_engine::{About, Asked, Conclusion, Counted, Outcome, SOME, Used, Walk, decibans};
use wythe_pack::{Action, Pack, Support};

use super::chosen::{by_id, recorded};
use super::reckoned::{Known, Reckoned, Turns, reckoned};
use super::said::stands;
use super::{End, EndChange, EndMatter, Weighings};
use crate::asked::{KeptDown, MissingSays, RivalSays, asked_of, says};
use crate::build::{self, conclusions, matters, sightings};
use crate::page::{Matter, Moved, Page};
use crate::phrase::{capital, clean, sentence, small};
use crate::plain::{self, action_name};

/// A chance that a look would raise by less is not worth telling.
const SHOWS: f64 = 0.01;

/// Most conclusions named within a matter.
pub(super) const MOST: usize = 4;

/// As many sightings are named of a change: where it is as many, there can be more.
const MOST_NAMED: usize = 4;

pub(super) fn end(pack: &Pack, case: &Case, weighings: Weighings<'_>) -> End {
    let Weighings {
        walk, asked, counted, ..
    } = weighings;
    let last = walk.steps.last().map_or(&walk.start, |step| &step.outcome);
    let page = build::page(pack, case, last);
    let turns = Turns::of(walk);
    let telling = Telling {
        pack,
        case,
        walk,
        last,
        asked,
        counted,
        turns,
    };
    let by_id = by_id(pack, case, last);
    let matters: Vec<EndMatter> = page
        .matters
        .iter()
        .filter_map(|matter| telling.matter(matter, &by_id))
        .collect();
    let recorded = if matters.is_empty() {
        recorded(last).into_iter().map(|one| telling.one(one)).collect()
    } else {
        Vec::new()
    };
    End {
        asks: telling.asks(&page.matters, &by_id),
        matters,
        recorded,
        engineer: telling.engineer(),
        also: telling.also(&page),
        notices: page
            .notices
            .iter()
            .map(|notice| format!("{} {}", sentence(&notice.title), notice.says.join(" ")))
            .collect(),
        readings: readings(&page),
        not_seen: telling.not_seen(&page),
        changes: telling.changes(),
        words: Vec::new(),
        rests_on: vec![plain::rests_on(&page.policy), asked_for()],
    }
}

/// What can be asked for.
pub(super) fn asked_for() -> String {
    format!("What something asks for. {}", plain::ladder())
}

/// What was computed from readings and not weighed, with what must be said of it.
fn readings(page: &Page) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    for sheet in &page.readings {
        let unweighed = |one: &&crate::page::ComputedNumber| {
            one.sighting.is_none() && one.context.is_none() && !one.notes.is_empty()
        };
        let name = capital(&format!("{} {}", sheet.kind, sheet.id));
        let lines = sheet.numbers.iter().filter(unweighed).map(plain::not_weighed);
        said.extend(
            lines
                .chain(sheet.notes.iter().cloned())
                .map(|line| format!("{name}. {line}")),
        );
    }
    said
}

struct Telling<'a> {
    pack: &'a Pack,
    case: &'a Case,
    walk: &'a Walk,
    last: &'a Outcome,
    asked: &'a [Asked],
    counted: &'a [Counted],
    turns: Turns,
}

impl Telling<'_> {
    fn title(&self, about: About) -> String {
        conclusions::title_and_place(self.pack, self.case, about)
    }

    fn of(&self, about: About) -> Option<&Conclusion> {
        self.last.conclusions.iter().find(|one| one.about == about)
    }

    /// The most that is asked for, and whether that takes an engineer.
    fn asks(&self, all: &[Matter], by_id: &BTreeMap<String, About>) -> Vec<String> {
        let engineer: Vec<String> = all
            .iter()
            .filter(|matter| matches!(matter.action, "refer" | "promptly"))
            .map(|matter| {
                let [lead, second] = [0, 1].map(|at| matter.conclusions.get(at).and_then(|id| by_id.get(id)).copied());
                match (lead, second) {
                    (Some(About::Family(_)), Some(member)) => {
                        format!("{} (likeliest within it: {})", small(&matter.title), self.title(member))
                    }
                    _ => small(&matter.title),
                }
            })
            .collect();
        let most = format!(
            "The most that anything asks for: {}.",
            action_name(self.last.action.name())
        );
        let who = if !engineer.is_empty() {
            format!(
                "An engineer is asked to look at the signs consistent with: {}.",
                engineer.join("; ")
            )
        } else if self.last.action >= Action::Refer {
            "An engineer is asked to look at what was noticed besides.".into()
        } else {
            "No engineer is asked for.".into()
        };
        vec![most, who]
    }

    fn matter(&self, matter: &Matter, by_id: &BTreeMap<String, About>) -> Option<EndMatter> {
        let own: Vec<About> = matter
            .conclusions
            .iter()
            .filter_map(|id| by_id.get(id))
            .copied()
            .collect();
        let lead = self.of(*own.first()?)?;
        let within: Vec<&Conclusion> = own.iter().skip(1).filter_map(|about| self.of(*about)).collect();
        let named = |one: &&Conclusion| format!("{}: {}", self.title(one.about), stands(self.pack, one));
        let with_reasons = |one: &&Conclusion| {
            let less = self.less(one.about);
            let less = less
                .iter()
                .map(|line| format!(" It would be less likely: {}", small(line)));
            sentence(&format!(
                "{}. {}{}",
                named(one),
                self.in_short(one),
                less.collect::<String>()
            ))
        };
        let member = match lead.about {
            About::Family(_) => within.first().copied(),
            About::Mechanism { .. } => None,
        };
        let own_end = self.one(lead);
        let rest = within.iter().skip(usize::from(member.is_some()));
        let all = rest.clone().count();
        let mut named_within: Vec<String> = rest.take(MOST).map(with_reasons).collect();
        if all > MOST {
            named_within.push(format!("And {} more.", all - MOST));
        }
        let reckoned = Reckoned {
            little: [own_end.reckoned.little.clone(), self.set_aside(matter)].concat(),
            ..own_end.reckoned.clone()
        };
        Some(EndMatter {
            title: capital(&matter.title),
            reckoned,
            asks: action_name(matter.action),
            within: named_within,
            member: member.map(|one| (named(&one), Box::new(self.one(one)))),
            todo: matter.todo.clone(),
            ..own_end
        })
    }

    /// Signs of a matter that are not weighed by themselves, for another says them.
    fn set_aside(&self, matter: &Matter) -> Vec<String> {
        let mut said: Vec<String> = Vec::new();
        for reading in &self.last.readings {
            if let Used::SetAside { by } = reading.used
                && matter.seen.contains(&reading.sighting)
            {
                said.push(format!(
                    "{}: not weighed by itself, for {} says it{}.",
                    capital(&sightings::in_one_phrase(self.pack, self.case, &[reading])),
                    self.pack[by].says,
                    self.turns.one(&reading.sighting)
                ));
            }
        }
        said
    }

    /// What would make a conclusion less likely, by the pack: what can still be found, and what a look found otherwise.
    fn less(&self, about: About) -> Vec<String> {
        let matters::Changers { open, otherwise } = matters::changers(self.pack, self.case, self.last, about);
        let told = [("If found", open), (matters::SECOND_LOOK, otherwise)];
        let told = told.into_iter().filter(|(_, all)| !all.is_empty());
        told.map(|(how, all)| format!("{how}: {}.", all.join("; "))).collect()
    }

    /// A conclusion by itself.
    fn one(&self, one: &Conclusion) -> EndMatter {
        let asked = self.asked.iter().find(|asked| asked.margins.about == one.about);
        let (page, kept) = asked
            .map(|asked| asked_of(self.pack, self.case, self.last, asked))
            .unzip();
        let named = |id: &str| self.turns.one(id);
        let rivals = page.as_ref().map(|page| {
            let rival = |one| {
                let told = says::rival(one, &named);
                let lines = match told.apart.is_empty() {
                    true => vec![says::NONE_APART.to_string()],
                    false => told.apart,
                };
                (told.head, lines.into_iter().chain(told.look).collect())
            };
            page.rivals.iter().map(rival).collect()
        });
        let mut change = EndChange {
            less: self.less(one.about),
            ..EndChange::default()
        };
        if let Some(page) = &page {
            let told = says::change(page, &named);
            for (up, line) in told.readings {
                if up { &mut change.more } else { &mut change.less }.push(line);
            }
            change.sightings = match (page.readings.is_empty(), told.more) {
                (true, _) => Some(says::NO_SIGHTING.into()),
                (false, 0) => None,
                (false, more) => Some(format!(
                    "{more} more changes of one sighting would change its support or its action."
                )),
            };
            let missing = self.raising(kept.as_ref(), one);
            change.more.extend(says::missing(&missing, page.now.chance));
            (change.head, change.numbers, change.ends) = (told.head, told.numbers, told.ends);
        }
        let taken = kept.iter().flat_map(|kept| &kept.taken);
        let taken: Vec<String> = taken.map(|(one, _)| one.sighting.clone()).collect();
        EndMatter {
            title: capital(&self.title(one.about)),
            raised: one.support >= Support::Slight && one.chance >= one.prior,
            asks: action_name(one.action.name()),
            stands: stands(self.pack, one),
            says: conclusions::says(self.pack, self.case, self.last, one, false),
            within: Vec::new(),
            reckoned: self.reckoned(one, page.as_ref().map_or(&[], |page| &page.rivals), &taken),
            member: None,
            rivals,
            taken: kept.as_ref().map(|kept| says::taken(kept, &named)).unwrap_or_default(),
            kept_down: page
                .and_then(|page| page.kept_down)
                .map(|kept| says::against(&kept, &named))
                .unwrap_or_default(),
            change,
            todo: Vec::new(),
        }
    }

    /// Looks that nobody made and that would raise a conclusion by as much as a deciban.
    fn raising(&self, kept: Option<&KeptDown>, one: &Conclusion) -> Vec<MissingSays> {
        let would = |found: f64| decibans(found) - decibans(one.chance) >= SOME && found - one.chance >= SHOWS;
        let missing = kept.iter().flat_map(|kept| &kept.missing);
        missing
            .filter(|look| look.if_found.is_some_and(would))
            .cloned()
            .collect()
    }

    fn reckoned(&self, one: &Conclusion, rivals: &[RivalSays], taken: &[String]) -> Reckoned {
        let known = Known {
            one,
            rivals,
            taken,
            counted: self.counted.iter().find(|counted| counted.about == one.about),
        };
        reckoned(self.pack, self.case, self.last, known, &self.turns)
    }

    /// What did most for a conclusion, and what against it: a sentence each.
    fn in_short(&self, one: &Conclusion) -> String {
        let told = self.reckoned(one, &[], &[]);
        let first = |head: &str, lines: &[String]| match lines.first() {
            Some(line) => format!("{head}: {}", small(line)),
            None => format!("{head}: nothing by as much as a deciban."),
        };
        format!(
            "{} {}",
            first("What carried it most", &told.carried),
            first("What spoke against it most", &told.against)
        )
    }

    /// Groups that would ask for an engineer if they were supported, where none is asked for.
    fn engineer(&self) -> Vec<String> {
        if self.last.action >= Action::Refer {
            return Vec::new();
        }
        let asks = |one: &&Conclusion| match one.about {
            About::Family(family) => self.pack[family]
                .consequence
                .and_then(|at| self.pack.policy.consequences.get(at))
                .is_some_and(|row| row.action(Support::Strong) >= Action::Refer),
            About::Mechanism { .. } => false,
        };
        self.last
            .conclusions
            .iter()
            .filter(asks)
            .map(|one| {
                let told = self.reckoned(one, &[], &[]);
                let against = told.against.first().map(|line| format!(" {line}"));
                // What was seen of it, whatever little it did.
                let of_sightings = |line: &&String| line.contains("(sighting");
                let seen = told.carried.iter().chain(&told.little).filter(of_sightings);
                let seen: String = seen.map(|line| format!(" Seen of it: {}", small(line))).collect();
                sentence(&format!(
                    "{}: {}.{}{seen}",
                    capital(&self.title(one.about)),
                    stands(self.pack, one),
                    against.unwrap_or_default()
                ))
            })
            .collect()
    }

    /// What was seen and is no sign of a matter.
    fn also(&self, page: &Page) -> Vec<String> {
        let told = |id: &String| page.matters.iter().any(|matter| matter.seen.contains(id));
        page.sightings
            .iter()
            .filter(|one| one.shows && !told(&one.id))
            .map(|one| {
                let says = plain::in_full(one);
                let says = says.trim_end_matches(&format!("[{}]", one.id)).trim_end();
                format!("{says}{}", self.turns.one(&one.id))
            })
            .collect()
    }

    fn not_seen(&self, page: &Page) -> Vec<String> {
        page.sightings
            .iter()
            .filter(|one| one.used == "not_reached" || one.used == "hidden")
            .map(|one| sentence(&format!("{}{}", plain::not_reached(one), self.turns.one(&one.id))))
            .collect()
    }

    /// What the last pass changed against the one before it.
    fn changes(&self) -> Option<(String, Vec<String>)> {
        let last = self.walk.steps.last()?;
        let before = self.walk.steps.iter().rev().find(|step| step.pass < last.pass)?;
        let changes = crate::changes::changes(self.pack, self.case, &before.outcome, self.last);
        let pass = self.case.passes.get(before.pass)?;
        let name = pass.title.as_deref().map_or_else(|| pass.id.clone(), clean);
        let named = |ids: &[String]| {
            let most = if ids.len() < MOST_NAMED {
                ""
            } else {
                ", those that did most"
            };
            format!("{}{most}", self.turns.all(ids))
        };
        let moved = |moved: &Moved| plain::moved_by(moved, &named);
        Some((name, changes.moved.iter().map(moved).collect()))
    }
}
