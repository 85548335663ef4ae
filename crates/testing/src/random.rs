//! Random packs and cases, small enough to enumerate, with every feature drawn.

use std::fmt::Write;

use wythe_case::Case;
use wythe_pack::{Pack, PackFile};

use crate::Dice;

const HEAD: &str = "format: 1
id: random
title: random pack
version: 0.0.1
region: nowhere
reference_population: none
support: {spoken_against: 0.05, weakly: 0.2, share_of_prior: 0.3333, halved: 0.5, not_moved: 2, some: 0.2, fair: 0.5, strong: 0.85, cannot_tell: 0.25}
referral: {miss_costs: 2, reason: a test, corroborate: {groups: 2, zones: 2, at_least: 1}}
context_cap: 3
part_looked: 0.6
unsure: {fairly: 0.1, unsure: 0.3}
photo_error: 2
misfit: 20
monitor: {months: 12, reason: a test}
consequences:
  light: {strong: upkeep}
  grave: {some: monitor, fair: refer, strong: refer}
";
const WORDS: &str = "frequencies: {often: 0.6, rarely: 0.05}\neffects: {raises: 1.8, strongly_raises: 2.5, lowers: 0.55, rules_out: 0}\n";
const PLACES: &str = "house: {title: the house, usual: 1}
wall: {title: wall, usual: 4}
opening: {title: opening, in: wall, usual: 8}
corner: {title: corner, usual: 4, touches: {wall: 2}}
";
const WORDING: &str = "cautions: [a test]\nsupports: {strong: many clues agree}\nactions: {refer: ask a licensed professional engineer}\n";
const KINDS: [&str; 4] = ["house", "wall", "opening", "corner"];
const CONTEXTS: [&str; 2] = ["clay", "drought"];
const CLUES: [&str; 3] = ["crack", "gap", "dip"];

/// A random pack, and its files.
pub fn random_pack(dice: &mut Dice) -> (Pack, Vec<(String, String)>) {
    let mut files: Vec<(String, String)> = [
        ("pack", HEAD),
        ("words", WORDS),
        ("places", PLACES),
        ("wording", WORDING),
    ]
    .map(|(name, text)| (format!("{name}.yaml"), text.to_owned()))
    .to_vec();
    files.push(("sources.yaml".into(), "test: {title: a test, kind: judgement}\n".into()));
    files.push((
        "families.yaml".into(),
        "ground: {title: any ground, consequence: grave}\n".into(),
    ));
    for context in CONTEXTS {
        let text = format!(
            "id: {context}\ntitle: {context}\nask: look\nshare: {}\nsource: test\n",
            dice.chance()
        );
        files.push((format!("contexts/{context}.yaml"), text));
    }
    let mut states: Vec<(&str, usize, &str, bool)> = Vec::new();
    for clue in CLUES {
        let at = if clue == "dip" { "opening" } else { KINDS[dice.roll(4)] };
        files.push((format!("clues/{clue}.yaml"), clue_file(dice, clue, at)));
        states.push((clue, KINDS.iter().position(|kind| *kind == at).unwrap(), "clue", false));
    }
    let responses: Vec<&str> = ["moved", "turned"].into_iter().take(dice.roll(3)).collect();
    let mut response_at = Vec::new();
    for response in &responses {
        let opposed = *response == "moved";
        response_at.push((*response, dice.roll(4), opposed));
    }
    let mut reached: Vec<&str> = Vec::new();
    for (response, at, opposed) in &response_at {
        let mut text = format!("id: {response}\ntitle: {response}\nat: {}\nsource: test\n", KINDS[*at]);
        let ways: &[&str] = if *opposed {
            writeln!(
                text,
                "opposed: {{still: still, one: down, other: up}}\nbackground: {{down: {}, up: {}}}",
                dice.chance(),
                dice.chance()
            )
            .unwrap();
            &["down", "up"]
        } else {
            writeln!(
                text,
                "states: [no, little, much]\nbackground: {{how_often: {}, grades: {{little: 0.7, much: 0.3}}}}",
                dice.chance()
            )
            .unwrap();
            &["little", "much"]
        };
        text.push_str("links:\n");
        for way in ways {
            let target = dice.roll(3);
            reached.push(CLUES[target]);
            let clue = &states[target];
            link(dice, &mut text, clue.0, *at, clue.1, Some(way), None);
        }
        files.push((format!("responses/{response}.yaml"), text));
    }
    let mechanisms: Vec<&str> = ["alpha", "beta", "delta"].into_iter().take(1 + dice.roll(3)).collect();
    let at: Vec<usize> = mechanisms.iter().map(|_| dice.roll(4)).collect();
    for (index, mechanism) in mechanisms.iter().enumerate() {
        let p = dice.chance();
        let mut text = format!(
            "id: {mechanism}\ntitle: {mechanism}\nsince: 0.0.1\nat: {}\nfamilies: [ground]\nwhat: a test\npicture: a test\nprevalence: {{chance: {p}, from: {}, to: {}, source: test}}\nconsequence: grave\nmind_changers: []\nsource: test\n",
            KINDS[at[index]],
            p / 2.0,
            (1.0 + p) / 2.0
        );
        if dice.one_in(4) {
            text.push_str("applies_if: [clay]\n");
        }
        let effects = ["raises", "strongly_raises", "lowers", "rules_out"];
        if dice.one_in(2) {
            writeln!(text, "contexts: [{{context: clay, effect: {}, source: test}}, {{context: drought, effect: {}, source: test}}]", dice.pick(&effects[..3]), dice.pick(&effects)).unwrap();
        }
        text.push_str("links:\n");
        // Each response gets a cause; later mechanisms may be effects of earlier ones; clues not behind a response.
        let free: Vec<usize> = (0..3).filter(|clue| !reached.contains(&CLUES[*clue])).collect();
        for (response, there, opposed) in &response_at {
            if index == 0 || free.is_empty() || dice.one_in(2) {
                let way = opposed.then(|| dice.pick(&["down", "up"]));
                link(dice, &mut text, response, at[index], *there, None, way);
            }
        }
        if index + 1 < mechanisms.len() && dice.one_in(3) {
            link(
                dice,
                &mut text,
                mechanisms[index + 1],
                at[index],
                at[index + 1],
                None,
                None,
            );
        }
        for clue in free {
            link(dice, &mut text, CLUES[clue], at[index], states[clue].1, None, None);
        }
        files.push((format!("mechanisms/{mechanism}.yaml"), text));
    }
    // A limit on each clue, so that none is idle; something that hides; a pattern.
    for clue in CLUES {
        files.push((
            format!("limits/of_{clue}.yaml"),
            format!(
                "id: of_{clue}\ntitle: {clue}\nclue: {clue}\nfrom: more\nat_least: monitor\nfor: a test\nsource: test\n"
            ),
        ));
    }
    if dice.one_in(2) {
        files.push((
            "suppressions/by_drought.yaml".into(),
            "id: by_drought\nhides: [crack]\nby_context: drought\nreason: a test\nsource: test\n".into(),
        ));
    }
    if dice.one_in(2) {
        files.push((
            "suppressions/by_gap.yaml".into(),
            "id: by_gap\nhides: [dip]\nby_clue: gap\nfrom: some\nreason: a test\nsource: test\n".into(),
        ));
    }
    if dice.one_in(2) {
        let kind = dice.pick(&["all_alike", "one_only"]);
        let mut text = clue_file(dice, "alike", "house");
        writeln!(text, "pattern: {{of: dip, kind: {kind}, at_least: 2}}").unwrap();
        files.push(("clues/alike.yaml".into(), text));
        files.push((
            "limits/of_alike.yaml".into(),
            "id: of_alike\ntitle: alike\nclue: alike\nfrom: more\nat_least: monitor\nfor: a test\nsource: test\n"
                .into(),
        ));
        let first = files
            .iter_mut()
            .find(|(name, _)| name == "mechanisms/alpha.yaml")
            .unwrap();
        link(dice, &mut first.1, "alike", at[0], 0, None, None);
    }
    let read: Vec<PackFile<'_>> = files.iter().map(|(path, text)| PackFile { path, text }).collect();
    let pack = Pack::read(&read).unwrap_or_else(|problems| panic!("{problems}\n{files:#?}"));
    (pack, files)
}

fn clue_file(dice: &mut Dice, clue: &str, at: &str) -> String {
    let (measured, grades) = if clue == "crack" {
        (
            "measured_by: {quantity: length, error: 1 mm, how: rule, source: test}\n",
            "[{id: none, up_to: 0.2 mm}, {id: some, up_to: 5 mm}, {id: more}]",
        )
    } else {
        ("", "[{id: none}, {id: some}, {id: more}]")
    };
    let share = dice.chance();
    let marks = if clue == "alike" {
        String::new()
    } else {
        format!(
            "marks:\n  path: {{title: path, of: {{joints: {share}, units: {}}}}}\n  taper: {{title: taper, of: {{top: 0.2, even: 0.5, bottom: 0.3}}}}\n",
            1.0 - share
        )
    };
    format!(
        "id: {clue}\ntitle: {clue}\nsince: 0.0.1\nat: {at}\nzone: outside\n{measured}grades: {grades}\nusual_grades: {{some: 0.7, more: 0.3}}\nbackground: {{how_often: {}, grades: {{some: {}, more: 0.2}}}}\n{marks}ordinary_causes: [a test]\nlook_for: look\neffort: glance\nsays: a {clue}\nsource: test\n",
        dice.chance() / 3.0,
        dice.chance()
    )
}

/// Reaches that can join a kind to another, by index into [`KINDS`].
fn reaches(from: usize, to: usize) -> Vec<&'static str> {
    let mut all = vec!["anywhere", "each"];
    let lies_in = |a: usize, b: usize| (b == 0 && a != 0) || (a == 2 && b == 1);
    if from == to {
        all.push("here");
    }
    if lies_in(to, from) {
        all.push("inside");
    }
    if lies_in(from, to) {
        all.push("around");
    }
    if matches!((from, to), (1, 3) | (3, 1) | (2, 3) | (3, 2)) {
        all.push("touching");
    }
    all
}

fn link(
    dice: &mut Dice,
    text: &mut String,
    effect: &str,
    from: usize,
    to: usize,
    when: Option<&str>,
    way: Option<&str>,
) {
    let reach = reaches(from, to);
    let reach = reach[dice.roll(reach.len())];
    write!(
        text,
        "- {{effect: {effect}, reach: {reach}, how_often: {}, reason: a test, source: test",
        dice.chance()
    )
    .unwrap();
    if let Some(when) = when {
        write!(text, ", when: {when}").unwrap();
    }
    if let Some(way) = way {
        write!(text, ", state: {way}").unwrap();
    }
    if dice.one_in(4) {
        write!(text, ", only_if: {}", dice.pick(&CONTEXTS)).unwrap();
    }
    if CLUES.contains(&effect) {
        if dice.one_in(2) {
            write!(text, ", grades: {{some: {}, more: 0.4}}", dice.chance()).unwrap();
        }
        if dice.one_in(2) {
            let share = dice.chance();
            write!(text, ", marks: {{path: {{joints: {share}, units: {}}}}}", 1.0 - share).unwrap();
        }
    }
    text.push_str("}\n");
}

/// A random case for a random pack.
pub fn random_case(dice: &mut Dice, pack: &Pack) -> Case {
    let mut text = "format: 1\nid: random\ntitle: random\nplaces:\n  - {id: south, kind: wall}\n".to_owned();
    let mut places = vec![("house", "house"), ("south", "wall")];
    if dice.one_in(2) {
        text.push_str("  - {id: west, kind: wall}\n");
        places.push(("west", "wall"));
    }
    for (id, line) in [
        ("door", "{id: door, kind: opening, in: south}"),
        ("window", "{id: window, kind: opening, in: south}"),
    ] {
        if !dice.one_in(3) {
            writeln!(text, "  - {line}").unwrap();
            places.push((id, "opening"));
        }
    }
    if dice.one_in(2) {
        text.push_str("  - {id: corner, kind: corner, touches: [south]}\n");
        places.push(("corner", "corner"));
    }
    if dice.one_in(3) {
        text.push_str("how_many: {wall: 3}\n");
    }
    writeln!(
        text,
        "contexts: {{clay: {}, drought: {}}}",
        dice.pick(&["unknown", "yes", "no"]),
        dice.pick(&["unknown", "yes", "no"])
    )
    .unwrap();
    text.push_str("passes:\n");
    for pass in ["first", "second"].into_iter().take(1 + dice.roll(2)) {
        let mut lines = String::new();
        for clue in pack.clues.iter().filter(|clue| clue.pattern.is_none()) {
            for (id, _) in places.iter().filter(|(_, kind)| *kind == pack[clue.at].id) {
                if let Some(line) = sighting(dice, clue.measured_by.is_some(), &clue.id, id) {
                    lines.push_str(&line);
                }
            }
        }
        let lines = if lines.is_empty() {
            " []\n".to_owned()
        } else {
            format!("\n{lines}")
        };
        write!(text, "  - pass: {pass}\n    sightings:{lines}").unwrap();
    }
    Case::read("random.yaml", &text).unwrap_or_else(|problems| panic!("{problems}"))
}

fn sighting(dice: &mut Dice, measured: bool, clue: &str, at: &str) -> Option<String> {
    let head = format!("      - {{clue: {clue}, at: {at}, ");
    let sure = dice.pick(&["", ", sure: fairly", ", sure: unsure"]);
    let marks = dice.pick(&[
        "",
        ", marks: {path: joints}",
        ", marks: {path: [units], taper: [top, even]}",
    ]);
    let body = match dice.roll(7) {
        0 => return None,
        1 => format!("seen: none{sure}"),
        2 => format!("seen: none, looked: {}", dice.pick(&["part", "30 %"])),
        3 => "not_reached: a fence".to_owned(),
        5 => format!("seen: present{marks}{sure}"),
        4 if measured => format!(
            "measured: {}{marks}{sure}{}",
            dice.pick(&["1.5 mm", "4.9 mm ± 0.5 mm", "3/16 in ± 1/16 in", "9 mm"]),
            dice.pick(&["", ", from_photo: yes"])
        ),
        _ => format!("seen: {}{marks}{sure}", dice.pick(&["some", "more"])),
    };
    Some(format!("{head}{body}}}\n"))
}
