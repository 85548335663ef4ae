//! What was asked of one conclusion, read into its page.

use wythe_case::Case;
use wythe_engine::{
    About, Asked, Combination, Conclusion, Contender, Graded, Instead, Margin, Margins, Number, Outcome, Regraded,
    SOME, Step, StepKind, Unsupported,
};
use wythe_pack::{ClueIx, MechanismIx, Node, Pack, Reach, SourceIx, Support};

use super::values::*;
use crate::build::{bearing, conclusions, sightings};
use crate::number::rounded;
use crate::phrase::with_place;

/// Most signs named that still stand.
const OTHERS: usize = 2;

struct Building<'a> {
    pack: &'a Pack,
    case: &'a Case,
    outcome: &'a Outcome,
    /// The conclusion.
    one: Option<&'a Conclusion>,
    /// The conclusion's chance before anything was seen.
    prior: f64,
    /// The same where prevalences are moved: over any chance where the signs lowered it, else under any.
    lowered: f64,
}

pub(super) fn page(pack: &Pack, case: &Case, outcome: &Outcome, asked: &Asked) -> AskedPage {
    let Margins {
        about,
        now,
        numbers,
        without,
        classes,
        ends,
    } = &asked.margins;
    let one = outcome.conclusions.iter().find(|one| one.about == *about);
    let prior = one.map_or(0.0, |one| one.prior);
    // With other prevalences the chance before anything was seen is another; whether the signs lowered it is not.
    let lowered = if now.chance < prior { f64::INFINITY } else { 0.0 };
    let building = Building {
        pack,
        case,
        outcome,
        one,
        prior,
        lowered,
    };
    AskedPage {
        format: crate::page::FORMAT,
        case: case.id.clone(),
        conclusion: conclusions::id(pack, case, *about),
        title: conclusions::title_and_place(pack, case, *about),
        now: grade(pack, now, prior),
        rivals: asked
            .rivals
            .rivals
            .iter()
            .map(|one| building.rival(one, now.chance))
            .collect(),
        kept_down: (now.support < Support::Some).then(|| building.kept_down(&asked.unsupported)),
        margins: numbers.iter().map(|one| building.margin(one)).collect(),
        readings: without
            .iter()
            .chain(classes)
            .filter_map(|one| building.regraded(one))
            .collect(),
        ends: [grade(pack, &ends.0, lowered), grade(pack, &ends.1, lowered)],
        story: asked.story.combinations.iter().map(|one| building.story(one)).collect(),
        story_over: asked.story.over.iter().map(|site| building.id(*site)).collect(),
    }
}

/// What kept a conclusion down, whatever its support.
pub(super) fn kept_down(pack: &Pack, case: &Case, outcome: &Outcome, asked: &Asked) -> KeptDown {
    let building = Building {
        pack,
        case,
        outcome,
        one: None,
        prior: 0.0,
        lowered: 0.0,
    };
    building.kept_down(&asked.unsupported)
}

fn grade(pack: &Pack, graded: &Graded, prior: f64) -> GradeSays {
    GradeSays {
        support: graded.support.name(),
        action: graded.action.name(),
        chance: rounded(graded.chance),
        words: conclusions::firm_of(pack, graded.support, prior, graded.chance),
    }
}

impl Building<'_> {
    fn id(&self, (mechanism, at): (MechanismIx, usize)) -> String {
        conclusions::id(self.pack, self.case, About::Mechanism { mechanism, at })
    }

    fn title(&self, (mechanism, at): (MechanismIx, usize)) -> String {
        conclusions::title_and_place(self.pack, self.case, About::Mechanism { mechanism, at })
    }

    fn sighting(&self, at: usize) -> Option<String> {
        self.outcome.readings.get(at).map(|reading| reading.sighting.clone())
    }

    fn apart(&self, &(at, decibans): &(usize, f64)) -> Option<ApartSays> {
        let reading = self.outcome.readings.get(at)?;
        Some(ApartSays {
            sighting: reading.sighting.clone(),
            says: sightings::in_one_phrase(self.pack, self.case, &[reading]),
            decibans: rounded(decibans),
        })
    }

    fn was_computed(&self, clue: ClueIx, at: usize) -> bool {
        bearing::was_computed(self.case, &self.pack[clue], at)
    }

    fn place(&self, at: usize) -> String {
        self.case
            .places
            .get(at)
            .map(|place| place.id.clone())
            .unwrap_or_default()
    }

    fn rival(&self, one: &Contender, now: f64) -> RivalSays {
        let site = match one.instead {
            Instead::Mechanism { mechanism, at } => Some((mechanism, at)),
            Instead::Ordinary => None,
        };
        RivalSays {
            conclusion: site.map(|site| self.id(site)),
            title: site.map_or_else(|| "ordinary causes only".into(), |site| self.title(site)),
            without: rounded(one.without),
            with: rounded(one.with),
            chance: rounded(one.with * now + one.without * (1.0 - now)),
            ahead: rounded(one.ahead),
            weight: rounded(one.weight),
            shared: one.shared.iter().filter_map(|at| self.sighting(*at)).collect(),
            apart: one.apart.iter().filter_map(|one| self.apart(one)).collect(),
            // What a sheet of readings gave was looked at.
            look: one
                .look
                .as_ref()
                .filter(|look| !self.was_computed(look.clue, look.at))
                .map(|look| {
                    let clue = &self.pack[look.clue];
                    SeparatesSays {
                        clue: clue.id.clone(),
                        title: with_place(&clue.title, self.case, &[look.at]),
                        says: with_place(&clue.says, self.case, &[look.at]),
                        place: self.place(look.at),
                        effort: clue.effort.name(),
                        decibans: rounded(look.decibans),
                        weights: look.weights.iter().map(|weight| rounded(*weight)).collect(),
                    }
                }),
        }
    }

    fn kept_down(&self, kept: &Unsupported) -> KeptDown {
        let taken = kept.taken.iter().filter_map(|one| {
            let by = conclusions::title_and_place(self.pack, self.case, one.by);
            Some((self.apart(&(one.reading, one.in_company))?, by))
        });
        KeptDown {
            against: kept.against.iter().filter_map(|one| self.apart(one)).collect(),
            taken: taken.collect(),
            missing: self.missing(kept),
        }
    }

    fn missing(&self, kept: &Unsupported) -> Vec<MissingSays> {
        kept.missing
            .iter()
            .filter(|one| !self.was_computed(one.clue, one.at))
            .map(|one| MissingSays {
                clue: self.pack[one.clue].id.clone(),
                title: with_place(&self.pack[one.clue].title, self.case, &[one.at]),
                says: with_place(&self.pack[one.clue].says, self.case, &[one.at]),
                place: self.place(one.at),
                shows: rounded(one.shows),
                if_found: rounded(one.if_found),
                if_none: rounded(one.if_none),
            })
            .collect()
    }

    fn margin(&self, one: &Margin) -> MarginSays {
        let (kind, rule, says, sources) = self.number(one.number);
        MarginSays {
            kind,
            rule,
            says,
            from: rounded(one.from),
            to: rounded(one.to),
            decibans: rounded(one.decibans),
            becomes: grade(
                self.pack,
                &one.becomes,
                match one.number {
                    Number::Prevalence(_) => self.lowered,
                    _ => self.prior,
                },
            ),
            sources: sources.iter().map(|at| self.pack[*at].id.clone()).collect(),
        }
    }

    /// A number's kind, rule, what it says, and sources.
    fn number(&self, number: Number) -> (&'static str, String, String, Vec<SourceIx>) {
        let pack = self.pack;
        match number {
            Number::Link(rule) => match pack.links(rule.from).get(rule.link) {
                Some(link) => {
                    let (from, to) = (self.node(rule.from), self.node(link.effect));
                    let says = format!("how often {from} leads to this: {to}");
                    ("link", link.id.clone(), says, link.sources.clone())
                }
                None => ("link", String::new(), String::new(), Vec::new()),
            },
            Number::Clue(clue) => {
                let clue = &pack[clue];
                let says = format!("how often this has another cause than these rules know: {}", clue.title);
                ("background", clue.id.clone(), says, clue.sources.clone())
            }
            Number::Response { response, way } => {
                let response = &pack[response];
                let state = way.and_then(|way| response.states.get(way));
                let state = state
                    .map(|state| format!(" ({})", crate::phrase::words(state)))
                    .unwrap_or_default();
                let says = format!(
                    "how often this has another cause than these rules know: {}{state}",
                    response.title
                );
                ("background", response.id.clone(), says, response.sources.clone())
            }
            Number::Prevalence(mechanism) => {
                let mechanism = &pack[mechanism];
                let says = format!("how common {} is, anywhere on such houses", mechanism.title);
                (
                    "prevalence",
                    mechanism.id.clone(),
                    says,
                    mechanism.prevalence.sources.clone(),
                )
            }
        }
    }

    fn node(&self, node: Node) -> &str {
        match node {
            Node::Mechanism(at) => &self.pack[at].title,
            Node::Response(at) => &self.pack[at].title,
            Node::Clue(at) => &self.pack[at].title,
        }
    }

    fn regraded(&self, one: &Regraded) -> Option<ReadingSays> {
        let reading = self.outcome.readings.get(one.reading)?;
        let clue = &self.pack[reading.clue];
        let none = one.grade.filter(|at| *at == 0);
        Some(ReadingSays {
            sighting: reading.sighting.clone(),
            says: sightings::in_one_phrase(self.pack, self.case, &[reading]),
            moved_to: one
                .grade
                .and_then(|at| clue.grades.get(at))
                .map(|grade| grade.id.clone()),
            grade_says: one
                .grade
                .and_then(|at| clue.grades.get(at))
                .and_then(|grade| crate::engineer::bound(clue, grade)),
            none_says: none.map(|_| sightings::absence(clue)),
            others: none.map(|_| self.others(one.reading)).unwrap_or_default(),
            expected: none.and_then(|_| self.expected(reading.clue)),
            becomes: grade(self.pack, &one.becomes, self.prior),
        })
    }

    /// The signs that speak most for the conclusion beside one of them.
    fn others(&self, but: usize) -> Vec<String> {
        let seen = |step: &&Step| step.kind == StepKind::Seen && step.weight >= SOME;
        let mut steps: Vec<&Step> = self.one.iter().flat_map(|one| &one.steps).filter(seen).collect();
        steps.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        let without = self.outcome.readings.get(but).map(|reading| reading.clue);
        let first = |step: &Step| {
            let at = step.readings.iter().find(|at| **at != but)?;
            let reading = self.outcome.readings.get(*at)?;
            // The same sign elsewhere is told with its place.
            Some(match without == Some(reading.clue) {
                true => sightings::in_one_phrase(self.pack, self.case, &[reading]),
                false => self.pack[reading.clue].says.clone(),
            })
        };
        steps.into_iter().filter_map(first).take(OTHERS).collect()
    }

    /// How often the conclusion's own rule expects a sign.
    fn expected(&self, clue: ClueIx) -> Option<f64> {
        let About::Mechanism { mechanism, .. } = self.one?.about else {
            return None;
        };
        let mut links = self.pack.links(Node::Mechanism(mechanism)).iter();
        let own = links.find(|link| link.effect == Node::Clue(clue) && link.reach == Reach::Here)?;
        rounded(own.how_often.value)
    }

    fn story(&self, one: &Combination) -> StorySays {
        let of = |wanted: Option<(MechanismIx, usize)>| -> Vec<String> {
            let mine = one.accounts.iter().filter(|(_, by)| *by == wanted);
            mine.filter_map(|(at, _)| self.sighting(*at)).collect()
        };
        StorySays {
            present: one.present.iter().map(|site| self.id(*site)).collect(),
            titles: one.present.iter().map(|site| self.title(*site)).collect(),
            chance: rounded(one.chance),
            accounts: one.present.iter().map(|site| of(Some(*site))).collect(),
            ordinary: of(None),
        }
    }
}
