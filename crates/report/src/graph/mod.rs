//! The reasoning drawn: the part of the grounded graph that matters for one conclusion, from the conclusion on the left
//! to the signs on the right.

mod draw;
mod layers;

use std::collections::BTreeMap;

use wythe_case::Case;
use wythe_engine::{About, Outcome, Reading, Reasons, SOME};
use wythe_pack::{Node, Pack};

use crate::ReportError;
use crate::build::{conclusions, sightings};
use crate::number::{odds_in_words, short_chance, times};
use crate::phrase::{capital, with_place};
use crate::plain::action_name;
use crate::steps::signed;

/// Most signs drawn that were seen.
const MOST_SEEN: usize = 16;
/// Most drawn that were looked for and not there.
const MOST_NONE: usize = 6;
/// Least chance of another conclusion that is drawn as accounting for a sign.
const LEAST_RIVAL: f64 = 0.05;
/// What a box stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    /// What the drawing is about.
    Conclusion,
    /// A member of a family.
    Member,
    /// A hidden step.
    Response,
    /// A sign that was seen.
    Seen,
    /// A sign that was looked for and not there.
    NoneThere,
    /// Another conclusion that accounts for a sign.
    Rival,
}

/// A box.
#[derive(Clone, Debug)]
struct Boxed {
    kind: Kind,
    layer: usize,
    /// Its id in the drawing.
    id: String,
    title: String,
    /// What stands under its title.
    says: Vec<String>,
    /// What stands on a sign's mark: `S3`.
    mark: String,
}

/// A line from one box to another.
#[derive(Clone, Debug)]
struct Joined {
    from: usize,
    to: usize,
    /// What its width says, in decibans; below 0 it speaks against.
    weight: f64,
    says: Vec<String>,
}

/// Boxes and lines.
#[derive(Default)]
struct Graph {
    boxes: Vec<Boxed>,
    lines: Vec<Joined>,
}

/// The reasoning for one conclusion, as SVG.
///
/// Columns from left to right: the conclusion (and the members of a family), hidden steps, signs, and on the far right
/// other conclusions that account for a sign. The width of a line and the number in a sign's box say how far that sign
/// speaks by itself, in decibans; a broken line speaks against. At the end of a line: how often the rule expects what
/// it leads to, there. Marks like `S3` are those of [`crate::plan_svg`]. `reasons` must be of the same case and pack as
/// `outcome`.
///
/// # Errors
/// A text in it makes a determination.
pub fn reasoning_svg(pack: &Pack, case: &Case, outcome: &Outcome, reasons: &Reasons) -> Result<String, ReportError> {
    let graph = graph(pack, case, outcome, reasons);
    let title = format!(
        "Reasons for: {}",
        conclusions::title_and_place(pack, case, reasons.about)
    );
    let left_out = reasons.chains.len().saturating_sub(graph.signs());
    draw::draw(pack, case, &graph, &title, left_out)
}

impl Graph {
    fn signs(&self) -> usize {
        let is = |one: &&Boxed| matches!(one.kind, Kind::Seen | Kind::NoneThere);
        self.boxes.iter().filter(is).count()
    }

    /// The box of an id, made when it is new.
    fn boxed(&mut self, new: Boxed) -> usize {
        match self.boxes.iter_mut().enumerate().find(|(_, one)| one.id == new.id) {
            Some((at, one)) => {
                one.layer = one.layer.max(new.layer);
                at
            }
            None => {
                self.boxes.push(new);
                self.boxes.len().saturating_sub(1)
            }
        }
    }

    /// A line; where one is there already, the heavier of the two.
    fn join(&mut self, new: Joined) {
        match self
            .lines
            .iter_mut()
            .find(|one| (one.from, one.to) == (new.from, new.to))
        {
            Some(one) if one.weight.abs() < new.weight.abs() => one.weight = new.weight,
            Some(_) => {}
            None => self.lines.push(new),
        }
    }
}

/// The chains to draw: those of the signs that say most, in the order of the case.
fn chosen<'r>(outcome: &Outcome, reasons: &'r Reasons) -> Vec<&'r wythe_engine::Chain> {
    let shows = |at: usize| outcome.readings.get(at).is_some_and(Reading::shows);
    let mut seen: Vec<_> = reasons.chains.iter().filter(|one| shows(one.reading)).collect();
    let mut none: Vec<_> = reasons
        .chains
        .iter()
        .filter(|one| !shows(one.reading) && one.alone.abs() >= SOME)
        .collect();
    for (list, most) in [(&mut seen, MOST_SEEN), (&mut none, MOST_NONE)] {
        list.sort_by(|a, b| b.alone.abs().total_cmp(&a.alone.abs()));
        list.truncate(most);
    }
    let mut all: Vec<_> = seen.into_iter().chain(none).collect();
    all.sort_by_key(|one| one.reading);
    all
}

fn graph(pack: &Pack, case: &Case, outcome: &Outcome, reasons: &Reasons) -> Graph {
    let mut graph = Graph::default();
    let top = graph.boxed(conclusion(pack, case, outcome, reasons.about, Kind::Conclusion, 0));
    let chosen = chosen(outcome, reasons);
    let deepest = chosen.iter().map(|one| one.hops.len()).max().unwrap_or(0);
    let first = usize::from(matches!(reasons.about, About::Family(_)));
    let signs_at = first + deepest.max(1);
    let mut at_reading: BTreeMap<usize, usize> = BTreeMap::new();
    for chain in chosen {
        let Some(reading) = outcome.readings.get(chain.reading) else {
            continue;
        };
        let mut from = top;
        if first > 0 {
            from = graph.boxed(conclusion(pack, case, outcome, chain.about, Kind::Member, 1));
            graph.join(Joined {
                from: top,
                to: from,
                weight: chain.alone,
                says: Vec::new(),
            });
        }
        for (depth, hop) in chain.hops.iter().enumerate() {
            let Some(link) = pack.links(hop.rule.from).get(hop.rule.link) else {
                break;
            };
            let to = match link.effect {
                Node::Clue(_) => {
                    let boxed = graph.boxed(sign(pack, case, reasons, chain, reading, signs_at));
                    at_reading.insert(chain.reading, boxed);
                    boxed
                }
                Node::Response(at) => graph.boxed(Boxed {
                    kind: Kind::Response,
                    layer: first + depth + 1,
                    id: format!("step-{}-{}", pack[at].id, place_id(case, hop.to_at)),
                    title: capital(&with_place(&pack[at].title, case, &[hop.to_at])),
                    says: Vec::new(),
                    mark: String::new(),
                }),
                Node::Mechanism(_) => break,
            };
            graph.join(Joined {
                from,
                to,
                weight: chain.alone,
                says: vec![odds_in_words(hop.chance), short_chance(hop.chance)],
            });
            from = to;
        }
    }
    for one in &reasons.explained_away {
        let Some(sign) = at_reading.get(&one.reading) else {
            continue;
        };
        // One that is hardly there accounts for little: other signs told the same news before.
        let chance = outcome
            .conclusions
            .iter()
            .find(|other| other.about == one.by)
            .map_or(0.0, |other| other.chance);
        if chance < LEAST_RIVAL {
            continue;
        }
        let rival = graph.boxed(conclusion(pack, case, outcome, one.by, Kind::Rival, signs_at + 1));
        graph.join(Joined {
            from: *sign,
            to: rival,
            weight: one.alone - one.in_company,
            says: vec![
                "accounts for it:".into(),
                format!("{} of {}", signed(one.alone - one.in_company), signed(one.alone)),
            ],
        });
    }
    graph
}

fn place_id(case: &Case, at: usize) -> &str {
    case.places.get(at).map_or("", |place| &place.id)
}

fn conclusion(pack: &Pack, case: &Case, outcome: &Outcome, about: About, kind: Kind, layer: usize) -> Boxed {
    let found = outcome.conclusions.iter().find(|one| one.about == about);
    let mut says: Vec<String> = found
        .map(|one| capital(&conclusions::firm(pack, one)))
        .into_iter()
        .collect();
    if kind == Kind::Conclusion {
        says.extend(found.map(|one| {
            format!(
                "Before any sign: {} ({})",
                odds_in_words(one.prior),
                short_chance(one.prior)
            )
        }));
        says.extend(found.map(|one| format!("Asks for: {}", action_name(one.action.name()))));
    }
    let id = conclusions::id(pack, case, about).replace('@', "-");
    Boxed {
        kind,
        layer,
        id: if kind == Kind::Rival {
            format!("rival-{id}")
        } else {
            format!("conclusion-{id}")
        },
        title: capital(&conclusions::title_and_place(pack, case, about)),
        says,
        mark: String::new(),
    }
}

fn sign(
    pack: &Pack,
    case: &Case,
    reasons: &Reasons,
    chain: &wythe_engine::Chain,
    reading: &Reading,
    layer: usize,
) -> Boxed {
    let shows = reading.shows();
    let mut says = vec![format!(
        "By itself {} decibans: {}",
        signed(chain.alone),
        times(chain.alone)
    )];
    if let Some(one) = reasons.without.iter().find(|one| one.reading == chain.reading)
        && one.adds.abs() >= SOME
    {
        says.push(format!(
            "Without it: {} ({})",
            odds_in_words(one.chance),
            short_chance(one.chance)
        ));
    }
    Boxed {
        kind: if shows { Kind::Seen } else { Kind::NoneThere },
        layer,
        id: format!("sign-{}", reading.sighting),
        title: format!(
            "{} [{}]",
            capital(&sightings::in_one_phrase(pack, case, &[reading])),
            reading.sighting
        ),
        says,
        mark: format!("{}{}", if shows { 'S' } else { 'N' }, chain.reading + 1),
    }
}
