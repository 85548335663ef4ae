//! The page of a clue.

use std::collections::BTreeMap;

use wythe_engine::{About, weigh};
use wythe_pack::{Bound, Clue, ClueIx, MechanismIx, Node, Pack, Support, SuppressedBy};

use super::sheet::{Sheet, cited, graded, in_100, number_in_100, sentence, words};
use super::signs::{leaning, often, shown, whither};
use crate::{Case, Error, HouseShares};

/// Mechanisms and next looks listed.
const MOST: usize = 5;

pub(super) fn sheet(pack: &Pack, shares: Option<&HouseShares<'_>>, at: ClueIx) -> Result<Sheet, Error> {
    let this = &pack[at];
    let mut sheet = Sheet::new(pack, &this.title);
    let at_a = format!("a place of the kind *{}*", pack[this.at].title);
    sheet.say(format!(
        "`{}`. Looked for at {at_a}, {}; takes {}.",
        this.id,
        this.zone.name(),
        effort_of(&words(this.effort.name()))
    ));
    sheet.also_called(&this.also_called);
    if this.direct {
        sheet.say("It is the condition itself, and not a sign of it.");
    }
    if let Some(pattern) = &this.pattern {
        sheet.say(format!(
            "Derived, not looked for: {} at {} places or more, from [[{}]].",
            words(pattern_of(pattern.kind)),
            pattern.at_least,
            pack[pattern.of].id
        ));
    }
    sheet.say(format!("**How to look.** {}", sentence(&this.look_for)));
    if let Some(wait) = &this.wait {
        sheet.say(format!(
            "**Then wait.** {} days before other looks there. {}",
            trimmed(wait.days),
            sentence(&wait.reason)
        ));
    }
    measure(&mut sheet, this);
    grades(&mut sheet, this);
    if let Some((share, house)) = shares.and_then(|shares| shares.of_clue(at)) {
        let parts: Vec<String> = this
            .grades
            .iter()
            .skip(1)
            .zip(share)
            .map(|(grade, share)| format!("{} {}", words(&grade.id), in_100(*share)))
            .collect();
        sheet.say(format!(
            "**How common.** Ordinary houses that would show it somewhere ({}), at this grade or more: {}.",
            house.to_lowercase(),
            parts.join(", ")
        ));
    }
    sheet.list("Ordinary causes", this.ordinary_causes.iter().map(|one| sentence(one)));
    marks(&mut sheet, this);
    makers(&mut sheet, pack, at);
    next(&mut sheet, pack, shares, at)?;
    rules(&mut sheet, pack, at);
    let links = pack
        .template()
        .into(Node::Clue(at))
        .into_iter()
        .filter_map(|rule| pack.links(rule.from).get(rule.link));
    let mut sources = this.sources.clone();
    sources.extend(links.flat_map(|link| link.sources.clone()));
    sources.extend(this.measured_by.iter().flat_map(|by| by.sources.clone()));
    sheet.sources(pack, &sources);
    Ok(sheet)
}

fn effort_of(effort: &str) -> String {
    format!("a {effort}")
}

fn pattern_of(kind: wythe_pack::PatternKind) -> &'static str {
    use wythe_pack::PatternKind::{AllAlike, OneOnly, OneWallOnly, WorstToOneSide};
    match kind {
        AllAlike => "the same at each",
        OneOnly => "one only",
        OneWallOnly => "one wall only",
        WorstToOneSide => "worst to one side",
    }
}

fn measure(sheet: &mut Sheet, this: &Clue) {
    match &this.measured_by {
        Some(by) => sheet.say(format!(
            "**What to measure.** {} Write the error beside it; without one, {} is taken, 95 times in 100.",
            sentence(&by.how),
            error_of(by)
        )),
        None => sheet.say("**What to measure.** Graded by eye; a photograph with something for scale keeps it."),
    }
}

fn error_of(by: &wythe_pack::Instrument) -> String {
    let half = by.sd * wythe_measure::COVER_95;
    match by.quantity {
        wythe_measure::Quantity::Length => format!("± {} mm", trimmed(half)),
        wythe_measure::Quantity::Ratio if half > 0.0 => format!("± 1 in {:.0}", 1.0 / half),
        _ => format!("± {}", trimmed(half)),
    }
}

fn trimmed(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn grades(sheet: &mut Sheet, this: &Clue) {
    let falls = this.measured_by.as_ref().is_some_and(|by| by.less_is_worse);
    let usual = std::iter::once(None).chain(this.usual_grades.iter().map(Some));
    let rows = this.grades.iter().zip(usual).enumerate().map(|(at, (grade, usual))| {
        let mut text = format!("**{}**", words(&grade.id));
        if let Some(title) = &grade.title {
            text.push_str(&format!(", {title}"));
        }
        match (&grade.up_to_text, this.measured_by.is_some()) {
            (Some(bound), _) => text.push_str(&format!(", {} {bound}", if falls { "down to" } else { "up to" })),
            (None, true) if at > 0 => text.push_str(if falls { ", less than that" } else { ", more than that" }),
            _ => {}
        }
        if let Some(usual) = usual.filter(|_| this.grades.len() > 2) {
            text.push_str(&format!(": {} that show it, as a rule", in_100(*usual)));
        }
        text
    });
    sheet.list("Grades", rows);
}

fn marks(sheet: &mut Sheet, this: &Clue) {
    let rows = this.marks.iter().map(|mark| {
        let kinds: Vec<String> = mark
            .kinds
            .iter()
            .zip(&mark.background)
            .map(|(kind, share)| format!("{} ({})", words(kind), number_in_100(*share)))
            .collect();
        format!("**{}**: {}", mark.title, kinds.join(", "))
    });
    sheet.list(
        "What to note about it (in brackets: in 100 that have no cause named here)",
        rows,
    );
}

fn makers(sheet: &mut Sheet, pack: &Pack, at: ClueIx) {
    let this = &pack[at];
    sheet.heading("What can make it");
    for rule in pack.template().into(Node::Clue(at)) {
        let Some(link) = pack.links(rule.from).get(rule.link) else {
            continue;
        };
        let state = match (rule.from, link.when) {
            (Node::Response(from), Some(when)) => {
                pack[from].states.get(when).map(|state| format!(", {}", words(state)))
            }
            _ => None,
        };
        let only = link
            .only_if
            .map_or_else(String::new, |context| format!(", only with {}", pack[context].title));
        sheet.item(
            0,
            format!(
                "**[[{}]]**{}: {}, {}{only}. {}{} {}",
                pack.name(rule.from),
                state.unwrap_or_default(),
                often(&link.how_often),
                whither(pack, link),
                sentence(&link.reason),
                leaning(this, link),
                graded(pack, &link.sources, link.basis)
            ),
        );
        if let Node::Response(_) = rule.from {
            behind(sheet, pack, rule.from, link.when);
        }
    }
    sheet.item(
        0,
        format!(
            "Anything else, at one place: {} ({}).",
            often(&this.background),
            words(this.basis.name())
        ),
    );
}

/// The mechanisms that make a response, at once or through others.
fn behind(sheet: &mut Sheet, pack: &Pack, response: Node, way: Option<usize>) {
    let mut causes: BTreeMap<MechanismIx, f64> = BTreeMap::new();
    let mut work = vec![(response, way, 1.0, 0)];
    while let Some((node, way, chance, deep)) = work.pop() {
        for rule in pack.template().into(node) {
            let Some(link) = pack.links(rule.from).get(rule.link) else {
                continue;
            };
            if way.is_some() && link.direction.is_some() && link.direction != way {
                continue;
            }
            let chance = chance * link.how_often.value;
            match rule.from {
                Node::Mechanism(at) => {
                    let slot = causes.entry(at).or_insert(0.0_f64);
                    *slot = slot.max(chance);
                }
                Node::Response(_) if deep < 4 => work.push((rule.from, link.when, chance, deep + 1)),
                _ => {}
            }
        }
    }
    let mut causes: Vec<(MechanismIx, f64)> = causes.into_iter().collect();
    causes.sort_by(|a, b| b.1.total_cmp(&a.1));
    let names: Vec<String> = causes
        .iter()
        .map(|(at, chance)| format!("[[{}]] ({})", pack[*at].id, in_100(*chance)))
        .collect();
    sheet.item(1, format!("Not seen itself. It comes of: {}.", names.join(", ")));
}

/// What the clue alone moves on a typical house, and which other signs then tell its causes apart.
fn next(sheet: &mut Sheet, pack: &Pack, shares: Option<&HouseShares<'_>>, at: ClueIx) -> Result<(), Error> {
    let Some(house) = shares.and_then(|shares| shares.house_for(at)) else {
        return Ok(());
    };
    let this = &pack[at];
    let kind = &pack[this.at].id;
    let (Some(place), Some(grade)) = (
        house.places.iter().find(|place| place.kind == *kind),
        this.grades.get(1),
    ) else {
        return Ok(());
    };
    if this.pattern.is_some() {
        return Ok(());
    }
    let outcome = weigh(pack, &alone(house, &this.id, &place.id, &grade.id)?)?;
    let mut moved: BTreeMap<MechanismIx, (f64, f64, f64)> = BTreeMap::new();
    for one in &outcome.conclusions {
        if let About::Mechanism { mechanism, .. } = one.about {
            let slot = moved.entry(mechanism).or_insert((0.0, 0.0, 0.0));
            if one.chance > slot.1 {
                *slot = (one.prior, one.chance, one.weight);
            }
        }
    }
    let mut moved: Vec<(MechanismIx, (f64, f64, f64))> =
        moved.into_iter().filter(|(_, (.., weight))| *weight >= 1.0).collect();
    moved.sort_by(|a, b| (b.1.1).total_cmp(&a.1.1));
    let rows = moved.iter().take(MOST).map(|(at, (prior, chance, _))| {
        format!(
            "[[{}]]: from {} to {} at the place it fits best",
            pack[*at].id,
            in_100(*prior),
            in_100(*chance)
        )
    });
    let heading = format!(
        "What one alone moves ({}, at one place, all else not looked at)",
        words(&grade.id)
    );
    sheet.list(&heading, rows);
    // What matters most to tell apart: the gravest of its causes from the likeliest.
    let asks = |at: MechanismIx| {
        pack.policy
            .consequences
            .get(pack[at].consequence)
            .map(|row| row.action(Support::Strong))
    };
    let common = moved.first().map(|one| one.0);
    let grave = moved
        .iter()
        .max_by(|a, b| asks(a.0).cmp(&asks(b.0)).then(a.1.1.total_cmp(&b.1.1)));
    if let (Some(common), Some((grave, _))) = (common, grave)
        && common != *grave
    {
        let heading = format!(
            "What to look at next, to tell {} from {}",
            pack[*grave].title, pack[common].title
        );
        sheet.list(&heading, looks(pack, at, *grave, common));
    }
    Ok(())
}

/// The house with one clue seen at one place, and nothing else looked at.
fn alone(house: &Case, clue: &str, place: &str, grade: &str) -> Result<Case, Error> {
    let text = format!("{{clue: {clue}, at: here, seen: {grade}}}");
    let text = format!(
        "format: 1\nid: alone\nplaces: [{{id: here, kind: any}}]\npasses: [{{pass: alone, sightings: [{text}]}}]\n"
    );
    let mut passes = Case::read("alone.yaml", &text)?.passes;
    let mut case = house.clone();
    for sighting in passes.iter_mut().flat_map(|pass| &mut pass.sightings) {
        sighting.at = case.place(place).unwrap_or_default();
    }
    case.passes = passes;
    Ok(case)
}

/// Other clues by how far two causes differ in showing them.
fn looks(pack: &Pack, at: ClueIx, one: MechanismIx, other: MechanismIx) -> Vec<String> {
    let (ones, others) = (shown(pack, one), shown(pack, other));
    let mut found = Vec::new();
    for clue in (0..pack.clues.len()).map(ClueIx) {
        if clue == at || pack[clue].pattern.is_some() {
            continue;
        }
        let chance = |shows: &BTreeMap<ClueIx, f64>| shows.get(&clue).copied().unwrap_or(0.0);
        let (p, q) = (chance(&ones), chance(&others));
        let (most, more, less) = if p > q { (one, p, q) } else { (other, q, p) };
        if more - less >= 0.1 {
            let text = format!(
                "[[{}]] ({}): speaks for [[{}]] ({} against {})",
                pack[clue].id,
                effort_of(&words(pack[clue].effort.name())),
                pack[most].id,
                in_100(more),
                in_100(less)
            );
            found.push((more - less, text));
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.into_iter().take(MOST).map(|(_, text)| text).collect()
}

fn rules(sheet: &mut Sheet, pack: &Pack, at: ClueIx) {
    let this = &pack[at];
    let hidden = pack
        .suppressions
        .iter()
        .filter(|rule| rule.hides.contains(&at))
        .map(|rule| {
            let by = match rule.by {
                SuppressedBy::Context(context) => pack[context].title.clone(),
                SuppressedBy::Clue { clue, .. } | SuppressedBy::Test { clue } => format!("[[{}]]", pack[clue].id),
            };
            let counts = match rule.by {
                SuppressedBy::Test { .. } => "Until its wait is over, whatever is seen counts as not looked.",
                _ => "Finding none then counts as not looked.",
            };
            format!(
                "{by}: {} {counts} {}",
                sentence(&rule.reason),
                cited(pack, &rule.sources)
            )
        });
    sheet.list("What can hide or spoil it", hidden);
    let reads = |limit: &&wythe_pack::Limit| limit.clue == at || limit.also.contains(&at);
    let limits = pack.limits.iter().filter(reads).map(|limit| {
        let bound = match &limit.bound {
            Bound::Over { text, .. } => format!("over {text}"),
            Bound::Under { text, .. } => format!("under {text}"),
            Bound::From(grade) => this
                .grades
                .get(*grade)
                .map_or_else(String::new, |grade| format!("from {}", words(&grade.id))),
        };
        let marked = limit.marks.iter().map(|(_, kind)| format!(", {}", words(kind)));
        format!(
            "**{bound}{}**: {} {} {}",
            marked.collect::<String>(),
            sentence(pack.wording.action(limit.at_least)),
            sentence(&limit.purpose),
            graded(pack, &limit.sources, limit.basis)
        )
    });
    let hazards = pack.hazards.iter().filter(|hazard| hazard.clue == at).map(|hazard| {
        let grade = this.grades.get(hazard.from).map_or("", |grade| grade.id.as_str());
        format!(
            "**from {}**, a notice by itself: {} {}",
            words(grade),
            sentence(&hazard.notice),
            cited(pack, &hazard.sources)
        )
    });
    sheet.list("Limits and notices", limits.chain(hazards));
}
