//! Names made to do harm come out as text, in every form that the product writes.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic, reason = "test code")]

use std::collections::BTreeSet;

use pulldown_cmark::{Event, Options, Parser};
use wythe::report::Form;
use wythe::report::lesson::lesson_page;
use wythe::{Case, Pack, Seen, Start, Weighed, built_in_pack, lesson_of, read_notes, report, start};

/// What each is aimed at, and the name.
const NAMES: [(&str, &str); 24] = [
    ("HTML", "<script>alert(1)</script>"),
    ("HTML", "\"><img src=x onerror=alert(1)>"),
    ("HTML", "' onmouseover='alert(1)"),
    ("HTML", "</title></svg></text><b>x"),
    ("HTML", "<!-- --><![CDATA[ ]]>"),
    ("HTML", "&lt;script&gt; &#60;b&#62; &amp;"),
    ("SVG", "</text><a href=\"javascript:alert(1)\">x</a>"),
    ("Markdown", "[x](javascript:alert(1)) ![y](http://a/b.png)"),
    ("Markdown", "| a | b |"),
    ("Markdown", "`code` *em* _em_ # head"),
    ("templates", "{{7*7}} ${7*7} #{7*7} %s %n"),
    ("paths", "../../etc/passwd"),
    ("paths", "C:\\windows\\system32\\..\\x"),
    ("tables", "=HYPERLINK(\"http://a\",\"b\")"),
    ("tables", "+1+cmd|' /C calc'!A0"),
    ("tables", "@SUM(1,1)"),
    ("YAML", "!!python/object/apply:os.system [ls]"),
    ("YAML", "*alias &anchor"),
    ("YAML", "x: {y: [z]} # not a remark"),
    ("YAML", "- item\u{a0}- item"),
    ("letters", "ﷺ 𝔘𝔫𝔦 🧱🏠 ﬁ Ω≈ç√"),
    ("letters", "e\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}"),
    (
        "length",
        "wwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwww",
    ),
    ("shell", "$(reboot) `reboot`; rm -rf / && true"),
];

/// Characters that change what a terminal or a page shows: each is refused in a file, and taken out of a case made
/// in memory.
const CONTROLS: [char; 12] = [
    '\u{0}', '\u{7}', '\u{8}', '\u{1b}', '\r', '\u{7f}', '\u{9b}', '\u{200f}', '\u{202e}', '\u{2066}', '\u{2028}',
    '\u{85}',
];

fn quoted(text: &str) -> String {
    serde_json::to_string(text).unwrap()
}

/// A case that bears the name wherever a person can write one.
fn file(name: &str) -> String {
    let name = quoted(name);
    format!(
        "format: 1\nid: a\ntitle: {name}\nplaces:\n  - {{id: south, kind: exterior_wall, label: {name}, note: {name}}}\n  - {{id: sw, kind: outside_corner, label: {name}, touches: south}}\n  - {{id: k, kind: room, label: {name}, touches: south}}\ncontexts:\n  recent_drought: {{holds: yes, note: {name}}}\npasses:\n  - pass: first\n    title: {name}\n    by: {name}\n    sightings:\n      - {{clue: step_crack_veneer, at: south, measured: 3 mm, with: {name}, note: {name}, photos: [P1]}}\n      - {{clue: corner_pop_wedge, at: sw, seen: cracked, note: {name}}}\n      - {{clue: frieze_gap, at: south, not_reached: {name}}}\nrepairs:\n  - {{at: k, what: {name}}}\n"
    )
}

/// How a form is written, for what must hold of it.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    Lines,
    Markdown,
    Tags,
    Json,
    Yaml,
}

/// Every form: its name, its kind, and what is written.
fn forms(pack: &Pack, case: &Case) -> Vec<(&'static str, Kind, String)> {
    let kept = Weighed::new(pack, case).unwrap();
    let outcome = kept.outcome();
    let about = outcome.conclusions[0].about;
    let reasons = wythe::reasons(pack, case, about).unwrap();
    let asked = wythe::ask(&kept, about).unwrap();
    let looks = wythe::looks(&kept).unwrap();
    let look_page = report::look_page(pack, case, outcome, &looks, None).unwrap();
    let walk = wythe::walk(pack, case).unwrap();
    let mut other = case.clone();
    other.passes[0].sightings.truncate(1);
    let compared = wythe::compare(pack, [case.title.clone(), "other".into()], case, &other).unwrap();
    let attached = [report::Attachment {
        title: case.title.clone(),
        text: "A level survey.".into(),
    }];
    let mut forms = vec![
        ("JSON", Kind::Json, report::json(pack, case, outcome).unwrap()),
        ("looks JSON", Kind::Json, look_page.json().unwrap()),
        (
            "plan",
            Kind::Tags,
            report::plan_svg(pack, case, outcome, report::Key::Below).unwrap(),
        ),
        (
            "drawing",
            Kind::Tags,
            report::reasoning_svg(pack, case, outcome, &reasons).unwrap(),
        ),
        (
            "lesson",
            Kind::Tags,
            lesson_page(&[lesson_of(pack, case).unwrap()]).unwrap(),
        ),
        ("YAML", Kind::Yaml, case.to_yaml()),
        (
            "question",
            Kind::Lines,
            report::look_question(pack, case, outcome, &looks.looks[0]).unwrap(),
        ),
    ];
    for (form, kind) in [(Form::Text, Kind::Lines), (Form::Markdown, Kind::Markdown)] {
        let page = report::page(pack, case, outcome).unwrap();
        let reasons = report::reasons_and_asked_text(pack, case, outcome, &reasons, &asked, form);
        forms.extend([
            ("report", kind, page.written(form).unwrap()),
            ("client", kind, report::client(pack, case, outcome, form).unwrap()),
            (
                "engineer",
                kind,
                report::engineer(pack, case, outcome, &attached, form).unwrap(),
            ),
            ("reasons", kind, reasons.unwrap()),
            ("looks", kind, look_page.written(form).unwrap()),
            ("steps", kind, report::steps(pack, case, &walk, None, form).unwrap()),
            ("compare", kind, report::compared(pack, &compared, form).unwrap()),
        ]);
    }
    forms
}

/// What a reader of Markdown makes of a text, without its words: `p` for a paragraph, `a` for a link and so on.
fn markup(text: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for event in Parser::new_ext(text, Options::all()) {
        match event {
            Event::Start(tag) => {
                let name = format!("{tag:?}");
                found.insert(name.split(['(', ' ', '{']).next().unwrap_or_default().to_owned());
            }
            Event::Html(_) | Event::InlineHtml(_) => {
                found.insert("HTML".into());
            }
            Event::Code(_) | Event::InlineMath(_) | Event::DisplayMath(_) | Event::FootnoteReference(_) => {
                found.insert("code".into());
            }
            _ => {}
        }
    }
    found
}

/// The names of all elements of an XML or HTML text, and of their attributes.
fn elements(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    for part in text.split('<').skip(1) {
        let tag = part.split('>').next().unwrap_or_default();
        let name: String = tag
            .chars()
            .take_while(|c| c.is_alphanumeric() || *c == '/' || *c == '!')
            .collect();
        let attributes: Vec<&str> = tag
            .split('"')
            .step_by(2)
            .flat_map(str::split_whitespace)
            .filter(|word| word.ends_with('='))
            .collect();
        found.push(format!("{name} {}", attributes.join(" ")));
    }
    found
}

#[test]
fn names_come_out_as_text_in_every_form() {
    let pack = built_in_pack();
    let plain = forms(pack, &Case::read("a.yaml", &file("plain")).unwrap());
    for (aim, name) in NAMES {
        let case = Case::read("a.yaml", &file(name)).unwrap_or_else(|problems| panic!("{aim}: {problems}"));
        for ((form, kind, text), (_, _, usual)) in forms(pack, &case).iter().zip(&plain) {
            let strange =
                |c: char| c.is_control() && c != '\n' || matches!(c, '\u{200e}'..='\u{200f}' | '\u{202a}'..='\u{202e}');
            assert!(!text.contains(strange), "{aim}, {form}");
            match kind {
                // The same elements with the same attributes, whatever the name: how many lines a label takes may differ.
                Kind::Tags => {
                    let (mut now, mut then) = (elements(text), elements(usual));
                    for list in [&mut now, &mut then] {
                        list.sort();
                        list.dedup();
                    }
                    let new: Vec<&String> = now.iter().filter(|one| !then.contains(one)).collect();
                    assert!(new.is_empty(), "{aim}, {form}: {name}: {new:?}");
                }
                Kind::Markdown => assert_eq!(markup(text), markup(usual), "{aim}, {form}: {name}\n{text}"),
                Kind::Json => {
                    let value: serde_json::Value = serde_json::from_str(text).unwrap();
                    let told = value["case"]["title"].as_str().or(value["title"].as_str()).unwrap();
                    assert_eq!(
                        told.split_whitespace().collect::<String>(),
                        name.split_whitespace().collect::<String>()
                    );
                }
                Kind::Yaml => {
                    let back = Case::read("b.yaml", text).unwrap();
                    assert_eq!(
                        (&back.title, &back.places[1].label),
                        (&case.title, &case.places[1].label)
                    );
                }
                // Marks that stand on another letter take no room of their own.
                Kind::Lines => assert!(
                    aim == "letters" || text.lines().all(|line| line.chars().count() <= 80),
                    "{aim}, {form}"
                ),
            }
        }
    }
}

#[test]
fn characters_that_mislead_are_refused_in_a_file_and_told_of_harmlessly() {
    for c in CONTROLS {
        for text in [
            file("x").replace("\"x\"", &format!("\"a{c}b\"")),
            file("x").replace("\"x\"", &format!("\"a\\u{:04x}b\"", u32::from(c))),
        ] {
            for name in ["a.yaml", "a\u{202e}lmay.yaml"] {
                let problems = Case::read(name, &text).unwrap_err().to_string();
                assert!(
                    problems.contains("U+") || problems.contains("control"),
                    "{c:?}: {problems}"
                );
                assert!(
                    !problems.contains(|c: char| c.is_control() && c != '\n' || c == '\u{202e}'),
                    "{c:?}: {problems}"
                );
            }
        }
        let noted = read_notes(
            built_in_pack(),
            &Case::new("a", "a"),
            "first",
            "notes",
            &format!("house: no{c} crack"),
        );
        assert!(noted.is_err(), "{c:?}");
    }
}

#[test]
fn a_case_made_in_memory_is_cleaned_on_its_way_out() {
    let pack = built_in_pack();
    let mut case = Case::read("a.yaml", &file("x")).unwrap();
    let name: String = CONTROLS.iter().flat_map(|c| ['a', *c]).collect();
    case.title = name.clone();
    case.places[1].label = name.clone();
    let sighting = &mut case.passes[0].sightings[0];
    sighting.note = Some(name.clone());
    if let Seen::Measured { with, .. } = &mut sighting.seen {
        *with = Some(name);
    }
    for (form, kind, text) in forms(pack, &case) {
        // A file keeps what it was given, and is refused when it is read.
        if kind == Kind::Yaml {
            assert!(Case::read("b.yaml", &text).is_err());
            continue;
        }
        assert!(
            !text.contains(|c: char| c.is_control() && c != '\n' || c == '\u{202e}'),
            "{form}"
        );
    }
}

/// A name of a place or case is letters, digits, `-`, `_` and `.`: no path, no markup.
#[test]
fn ids_take_no_tricks() {
    for (aim, name) in NAMES.iter().filter(|(aim, _)| !matches!(*aim, "letters" | "length")) {
        let text = format!("format: 1\nid: {}\n", quoted(name));
        assert!(Case::read("a.yaml", &text).is_err(), "{aim}: {name}");
        let asked = Start {
            id: (*name).into(),
            ..Start::default()
        };
        assert!(start(built_in_pack(), &asked).is_err(), "{aim}: {name}");
    }
}

#[test]
fn a_new_case_keeps_the_title_it_was_given() {
    for (aim, name) in NAMES {
        let asked = Start {
            id: "a".into(),
            title: Some(name.into()),
            by: Some(name.into()),
            ..Start::default()
        };
        let text = start(built_in_pack(), &asked).unwrap_or_else(|problems| panic!("{aim}: {problems}"));
        let case = Case::read("a.yaml", &text).unwrap();
        assert_eq!(
            (case.title.as_str(), case.passes[0].by.as_deref()),
            (name, Some(name)),
            "{aim}"
        );
    }
}
