//! Markdown says the same words as the text, and nothing an observer wrote becomes markup.

use pulldown_cmark::{Event, Parser, Tag};

use super::plan::examples;
use super::{house, pack, weighed};
use crate::{Attachment, Form, client, engineer, page};

/// The words of a Markdown text as a reader sees them, by a reader of its own.
fn words(markdown: &str) -> Vec<String> {
    let mut text = String::new();
    for event in Parser::new(markdown) {
        match event {
            Event::Text(part) | Event::Code(part) => text.push_str(&part),
            Event::Html(html) | Event::InlineHtml(html) => panic!("{html}"),
            Event::Start(Tag::Link { .. } | Tag::Image { .. } | Tag::Emphasis) => panic!("{text}"),
            _ => text.push(' '),
        }
    }
    plain_words(&text)
}

/// Letters and digits only: the text has bullets and capitals of its own.
fn plain_words(text: &str) -> Vec<String> {
    text.to_lowercase()
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty() && !word.chars().all(|c| c.is_ascii_digit()))
        .map(str::to_owned)
        .collect()
}

#[test]
fn markdown_says_the_same_words() {
    let pack = pack();
    let attached = [Attachment {
        title: "Level survey".into(),
        text: "tilt   1/400\n\n  worst line: A1 to C3".into(),
    }];
    for case in examples() {
        let outcome = weighed(&pack, &case);
        let page = page(&pack, &case, &outcome).unwrap();
        let both = [
            [Form::Text, Form::Markdown].map(|form| page.written(form).unwrap()),
            [Form::Text, Form::Markdown].map(|form| client(&pack, &case, &outcome, form).unwrap()),
            [Form::Text, Form::Markdown].map(|form| engineer(&pack, &case, &outcome, &attached, form).unwrap()),
        ];
        for [text, markdown] in both {
            assert_eq!(words(&markdown), plain_words(&text), "{}", case.id);
            assert!(markdown.starts_with("# ") && markdown.contains("\n## "));
        }
    }
}

#[test]
fn a_note_stays_text() {
    let pack = pack();
    let note = "<script>x</script> *bold* [a](http://b) `c` # d | e _f_ ![g](h) &lt; 1. i";
    let case = house(note);
    let markdown = page(&pack, &case, &weighed(&pack, &case))
        .unwrap()
        .written(Form::Markdown)
        .unwrap();
    let joined = words(&markdown).join(" ");
    assert!(
        joined.contains("script x script bold a http b c d e f g h lt i"),
        "{joined}"
    );
}
