//! The end of a lesson as it stands in the page: as text, for every reader.

use std::collections::BTreeMap;

use super::{EndMatter, EndStep, Lesson};
use crate::phrase::capital;
use crate::steps::{in_decibans, times};
use crate::svg::escaped;

/// What a lesson came to.
pub(super) fn summary(lesson: &Lesson) -> String {
    let end = &lesson.end;
    let mut out = format!("<div class=\"ending\" data-case=\"{}\">", escaped(&lesson.case));
    out.push_str(&format!("<p class=\"asks\">{}</p>", escaped(&end.asks.join(" "))));
    let mut told: BTreeMap<&str, usize> = BTreeMap::new();
    for (number, matter) in (1..).zip(&end.matters) {
        out.push_str(&self::matter(number, matter, &mut told));
    }
    if end.matters.is_empty() {
        let most = if end.recorded.is_empty() {
            ""
        } else {
            " For these what was seen speaks most:"
        };
        out.push_str(&format!(
            "<p>No cause asks for more than to be kept on record.{most}</p>"
        ));
        for (number, matter) in (1..).zip(&end.recorded) {
            out.push_str(&self::matter(number, matter, &mut told));
        }
    }
    if !end.notices.is_empty() {
        out.push_str("<h3>Noticed besides</h3>");
        out.push_str(&list(&end.notices));
    }
    if let Some((since, moved)) = &end.changes {
        out.push_str(&format!(
            "<h3>What the last pass changed</h3><p>Since the pass “{}”:</p>",
            escaped(since)
        ));
        let none = ["Nothing moved to another support, and nothing asks for something else.".to_string()];
        out.push_str(&list(if moved.is_empty() { &none } else { moved }));
    }
    out.push_str("</div>");
    out
}

/// A matter. A rival that was told of before is named, with the number of the matter that told of it.
fn matter<'m>(number: usize, matter: &'m EndMatter, told: &mut BTreeMap<&'m str, usize>) -> String {
    let mut out = format!(
        "<section class=\"matter\"><h3>{number}. {}</h3><p>Stands at: {}. Asks for: {}.</p>",
        escaped(&matter.title),
        escaped(&matter.stands),
        escaped(matter.asks)
    );
    let nothing = |what: &str| vec![format!("Nothing {what} it by as much as a deciban.")];
    let did = |steps: &[EndStep], what: &str| match steps {
        [] => nothing(what),
        some => some.iter().map(step).collect(),
    };
    if !matter.within.is_empty() {
        out.push_str(&format!("<p>Within it: {}.</p>", escaped(&matter.within.join("; "))));
    }
    let rival = |(title, says): &'m (String, String)| match told.get(title.as_str()) {
        Some(before) => format!("{title}: see {before}."),
        None => {
            told.insert(title, number);
            format!("{title}: {says}")
        }
    };
    let rivals = match matter.rivals.as_slice() {
        [] => vec!["None that stood out on the way.".to_string()],
        some => some.iter().map(rival).collect(),
    };
    let parts = [
        ("What carried it", did(&matter.carried, "raised")),
        ("What spoke against it", did(&matter.against, "lowered")),
        ("Other causes of the same signs, and how they fell", rivals),
        (
            "What would change this",
            matter
                .mind_changers
                .iter()
                .map(|one| format!("{}.", capital(one)))
                .collect(),
        ),
        ("What to do", matter.todo.clone()),
    ];
    for (head, items) in parts.iter().filter(|(_, items)| !items.is_empty()) {
        out.push_str(&format!("<h4>{head}</h4>{}", list(items)));
    }
    out.push_str("</section>");
    out
}

/// `Sighting 17, a course that sags at the garage opening: odds about 19 times as large (13 decibans).`
fn step(step: &EndStep) -> String {
    format!(
        "Sighting {}, {}: {} ({}).",
        step.step,
        step.says,
        times(step.decibans),
        in_decibans(step.decibans)
    )
}

fn list(items: &[String]) -> String {
    let items: String = items.iter().map(|item| format!("<li>{}</li>", escaped(item))).collect();
    format!("<ul>{items}</ul>")
}
