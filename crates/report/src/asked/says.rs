//! What was asked of one conclusion, in sentences: the text of its reasons and the end of a lesson say the same.

use std::collections::BTreeSet;

use wythe_pack::Support;

use super::values::{ApartSays, AskedPage, GradeSays, KeptDown, MarginSays, MissingSays, ReadingSays, RivalSays};
use crate::number::{from_to, odds_in_words, short_chance, two_chances};
use crate::phrase::{capital, listed, words};
use crate::plain::action_name;
use crate::steps::in_decibans;

/// Most sightings told that tell two rivals apart.
const APART: usize = 3;
/// Most numbers of the pack told.
const NUMBERS: usize = 3;
/// Most of everything else.
const MOST: usize = 4;
/// Decibans under which a margin is called small: the odds of one number doubled or halved.
const SMALL: f64 = 3.0;

/// How a sighting is named behind what it says: ` [first.1]`, ` (sighting 17)`.
pub(crate) type Named<'a> = &'a dyn Fn(&str) -> String;

/// What the lines of a rival count.
pub(crate) const RIVALS: &str = "Each is held against this one as if just one of the two were there; both may be. First its chance if this one were not there, and its chance as it stands, beside this one. Then by how much this one is ahead of it, in decibans (10 are ten times the odds), and what each sighting adds to that, all others kept; plus is for this one. Ordinary causes only: none of the causes that these rules know for these signs is there, and they come of wear, workmanship or age.";

/// What is said where no single number changes anything.
const NO_NUMBER: &str =
    "No single number of the rules, its odds made ten times as large or as small, changes the support or the action.";

/// What is said where nothing tells two rivals apart.
pub(crate) const NONE_APART: &str = "No sighting tells them apart by as much as a deciban.";

/// What is said where no single sighting does.
pub(crate) const NO_SIGHTING: &str =
    "No single sighting, taken away or moved by one class, changes the support or the action.";

pub(super) fn chance(value: Option<f64>) -> String {
    value.map_or_else(|| "unknown".into(), short_chance)
}

/// A whole number of decibans with its sign.
fn signed(value: Option<f64>) -> String {
    match value {
        None => "beyond number".into(),
        Some(value) if value.round() == 0.0 => "0".into(),
        Some(value) => format!("{value:+.0}"),
    }
}

/// A rival.
pub(crate) struct RivalTold {
    /// Its title, its chance, and which of the two is ahead.
    pub head: String,
    /// What tells the two apart, most first.
    pub apart: Vec<String>,
    /// The look that would.
    pub look: Option<String>,
}

pub(crate) fn rival(one: &RivalSays, named: Named<'_>) -> RivalTold {
    let ahead = match one.ahead {
        None => "One of the two is ruled out.".into(),
        Some(ahead) if ahead.round() == 0.0 => "Neither is ahead.".into(),
        Some(ahead) if ahead > 0.0 => format!("This one is ahead by {}.", in_decibans(ahead)),
        Some(ahead) => format!("It is ahead of this one by {}.", in_decibans(ahead)),
    };
    let some = |apart: &&ApartSays| apart.decibans.is_none_or(|decibans| decibans.abs() >= 0.5);
    let tells = |apart: &ApartSays| format!("{}: {}{}", signed(apart.decibans), apart.says, named(&apart.sighting));
    let look = one.look.as_ref().filter(|look| look.decibans.unwrap_or(0.0) >= 0.1);
    let more = match one.apart.iter().filter(some).count() {
        n if n > APART => format!(" Of the {n} signs that tell the two apart, the {APART} that do most:"),
        _ => String::new(),
    };
    RivalTold {
        head: format!(
            "{}: {} if this one were not there; as it stands, {}. {ahead}{more}",
            capital(&one.title),
            chance(one.without),
            chance(one.chance)
        ),
        apart: one.apart.iter().filter(some).take(APART).map(tells).collect(),
        look: look.map(|look| match look.decibans.unwrap_or(0.0) {
            decibans if decibans < 1.0 => "No look would tell them apart by as much as a deciban.".into(),
            decibans => format!(
                "To tell them apart, look for: {} ({}; {decibans:.1} decibans on average).",
                look.says,
                words(look.effort),
            ),
        }),
    }
}

/// What speaks against a conclusion beside all others.
pub(crate) fn against(kept: &KeptDown, named: Named<'_>) -> Vec<String> {
    let says = |one: &ApartSays| {
        format!(
            "{} speaks against it ({}){}.",
            capital(&one.says),
            signed(one.decibans),
            named(&one.sighting)
        )
    };
    kept.against.iter().take(MOST).map(says).collect()
}

/// Signs of a conclusion that something else accounts for.
pub(crate) fn taken(kept: &KeptDown, named: Named<'_>) -> Vec<String> {
    let says = |(one, by): &(ApartSays, String)| {
        format!(
            "{} could be a sign of it, but {by}, if it is there, would account for part of it{}.",
            capital(&one.says),
            named(&one.sighting)
        )
    };
    kept.taken.iter().take(MOST).map(says).collect()
}

/// Signs that nobody has looked for and that would raise a conclusion, which stands at `now`.
pub(crate) fn missing(all: &[MissingSays], now: Option<f64>) -> Vec<String> {
    // The place where it would tell most stands for a clue.
    let mut told = BTreeSet::new();
    let would = |one: &&MissingSays| one.if_found > one.if_none && told.insert(one.clue.clone());
    all.iter()
        .filter(would)
        .take(MOST)
        .map(|one| {
            let [now, found, none] = [now, one.if_found, one.if_none].map(Option::unwrap_or_default);
            let not = match short_chance(none) == short_chance(now) {
                true => "it hardly moves".into(),
                false => format!("to {}", short_chance(none)),
            };
            format!(
                "Not looked for yet: {}. If found, the chance goes {}; if not, {not}.",
                one.says,
                from_to(now, found)
            )
        })
        .collect()
}

/// A grade as it would become, and what it would ask for where that is another thing than now.
fn becomes(page: &AskedPage, grade: &GradeSays) -> String {
    if grade.action == page.now.action {
        format!("{}; what it asks for stays", grade.words)
    } else {
        format!("{}, and it asks for: {}", grade.words, action_name(grade.action))
    }
}

/// What would change a conclusion. Each change says whether it would make it likelier.
pub(crate) struct ChangeTold {
    /// What the numbers are, or that none would.
    pub head: String,
    /// The numbers of the rules.
    pub numbers: Vec<String>,
    /// Sightings taken away, or moved by a class: whether up, and the sentence.
    pub readings: Vec<(bool, String)>,
    /// How many more sightings would.
    pub more: usize,
    /// With every mechanism at an end of its range.
    pub ends: Vec<String>,
}

pub(crate) fn change(page: &AskedPage, named: Named<'_>) -> ChangeTold {
    let head = match page.margins.first() {
        None => NO_NUMBER.to_string(),
        Some(_) => format!(
            "{}The numbers of the rules are judgements. These are the smallest moves of any one of them, in decibans of its own odds, that would change the support or the action.",
            close(page)
        ),
    };
    // One or two left over are told, too.
    let told = match page.readings.len() {
        all if all <= MOST + 2 => all,
        _ => MOST,
    };
    let reading = |one: &ReadingSays| (one.becomes.chance > page.now.chance, self::reading(page, one, named));
    ChangeTold {
        head,
        numbers: page.margins.iter().take(NUMBERS).map(|one| margin(page, one)).collect(),
        readings: page.readings.iter().take(told).map(reading).collect(),
        more: page.readings.len().saturating_sub(told),
        ends: ends(page),
    }
}

/// Which of the two flips where one number moves a little: what it asks for, or only the word of support.
fn close(page: &AskedPage) -> String {
    let near = |one: &&MarginSays| one.decibans.is_some_and(|decibans| decibans.abs() < SMALL);
    let mut all = page.margins.iter().filter(near);
    let word = all.clone().next();
    match (all.find(|one| one.becomes.action != page.now.action), word) {
        (Some(one), _) => format!(
            "What it asks for is close, so hold it lightly: one number moved a little would make it ask for: {}. ",
            action_name(one.becomes.action)
        ),
        (None, Some(one)) => format!(
            "Only the word is close: one number moved a little would make it \"{}\". What it asks for stays. ",
            words_of(one)
        ),
        (None, None) => String::new(),
    }
}

fn ends(page: &AskedPage) -> Vec<String> {
    let [low, high] = &page.ends;
    let same = |grade: &GradeSays| (grade.support, grade.action) == (page.now.support, page.now.action);
    if same(low) && same(high) {
        vec![format!(
            "With every mechanism as rare, or as common, as the rules allow, it begins lower or higher as well: support and action stay ({}).",
            between(low.chance.unwrap_or_default(), high.chance.unwrap_or_default())
        )]
    } else {
        vec![
            format!(
                "With every mechanism as rare as the rules allow: {}.",
                becomes(page, low)
            ),
            format!("With every mechanism as common as they allow: {}.", becomes(page, high)),
        ]
    }
}

/// Two chances as a range, the lower first.
fn between(a: f64, b: f64) -> String {
    let (low, high) = two_chances(a.min(b), a.max(b));
    match low == high {
        true => format!("chance {low} either way"),
        false => format!("chance {low} to {high}"),
    }
}

/// The place of a support among all, from the least.
fn rank(name: &str) -> Option<usize> {
    Support::ALL.iter().position(|one| one.name() == name)
}

/// The support that a number would make, in words.
fn words_of(one: &MarginSays) -> &str {
    one.becomes.words.split(" (").next().unwrap_or_default()
}

fn margin(page: &AskedPage, one: &MarginSays) -> String {
    let by = one.decibans.unwrap_or(0.0);
    format!(
        "{by:+.1}: {}, {}. Then: {}. [{}]",
        one.says,
        from_to(one.from.unwrap_or_default(), one.to.unwrap_or_default()),
        becomes(page, &one.becomes),
        one.rule
    )
}

/// Why a conclusion is likely yet though a sign of it is not there.
fn still(one: &ReadingSays) -> String {
    let others = match one.others.as_slice() {
        [] => String::new(),
        some => format!(" ({})", listed(some)),
    };
    let expected = one.expected.map_or(String::new(), |often| {
        format!(", and the rules expect this one in {} such cases", odds_in_words(often))
    });
    format!("; the other signs of it still stand{others}{expected}")
}

fn reading(page: &AskedPage, one: &ReadingSays, named: Named<'_>) -> String {
    let how = match (&one.none_says, &one.moved_to) {
        (Some(none), _) => format!("With {none} instead of"),
        (None, Some(grade)) => {
            let grade = words(grade);
            let size = one.grade_says.as_ref();
            let size = size.map_or(String::new(), |says| format!(", {says}"));
            format!("With the grade \"{grade}{size}\" instead, for")
        }
        (None, None) => "Without".to_string(),
    };
    // What was not there is taken away by not having looked.
    let absent = one.says.strip_prefix("no ").filter(|_| how == "Without");
    let (how, says) = match absent {
        Some(rest) => ("Had nobody looked for any".to_string(), rest),
        None => (how, one.says.as_str()),
    };
    // Found not to be there, and yet likely: the rest of the signs carry it.
    let still = one.none_says.is_some()
        && rank(one.becomes.support) >= rank("some")
        && !one.becomes.words.starts_with("less likely");
    let still = if still { self::still(one) } else { String::new() };
    format!(
        "{how} {says}{}: {}{still}.",
        named(&one.sighting),
        becomes(page, &one.becomes)
    )
}
