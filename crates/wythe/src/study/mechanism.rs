//! The page of a mechanism.

use wythe_pack::{Action, ClueIx, Link, Mechanism, MechanismIx, Node, Pack, Rival, SourceIx, Support};

use super::sheet::{Sheet, capital, cited, graded, in_100, named, number_in_100, sentence, words};
use super::signs::{leaning, often, passed, shown, whither};
use crate::HouseShares;

/// Rivals listed.
const RIVALS: usize = 5;

pub(super) fn sheet(pack: &Pack, shares: Option<&HouseShares<'_>>, at: MechanismIx) -> Sheet {
    let this = &pack[at];
    let mut sheet = Sheet::new(pack, &this.title);
    let families: Vec<&str> = this
        .families
        .iter()
        .map(|family| pack[*family].title.as_str())
        .collect();
    let kind = if this.ordinary {
        "An ordinary cause"
    } else {
        "A mechanism"
    };
    let family = if families.is_empty() {
        String::new()
    } else {
        format!(" Reported with: {}.", families.join(", "))
    };
    sheet.say(format!(
        "`{}`. {kind}, at a place of the kind *{}*.{family}",
        this.id, pack[this.at].title
    ));
    sheet.also_called(&this.also_called);
    sheet.say(sentence(&this.what));
    sheet.say(format!("**What it looks like.** {}", sentence(&this.picture)));
    sheet.say(common(pack, shares, at));
    contexts(&mut sheet, pack, this);
    sheet.heading("Signs it leaves");
    sheet.say(
        "The source says that a sign is left. How often is our judgement, where no other grade of the number is given.",
    );
    signs(&mut sheet, pack, Node::Mechanism(at), None, 0, 1.0);
    let absent = this.not_expected.iter().map(|other| {
        format!(
            "[[{}]]: {} {}",
            pack.name(other.effect),
            sentence(&other.reason),
            cited(pack, &other.sources)
        )
    });
    sheet.list("Signs it is not expected to leave", absent);
    sheet.list("What shares its signs, and what tells them apart", rivals(pack, at));
    sheet.list(
        "What would change the mind",
        this.mind_changers.iter().map(|one| sentence(&one.says)),
    );
    advice(&mut sheet, pack, this);
    sheet.sources(pack, &all_sources(this));
    sheet
}

fn common(pack: &Pack, shares: Option<&HouseShares<'_>>, at: MechanismIx) -> String {
    let prevalence = &pack[at].prevalence;
    let mut text = format!(
        "**How common.** {} of houses with none of the facts below ({} to {}): {} ({}).",
        in_100(prevalence.chance),
        number_in_100(prevalence.from),
        number_in_100(prevalence.to),
        words(prevalence.basis.name()),
        named(pack, &prevalence.sources),
    );
    if let Some((share, house)) = shares.and_then(|shares| shares.of_mechanism(at)) {
        text.push_str(&format!(
            " Over ordinary houses ({}): {}.",
            house.to_lowercase(),
            in_100(share)
        ));
    }
    text
}

fn contexts(sheet: &mut Sheet, pack: &Pack, this: &Mechanism) {
    let only = this
        .applies_if
        .iter()
        .map(|at| format!("Only where this holds: {} (`{}`).", pack[*at].title, pack[*at].id));
    let effects = this.contexts.iter().map(|effect| {
        let context = &pack[effect.context];
        let word = effect
            .word
            .as_deref()
            .map_or_else(String::new, |word| format!("{}, ", words(word)));
        format!(
            "{} (`{}`): {word}odds times {} {}",
            capital(&context.title),
            context.id,
            effect.times,
            cited(pack, &effect.sources)
        )
    });
    sheet.list("Facts that make it likelier or less", only.chain(effects));
}

/// The links out of a node, and of the responses behind them.
fn signs(sheet: &mut Sheet, pack: &Pack, from: Node, way: Option<usize>, deep: usize, chance: f64) {
    for link in passed(pack, from, way) {
        let both = chance * link.how_often.value;
        let mut text = format!("**[[{}]]**", pack.name(link.effect));
        if let (Node::Response(at), Some(way)) = (link.effect, link.direction) {
            let state = pack[at].states.get(way).map_or("", String::as_str);
            text = format!("{text}, {}", words(state));
        }
        text.push_str(&format!(", {}: {}", whither(pack, link), often(&link.how_often)));
        if let (Node::Response(at), None, Some(when)) = (from, way, link.when) {
            let state = pack[at].states.get(when).map_or("", String::as_str);
            text.push_str(&format!(" when it is {}", words(state)));
        }
        if deep > 0 {
            text.push_str(&format!(", {} in all", in_100(both)));
        }
        if let Some(context) = link.only_if {
            text.push_str(&format!(", only with {}", pack[context].title));
        }
        text.push_str(&format!(". {}", sentence(&link.reason)));
        if let Node::Clue(at) = link.effect {
            text.push_str(&leaning(&pack[at], link));
        }
        text.push_str(&format!(" {}", graded(pack, &link.sources, link.basis)));
        match link.effect {
            Node::Response(_) if deep < 4 => {
                sheet.item(deep, format!("{text} Not seen itself; it shows as:"));
                signs(sheet, pack, link.effect, link.direction, deep + 1, both);
            }
            Node::Mechanism(_) => sheet.item(
                deep,
                format!("{text} It is a cause of its own, with a page of its own."),
            ),
            _ => sheet.item(deep, text),
        }
    }
}

/// Mechanisms that share the most signs, each with the sign that parts them best either way.
fn rivals(pack: &Pack, at: MechanismIx) -> Vec<String> {
    let mine = shown(pack, at);
    let upstream = |one: MechanismIx, other: MechanismIx| {
        let leads = |link: &Link| link.effect == Node::Mechanism(other);
        pack[one].links.iter().any(leads)
    };
    let mut found = Vec::new();
    for other in (0..pack.mechanisms.len()).map(MechanismIx) {
        if other == at || upstream(at, other) || upstream(other, at) {
            continue;
        }
        let theirs = shown(pack, other);
        let shared: f64 = mine
            .iter()
            .filter_map(|(clue, p)| theirs.get(clue).map(|q| p.min(*q)))
            .sum();
        if shared < 0.1 {
            continue;
        }
        let apart = |clue: &ClueIx| mine.get(clue).copied().unwrap_or(0.0) - theirs.get(clue).copied().unwrap_or(0.0);
        let clues = || mine.keys().chain(theirs.keys());
        let most = clues().max_by(|a, b| apart(a).total_cmp(&apart(b)));
        let least = clues().min_by(|a, b| apart(a).total_cmp(&apart(b)));
        let says = |clue: Option<&ClueIx>, sign: f64, who: &str| {
            let clue = clue.filter(|clue| apart(clue) * sign > 0.1)?;
            let (p, q) = (
                mine.get(clue).copied().unwrap_or(0.0),
                theirs.get(clue).copied().unwrap_or(0.0),
            );
            let (p, q) = (in_100(p), in_100(q));
            Some(format!(
                " [[{}]] speaks for {who} ({} against {}).",
                pack[*clue].id,
                if sign > 0.0 { &p } else { &q },
                if sign > 0.0 { &q } else { &p }
            ))
        };
        let text = format!(
            "[[{}]].{}{}",
            pack[other].id,
            says(most, 1.0, "this one").unwrap_or_default(),
            says(least, -1.0, "that one").unwrap_or_default()
        );
        found.push((shared, text));
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.into_iter().take(RIVALS).map(|(_, text)| text).collect()
}

fn advice(sheet: &mut Sheet, pack: &Pack, this: &Mechanism) {
    sheet.heading("What to do");
    let row = pack.policy.consequences.get(this.consequence);
    let action = |support: Support| {
        let own = this
            .actions
            .iter()
            .find(|(one, _)| *one == support)
            .map(|(_, action)| *action);
        own.or_else(|| row.map(|row| row.action(support)))
            .unwrap_or(Action::Record)
    };
    for support in [Support::Slight, Support::Some, Support::Fair, Support::Strong] {
        let says = pack.wording.action(action(support));
        sheet.item(0, format!("With {support} support: {}", sentence(says)));
    }
    if let Some(harm) = &this.harm_if_wrong {
        let rival = match harm.rival {
            Rival::Family(at) => pack[at].title.clone(),
            Rival::Mechanism(at) => format!("[[{}]]", pack[at].id),
        };
        sheet.say(format!(
            "**Hold back:** {}. It would hide {}. First settle {rival}: wait while its chance is over {}, and look at [[{}]].",
            harm.what,
            harm.hides,
            in_100(harm.over),
            pack[harm.check_first].id
        ));
    }
    let advice = &this.advice;
    for (title, text) in [
        ("Upkeep", &advice.upkeep),
        ("Trade", &advice.trade),
        ("For the engineer", &advice.refer),
    ] {
        if let Some(text) = text {
            sheet.say(format!("**{title}.** {}", sentence(text)));
        }
    }
    if let Some(plan) = &advice.monitor {
        sheet.say(format!(
            "**What to measure again.** {} How: {} Call if {}.",
            sentence(&plan.points),
            sentence(&plan.method),
            plan.call_if.trim_end_matches('.')
        ));
    }
    sheet.say("What moved, and what a repair would be, is for a licensed professional engineer to say.");
}

fn all_sources(this: &Mechanism) -> Vec<SourceIx> {
    let links = this.links.iter().flat_map(|link| &link.sources);
    let contexts = this.contexts.iter().flat_map(|effect| &effect.sources);
    let all = this
        .sources
        .iter()
        .chain(&this.prevalence.sources)
        .chain(links)
        .chain(contexts);
    all.copied().collect()
}
